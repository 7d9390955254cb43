"""What looks like a credential, held against tokens that public documents give as examples and
against what records hold: how much is caught, and what is none.

Tokens are put together here from two parts, so that whatever looks for them in this repository
finds none.
"""

from __future__ import annotations

import string
import uuid
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asbuilt.checks.secrets import secret_in
from asbuilt.publish.load import load_site
from asbuilt.records.fields import Listed, PortTexts, Sighting, Text
from asbuilt.records.kind import Kind, Spec
from asbuilt.records.kinds import ALL_KINDS
from asbuilt.yamltext import MappingNode, Node, ScalarNode, SequenceNode
from tests.judging import judge
from tests.typed_records import by_place, file_of, flow, needed, typed, values

TOP = Path(__file__).parents[2]
#: As the documents named beside them write them; examples all, none of them opens anything.
DOCUMENTED: Final = (
    # RFC 7519, 3.1, as RFC 7515, A.1 signs it
    "eyJ0eXAiOiJKV1QiLA0KICJhbGciOiJIUzI1NiJ9" + ".eyJpc3MiOiJqb2UiLA0KICJleHAiOjEzMDA4MTkzODAsDQog"
    "Imh0dHA6Ly9leGFtcGxlLmNvbS9pc19yb290Ijp0cnVlfQ.dBjftJeZ4CVP-mB92K27uhbUJU1p1r_wW1gFWFOEjXk",
    # RFC 7617, 2 and 2.1
    "Authorization: Basic QWxhZGRpbjpvcGVu" + "IHNlc2FtZQ==",
    "Basic dGVzdDoxMjPC" + "ow==",
    # RFC 6750, 2.1 and 4
    "Authorization: Bearer mF_9.B5f-" + "4.1JqM",
    # RFC 6749, 4.1.4
    "2YotnFZFEjr1zCsi" + "cMWpAA",
    "tGzv3JOkF0XG5Qx2" + "TlKWIA",
    # RFC 7468, 10 and 11; RFC 4716, 3 writes four dashes
    "-----BEGIN " + "PRIVATE KEY-----",
    "-----BEGIN ENCRYPTED " + "PRIVATE KEY-----",
    "-----BEGIN RSA " + "PRIVATE KEY-----",
    "---- BEGIN SSH2 ENCRYPTED " + "PRIVATE KEY ----",
    # RFC 9580, 6.2.1
    "-----BEGIN PGP " + "PRIVATE KEY BLOCK-----",
    # RFC 3986, 3.2.1 says why not
    "ftp://mara:tulip" + "@records.example/x",
    # RFC 2307, 5.3 (the form; the digest is of an empty text)
    "{SHA}2jmj7l5rSw0yVb/vlWAY" + "kK/YBwk=",
    # IEEE 802.11, annex J.4: passphrase “password” of network “IEEE”, as the 64 digits of its key
    "f42c6fc52df0ebef9ebb4b90b38a5f90" + "2e83fe1b135a70e23aed762e9710a12e",
    # RFC 4226, appendix D: the secret in base 16
    "key: 3132333435363738" + "393031323334353637383930",
    # An access key and its secret, from their issuer's documentation (from memory)
    "AKIAIOSFODNN7" + "EXAMPLE",
    "wJalrXUtnFEMI/K7MDENG/" + "bPxRfiCYEXAMPLEKEY",
    # crypt(5): bcrypt, SHA-256, SHA-512, MD5 (forms; from memory)
    "$2a$10$N9qo8uLOickgx2ZMRZoMye" + "IjZAgcfl7p92ldGxad68LJZdL17lhWy",
    "$5$saltstring$5B8vYYiY.CVt1Rl" + "TTf8KbXBH3hsxYWM/e4.WE3DAbg1",
    "enable secret 5 $1$iUjJ$cDZ03KKG" + "h7mHfX2RSbDqP.",
    # What one types and says, common practice
    *("password=\"hunter2\"", "Password hunter2", "pw hunter22", "wifi key: tulip", "psk = tulip"),
    *("username admin password 7 0822455D0A16", "client_secret: tulip", "shared secret is tulip"),
    *("snmp-server community s3cr3t RO", "SNMP community is tide", "rw community: tide"),
    *("login admin/tulip", "credentials: mara / tulip", "the code is 4711", "PIN4711"),
    *("combination to the lock is 12-34-56", "secret=JBSWY3DPEHPK3PXP", "api key: tulip"),
)  # fmt: skip

