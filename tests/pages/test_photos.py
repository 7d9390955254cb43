"""Photos: nothing in them but pixels, upright, not too large; who may see which; where they stand."""

from __future__ import annotations

import gzip
import io
import struct
import subprocess
import sys
import zlib
from collections.abc import Iterator
from pathlib import Path

import html5lib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms
from PIL.PngImagePlugin import PngInfo

from asbuilt.changes.log import History
from asbuilt.drawings.photo import MAX_BYTES, PublishedPhoto, check_photo, prepare_photo
from asbuilt.drawings.picture import UnusablePictureError
from asbuilt.edits.outlets import remove_outlet
from asbuilt.edits.requests import SetFields
from asbuilt.io.files import read_site_files
from asbuilt.pages.context import PageContext
from asbuilt.pages.page import Asset, Page
from asbuilt.pages.tree import site_tree
from asbuilt.problem import Level
from asbuilt.publish.assemble import assemble
from asbuilt.publish.load import SiteLoader, check, load_site
from asbuilt.records.edition import Edition
from asbuilt.records.layout import is_record_file
from tests.books import no_drawing
from tests.small_site import write_site

RED, BLUE = (200, 30, 30), (30, 30, 200)
SECRETS = (b"canary-camera", b"canary-comment", b"canary-xmp", b"canary-text", b"canary-artist")


