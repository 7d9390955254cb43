"""A cutover sheet as lines for a terminal, as one list for a spreadsheet, as plain values."""

from __future__ import annotations

import json
from collections.abc import Iterator

from asbuilt.cutover.notices import person_of, room_of
from asbuilt.cutover.sheet import VERIFICATION_CHECKS, CutoverSheet
from asbuilt.cutover.window import WindowStep
from asbuilt.escape import terminal
from asbuilt.model.site import natural
from asbuilt.problem import some_of

HEADER = (
    "phase", "block", "step", "what", "from", "to", "check", "outlets without service",
    "rooms without service",
    "people without service", "minutes", "ends at", "way back", *VERIFICATION_CHECKS,
)  # fmt: skip


def people_without_service(sheet: CutoverSheet, step: WindowStep) -> tuple[str, ...]:
    found = {person for key in step.without_service if (person := person_of(sheet.plan, key))}
    return tuple(sorted(found))


def rooms_without_service(sheet: CutoverSheet, step: WindowStep) -> tuple[str, ...]:
    found = {room_of(sheet.plan, key) for key in step.without_service}
    return tuple(sorted((room for room in found if room), key=natural))


def format_minutes(minutes: float) -> str:
    """Minutes since the window began, as hours and minutes: 1:07, 0:00.5 for half of one."""
    whole, rest = divmod(round(minutes * 2), 2)
    return f"{whole // 60}:{whole % 60:02}{'.5' if rest else ''}"


def lines(sheet: CutoverSheet) -> Iterator[str]:
    """The sheet to be read on a terminal; no line holds what could steer it."""
    for line in _lines(sheet):
        yield ("  " if line.startswith("  ") else "") + terminal(line)


def _lines(sheet: CutoverSheet) -> Iterator[str]:
    window = sheet.window
    yield f"Cutover sheet, {sheet.name}: {sheet.base} → {sheet.target}"
    yield ""
    yield "Before"
    for test in sheet.links_to_test:
        yield f"  test: {test.kind} {test.key}: {test.result}"
    for notice in sheet.notices:
        room = sheet.plan.before.room_name(notice.room)
        who = f": {', '.join(notice.persons)}" if notice.persons else ""
        minutes = (
            f"out of service for up to {format_minutes(notice.minutes)}"
            if notice.minutes
            else "out of service for good"
        )
        count = len(notice.outlets)
        yield f"  notice: room {room}, {count} outlet{'s'[: count > 1]} {minutes}{who}"
    for key in sheet.enclosures_to_photograph:
        yield f"  pictures: enclosure {key}, front and rear, with the patching"
    yield from (f"  {line}" for line in sheet.preparations)
    yield ""
    yield f"Phase 1, no live link is touched: {format_minutes(sheet.minutes_before_window)}"
    yield from (f"  {o.text}" for o in window.before_window)
    yield ""
    yield (
        f"Phase 2, the outage window: {format_minutes(window.minutes)}, "
        f"{window.total_downtime:g} minutes without service in total"
    )
    for before, step in zip((None, *window.steps), window.steps, strict=False):
        if before and before.block != step.block:
            yield "  everybody is back: verify what was touched before going on"
        turn = "  ← point of no return" if step.number == window.point_of_no_return else ""
        o = step.operation
        yield (
            f"  {step.number:3}. {o.text} ({o.minutes:g} min, ends {format_minutes(step.ends)}; "
            f"{len(step.without_service)} without service){turn}"
        )
    if not window.steps:
        yield "  nothing: this plan needs no outage"
    yield ""
    yield f"Phase 3, tick each: {', '.join(VERIFICATION_CHECKS)}"
    for link in sheet.links:
        where = f"{link.old_port or 'new'} → {link.new_port or 'not patched'}"
        yield f"  [ ] [ ] [ ] {link.label}, {link.room}: {where}, {link.network or link.serves}"
    if sheet.removed_outlets:
        yield f"  out of service for good: {some_of(sheet.removed_outlets, 40)}"
    if sheet.phone_outlets:
        yield f"  emergency-call location: {some_of(sheet.phone_outlets, 40)}"
    yield ""
    yield "Materials"
    for material in sheet.materials:
        yield f"  {material.count:g} {material.unit or '×'} {material.name} ({material.basis})"
    for title, texts in (
        ("Changes to the records only", sheet.record_only_changes), ("Cautions", sheet.cautions),
        ("Assumptions", sheet.assumptions),
    ):  # fmt: skip
        yield ""
        yield title
        yield from (f"  {text}" for text in texts)


