"""Fields that were renamed: today's records must use the new name, older revisions are read by
either, and no renaming is told as a change of the site.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from asbuilt.changes import History, apply, state_of
from asbuilt.history.read import read_history
from asbuilt.history.withheld import withheld_ever
from asbuilt.model.site import site_of
from asbuilt.records.edition import Edition, for_client, withheld_keys
from asbuilt.records.former_names import FORMER_NAMES, name_today
from asbuilt.records.kind import Raw
from asbuilt.records.kinds import KINDS
from asbuilt.records.reading import (
    read_folder,
    read_records,
    take_folder_apart,
    take_revision_apart,
)
from tests.gitrepo import GitRepo

RENAMED = [(kind, *names) for kind, fields in FORMER_NAMES.items() for names in fields.items()]
FOLDER = "sites/quay"
#: One site under former names, and the very same under today's.
FORMER = {
    "site.yml": "name: Quay\ntrade: potters\nkeeper: Mara Quist\noutage hours: Sundays\n",
    "findings.yml": (
        "F1: {what: the door stands open, bad: untidy, falls short of: the landlord's rules, "
        "to mend: landlord, tell client: yes}\n"
        "F2: {what: s3cret, bad: hazard, tell client: no}\n"
    ),
    "photos.yml": "P1: {file: photos/door.jpg, what: the door, finding: F1, tell client: yes}\n",
    "jobs/J1.yml": "title: A new lock\nstate: asked\ntell client: yes\n",
}
TODAY = {
    "site.yml": (
        "name: Quay\nbusiness: potters\nrecords kept by: Mara Quist\nmaintenance window: Sundays\n"
    ),
    "findings.yml": (
        "F1: {what: the door stands open, severity: untidy, requirement: the landlord's rules, "
        "to be fixed by: landlord, share with client: yes}\n"
        "F2: {what: s3cret, severity: hazard, share with client: no}\n"
    ),
    "photos.yml": (
        "P1: {file: photos/door.jpg, what: the door, finding: F1, share with client: yes}\n"
    ),
    "jobs/J1.yml": "title: A new lock\nstate: asked\nshare with client: yes\n",
}


def _bytes(files: dict[str, str]) -> dict[str, bytes]:
    return {path: text.encode() for path, text in files.items()}


def _in_git(files: dict[str, str]) -> dict[str, str]:
    return {f"{FOLDER}/{path}": text for path, text in files.items()}


@pytest.fixture
def git(tmp_path: Path) -> GitRepo:
    repository = GitRepo(tmp_path / "records")
    repository.commit(_in_git(FORMER), "Survey")
    return repository


def _client(git: GitRepo) -> History:
    """The client's history of the site as its folder stands on disk."""
    top = git.path / FOLDER
    files = {str(file.relative_to(top)): file.read_bytes() for file in sorted(top.rglob("*.yml"))}
    withheld = withheld_ever(git.path, {FOLDER: take_folder_apart(files)[0]})
    return read_history(git.path, FOLDER, Edition.CLIENT, withheld[FOLDER], files)


def _told(history: History) -> list[list[str]]:
    return [[told.text for told in entry.lines] for entry in history.entries]


@pytest.mark.parametrize(("kind", "former", "today"), RENAMED)
def test_the_table_leads_from_no_field_to_a_field(kind: str, former: str, today: str) -> None:
    assert former not in KINDS[kind].specs
    assert today in KINDS[kind].specs
    assert name_today(kind, former) == today
    assert name_today(kind, today) is None
    assert name_today("outlet", former) is None


def test_the_samples_hold_every_field_that_was_renamed() -> None:
    for files, place in ((FORMER, 1), (TODAY, 2)):
        raws, _ = take_folder_apart(_bytes(files))
        held = {(raw.kind, name) for raw in raws for name in raw.fields}
        assert {(row[0], row[place]) for row in RENAMED} <= held