def two_colours(width: int = 80, height: int = 40) -> Image.Image:
    """Red on the left, blue on the right."""
    photo = Image.new("RGB", (width, height), RED)
    photo.paste(BLUE, (width // 2, 0, width, height))
    return photo


def exif(orientation: int = 1) -> Image.Exif:
    """As a phone writes it: where, with what, by whom (Exif 2.32: 0x8825 is the GPS directory,
    0x0112 the orientation)."""
    found = Image.Exif()
    found[0x0112] = orientation
    found[0x010F] = "canary-camera"
    found[0x013B] = "canary-artist"
    found.get_ifd(0x8825).update({1: "N", 2: (51.0, 28.0, 38.0), 3: "E", 4: (7.0, 1.0, 2.0)})
    return found


def jpeg(photo: Image.Image | None = None, orientation: int = 1) -> bytes:
    written = io.BytesIO()
    (photo or two_colours()).save(
        written,
        "JPEG",
        quality=95,
        exif=exif(orientation),
        comment=b"canary-comment",
        xmp=b"<x:xmpmeta>canary-xmp</x:xmpmeta>",
        icc_profile=ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes(),
        dpi=(321, 321),
    )
    return written.getvalue()


def png(photo: Image.Image | None = None, orientation: int = 1) -> bytes:
    text = PngInfo()
    text.add_text("Comment", "canary-text")
    written = io.BytesIO()
    (photo or two_colours()).save(written, "PNG", pnginfo=text, exif=exif(orientation))
    return written.getvalue()


def blank_png(width: int, height: int) -> bytes:
    """A PNG of one bit a pixel (ISO/IEC 15948): a few kilobytes, however many pixels."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    head = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    rows = zlib.compress(bytes((width + 7) // 8 + 1) * height, 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def opened(data: bytes) -> Image.Image:
    photo = Image.open(io.BytesIO(data))
    photo.load()
    return photo


def colour(photo: Image.Image, x: float, y: float) -> tuple[int, ...]:
    """The colour at a share of width and height, coarse enough to outlast JPEG."""
    found = photo.getpixel((int(photo.width * x), int(photo.height * y)))
    assert isinstance(found, tuple)
    return tuple(round(value / 50) for value in found)


def segments(data: bytes) -> Iterator[int]:
    """The markers of a JPEG's segments up to its scan (ITU-T T.81, B.1.1)."""
    at = 2
    while data[at + 1] != 0xDA:
        assert data[at] == 0xFF
        yield data[at + 1]
        at += 2 + int(struct.unpack(">H", data[at + 2 : at + 4])[0])


# The picture


@pytest.mark.parametrize(
    "data", [jpeg(), png(), jpeg(orientation=6)], ids=["JPEG", "PNG", "turned"]
)
def test_nothing_is_left_but_pixels(data: bytes) -> None:
    assert any(secret in data for secret in SECRETS)
    assert dict(opened(data).getexif().get_ifd(0x8825)), "the original says where it was taken"
    shot = prepare_photo(data)
    for published in (shot.data, shot.thumbnail):
        photo = opened(published)
        assert photo.format == "JPEG"
        assert not photo.getexif() and not photo.getexif().get_ifd(0x8825)
        assert set(photo.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        # Of all APPn and COM segments, only JFIF’s own.
        markers = list(segments(published))
        assert [m for m in markers if 0xE0 <= m <= 0xEF or m == 0xFE] == [0xE0]
        for left in (*SECRETS, b"Exif", b"GPS", b"ICC_PROFILE", b"http", b"xmp"):
            assert left not in published
        assert published.endswith(b"\xff\xd9"), "nothing is hung on after the picture’s end"


def test_what_is_hung_on_behind_a_photo_is_gone() -> None:
    data = jpeg() + b"canary-camera"
    assert not any(s in prepare_photo(data).data + prepare_photo(data).thumbnail for s in SECRETS)


@pytest.mark.parametrize("make", [jpeg, png])
@pytest.mark.parametrize(
    ("orientation", "size", "red", "blue"),
    [
        (1, (80, 40), (0.2, 0.5), (0.8, 0.5)),
        (2, (80, 40), (0.8, 0.5), (0.2, 0.5)),  # mirrored
        (3, (80, 40), (0.8, 0.5), (0.2, 0.5)),  # upside down
        (6, (40, 80), (0.5, 0.2), (0.5, 0.8)),  # to be turned clockwise: left goes up
        (8, (40, 80), (0.5, 0.8), (0.5, 0.2)),
    ],
)
def test_a_photo_stands_upright(
    make: object,
    orientation: int,
    size: tuple[int, int],
    red: tuple[float, float],
    blue: tuple[float, float],
) -> None:
    """Exif 2.32, 4.6.4: what the 0th row and column of each orientation are."""
    assert callable(make)
    photo = opened(prepare_photo(make(orientation=orientation)).data)
    assert photo.size == size
    assert colour(photo, *red) == tuple(round(value / 50) for value in RED)
    assert colour(photo, *blue) == tuple(round(value / 50) for value in BLUE)


@pytest.mark.parametrize(
    ("size", "large", "small"),
    [
        ((4000, 3000), (1600, 1200), (480, 360)),
        ((1000, 3000), (533, 1600), (160, 480)),
        ((300, 200), (300, 200), (300, 200)),  # never made larger
    ],
)
def test_a_photo_is_as_large_as_a_page_needs(
    size: tuple[int, int], large: tuple[int, int], small: tuple[int, int]
) -> None:
    shot = prepare_photo(jpeg(two_colours(*size)))
    assert opened(shot.data).size == large
    assert opened(shot.thumbnail).size == (shot.width, shot.height) == small


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGBA", "CMYK"])
def test_other_kinds_of_colour(mode: str) -> None:
    written = io.BytesIO()
    two_colours().convert(mode).save(written, "JPEG" if mode == "CMYK" else "PNG")
    assert opened(prepare_photo(written.getvalue()).data).mode == "RGB"


def test_what_is_transparent_is_white() -> None:
    written = io.BytesIO()
    Image.new("RGBA", (20, 20), (0, 0, 0, 0)).save(written, "PNG")
    assert opened(prepare_photo(written.getvalue()).data).getpixel((10, 10)) == (255, 255, 255)


def test_the_same_photo_gives_the_same_bytes() -> None:
    assert prepare_photo(jpeg()) == prepare_photo(jpeg())


ORIGINALS = (jpeg(), png(), jpeg(orientation=6))
GIF = io.BytesIO()
two_colours().save(GIF, "GIF")


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "no JPEG or PNG"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no JPEG or PNG"),
        (GIF.getvalue(), "no JPEG or PNG"),
        (b"\xff\xd8\xff" + b"no picture at all", "broken"),
        (b"\x89PNG\r\n\x1a\n", "broken"),
        (jpeg(two_colours(400, 400))[:-400], "broken"),
        (png(two_colours(400, 400))[:-200], "broken"),
        (blank_png(12_000, 9_000), "12000 × 9000 pixels"),
        (blank_png(20_000, 20_000), "20000 × 20000 pixels"),
        (b"\xff\xd8\xff" + bytes(MAX_BYTES), "larger than 25 MiB"),
    ],
    ids=["nothing", "SVG", "GIF", "text", "a head only", "JPEG cut off", "PNG cut off",
         "108 megapixels", "400 megapixels", "too many bytes"],
)  # fmt: skip
def test_what_cannot_be_shown_says_why(data: bytes, why: str) -> None:
    with pytest.raises(UnusablePictureError, match=why):
        prepare_photo(data)


def test_a_photo_just_within_the_limit_is_shown() -> None:
    """Between Pillow's own limit, at which it warns, and ours."""
    assert opened(prepare_photo(blank_png(12_000, 8_000)).data).size == (1600, 1067)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.data())