def rows(sheet: CutoverSheet) -> Iterator[tuple[str, ...]]:
    """One row a thing to be done or ticked, in the order of the work; without the header."""
    blank = ("", "", "")
    for test in sheet.links_to_test:
        yield _row("before", f"test {test.kind} {test.key}", check=f"passed ({test.result})")
    for key in sheet.enclosures_to_photograph:
        yield _row("before", f"pictures of enclosure {key}, front and rear")
    for line in sheet.preparations:
        yield _row("before", line)
    for number, o in enumerate(sheet.window.before_window, start=1):
        yield (
            "1", "", str(number), o.text, o.old, o.new, o.check, *blank, f"{o.minutes:g}", "",
            o.way_back, *blank,
        )  # fmt: skip
    for step in sheet.window.steps:
        o = step.operation
        yield (
            "2", str(step.block), str(step.number), o.text, o.old, o.new, o.check,
            " ".join(step.without_service), ", ".join(rooms_without_service(sheet, step)),
            ", ".join(people_without_service(sheet, step)), f"{o.minutes:g}", f"{step.ends:g}",
            o.way_back, *blank,
        )  # fmt: skip
    for number, link in enumerate(sheet.links, start=1):
        what = f"verify {link.outlet}" + (f" ({link.label})" if link.label != link.outlet else "")
        check = "; ".join(filter(None, (link.network, link.serves, link.person)))
        yield (
            "3",
            "",
            str(number),
            what,
            link.old_port,
            link.new_port,
            check,
            *blank,
            "",
            "",
            "",
            *blank,
        )
    for material in sheet.materials:
        amount = f"{material.count:g} {material.unit}".strip()
        yield _row("materials", f"{amount} × {material.name}", check=material.basis)


def _row(phase: str, what: str, check: str = "") -> tuple[str, ...]:
    return (phase, "", "", what, "", "", check, *[""] * (len(HEADER) - 7))


def as_json(sheet: CutoverSheet) -> str:
    window = sheet.window
    told = {
        "site": sheet.key,
        "base": sheet.base,
        "plan": sheet.target,
        "before": {
            "tests": [
                {"kind": t.kind, "key": t.key, "result": t.result} for t in sheet.links_to_test
            ],
            "notices": [
                {"room": n.room, "persons": n.persons, "outlets": n.outlets, "minutes": n.minutes}
                for n in sheet.notices
            ],
            "pictures": sheet.enclosures_to_photograph,
            "ready": sheet.preparations,
        },
        "phase 1": [
            {"what": o.text, "from": o.old, "to": o.new, "minutes": o.minutes,
             "outlets": o.outlets}
            for o in window.before_window
        ],
        "phase 2": {
            "minutes": window.minutes,
            "downtime minutes": window.total_downtime,
            "least": window.proved_least,
            "point of no return": window.point_of_no_return,
            "steps": [_step(sheet, step) for step in window.steps],
        },
        "phase 3": [
            {"outlet": link.outlet, "phase": link.phase, "from": link.old_port,
             "to": link.new_port, "network": link.network, "dark": link.downtime}
            for link in sheet.links
        ],
        "gone": sheet.removed_outlets,
        "phones": sheet.phone_outlets,
        "materials": [
            {"what": m.name, "count": m.count, "unit": m.unit, "how": m.basis}
            for m in sheet.materials
        ],
        "on paper": sheet.record_only_changes,
        "cautions": sheet.cautions,
        "assumptions": sheet.assumptions,
    }  # fmt: skip
    return json.dumps(told, ensure_ascii=False, indent=2)


def _step(sheet: CutoverSheet, step: WindowStep) -> dict[str, object]:
    o = step.operation
    return {
        "step": step.number,
        "block": step.block,
        "what": o.text,
        "from": o.old,
        "to": o.new,
        "check": o.check,
        "dark": step.without_service,
        "loses service": step.loses_service,
        "comes back": step.regains_service,
        "rooms": rooms_without_service(sheet, step),
        "persons": people_without_service(sheet, step),
        "minutes": o.minutes,
        "ends": step.ends,
        "back": o.way_back,
        "final": o.is_irreversible,
    }
