"""The made-up fleet that benchmarks measure: what is said of it is so, and it is a sound one."""

from __future__ import annotations

import statistics
import sys
from collections import Counter
from pathlib import Path

import pytest

from asbuilt.history.packed import load_histories
from asbuilt.history.read import read_histories
from asbuilt.io import git, git_write
from asbuilt.publish.load import load_site
from benchmarks._beside import Side, in_turn, watched
from benchmarks._records import LARGEST, SMALLEST, Fleet, add_commit, sizes


@pytest.mark.parametrize(("sites", "outlets"), [(200, 100), (25, 100), (6, 30), (3, 10), (1, 1000)])
def test_all_sites_together_have_the_outlets_asked_for(sites: int, outlets: int) -> None:
    found = sizes(sites, outlets)
    assert len(found) == sites
    assert sum(found) == sites * outlets
    assert min(found) >= min(SMALLEST, outlets // 3)
    assert max(found) <= LARGEST * outlets


def test_many_sites_are_small_and_few_are_large() -> None:
    # By the log-normal's own closed forms, σ = 0.9: the median is exp(−σ²/2) = 0.667 of the mean,
    # and the largest tenth holds Φ(σ − 1.2816) = 35 % of the whole (its Lorenz curve; both
    # recalled from memory). Its ends are cut off here, hence the margins.
    found = sizes(200, 100)
    assert (found[0], found[-1]) == (SMALLEST, LARGEST * 100)
    assert statistics.median(found) == pytest.approx(66.7, abs=3)
    assert sum(found[-20:]) / sum(found) == pytest.approx(0.35, abs=0.03)


def test_a_fleet_of_the_smallest_sites_has_its_history_too() -> None:
    assert len(list(Fleet(3, 1).history(90))) == 90


def test_the_same_fleet_every_time() -> None:
    one, other = (list(Fleet(12, 20).history(60)) for _ in range(2))
    assert one == other


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Fleet]:
    top = tmp_path_factory.mktemp("fleet") / "records"
    fleet = Fleet(12, 40)
    ids = git_write.import_commits(top, fleet.history(180))
    assert len(ids) == 180
    return top, fleet


def test_every_site_is_sound(made: tuple[Path, Fleet]) -> None:
    top, fleet = made
    kinds = Counter[str]()
    for key in fleet.sites:
        reading = load_site(top, key)
        # What a first survey leaves open is remarked upon; else nothing is.
        remarks = {problem.code for problem in reading.problems}
        assert reading.sound and remarks <= {"fact-missing"}, reading.problems
        site = reading.site
        assert site and len(site.outlets) == fleet.size(key)
        several, backbones = len(site.enclosures) > 1, len(site.backbones) > 0
        assert several == backbones == (len(site.outlets) > 120)
        kinds["several enclosures"] += several
        kinds["several floors"] += len(site.floors) > 1
        kinds["power"] += any(outlet.poe for outlet in site.outlets.values())
        kinds["tested"] += len(site.tests) >= len(site.outlets)
        kinds["findings"] += len(site.findings) > 0
        kinds["jobs"] += len(site.jobs) > 0
    assert all(0 < kinds[kind] < len(fleet.sites) for kind in kinds), kinds


def test_a_site_of_very_many_outlets_is_sound(tmp_path: Path) -> None:
    fleet = Fleet(1, 2500)
    git_write.import_commits(tmp_path / "records", fleet.history(1))
    reading = load_site(tmp_path / "records", *fleet.sites)
    assert reading.site and reading.sound
    assert len(reading.site.outlets) == 2500 and len(reading.site.enclosures) > 20
    assert {problem.code for problem in reading.problems} <= {"fact-missing"}, reading.problems


def test_busy_sites_have_most_of_the_commits(made: tuple[Path, Fleet]) -> None:
    top, fleet = made
    counts = Counter(
        change.path.split("/")[1].replace("survey", "site")
        for commit in git.log(top)
        for change in commit.files[:1]
    )
    assert counts.total() == 180
    assert min(counts[key] for key in fleet.sites) >= 1
    assert max(counts.values()) > 2 * statistics.median(counts.values())


def test_one_site_of_twelve_had_another_folder_once(made: tuple[Path, Fleet]) -> None:
    top, fleet = made
    renamed = fleet.sites[4]
    former = f"sites/{renamed.replace('site', 'survey')}/"
    since = [any(c.path.startswith(former) for c in commit.files) for commit in git.log(top)]
    assert any(since) and not (top / former).exists()
    history = load_histories(read_histories(top, [f"sites/{renamed}"]))[f"sites/{renamed}"]
    assert history.entries[-1].subject == f"Survey of {renamed}"


def test_one_more_commit_is_of_one_sites_records(made: tuple[Path, Fleet]) -> None:
    top, fleet = made
    (top / "public").mkdir()
    (top / "public" / "index.html").write_text("built")
    key = fleet.by_median()[0]
    assert sum(fleet.size(other) <= fleet.size(key) for other in fleet.sites) in (6, 7)
    add_commit(top, fleet, key)
    last = git.log(top)[-1]
    assert last.files
    assert all(change.path.startswith(f"sites/{key}/") for change in last.files)


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="the kernel tells nothing here")
def test_what_was_held_is_the_peak_of_each_process(tmp_path: Path) -> None:
    (tmp_path / "hold.py").write_text(
        "import multiprocessing, time\n"
        "def hold(size):\n"
        "    held = b'x' * (size << 20)\n"
        "    del held\n"
        "    time.sleep(0.3)\n"  # it is long given back when looked at
        "if __name__ == '__main__':\n"
        "    work = multiprocessing.get_context('forkserver').Process(target=hold, args=(200,))\n"
        "    work.start()\n"
        "    work.join()\n"
        "    hold(100)\n"
    )
    seconds, peaks = watched([sys.executable, "hold.py"], tmp_path)
    assert seconds > 0.6
    assert 100 < peaks.first < 150
    assert 200 < peaks.worker < 250
    assert peaks.most == peaks.worker


def test_sides_are_measured_in_turn() -> None:
    turns: list[str] = []
    in_turn(3, lambda: turns.append("ours"), lambda: turns.append("plain"))
    assert turns == ["ours", "plain", "plain", "ours", "ours", "plain"]


def test_medians_are_held_against_each_other_and_the_spread_is_told() -> None:
    ours, plain = Side([1.0, 9.0, 2.0]), Side([4.0, 10.0, 5.0])
    assert ours.ratio(plain) == 2 / 5
    assert ours.of(plain) == "0.400 (0.250–0.900)"
    assert "2.00 s (1.00–9.00)" in str(ours)
    assert Side([2.0]).of(Side([8.0])) == "0.250"
