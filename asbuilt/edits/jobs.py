"""Findings opened and cleared; jobs carried from asked for to verified; any field changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from asbuilt.edits.numbering import next_key
from asbuilt.edits.outlets import phones
from asbuilt.edits.references import one_or_more
from asbuilt.edits.requests import AddRecord, Refusal, SetFields, Wish
from asbuilt.edits.yaml_values import Said
from asbuilt.model.site import Site
from asbuilt.problem import suggestion
from asbuilt.records.fields import KEY, KEY_RULE, Listed, Numbers, Ports, PortTexts
from asbuilt.records.kind import Record
from asbuilt.records.kinds import KINDS, REFERABLE
from asbuilt.records.layout import SITE_SECTIONS
from asbuilt.records.work import Finding, Job

EMERGENCY: Final = ("updated", "not updated", "not applicable")
#: From which states a job comes to each.
_FROM: Final = {
    "authorised": ("asked",),
    "planned": ("authorised", "planned"),
    "done": ("authorised", "planned"),
    "verified": ("done",),
    "refused": ("asked", "authorised", "planned"),
}
_NEXT: Final = {
    "asked": "it has to be authorised first",
    "authorised": "it has to be planned or done first",
    "planned": "it has to be done first",
    "done": "what is left is to verify it",
    "verified": "it is finished; ask for a new job",
    "refused": "it was refused; ask for a new job",
}


def open_finding(
    site: Site, what: str, fields: Mapping[str, Said], key: str | None = None
) -> tuple[str, list[Wish]]:
    """A new finding: its key, and what is to be written."""
    key = key or next_key(site.findings, "F1")
    return key, [AddRecord("finding", key, {"what": what, **fields})]


def clear_finding(site: Site, key: str, fields: Mapping[str, Said]) -> list[Wish]:
    """The finding is cleared; `fields` say when, by whom, and what shows it."""
    finding = _finding(site, key)
    if finding.cleared_on is not None:
        raise Refusal(f"finding {key} was cleared on {finding.cleared_on}")
    return [SetFields("finding", key, name, said) for name, said in fields.items()]


def ask_for(
    site: Site, title: str, fields: Mapping[str, Said], key: str | None = None
) -> tuple[str, list[Wish]]:
    """A new job: its key, and what is to be written."""
    key = key or next_key(site.jobs, "J1")
    return key, [AddRecord("job", key, {"title": title, "state": "asked", **fields})]


def advance(site: Site, key: str, state: str, fields: Mapping[str, Said]) -> list[Wish]:
    """The job comes to another state; `fields` say when, by whom, why. A job that moves a phone
    isn't verified before somebody has said whether its emergency-call location was updated."""
    job = job_of(site, key)
    if job.state not in _FROM[state]:
        raise Refusal(f"job {key} is {job.state}, it can't become {state}", _NEXT[job.state])
    if state == "refused" and not fields.get("refused because"):
        raise Refusal("a job is refused with its reason", "say why")
    moved = phones(site, job.outlets)
    known = job.emergency_location or fields.get("emergency location")
    if state == "verified" and job.kind == "move" and moved and not known:
        raise Refusal(
            f"job {key} moves a phone ({', '.join(moved)})",
            f"say whether its emergency-call location was updated: {', '.join(EMERGENCY)}",
        )
    wishes: list[Wish] = [] if job.state == state else [SetFields("job", key, "state", state)]
    return wishes + [SetFields("job", key, name, said) for name, said in fields.items()]


def note_in_job(
    site: Site, key: str, outlets: Sequence[str], emergency: str | None = None
) -> list[Wish]:
    """The outlets a piece of work touched, and what was said of a moved phone, in its job."""
    job = job_of(site, key)
    new = [outlet for outlet in outlets if outlet not in job.outlets]
    wishes: list[Wish] = []
    if new:
        wishes.append(SetFields("job", key, "outlets", one_or_more([*job.outlets, *new])))
    if emergency and emergency != job.emergency_location:
        wishes.append(SetFields("job", key, "emergency location", emergency))
    return wishes


def change(record: Record, fields: Mapping[str, str | None]) -> list[Wish]:
    """Any fields of a record, as they are typed; None takes one out. Lists are typed with commas
    between their items."""
    kind = KINDS[record.raw.kind]
    wishes: list[Wish] = []
    for name, text in fields.items():
        spec = kind.specs.get(name)
        if spec is None or name in ("at", "face", "from"):
            known = ", ".join(sorted(kind.specs))
            hint = suggestion(name, kind.specs, f"known are: {known}")
            raise Refusal(f"a {kind.name} has no “{name}” that could be changed so", hint)
        said = None if text is None else typed_value(kind.name, name, text)
        if said is None and name not in record.raw.fields:
            raise Refusal(f"{kind.name} {record.key} says nothing about “{name}”")
        wishes.append(SetFields(kind.name, record.key, name, said))
    return wishes


def new_record(site: Site, kind: str, key: str, fields: Mapping[str, Said]) -> list[Wish]:
    """A new record of any kind but those that have a way of their own to begin (jobs, findings,
    cords, test results). What is mounted says with `at` and `face` where; the front, unless it
    is said; nowhere in particular without `at`."""
    if kind not in RECORDED:
        known = ", ".join(RECORDED)
        raise Refusal(
            f"a {kind} isn't recorded so", suggestion(kind, RECORDED, f"these are: {known}")
        )
    if kind in REFERABLE["item"]:
        if "/" not in key and len(site.enclosures) == 1:
            key = f"{next(iter(site.enclosures))}/{key}"
        if key.count("/") != 1:
            raise Refusal(f"“{key}” doesn't say which enclosure", "write it like “1A/A”")
        fields = {"face": "front" if "at" in fields else "none", **fields}
    if not all(KEY.fullmatch(part) for part in key.split("/")):
        raise Refusal(f"“{key}” can't be a key", KEY_RULE)
    return [AddRecord(kind, key, fields)]


#: Kinds a record of which can be begun by its key and its fields.
RECORDED: Final = (
    *SITE_SECTIONS.values(), "enclosure", *REFERABLE["item"], "outlet", "backbone", "pathway",
    "photo",
)  # fmt: skip


def typed_value(kind: str, field: str, text: str) -> Said:
    """A value as it was typed; where the field holds a list, at its commas apart."""
    type_ = KINDS[kind].specs[field].type
    if isinstance(type_, PortTexts):
        raise Refusal(f"“{field}” is a list of its own", "change it by hand")
    if isinstance(type_, (Listed, Ports, Numbers)):
        return one_or_more([part.strip() for part in text.split(",") if part.strip()])
    return text


def job_of(site: Site, key: str) -> Job:
    job = site.jobs.get(key)
    if job is None:
        raise Refusal(f"there is no job “{key}”", suggestion(key, site.jobs))
    return job


def _finding(site: Site, key: str) -> Finding:
    finding = site.findings.get(key)
    if finding is None:
        raise Refusal(f"there is no finding “{key}”", suggestion(key, site.findings))
    return finding