def test_whatever_the_bytes_a_photo_or_a_reason(data: st.DataObject) -> None:
    photo = bytearray(data.draw(st.sampled_from(ORIGINALS)))
    for at in data.draw(st.lists(st.integers(0, len(photo) - 1), max_size=12)):
        photo[at] = data.draw(st.integers(0, 255))
    photo = photo[: data.draw(st.sampled_from((len(photo), len(photo) // 2, len(photo) - 9)))]
    try:
        shot = prepare_photo(bytes(photo))
    except UnusablePictureError as why:
        assert str(why)
    else:
        assert max(opened(shot.data).size) <= 1600


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "no JPEG or PNG"),
        (GIF.getvalue(), "no JPEG or PNG"),
        (b"\xff\xd8\xff" + b"no picture at all", "broken"),
        (jpeg()[:300], "broken"),
        (blank_png(12_000, 9_000), "12000 × 9000 pixels"),
        (b"\xff\xd8\xff" + bytes(MAX_BYTES), "larger than 25 MiB"),
    ],
)
def test_a_look_at_the_head_says_why_too(data: bytes, why: str) -> None:
    with pytest.raises(UnusablePictureError, match=why):
        check_photo(io.BytesIO(data))


def test_a_look_reads_no_further_than_the_head() -> None:
    photo = Image.effect_noise((1200, 900), 90).convert("RGB")
    seen = io.BytesIO(jpeg(photo))
    read: list[int] = []

    class Counted(io.BytesIO):
        def read(self, size: int | None = -1) -> bytes:
            found = super().read(size)
            read.append(len(found))
            return found

    check_photo(Counted(seen.getvalue()))
    assert sum(read) < 8_000 < len(seen.getvalue()) / 10


# Colours


def matrix_profile(*columns: tuple[float, float, float]) -> bytes:
    """A display profile (ICC.1:2022, 8.3: a matrix and a curve for each channel) whose red, green
    and blue are these colours in XYZ for D50; the curve is a gamma of 2.2."""

    def fixed(*values: float) -> bytes:
        return b"".join(struct.pack(">i", round(value * 65536)) for value in values)

    curve = b"curv" + bytes(4) + struct.pack(">IH", 1, round(2.2 * 256)) + bytes(2)
    white = (0.9642, 1.0, 0.8249)
    tags: list[tuple[bytes, bytes]] = [
        (b"desc", b"desc" + bytes(4) + struct.pack(">I", 2) + b"x\0" + bytes(78) + bytes(2)),
        (b"cprt", b"text" + bytes(4) + b"none\0" + bytes(3)),
        (b"wtpt", b"XYZ " + bytes(4) + fixed(*white)),
        *((name, b"XYZ " + bytes(4) + fixed(*xyz))
          for name, xyz in zip((b"rXYZ", b"gXYZ", b"bXYZ"), columns, strict=True)),
        *((name, curve) for name in (b"rTRC", b"gTRC", b"bTRC")),
    ]  # fmt: skip
    table, body = struct.pack(">I", len(tags)), b""
    start = 128 + 4 + 12 * len(tags)
    for name, data in tags:
        table += name + struct.pack(">II", start + len(body), len(data))
        body += data
    head = struct.pack(
        ">I4sI4s4s4s", start + len(body), bytes(4), 0x02100000, b"mntr", b"RGB ", b"XYZ "
    )
    head += bytes(12) + b"acsp" + bytes(28) + fixed(*white) + bytes(48)
    return head + table + body


# The colours of sRGB's red, green and blue for D50, from the profile the ICC publishes (from memory).
SRGB_RED = (0.4360, 0.2225, 0.0139)
SRGB_GREEN = (0.3851, 0.7169, 0.0971)
SRGB_BLUE = (0.1431, 0.0606, 0.7141)


def of_colour(profile: bytes, mode: str = "RGB", kind: str = "PNG") -> Image.Image:
    written = io.BytesIO()
    plain = Image.new("RGB", (40, 40), (255, 0, 0)).convert(mode)
    plain.save(written, kind, icc_profile=profile)
    return opened(prepare_photo(written.getvalue()).data)


@pytest.mark.parametrize(
    ("mode", "kind"), [("RGB", "PNG"), ("RGBA", "PNG"), ("P", "PNG"), ("RGB", "JPEG")]
)
def test_colours_are_turned_into_those_of_a_picture_without_a_profile(mode: str, kind: str) -> None:
    """What the camera calls “red” is sRGB's blue, says its profile: so it is blue."""
    found = of_colour(matrix_profile(SRGB_BLUE, SRGB_RED, SRGB_GREEN), mode, kind)
    red, green, blue = found.getpixel((20, 20))  # type: ignore[misc]
    assert red < 25 and green < 25 and blue > 235
    same = of_colour(matrix_profile(SRGB_RED, SRGB_GREEN, SRGB_BLUE), mode, kind)
    red, green, blue = same.getpixel((20, 20))  # type: ignore[misc]
    assert red > 235 and green < 25 and blue < 25


@pytest.mark.parametrize(
    "profile", [b"no profile", matrix_profile(SRGB_RED, SRGB_GREEN, SRGB_BLUE)[:200]]
)
def test_a_broken_profile_says_nothing(profile: bytes) -> None:
    red, green, blue = of_colour(profile).getpixel((20, 20))  # type: ignore[misc]
    assert red > 235 and green < 25 and blue < 25


def test_a_profile_of_other_colours_than_the_pictures_says_nothing() -> None:
    found = of_colour(matrix_profile(SRGB_BLUE, SRGB_RED, SRGB_GREEN), "L")
    red, green, blue = found.getpixel((20, 20))  # type: ignore[misc]
    assert max(red, green, blue) - min(red, green, blue) < 4


# The records

PHOTOS = """\
P1: {file: photos/before.jpg, shows: as found, taken: 2025-03-02, by: Mara Quist, enclosure: 1A, finding: F1, job: J1, what: "cords <hang> over the door & hinge", share with client: yes}
P2: {file: photos/after.png, shows: as left, taken: 2025-03-07, by: Mara Quist, enclosure: 1A, finding: F1, job: J1, internal: canary-note}
P10: {file: photos/1A-A03.jpg, taken: 2025-03-08, enclosure: 1A, share with client: yes}
P9: {file: photos/vault.jpg, shows: as left, enclosure: 1A, what: canary-vault}
P11: {file: photos/eye.jpg, outlet: 1A-A03, what: canary-eye, share with client: yes}
"""
FILES = {
    "before.jpg": jpeg(),
    "after.png": png(),
    "1A-A03.jpg": jpeg(two_colours(60, 60)),  # called after a camera's outlet
    "vault.jpg": jpeg(two_colours(64, 64)),
    "eye.jpg": jpeg(two_colours(68, 68)),
    "unnamed.jpg": jpeg(two_colours(72, 72)),
}


@pytest.fixture(scope="module")
def top(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return photographed(tmp_path_factory.mktemp("records"))


def photographed(top: Path, photos: str = PHOTOS) -> Path:
    write_site(top, photos=photos)
    folder = top / "sites/harbour/photos"
    folder.mkdir()
    for name, data in FILES.items():
        (folder / name).write_bytes(data)
    return top


def book_in(top: Path, edition: Edition = Edition.INTERNAL) -> PageContext:
    return assemble(load_site(top, "harbour", ready=True), edition, History())


def files_in(book: PageContext) -> dict[str, bytes]:
    return {
        part.path: part.html.encode() if isinstance(part, Page) else part.data
        for part in site_tree(book, no_drawing)
        if isinstance(part, (Page, Asset))
    }


def published(files: dict[str, bytes]) -> set[str]:
    return {path for path in files if path.startswith("photos/") and path.count("/") == 1}


def groups(html: bytes) -> list[tuple[str, list[str]]]:
    """Of each group of photos its heading and where its pictures lead."""
    tree = html5lib.parseFragment(html.decode(), namespaceHTMLElements=False)
    return [
        (
            "".join("".join(word.itertext()) for word in group.iterfind("p[@class='photos-word']")),
            [link.get("href") for link in group.iterfind("figure/a")],
        )
        for group in tree.iter("div")
        if group.get("class") == "photos-group"
    ]


def test_only_photos_of_records_are_published(top: Path) -> None:
    reading = load_site(top, "harbour", ready=True)
    assert reading.sound
    assert not [p for p in reading.problems if p.code.startswith("photo")]
    files = files_in(book_in(top))
    assert published(files) == {f"photos/{key}.jpg" for key in ("P1", "P2", "P9", "P10", "P11")}
    assert opened(files["photos/P2.jpg"]).format == "JPEG"
    assert opened(files["photos/small/P10.jpg"]).size == (60, 60)


def test_as_found_stands_beside_as_left(top: Path) -> None:
    files = files_in(book_in(top))
    assert groups(files["enclosures/1A.html"]) == [
        ("As found", ["../photos/P1.jpg"]),
        ("As left", ["../photos/P2.jpg", "../photos/P9.jpg"]),  # the oldest first
        ("Other", ["../photos/P10.jpg"]),
    ]
    both = [("As found", ["photos/P1.jpg"]), ("As left", ["photos/P2.jpg"])]
    assert groups(files["findings.html"]) == both
    assert groups(files["jobs/J1.html"]) == [(w, [f"../{p}" for p in of]) for w, of in both]


def test_a_page_says_what_when_and_by_whom(top: Path) -> None:
    files = files_in(book_in(top))
    tree = html5lib.parseFragment(files["enclosures/1A.html"].decode(), namespaceHTMLElements=False)
    found, left, nameless, other = (f for f in tree.iter("figure") if f.get("class") == "photo")
    image = found.find("a/img")
    assert image.get("alt") == "cords <hang> over the door & hinge, as found"
    assert (image.get("width"), image.get("height")) == ("80", "40")
    assert image.get("src") == "../photos/small/P1.jpg"
    words = "".join(found.find("figcaption").itertext())
    assert "2025-03-02" in words and "Mara Quist" in words and "enclosure 1A" in words
    assert left.find("a/img").get("alt") == "enclosure 1A, as left"
    assert "date not recorded" in "".join(nameless.find("figcaption").itertext())
    assert other.find("a/img").get("alt") == "enclosure 1A"


@pytest.mark.parametrize("edition", list(Edition))
def test_pages_with_photos_are_good_html(top: Path, edition: Edition) -> None:
    files = files_in(book_in(top, edition))
    pages = ["enclosures/1A.html", "findings.html", "jobs/J1.html"]
    for path in pages if edition is Edition.INTERNAL else pages[:2]:
        html5lib.HTMLParser(strict=True).parseFragment(files[path].decode())
        assert b"<hang>" not in files[path]


def everything_of(files: dict[str, bytes]) -> bytes:
    return b"\n".join((*files.values(), *(path.encode() for path in files)))


def test_the_client_sees_the_photos_of_a_finding_and_a_job_that_are_told(tmp_path: Path) -> None:
    photos = "".join(
        f"P{n}: {{file: photos/before.jpg, {of}, share with client: {told}}}\n"
        for n, of, told in ((1, "finding: F1", "yes"), (2, "finding: F1", "no"),
                            (3, "job: J1", "yes"), (4, "job: J1", "no"))
    )  # fmt: skip
    findings = "F1: {what: the door stands open, enclosure: 1A, share with client: yes}\n"
    top = site_with(tmp_path, photos, findings, "title: A new door\nshare with client: yes\n")
    files = files_in(book_in(top, Edition.CLIENT))
    assert published(files) == {"photos/P1.jpg", "photos/P3.jpg"}
    assert groups(files["findings.html"]) == [("Other", ["photos/P1.jpg"])]
    assert groups(files["jobs/J1.html"]) == [("Other", ["../photos/P3.jpg"])]


def test_the_client_sees_the_photos_told_and_no_byte_of_others(top: Path) -> None:
    reading = load_site(top, "harbour", ready=True)
    files = files_in(book_in(top, Edition.CLIENT))
    assert published(files) == {"photos/P1.jpg", "photos/P10.jpg"}
    assert groups(files["enclosures/1A.html"]) == [
        ("As found", ["../photos/P1.jpg"]),
        # Its file is called after a camera's outlet, which isn't in the way.
        ("Other", ["../photos/P10.jpg"]),
    ]
    assert b"F1" not in everything_of(files), "its finding isn't told"
    everything = everything_of(files)
    for hidden in ("P2", "P9", "P11"):
        assert reading.photos[hidden].data not in files.values()
        assert reading.photos[hidden].thumbnail not in files.values()
        assert f"photos/{hidden}.jpg".encode() not in everything
    for text in (b"canary", b"1A-A03", b"before.jpg", b"vault.jpg", *SECRETS):
        assert text not in everything


@pytest.mark.parametrize(
    ("photo", "code", "words"),
    [
        ("{what: the door}", "photo-missing", "photo P1 names no file"),
        ("{file: photos/befor.jpg}", "photo-missing", "did you mean “photos/before.jpg”?"),
        ("{file: plans/ground.png}", "photo-missing", "put the photo under photos/"),
        ("{file: ../../other/photos/a.jpg}", "photo-missing", "among the site’s photos"),
        ("{file: photos/broken.jpg}", "photo-unfit", "“photos/broken.jpg” can't be shown: it is broken"),
    ],
)  # fmt: skip
def test_a_photo_that_cannot_be_shown_is_a_remark(
    tmp_path: Path, photo: str, code: str, words: str
) -> None:
    photographed(tmp_path, f"P1: {photo}\n")
    (tmp_path / "sites/harbour/photos/broken.jpg").write_bytes(jpeg()[:300])
    (tmp_path / "sites/harbour/plans").mkdir()
    (tmp_path / "sites/harbour/plans/ground.png").write_bytes(png())
    reading = load_site(tmp_path, "harbour", ready=True)
    (problem,) = [p for p in reading.problems if p.code.startswith("photo")]
    assert (problem.code, problem.level) == (code, Level.REMARK)
    assert words in str(problem)
    assert str(problem.place).startswith("sites/harbour/photos.yml:1:")
    assert reading.sound
    files = files_in(book_in(tmp_path))
    assert not published(files)
    assert b'<figure class="photo"' not in files["enclosures/1A.html"]


def test_a_changed_photo_is_read_anew_and_no_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    photographed(tmp_path)
    reader = SiteLoader(ready=True)
    before = reader.read(tmp_path, "harbour")
    made: list[int] = []

    def counted(data: bytes) -> PublishedPhoto:
        made.append(len(data))
        return prepare_photo(data)

    monkeypatch.setattr("asbuilt.publish.load.prepare_photo", counted)
    new = jpeg(two_colours(90, 30))
    (tmp_path / "sites/harbour/photos/before.jpg").write_bytes(new)
    after = reader.read(tmp_path, "harbour")
    assert made == [len(new)]
    assert (after.photos["P1"].width, after.photos["P1"].height) == (90, 30)
    assert after.photos["P2"] is before.photos["P2"]


def test_records_among_the_pictures_are_none(tmp_path: Path) -> None:
    """photos.yml is a table; photos/ holds pictures, whatever they are called."""
    assert is_record_file("photos.yml") and not is_record_file("photos/more.yml")
    photographed(tmp_path)
    (tmp_path / "sites/harbour/photos/more.yml").write_text("P77: {what: no record}\n")
    assert "photos/more.yml" not in read_site_files(tmp_path, "harbour").texts
    site = load_site(tmp_path, "harbour").site
    assert site is not None and "P77" not in site.photos


def test_a_photo_outlives_its_outlet(top: Path) -> None:
    site = load_site(top, "harbour").site
    assert site is not None
    wishes = remove_outlet(site, "1A-A03")
    assert [w for w in wishes if isinstance(w, SetFields) and w.kind == "photo"] == [
        SetFields("photo", "P11", "outlet", None)
    ]


# What findings name, and whose page a photo stands on


def site_with(top: Path, photos: str, findings: str, job: str | None = None) -> Path:
    photographed(top, photos)
    (top / "sites/harbour/findings.yml").write_text(findings, encoding="utf-8")
    if job is not None:
        (top / "sites/harbour/jobs/J1.yml").write_text(job, encoding="utf-8")
    return top


FOUND = (
    "F1: {what: the door stands open, room: '101', found on: 2025-03-02, found by: Mara Quist, "
    "photo: photos/vault.jpg}\n"
)


def test_the_file_a_finding_names_shows_it_as_found(tmp_path: Path) -> None:
    left = "P1: {file: photos/after.png, shows: as left, finding: F1}\n"
    book = book_in(site_with(tmp_path, left, FOUND))
    assert groups(files_in(book)["findings.html"]) == [
        ("As found", ["photos/finding-F1.jpg"]),
        ("As left", ["photos/P1.jpg"]),
    ]
    files = files_in(book)
    assert opened(files["photos/finding-F1.jpg"]).size == (64, 64)
    tree = html5lib.parseFragment(files["findings.html"].decode(), namespaceHTMLElements=False)
    for figure, when in zip(
        (f for f in tree.iter("figure") if f.get("class") == "photo"),
        ("2025-03-02 · Mara Quist", "date not recorded"),
        strict=True,
    ):
        words = "".join(figure.find("figcaption").itertext())
        assert when in words and "101 reception" in words, "where the finding is"


def test_a_file_is_shown_once_where_its_own_record_tells_of_the_finding(tmp_path: Path) -> None:
    told = "P1: {file: photos/vault.jpg, shows: as found, finding: F1}\n"
    files = files_in(book_in(site_with(tmp_path, told, FOUND)))
    assert groups(files["findings.html"]) == [("As found", ["photos/P1.jpg"])]
    taken = "finding-f1: {file: photos/after.png}\n"  # a key, as file names, whatever its case
    files = files_in(book_in(site_with(tmp_path / "b", taken, FOUND)))
    assert published(files) == {"photos/finding-F1-.jpg", "photos/finding-f1.jpg"}


def test_a_file_a_finding_names_in_vain_is_a_remark_at_the_finding(tmp_path: Path) -> None:
    reading = load_site(site_with(tmp_path, "", FOUND.replace("vault", "vaul")), "harbour")
    (problem,) = [p for p in reading.problems if p.code == "photo-missing"]
    assert str(problem.place).startswith("sites/harbour/findings.yml:1:")
    assert "did you mean “photos/vault.jpg”?" in str(problem)


def test_photos_of_a_finding_stand_with_its_enclosure_and_its_job(tmp_path: Path) -> None:
    photos = "P1: {file: photos/after.png, shows: as left, finding: F1}\n"
    findings = "F1: {what: the door stands open, enclosure: 1A, job: J1}\n"
    files = files_in(book_in(site_with(tmp_path, photos, findings)))
    one = [("As left", ["../photos/P1.jpg"])]
    assert groups(files["enclosures/1A.html"]) == groups(files["jobs/J1.html"]) == one


def test_the_binder_has_the_photos_of_each_enclosure(top: Path) -> None:
    html = files_in(book_in(top))["binder.html"]
    assert groups(html) == [
        ("As found", ["photos/P1.jpg"]),
        ("As left", ["photos/P2.jpg", "photos/P9.jpg"]),
        ("Other", ["photos/P10.jpg"]),
    ]
    assert b'loading="lazy"' not in html, "paper doesn't scroll"
    told = files_in(book_in(top, Edition.CLIENT))["binder.html"]
    assert groups(told) == [("As found", ["photos/P1.jpg"]), ("Other", ["photos/P10.jpg"])]


# What a check looks at, and what is built


def test_a_check_unfolds_no_photo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    photographed(tmp_path)
    whole = jpeg(two_colours(400, 400))
    (tmp_path / "sites/harbour/photos/before.jpg").write_bytes(whole[:-400])
    assert not [p for p in check(tmp_path) if p.code.startswith("photo")]
    ready = load_site(tmp_path, "harbour", ready=True)
    (problem,) = [p for p in ready.problems if p.code.startswith("photo")]
    assert "“photos/before.jpg” can't be shown: it is broken" in str(problem)

    def refuse(data: bytes) -> PublishedPhoto:
        raise AssertionError("unfolded")

    monkeypatch.setattr("asbuilt.publish.load.prepare_photo", refuse)
    check(tmp_path)


def parts(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Marker and contents of every segment of a JPEG to its end, scans skipped (ITU-T T.81, B.1)."""
    assert data[:2] == b"\xff\xd8"
    at = 2
    while data[at : at + 2] != b"\xff\xd9":
        assert data[at] == 0xFF
        marker, length = data[at + 1], int.from_bytes(data[at + 2 : at + 4], "big")
        yield marker, data[at + 4 : at + 2 + length]
        at += 2 + length
        if marker == 0xDA:
            while data[at] != 0xFF or data[at + 1] in (0x00, *range(0xD0, 0xD8)):
                at += 1
    assert at + 2 == len(data), "nothing stands behind its end"


def laden() -> bytes:
    """A JPEG with whatever cameras and programs hang on: place, a small picture of it, IPTC,
    more pictures behind its end."""
    data = jpeg()
    small = io.BytesIO()
    two_colours(16, 8).save(small, "JPEG", comment=b"canary-thumbnail")
    directory = exif().tobytes() + small.getvalue()
    more = b""
    for marker, contents in (
        (0xE1, directory),
        (0xED, b"Photoshop 3.0\0canary-iptc"),
        (0xE2, b"MPF\0canary-mpf"),
    ):
        more += bytes((0xFF, marker)) + struct.pack(">H", len(contents) + 2) + contents
    return data[:2] + more + data[2:] + b"canary-behind" + small.getvalue()


def test_no_byte_of_a_built_site_tells_where_by_what_or_when_a_photo_was_taken(
    tmp_path: Path,
) -> None:
    photographed(tmp_path)
    (tmp_path / "sites/harbour/photos/before.jpg").write_bytes(laden())
    output = tmp_path / "built"
    command = ("build", "--site", "harbour", "--output", str(output))
    subprocess.run([sys.executable, "-m", "asbuilt", *command], cwd=tmp_path, check=True)
    photos = sorted((output / "harbour/photos").rglob("*"))
    assert len([path for path in photos if path.is_file()]) == 10  # five, each in two sizes
    for path in photos:
        if path.is_file():
            found = [(marker, contents) for marker, contents in parts(path.read_bytes())]
            told = [(m, c) for m, c in found if 0xE0 <= m <= 0xEF or m == 0xFE]
            assert [m for m, _ in told] == [0xE0], path.name
            assert told[0][1][:5] == b"JFIF\0" and told[0][1][-2:] == b"\0\0", "with no thumbnail"
    secrets = (
        *SECRETS, b"canary-thumbnail", b"canary-iptc", b"canary-mpf", b"canary-behind",
        b"xpacket", b"ICC_PROFILE", b"Exif\0",
    )  # fmt: skip
    assert all(s in laden() for s in secrets if s not in (b"canary-text", b"xpacket"))
    for path in output.rglob("*"):
        if path.is_file():
            data = path.read_bytes()
            data += gzip.decompress(data) if path.suffix == ".gz" else b""
            assert not [secret for secret in secrets if secret in data], path
