"""What the commands answer to machines: one JSON document, and the exit codes people get."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from asbuilt.cli import main
from tests.commands.test_edits import FILES
from tests.gitrepo import GitRepo
from tests.small_site import write_site


@pytest.fixture
def top(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for path, text in FILES.items():
        file = tmp_path / "sites" / "harbour" / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(text.encode())
    monkeypatch.chdir(tmp_path)
    return tmp_path


def ran(*words: str) -> Result:
    done = CliRunner().invoke(main, words)
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return done


def answer(*words: str, code: int = 0) -> Any:
    """The document, which is all there is on standard output."""
    done = ran(*words, "--format", "json")
    assert done.exit_code == code, done.output
    return json.loads(done.stdout)


def outlets(top: Path) -> str:
    return (top / "sites/harbour/outlets.yml").read_text("utf-8")


def test_a_change_is_told_with_its_old_and_new_values(top: Path) -> None:
    told = answer("move", "harbour", "1A-A03", "101")
    assert (told["site"], told["error"], told["dry_run"]) == ("harbour", None, False)
    assert (told["written"], told["committed"]) == (True, False)
    assert told["files"] == ["sites/harbour/outlets.yml"]
    sentences = [one["sentence"] for one in told["changes"]]
    assert any("1A-A03" in sentence and "101" in sentence for sentence in sentences)
    (change,) = {json.dumps(c): c for one in told["changes"] for c in one["changes"]}.values()
    assert (change["kind"], change["key"]) == ("outlet", "1A-A03")
    assert (change["before"]["room"], change["after"]["room"]) == ("104", "101")
    assert '1A-A03: {room: "101"' in outlets(top)


def test_a_dry_run_tells_the_same_and_writes_nothing(top: Path) -> None:
    dry = answer("move", "harbour", "1A-A03", "101", "--dry-run")
    assert (dry["dry_run"], dry["written"]) == (True, False)
    assert outlets(top) == FILES["outlets.yml"]
    wet = answer("move", "harbour", "1A-A03", "101")
    assert (wet["changes"], wet["files"], wet["problems"]) == (
        dry["changes"], dry["files"], dry["problems"],
    )  # fmt: skip


def test_what_it_makes_wrong_is_told_with_its_place(top: Path) -> None:
    told = answer("change", "harbour", "outlet", "1A-A03", "port=1A/A/99", code=1)
    assert "nothing was written" in told["error"]
    assert not told["written"]
    (problem,) = [one for one in told["problems"] if one["level"] == "error"]
    assert problem["path"] == "sites/harbour/outlets.yml"
    assert problem["line"] == 5
    assert outlets(top) == FILES["outlets.yml"]


@pytest.mark.parametrize(
    "words",
    [
        ("move", "harbour", "1A-A99", "101"),
        ("move", "nowhere", "1A-A01", "101"),
        ("move", "harbour", "1A-A02", "104"),  # a phone: nobody is asked where nobody reads
        ("seen", "harbour", "--by", "Mara Quist"),
        ("switch-status", "harbour", "none.csv", "--switch", "1A/SW9"),
        ("import", "harbour", "outlets", "none.csv"),
        ("labels", "harbour"),
        ("export", "harbour", "outlets", "outlets.txt"),
    ],
)
def test_a_refusal_is_a_document_too_and_one_sentence_beside_it(
    top: Path, words: tuple[str, ...]
) -> None:
    for_people = ran(*words)
    told = answer(*words, code=1)
    assert for_people.exit_code == 1
    assert told["error"]
    assert told["error"] in " ".join(for_people.stderr.split())


def test_nothing_to_change(top: Path) -> None:
    told = answer("change", "harbour", "outlet", "1A-A03", "room=104")
    assert (told["changes"], told["files"], told["written"]) == ([], [], False)


def test_a_list_is_previewed_row_by_row(top: Path) -> None:
    Path("jacks.csv").write_text("outlet,room,length\n1A-A01,104,23.4 m\n1A-A03,104,9 m\nZ1,101,\n")
    told = answer("import", "harbour", "outlets", "jacks.csv", code=1)
    assert "which one is right" in told["error"]
    preview = told["preview"]
    assert preview["new"] == [{"row": 4, "key": "Z1"}]
    assert preview["differs"] == [
        {"row": 2, "column": "B", "key": "1A-A01", "field": "room", "recorded": "101", "listed": "104"}
    ]  # fmt: skip
    assert [one["listed"] for one in preview["not yet recorded"]] == ["9 m"]
    assert preview["recorded and not in the list"] == ["1A-A02"]
    told = answer("import", "harbour", "outlets", "jacks.csv", "--trust", "list", "--dry-run")
    assert told["files"] == ["sites/harbour/outlets.yml"]
    assert outlets(top) == FILES["outlets.yml"]


def test_what_is_wrong_with_a_list_is_told_by_row_and_column(top: Path) -> None:
    Path("jacks.csv").write_text("outlet,length\n1A-A01,far\n")
    told = answer("import", "harbour", "outlets", "jacks.csv", code=1)
    assert [(one["row"], one["column"]) for one in told["wrong"]] == [(2, "B")]


def test_results_of_tests(top: Path) -> None:
    Path("second.csv").write_text("link,date,result\n1A-A03,2025-03-08,pass\n")
    told = answer("import", "harbour", "tests", "second.csv")
    assert told["preview"]["new"] == 1
    assert told["files"] == ["sites/harbour/tests/second.csv"]
    again = answer("import", "harbour", "tests", "second.csv")
    assert (again["preview"]["recorded already"], again["written"]) == (1, False)


def test_the_walk_the_wire_and_the_labels(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    repository = GitRepo(tmp_path / "records")
    write_site(repository.path)
    repository.commit({}, "Begin")
    monkeypatch.chdir(repository.path)
    walk = answer("walk", "harbour", "--oldest", "1", "--changed", "0", "--sample", "2")
    assert 1 <= len(walk["stops"]) <= 3
    assert all(stop["why"] and stop["key"] for stop in walk["stops"])
    Path("wire.csv").write_text("port,link\n1,down\n24,up\n")
    wire = answer("switch-status", "harbour", "wire.csv", "--switch", "1A/SW1")
    assert wire["heard"] == 2
    assert {one["port"]: one["what"] for one in wire["differences"]}["1A/SW1/24"].startswith("up,")
    labels = answer("labels", "harbour", "--for", "enclosures", "--svg", "sheets")
    assert {"kind": "enclosure", "key": "1A"} in labels["labels"]["enclosures"]


def test_what_was_seen(top: Path) -> None:
    told = answer("seen", "harbour", "1A-A01", "--by", "Mara Quist", "--on", "2025-03-07")
    assert told["written"]
    assert told["changes"]
    assert "seen: 2025-03-07 by Mara Quist" in outlets(top)


def test_a_commit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    repository = GitRepo(tmp_path / "records")
    repository.commit({f"sites/harbour/{path}": text for path, text in FILES.items()}, "Begin")
    repository.git("config", "user.name", "Mara Quist")
    repository.git("config", "user.email", "mara.quist@example.com")
    monkeypatch.chdir(repository.path)
    told = answer("move", "harbour", "1A-A03", "101", "--commit")
    assert (told["written"], told["committed"]) == (True, True)
    assert repository.git("status", "--porcelain") == ""