_LETTERS, _DIGITS = string.ascii_letters, string.digits
_ANY = _LETTERS + _DIGITS
_SMALL, _LARGE = string.ascii_lowercase + _DIGITS, string.ascii_uppercase + _DIGITS
#: Beginning, signs, how many follow, the share that has to be caught. The beginnings are as public
#: lists of token forms give them; without one a generator's text is told by its mixture alone, and
#: some by chance is mixed no more than a name.
SHAPES: Final = (
    *(("gh" + "p_", _ANY, 36, 1), ("git" + "hub_pat_", _ANY, 59, 1), ("gl" + "pat-", _ANY, 20, 1)),
    *(("AK" + "IA", _LARGE, 16, 1), ("AI" + "za", _ANY + "-_", 35, 1), ("np" + "m_", _ANY, 36, 1)),
    *(("rk_" + "live_", _ANY, 24, 1), ("sk_" + "test_", _ANY, 24, 1), ("da" + "2-", _SMALL, 26, 1)),
    *(("xo" + "xb-", _DIGITS, 24, 1), ("hv" + "s.", _ANY, 24, 1), ("ke" + "y-", "0123456789abcdef", 32, 1)),
    *(("", "0123456789abcdef", 32, 0.99), ("", "0123456789abcdef", 64, 0.99)),
    *(("", _ANY, 20, 0.93), ("", _ANY, 24, 0.95), ("", _ANY, 32, 0.97), ("", _ANY, 50, 0.99)),
    *(("", _ANY + "-_", 43, 0.99), ("", _ANY + "+/", 40, 0.99)),
    *(("", _SMALL, 24, 0.9), ("", _SMALL, 32, 0.9), ("", _LARGE, 25, 0.9)),
)  # fmt: skip


@pytest.mark.parametrize("text", DOCUMENTED, ids=range(len(DOCUMENTED)))
def test_a_documented_example_is_caught(text: str) -> None:
    assert secret_in(text)
    assert secret_in(f"as left: {text} (see the label)")
    found = judge({"site.yml": f"name: Harbour Lane\nnote: {typed(text)}\n"})
    assert "secret" in [problem.code for problem in found]


@pytest.mark.parametrize(("begins", "signs", "length", "share"), SHAPES)
def test_so_many_of_a_form_are_caught(begins: str, signs: str, length: int, share: float) -> None:
    rng = Random(f"{begins}{length}{len(signs)}")
    tokens = [begins + "".join(rng.choices(signs, k=length)) for _ in range(300)]
    caught = sum(secret_in(token) is not None for token in tokens)
    assert caught >= share * len(tokens)


# What isn't one


def _harmless(rng: Random) -> Iterator[str]:
    """What records hold, made up by the forms of the trade."""

    def some(signs: str, count: int) -> str:
        return "".join(rng.choices(signs, k=count))

    yield f"{rng.randint(1, 9)}{some('ABC', 1)}-{some('ABC', 1)}{rng.randint(1, 48):02}"
    yield f"{rng.randint(0, 2)}.{some(_LARGE, 2)}-{some(_LARGE, 2)}:{rng.randint(1, 48):02}.B{rng.randint(1, 9)}"
    yield some(_LARGE, rng.randint(8, 16))  # a serial number
    yield f"S/N {some(_LARGE, 4)}-{some(_DIGITS, 6)}-{some(_LARGE, 4)}-{some(_DIGITS, 4)}"
    yield some(_DIGITS, rng.randint(15, 22))  # of a SIM, a meter, a circuit
    yield ":".join(some("0123456789abcdef", 2) for _ in range(6))  # IEEE 802, 8.1
    yield "-".join(some("0123456789ABCDEF", 2) for _ in range(6))
    yield some("0123456789abcdef", 12)
    yield f"asset {rng.choice(('IT', 'FM', ''))}{rng.randint(0, 10**7):07}"
    yield some("0123456789abcdef", 40)  # a commit
    yield f"as of commit {some('0123456789abcdef', rng.randint(7, 12))}"
    yield str(uuid.UUID(int=rng.getrandbits(128), version=4))  # RFC 9562
    yield f"{rng.uniform(0, 90):.1f} m, {rng.randint(1, 300)} ft"
    yield f"2025-0{rng.randint(1, 9)}-1{rng.randint(0, 9)} {rng.randint(10, 23)}:{rng.randint(10, 59)}"
    yield f"2025-03-07T{rng.randint(10, 23)}:15:00+01:00"
    yield f"CAT6A-U/FTP-LSZH-{rng.randint(100, 999)}M-DRUM-{some('ABCDEF', 3)}"
    yield f"{rng.randint(4, 96)}x9/125 OS2 loose tube, {rng.randint(2, 9)}.{rng.randint(0, 9)} mm, Dca-s1a,d1,a1"
    yield f"10.{rng.randint(0, 255)}.{rng.randint(0, 255)}.0/24, fe80::{some('0123456789abcdef', 4)}:1"
    yield f"photos/Room{rng.randint(100, 999)}-Cabinet1A-AsFound-2025-03-0{rng.randint(1, 9)}.jpg"
    yield f"https://records.example/sites/{some(string.ascii_lowercase, 9)}/outlets/1A-A0{rng.randint(1, 9)}.html"
    yield f"ref {some(string.ascii_uppercase, 3)}/{rng.randint(2020, 2030)}/{rng.randint(0, 99999):05}"
    yield f"+44 20 7946 0{rng.randint(100, 999)}"
    yield f"fw 12.{rng.randint(0, 9)}.{rng.randint(0, 9)}-build{rng.randint(1000, 99999)}"


