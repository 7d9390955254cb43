"""The client's edition as it is published: no canary in any byte of it, whatever it is packed in,
from today, from the past, from git or from the machine it was made on."""

from __future__ import annotations

import io
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from PIL import Image, PngImagePlugin

from asbuilt.changes.log import History
from asbuilt.publish.assemble import assemble, output_of
from asbuilt.publish.load import load_site
from asbuilt.records.edition import Edition, audience_table, in_edition, is_withheld
from asbuilt.records.kind import Audience, Raw
from asbuilt.records.kinds import KINDS
from asbuilt.yamltext import ScalarNode, SequenceNode
from tests.canaries import Canaries, CanarySite
from tests.gitrepo import GitRepo
from tests.searching import spellings, text_of, texts_of, written

Build = Callable[[Edition], Path]
SITE = "sites/harbour"
TOP = Path(__file__).parents[2]


@dataclass
class Repository:
    """A repository with a past, of a site that has a canary in every field, and of another
    client's beside it."""

    git: GitRepo
    site: CanarySite = field(default_factory=CanarySite)

    def word(self, where: str, open_: bool = False) -> str:
        return self.site.canaries.word(where, open_)

    def begin(self) -> None:
        """Today's files are the last of four commits, with work on top that isn't committed."""
        today: dict[str, str | bytes] = {**self.site.files(), **self._found_later()}
        outlets = next(path for path in today if path.startswith("outlets/"))
        findings, vault = str(today["findings.yml"]), str(today["site.yml"])
        label, plate = (self.word(f"{what} of a desk when it was a camera") for what in "lp")
        desk = f"SWING: {{room: '101', serves: desk, note: formerly {label}}}\n"
        camera = f"SWING: {{serves: camera, label: {label}, plate: {plate}}}\n"
        self._pictures(today)
        today[outlets] = str(today[outlets]) + desk
        survey: dict[str, str] = {path: text.replace("serves: camera", "serves: desk") for path, text in
                  today.items() if isinstance(text, str)}  # fmt: skip
        survey[outlets] += (
            f"{self.word('key of a door that is gone')}: {{serves: door, room: '101'}}\n"
            f"{self.word('key of a desk that went as a door')}: {{serves: desk}}\n"
            f"OLD: {{room: '101', {self.word('a field no more known')}: 1}}\n"
        )
        survey["site.yml"] = vault.replace("vault: ", f"vault: {self.word('an old vault')} ")
        survey["findings.yml"] = findings.replace(
            "share with client: no", "share with client: yes"
        ) + (
            f"{self.word('key of a finding that is gone')}: {{what: "
            f"{self.word('what is gone, told once')}, share with client: yes}}\n"
            f"LATER: {{what: {self.word('what was not told then')}, share with client: no}}\n"
        )
        survey[f"tests/{self.word('name of an old file of results')}.csv"] = (
            f"link,date,result,{self.word('name of a column')}\n"
            f"{self.site.keys['outlet']},2024-01-01,pass,{self.word('a cell of it')}\n"
        )
        survey["outlets/slip.yml"] = f"S1: {{serves: camera {self.word('an unreadable file')}\n"
        survey["guards.yml"] = f"{self.word('a kind no more known')}: {{name: x}}\n"
        self._commit(survey)
        gone = [path for path in survey if path not in today]
        doors = survey[outlets].replace("as a door", "").replace(desk, camera)
        untold = survey["findings.yml"].replace("share with client: yes", "share with client: no")
        went = re.sub(r"(canary\d+): \{serves: desk\}", r"\1: {serves: door}", doors)
        self._commit({outlets: went, "findings.yml": untold, **dict.fromkeys(gone)})
        self._branches(vault)
        self._commit(today)
        told = "Job: J1\nJob: " + self.site.keys["job"]
        self._commit({"site.yml": f"{vault}# later\n"}, told)
        self._on_disk(today, outlets)

    def _found_later(self) -> dict[str, str]:
        later = self.word("told today", open_=True)
        return {"findings/later.yml": f"LATER: {{what: {later}, share with client: yes}}\n"}

    def _branches(self, vault: str) -> None:
        """One that is merged, with what it said meanwhile; one that isn't; a tag, a note."""
        git = self.git
        main, side = git.git("branch", "--show-current").strip(), self.word("name of a branch")
        git.switch(side, new=True)
        self._commit({"site.yml": f"# x\n{vault}".replace("vault: ", f"vault: {side} ")})
        git.switch(main)
        git.merge(side, self.word("subject of a merge"))
        git.switch(self.word("name of a branch that isn’t merged"), new=True)
        self._commit({"rooms.yml": f"{self.word('a file of that branch')}: x\n"})
        git.switch(main)
        git.git("tag", "-a", self.word("name of a tag"), "-m", self.word("text of a tag"))
        git.git("notes", "add", "-m", self.word("a note in git"))
        remote = f"https://records.example/{self.word('address of a remote')}.git"
        git.git("remote", "add", "origin", remote)

    def _on_disk(self, today: Mapping[str, object], outlets: str) -> None:
        """Work that isn't committed."""
        self.git.write(
            {
                f"{SITE}/{outlets}": f"{today[outlets]!s}{self.word('a new door')}: {{serves: door}}\n",
                f"{SITE}/site.yml": re.sub(
                    "^access: ", f"access: {self.word('a new way in')} ", str(today["site.yml"]),
                    flags=re.M,
                ),
                f"{SITE}/findings/new.yml": f"{self.word('key of a new finding')}: {{what: x}}\n",
                f"{SITE}/{self.word('name of a stray file')}.txt": self.word("a stray file"),
            }
        )  # fmt: skip

    def _pictures(self, today: dict[str, str | bytes]) -> None:
        """A photo that is told and one that isn't, one nobody names, a plan; all with canaries in
        what a camera or an editor writes beside the pixels."""
        token = {where: token for token, where in self.site.canaries.secret.items()}
        for where, name, data in (
            ("photo: file", "photos/{}.jpg", self._jpeg()),
            ("photo: file of one kept back", "photos/{}.png", self._png()),
            ("floor: plan", "plans/{}.png", self._png()),
        ):
            path = name.format(token[where])
            today[path] = data
            for file in ("photos.yml", "site.yml"):
                today[file] = str(today[file]).replace(f": {token[where]}", f": {path}")
        today[f"photos/{self.word('name of a photo nobody names')}.jpg"] = self._jpeg()

    def _jpeg(self) -> bytes:
        exif, written = Image.Exif(), io.BytesIO()
        exif[0x010F], exif[0x013B] = self.word("maker of a camera"), self.word("a photographer")
        exif[0x9C9C] = self.word("a comment in UTF-16").encode("utf-16-le")
        exif.get_ifd(0x8825).update(
            {1: "N", 2: (51.0, 28.0, 38.0), 29: self.word("day of a place")}
        )
        xmp = f"<x:xmpmeta>{self.word('XMP')}</x:xmpmeta>".encode()
        photo = Image.new("RGB", (60, 40), (200, 30, 30))
        comment = self.word("a comment in a photo").encode()
        profile = self.word("a profile of colours").encode()
        photo.save(written, "JPEG", exif=exif, comment=comment, xmp=xmp, icc_profile=profile)
        return written.getvalue() + self.word("what follows a photo").encode()

    def _png(self) -> bytes:
        chunks, written = PngImagePlugin.PngInfo(), io.BytesIO()
        chunks.add_text("Comment", self.word("a text in a PNG"))
        chunks.add_text("Title", self.word("a packed text in a PNG"), zip=True)
        chunks.add_itxt("XML:com.adobe.xmp", self.word("XMP in a PNG"), zip=True)
        chunks.add(b"caNy", self.word("a chunk of its own").encode())
        Image.new("RGB", (60, 40), (30, 30, 200)).save(written, "PNG", pnginfo=chunks)
        return written.getvalue() + self.word("what follows a PNG").encode()

    def _commit(self, files: Mapping[str, str | bytes | None], trailer: str = "") -> None:
        other = f"sites/{self.word('key of another client')}"
        message = f"{self.word('a subject')}\n\n{self.word('a body')}\n\n{trailer}"
        name, address = self.word("name of an author"), self.word("address of an author")
        self.git.commit(
            {f"{SITE}/{path}": text for path, text in files.items()}
            | {
                f"{other}/site.yml": f"name: {self.word('name of another client')}\n",
                f"{other}/outlets.yml": f"{self.word('an outlet of another')}: {{}}\n",
            },
            message,
            by=(name, f"{address}@firm.example"),
        )


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Canaries, Build]:
    git = GitRepo(tmp_path_factory.mktemp("made") / "canary900-records")
    repository = Repository(git)
    canaries = repository.site.canaries
    canaries.secret["canary900"] = "a folder of this machine"
    git.git("branch", "-m", repository.word("name of the branch that is built"))
    git.git("config", "user.name", repository.word("who builds"))
    git.git("config", "user.email", f"{repository.word('address of who builds')}@firm.example")
    repository.begin()
    here = {name: repository.word(f"{name} of this machine") for name in ("USER", "LOGNAME")}
    here |= {"HOSTNAME": repository.word("name of this machine")}

    def build(edition: Edition) -> Path:
        output = git.path.parent / edition
        command = ("build", "--edition", edition.value, "--site", "harbour", "--output", output)
        environment = {**os.environ, **here, "HOME": git.environment["HOME"]}
        done = subprocess.run(
            [sys.executable, "-m", "asbuilt", *command],
            cwd=git.path, env=environment, capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert done.returncode == 0, done.stdout + done.stderr
        return output

    return canaries, build


def test_no_canary_is_published(made: tuple[Canaries, Build]) -> None:
    canaries, build = made
    folder = build(Edition.CLIENT)
    texts = texts_of(folder)
    assert len(texts) > 40
    leaked = {
        (where, path)
        for token, where in canaries.secret.items()
        for path, text in texts.items()
        if any(written in text for written in spellings(token))
    }
    assert leaked == set()
    known = set(canaries.open)
    found = {token for text in texts.values() for token in re.findall(r"canary[\W_]?\d{4}", text)}
    assert found <= known, "nor any other there may be"
    assert len(found) > 0.9 * sum(token.startswith("canary") for token in known)
    shown = {token for token in known if any(token in text for text in texts.values())}
    assert len(shown) > 0.9 * len(known), "what the client may read is there"
    for photo in sorted(folder.rglob("*.jpg")):
        assert _segments(photo.read_bytes()) <= {0xC0, 0xC4, 0xDA, 0xDB, 0xE0}, photo.name


def test_the_engineers_edition_has_them(made: tuple[Canaries, Build]) -> None:
    """So that their absence elsewhere means something: most are shown, of today and of the past."""
    canaries, build = made
    texts = "\n".join(texts_of(build(Edition.INTERNAL)).values())
    shown = {where for token, where in canaries.secret.items() if token in texts}
    for where in (
        *("site: vault", "key of a camera's outlet", "key of a door that is gone", "a subject"),
        *("what is gone, told once", "a new door", "name of an author", "a new way in"),
        *("l of a desk when it was a camera", "key of a desk that went as a door"),
    ):
        assert where in shown, where
    assert len(shown) > 0.4 * len(set(canaries.secret.values()))


# The demonstration, whose values are like those of real sites


#: Purposes of networks that a page says of any site.
OURS = {"access points", "cameras and doors"}


@pytest.mark.parametrize("key", ["hollow-lane", "ostrel-vane"])
def test_no_internal_value_of_the_demonstration_is_in_a_page(key: str) -> None:
    reading = load_site(TOP, key)
    book = assemble(reading, Edition.CLIENT, History())
    texts = "\n".join(written(output_of(book, list)).values())
    shown = "\n".join(_values_of(in_edition(Edition.CLIENT, reading.records).raw, every=True))
    kept = {text for text in _values_of(reading.records.raw) if text not in shown}
    kept |= {name for name in _names_of_others(key) if name not in shown}
    assert len(kept) > 20
    assert sorted(text for text in kept - OURS if text in texts) == []


def _values_of(raws: Iterable[Raw], every: bool = False) -> Iterator[str]:
    """The texts of the fields that only engineers read, long enough to be told from words of a
    page; of what is withheld those of all fields."""
    readers = audience_table()
    for raw in raws:
        hidden = every or is_withheld(raw) or KINDS[raw.kind].declared is not None
        for name, node in raw.fields.items():
            if hidden or readers[raw.kind].get(name) is not Audience.CLIENT:
                nodes = node.value if isinstance(node, SequenceNode) else [node]
                texts = [str(one.value).casefold() for one in nodes if isinstance(one, ScalarNode)]
                yield from (text for text in texts if every or len(text) > 9)


def _names_of_others(key: str) -> Iterator[str]:
    for other in sorted((TOP / "sites").iterdir()):
        if other.name != key:
            site = load_site(TOP, other.name).site
            assert site is not None
            yield from (other.name, site.name.casefold())
            yield from (contact.name.casefold() for contact in site.contacts.values())


def _segments(data: bytes) -> set[int]:
    """The markers of a JPEG up to its pixels (ITU-T T.81, B.1.1): FE is a comment, E1 and the
    following are for whatever an application writes."""
    found, at = set(), 2
    while data[at] == 0xFF:
        found.add(data[at + 1])
        if data[at + 1] == 0xDA:
            break
        at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
    assert data.endswith(b"\xff\xd9"), "nothing follows the photo"
    return found


# What looks for them finds them


@pytest.mark.parametrize("where", ["gz", "zip", "pdf", "png", "base64", "hex", "utf-16", "entity",
                                   "percent", "json", "css", "tags", "name"])  # fmt: skip
def test_a_canary_is_found_wherever_it_hides(where: str) -> None:
    import base64
    import gzip
    import zipfile

    from fpdf import FPDF

    word, name, packed = b"Canary 77", "a.bin", io.BytesIO()
    match where:
        case "gz":
            data = gzip.compress(word)
        case "zip":
            with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as folder:
                folder.writestr("x", gzip.compress(word))
            data = packed.getvalue()
        case "pdf":
            pdf = FPDF()
            pdf.add_page()
            pdf.set_font("helvetica", size=12)
            pdf.cell(text=word.decode())
            data = bytes(pdf.output())
        case "png":
            chunks = PngImagePlugin.PngInfo()
            chunks.add_itxt("Title", word.decode(), zip=True)
            Image.new("L", (1, 1)).save(packed, "PNG", pnginfo=chunks)
            data = packed.getvalue()
        case "base64":
            data = b"<a href='data:text/plain;base64," + base64.b64encode(b"it is " + word) + b"'>"
        case "hex":
            data = word.hex().encode()
        case "utf-16":
            data = b"x" + word.decode().encode("utf-16-le")
        case "entity":
            data = b"<p>Can&#97;ry&amp;#32;77"
        case "percent":
            data = b"<a href=%43anary+77>"
        case "json":
            data = b'{"a": "C\\u0061nary 77"}'
        case "css":
            data = b'a::after { content: "C\\61 nary 77" }'
        case "tags":
            data = b"<td>Can<b>ary</b> <i>77</i>"
        case _:
            data, name = b"", "outlets/canary-77/index.html"
    text = text_of(name, data)
    assert any(written in text for written in spellings("Canary 77")), where