def test_a_check_says_what_a_field_is_called_now() -> None:
    found = read_folder("quay", _bytes(FORMER), "sites/quay").problems
    assert [str(problem) for problem in found] == [
        "sites/quay/findings.yml:1:39: finding F1 has an unknown “bad”; "
        "it is called “severity” now [unknown-key]",
        "sites/quay/findings.yml:1:63: finding F1 has an unknown “falls short of”; "
        "it is called “requirement” now [unknown-key]",
        "sites/quay/findings.yml:1:94: finding F1 has an unknown “to mend”; "
        "it is called “to be fixed by” now [unknown-key]",
        "sites/quay/findings.yml:1:117: finding F1 has an unknown “tell client”; "
        "it is called “share with client” now [unknown-key]",
        "sites/quay/findings.yml:2:25: finding F2 has an unknown “bad”; "
        "it is called “severity” now [unknown-key]",
        "sites/quay/findings.yml:2:46: finding F2 has an unknown “tell client”; "
        "it is called “share with client” now [unknown-key]",
        "sites/quay/jobs/J1.yml:3:14: job J1 has an unknown “tell client”; "
        "it is called “share with client” now [unknown-key]",
        "sites/quay/photos.yml:1:71: photo P1 has an unknown “tell client”; "
        "it is called “share with client” now [unknown-key]",
        "sites/quay/site.yml:2:8: the site has an unknown “trade”; "
        "it is called “business” now [unknown-key]",
        "sites/quay/site.yml:3:9: the site has an unknown “keeper”; "
        "it is called “records kept by” now [unknown-key]",
        "sites/quay/site.yml:4:15: the site has an unknown “outage hours”; "
        "it is called “maintenance window” now [unknown-key]",
    ]
    assert read_folder("quay", _bytes(TODAY), "sites/quay").problems == ()


def test_a_revision_is_read_by_either_name() -> None:
    revisions = [
        read_records("quay", *take_revision_apart(_bytes(files))) for files in (FORMER, TODAY)
    ]
    assert [records.problems for records in revisions] == [(), ()]
    assert revisions[0].by_kind == revisions[1].by_kind
    site = site_of(revisions[0])
    assert site is not None and site.findings["F1"].severity == "untidy"


def test_the_client_reads_a_former_name_as_todays() -> None:
    def shown(files: dict[str, str]) -> list[tuple[str, str, dict[str, object]]]:
        raws, _ = take_revision_apart(_bytes(files))
        return [
            (raw.kind, raw.key, {name: node.value for name, node in raw.fields.items()})
            for raw in for_client(raws, withheld_keys(raws))
        ]

    assert shown(FORMER) == shown(TODAY)
    assert "s3cret" not in str(shown(FORMER)) and "door stands open" in str(shown(FORMER))


def test_a_commit_that_only_renames_fields_tells_nothing(git: GitRepo) -> None:
    before = _told(read_history(git.path, FOLDER))
    git.commit(_in_git(TODAY), "New names")
    assert _told(read_history(git.path, FOLDER)) == before
    (entry,) = read_history(git.path, FOLDER).entries
    told = [change for told in entry.lines for change in told.changes]
    assert apply(told, {}) == state_of(take_folder_apart(_bytes(TODAY))[0])


def test_a_commit_that_renames_and_changes_tells_the_change(git: GitRepo) -> None:
    texts = {
        **TODAY,
        "findings.yml": TODAY["findings.yml"].replace("untidy", "hazard"),
        "site.yml": TODAY["site.yml"].replace("Sundays", "Saturdays"),
    }
    git.commit(_in_git(texts), "New names, and more")
    newest, _ = _told(read_history(git.path, FOLDER))
    assert newest == [
        "Maintenance window changed for the site from Sundays to Saturdays.",
        "Severity changed for finding F1 from untidy to hazard.",
    ]


def test_a_field_under_both_names_loses_neither_value(git: GitRepo) -> None:
    both = TODAY["findings.yml"].replace("severity: untidy", "bad: untidy, severity: hazard")
    ((one, *_), _) = take_folder_apart({"findings.yml": both.encode()})
    assert isinstance(one, Raw)
    fields = one.by_todays_names().fields
    assert (fields["bad"].value, fields["severity"].value) == ("untidy", "hazard")


def test_the_clients_history_over_a_renaming(git: GitRepo) -> None:
    before = git.commit(
        _in_git({"findings.yml": FORMER["findings.yml"].replace("untidy", "deficient")}), "Worse"
    )
    git.commit(
        _in_git({**TODAY, "findings.yml": TODAY["findings.yml"].replace("untidy", "deficient")})
    )
    gone = {**TODAY, "findings.yml": "{}\n", "photos.yml": "{}\n"}
    for files in (TODAY, gone):
        git.commit(_in_git(files), "next")
        found = _client(git)
        assert "s3cret" not in str(found)
        (worse,) = [entry for entry in found.entries if entry.commit == before]
        assert [told.text for told in worse.lines] == [
            "Severity changed for finding F1 from untidy to deficient."
        ]
        assert "Finding F1 was reported: the door stands open." in _told(found)[-1]


def test_what_is_not_shared_any_more_was_never_shared_under_the_former_name(git: GitRepo) -> None:
    closed = TODAY["findings.yml"].replace("client: yes", "client: no")
    git.commit(_in_git({**TODAY, "findings.yml": closed}), "Closed")
    found = str(_client(git))
    assert "door stands open" not in found and "s3cret" not in found