def test_what_the_trade_writes_down_is_none() -> None:
    rng = Random(5)
    texts = [text for _ in range(200) for text in _harmless(rng)]
    assert len(texts) > 4000
    assert [text for text in texts if secret_in(text)] == []


def _values(node: Node) -> Iterator[str]:
    if isinstance(node, ScalarNode):
        yield node.value
    elif isinstance(node, SequenceNode):
        for item in node.value:
            yield from _values(item)
    elif isinstance(node, MappingNode):
        for key, value in node.value:
            yield from (str(key.value), *_values(value))


def test_no_value_of_the_demonstration_is_one() -> None:
    texts = {
        text
        for site in sorted(path.name for path in (TOP / "sites").iterdir())
        for raw in load_site(TOP, site).records.raw
        for name, node in raw.fields.items()
        for value in _values(node)
        for text in (raw.key, value, f"{name}: {value}")
    }
    assert len(texts) > 5000
    assert [text for text in sorted(texts) if secret_in(text)] == []


_TYPED = sorted({spec.type for kind in ALL_KINDS for spec in kind.specs.values()}, key=repr)


@settings(max_examples=300, derandomize=True, deadline=None)
@given(st.sampled_from([t for t in _TYPED if not isinstance(t, Text)]).flatmap(values))
def test_no_value_of_a_declared_type_is_one(text: str) -> None:
    assert secret_in(text) is None


# In every field there is


def _texts(kind: Kind) -> list[Spec]:
    """The fields a text may stand in."""
    inner = ((spec, spec.type.of if isinstance(spec.type, Listed) else spec.type)
             for spec in kind.specs.values() if not by_place(kind, spec.name))  # fmt: skip
    return [spec for spec, type_ in inner if isinstance(type_, (Text, Sighting, PortTexts))]


@pytest.mark.parametrize("kind", [k for k in ALL_KINDS if k.name != "test"], ids=lambda k: k.name)
def test_every_text_of_every_kind_is_looked_at(kind: Kind) -> None:
    token = "ghp" + "_R2kkVxN31PiqsJYXFmTIBmOu5a9gM0"
    specs = _texts(kind)
    assert specs
    for spec in specs:
        inner = spec.type.of if isinstance(spec.type, Listed) else spec.type
        value = typed(token)
        if isinstance(inner, Sighting):
            value = typed(f"2025-03-07 by {token}")
        elif isinstance(inner, PortTexts):
            value = flow({"1": token})
        key = "A/01" if kind.name == "cord" else "K1"
        path, text = file_of(kind, key, {**needed(kind), spec.name: value})
        found = [p for p in judge({path: text}) if p.code == "secret"]
        assert len(found) == 1, spec.name
        assert found[0].place.path.endswith(path)
        assert "“vault” in site.yml" in found[0].hint
        assert token not in str(found[0])


def test_a_key_is_looked_at_too() -> None:
    (found,) = [
        p for p in judge({"outlets.yml": "AKIA" + "IOSFODNN7EXAMPLE: {}\n"}) if p.code == "secret"
    ]
    assert found.place.line == 1


def test_a_line_of_results_is_looked_at_too() -> None:
    text = "link,date,result,instrument\nK1,2025-03-07,pass,pw hunter22\n"
    found = judge({"outlets.yml": "K1: {}\n", "tests/a.csv": text})
    assert [p.place.line for p in found if p.code == "secret"] == [2]
