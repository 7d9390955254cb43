"""Random sites with a random past, and at random who may read what: nothing that was ever withheld
is in a byte of the client's pages. Who may read is worked out here from the rule as it is written
down: withheld if withheld then, or if its last word is."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

import pytest

from asbuilt.publish.assemble import assemble, before_and_after_jobs, output_of
from asbuilt.publish.histories import histories_of, withheld_from
from asbuilt.publish.load import load_site
from asbuilt.records.edition import Edition
from tests.gitrepo import GitRepo
from tests.random_sites import random_files
from tests.searching import spellings, written

OPEN, KEPT = ("desk", "phone", "printer"), ("camera", "alarm", "door")


@dataclass
class Story:
    """Lines of outlets and findings, revision by revision, each with words of its own."""

    rng: Random
    kept: dict[str, bool] = field(default_factory=dict)  # thing → withheld by its last word
    words: dict[str, list[tuple[str, bool]]] = field(default_factory=dict)  # thing → (word, kept)
    labels: dict[str, str] = field(default_factory=dict)  # of outlets, by now
    names: list[str] = field(default_factory=list)  # labels of all outlets at any time
    number: int = 1000

    def word(self, thing: str, kept: bool) -> str:
        self.number += 1
        word = f"{self.rng.choice(('Zett', 'zett-', 'ZETT_'))}{self.number}"
        self.words.setdefault(thing, []).append((word, kept))
        return word

    def outlets(self, lines: list[str]) -> str:
        """What was said of each outlet, with a label, a place and a remark that names others."""
        told: list[str] = []
        for line in lines:
            key = f"Key{line.partition(':')[0][1:]}x7"
            kept = self.kept[key] = self.rng.random() < 0.5
            flag = self.rng.random() < 0.3
            serves = self.rng.choice(OPEN if flag or not kept else KEPT)
            body = re.sub(r",? *(?:serves|label): [^,}]*", "", line.partition("{")[2][:-1])
            label = self.label(key, kept)
            said = f"plate: {self.word(key, kept)}, note: 'by {self._others()}'"
            withhold = ", withhold: yes" if kept and flag else ""
            fields = f"serves: {serves}{withhold}, label: {label}, {said}"
            told.append(f"{key}: {{{fields}{', ' if body.strip() else ''}{body}}}")
        return "\n".join(told) + "\n"

    def enclosure(self, key: str, text: str) -> str:
        """An enclosure with labels on what is mounted in it, and who may know what."""

        def mounted(match: re.Match[str]) -> str:
            role, name = match.groups()
            thing = f"{key}/{name}"
            kept = self.kept[thing] = self.rng.random() < 0.4
            flag = ", withhold: yes" if kept else ", withhold: no" if role == "device" else ""
            serial = self.word(f"serial of {thing}", True)
            return f"{{{role}: {name}, label: {self.label(thing, kept)}, serial: {serial}{flag}"

        plain = re.sub(r", (?:withhold|does): \w+", "", text)
        return re.sub(r"\{(panel|switch|router|device): (\w+)", mounted, plain)

    def label(self, thing: str, kept: bool) -> str:
        """A new one, or that of the revision before."""
        label = self.labels.get(thing) if self.rng.random() < 0.4 else None
        label = self.labels[thing] = label or self.word(thing, kept)
        own = [label] if "/" in thing else [label, thing]  # keys of mounted things are short
        self.words.setdefault(thing, []).extend((word, kept) for word in own)
        self.names += own
        return label

    def findings(self, keys: list[str]) -> str:
        told: list[str] = []
        for number in range(self.rng.randint(1, 4)):
            key = f"F{number}"
            self.kept[key] = kept = self.rng.random() < 0.5
            on = f", outlet: {self.rng.choice(keys)}" if keys and self.rng.random() < 0.3 else ""
            # A finding about what is withheld is kept back as well, which its word doesn't say.
            what = f"near {self._others()}, {self.word(key, kept)}"
            told.append(
                f"{key}: {{what: '{what}', share with client: {'no' if kept else 'yes'}{on}}}"
            )
        return "\n".join(told) + "\n"

    def _others(self) -> str:
        """Words of outlets as somebody may write them, known by now or not."""
        some = self.rng.sample(self.names, min(len(self.names), 3))
        return " and ".join(self.rng.choice((str, str.upper, str.lower))(word) for word in some)

    def forbidden(self) -> set[str]:
        """Each word that was said of a thing when it was withheld, or of one withheld in the end,
        and never of one that was known then and is in the end."""
        said = [
            (word, kept or self.kept.get(thing, True))
            for thing, words in self.words.items()
            for word, kept in words
        ]
        known = {word for word, kept in said if not kept}
        return {word for word, kept in said if kept} - known


@pytest.mark.parametrize("seed", range(5))
def test_nothing_withheld_at_any_time_is_in_a_page(seed: int, tmp_path: Path) -> None:
    git, story = GitRepo(tmp_path / "records"), Story(Random(seed))
    files = random_files(seed)
    lines = files["outlets.yml"].splitlines()
    plain = {Path(path).stem: text for path, text in files.items() if path.startswith("encl")}
    for revision in range(3):
        some = [line for line in lines if revision == 2 or story.rng.random() < 0.8]
        files["outlets.yml"] = story.outlets(some)
        files["findings.yml"] = story.findings(re.findall(r"^\w+", files["outlets.yml"], re.M))
        for key, text in plain.items():
            files[f"enclosures/{key}.yml"] = story.enclosure(key, text)
        committed = {f"sites/harbour/{path}": text for path, text in files.items()}
        git.write(committed) if revision == 2 and seed % 2 else git.commit(committed)
    reading = load_site(git.path, "harbour")
    assert reading.records.problems == ()
    withheld = withheld_from(git.path, [reading])
    history = histories_of(git.path, ["harbour"], withheld)["harbour"]
    sides = before_and_after_jobs(git.path, "harbour", history, Edition.CLIENT, withheld["harbour"])
    book = assemble(reading, Edition.CLIENT, history, None, sides, withheld["harbour"])
    texts = written(output_of(book, list))
    forbidden = story.forbidden()
    assert len(forbidden) > 5
    leaked = {
        (word, path)
        for word in forbidden
        for path, text in texts.items()
        if any(written in text for written in spellings(word))
    }
    assert leaked == set()
    told = {word for words in story.words.values() for word, _ in words} - forbidden
    together = "\n".join(texts.values())
    assert any(word.casefold() in together for word in told), "what may be known is there"
