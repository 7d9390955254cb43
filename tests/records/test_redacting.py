"""Words that name a withheld thing, in the texts engineers write. What is expected is common
practice of writing labels down; no source."""

from __future__ import annotations

import unicodedata
from random import Random

import pytest

from asbuilt.records.redaction import names_withheld, redact_text

WORDS = frozenset(
    (
        *("1A-A02", "CAM-12", "1A/NVR1", "NVR1", "NVR", "Till camera", "Gate", "D1", "Tür-7"),
        *("104", "10442", "10.20.30.40", "Straße 5"),
    )
)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        # punctuation, case and emphasis around it
        ("CAM-12", "device"),
        ("(CAM-12)", "(device)"),
        ("see “CAM-12”, please", "see “device”, please"),
        ("CAM-12's bracket", "device's bracket"),
        ("both CAM-12s", "both device"),
        ("_CAM-12_ and **cam-12**", "_device_ and **device**"),
        ("CAM-12.", "device."),
        ("CAM-12\nis new", "device\nis new"),
        ("<b>CAM-12</b>", "<b>device</b>"),
        ("https://records.example/CAM-12?x", "https://records.example/device?x"),
        # as somebody else would write it
        ("Cam 12", "device"),
        ("cam12", "device"),
        ("CAM_12", "device"),
        ("CAM-012", "device"),
        ("CAM – 12", "device"),
        ("CAM\u00ad-\u200b12", "device"),
        ("CAM\N{NON-BREAKING HYPHEN}12", "device"),
        ("1a a02 hangs loose", "device hangs loose"),
        ("TILL CAMERA over the till", "device over the till"),
        ("Till  camera", "device"),
        ("till-camera.jpg", "device.jpg"),
        (unicodedata.normalize("NFD", "Tür-7 klemmt"), "device klemmt"),
        ("STRASSE 5", "device"),
        # with what belongs to it
        ("1A/NVR1/CAM-LAN is dark", "device is dark"),
        ("NVR1/01-04", "device"),
        ("1A/NVR1", "device"),
        # labels that are common words
        ("the gate is locked", "the device is locked"),
        ("Gates and gateways", "device and gateways"),
        ("nvr fan is loud", "device fan is loud"),
        # others
        ("CAM-123", "CAM-123"),
        ("XCAM-12", "XCAM-12"),
        ("CAM-12a", "CAM-12a"),
        ("CAM-1", "CAM-1"),
        ("1A-A020", "1A-A020"),
        ("port 1A/A/02", "port 1A/A/02"),
        ("cam, 12 of them", "cam, 12 of them"),
        ("till and camera", "till and camera"),
        # short words only as they were typed
        ("D1 is hot", "device is hot"),
        ("D-1, d1 and D 1", "D-1, d1 and D 1"),
        # a bare number only where it is said to be a name, or is too long for anything else
        ("outlet 104 is loose", "outlet device is loose"),
        ("Outlet no. 104", "Outlet no. device"),
        ("104 m, room 104, U 104", "104 m, room 104, U 104"),
        ("no outlet; 104 m of cable", "no outlet; 104 m of cable"),
        ("10442 is loose", "device is loose"),
        ("ping 10.20.30.40 first", "ping device first"),
        ("nothing of the kind", "nothing of the kind"),
        ("", ""),
    ],
)
def test_words_that_name_a_withheld_thing(text: str, shown: str) -> None:
    assert redact_text(text, WORDS) == shown


def test_nothing_withheld_nothing_changed() -> None:
    text = unicodedata.normalize("NFD", "Tür-7")
    assert redact_text(text, frozenset()) == text
    assert redact_text(text, frozenset(("CAM-12",))) == text
    assert redact_text("A · –", frozenset(("·", "–", ""))) == "A · –"


@pytest.mark.parametrize(("word", "telling"), [("A", False), ("-", False), ("A1", True)])
def test_a_single_sign_names_nothing(word: str, telling: bool) -> None:
    assert names_withheld(word) is telling


def test_the_longest_word_is_taken() -> None:
    assert redact_text("GATE-1 north", frozenset(("GATE-1", "GATE-1 north"))) == "device"


@pytest.mark.parametrize("seed", range(20))
def test_a_word_is_found_in_any_text_and_case(seed: int) -> None:
    """Whatever stands around it, as long as no letter or digit touches it."""
    rng = Random(seed)
    signs = "ab12XY-_. /,;:!?()[]{}<>\"'“”|`*~#@&%$§äß中\n\t"
    for _ in range(200):
        word = f"{rng.choice(('cam', 'NVR', 'Gate', 'ü'))}{rng.choice('-_. ')}{rng.randint(10, 99)}"
        written = rng.choice((str.lower, str.upper, str.title))(word)
        around = ["".join(rng.choices(signs, k=rng.randint(0, 8))) for _ in range(2)]
        text = f"{around[0]} {written} {around[1]}"
        assert written.casefold() not in redact_text(text, frozenset((word,))).casefold(), text
