"""Secrets: a record says where a credential is kept, never what it is.

Records go into git, which forgets nothing, and into pages. So what looks like a password, a door
code, a key or a token is an error, in every text of every record, in fields nobody knows as well.
Looked for are: a word for a secret with a value after it; private keys (RFC 7468); addresses with
credentials in them (RFC 3986, userinfo); hashed passwords; wireless and one-time codes as their QR
labels write them; long texts that mix letters and digits as only a generator does. Comments of a
file are no records and aren't looked at. The text itself is never repeated in a message.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, pairwise
from typing import Final

from asbuilt.paths import Net
from asbuilt.problem import Problem
from asbuilt.records.fields import MAX_TEXT
from asbuilt.records.kind import Raw, Record
from asbuilt.records.kinds import KINDS
from asbuilt.site import Site
from asbuilt.yamltext import MappingNode, Node, ScalarNode, SequenceNode, place_of

#: Words that are followed by a secret, whatever it looks like.
_WORDS: Final = r"pass(?:word|phrase|code|wd)|pwd|pw|psk|community string|" + (
    r"(?:api|wpa2?|wep|pre-?shared|shared|private|secret|access)[ _-]?key"
)
#: Words that are followed by a secret when it has the digits of one.
_NUMBERED: Final = r"pin(?:[ _-]?code)?|secret|token|combination|recovery[ _-]?key|" + (
    r"(?:door|gate|alarm|access|entry|safe|lock|key|keypad|disarm|recovery)[ _-]?code"
)
_VALUE: Final = r"[\"'“]?(?P<value>[^\s\"'”,;]+)"
_SAID = re.compile(rf"\b(?:{_WORDS})s?\b\s*(?:\bis\b|:|=)\s*{_VALUE}", re.IGNORECASE)
_COUNTED = re.compile(
    rf"\b(?:{_WORDS}|{_NUMBERED})s?\b(?:\s*(?:\bis\b|:|=)\s*|\s+){_VALUE}", re.IGNORECASE
)
#: Values that point to where a secret is, or say that there is none.
_POINTERS: Final = frozenset(
    (
        "a", "an", "and", "as", "ask", "at", "behind", "by", "changed", "default", "for", "from",
        "given", "has", "held", "in", "is", "kept", "known", "locked", "n/a", "needed", "no",
        "none", "not", "of", "on", "only", "or", "per", "required", "same", "sealed", "see", "set",
        "stored", "the", "this", "to", "under", "unknown", "vault", "was", "with", "yes", "-", "–",
    )
)  # fmt: skip
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
_KEY = re.compile(r"-----BEGIN [A-Z0-9 ]*PRIVATE KEY")
_ADDRESS = re.compile(
    r"\b[a-z][a-z0-9+.-]{1,30}://[^\s/:@]{1,200}:[^\s/@]{1,200}@|\botpauth://", re.IGNORECASE
)
_HASH = re.compile(r"\$(?:1|2[aby]?|5|6|7|y|argon2\w*)\$[./A-Za-z0-9$=,+]{8,}")
_WIRELESS = re.compile(r"\bWIFI:\S*\bP:[^;\s]+", re.IGNORECASE)
_RUN = re.compile(r"[A-Za-z0-9_+/=-]{20,}")
_HEX = re.compile(r"[0-9a-f]{32,}", re.IGNORECASE)
#: Texts one of which is in whatever any of the above finds, but in few records else.
_SIGNS: Final = (
    "password", "passphrase", "passcode", "passwd", "pwd", "pw", "psk", "pin", "key", "community",
    "secret", "token", "combination", "code", "://", "$", "wifi:",
)  # fmt: skip
_LONG: Final = 20


def check_secrets(site: Site, net: Net) -> Iterator[Problem]:
    texts = [text for raw in _raws(site) for text in _lines_of(raw)]
    if not _worth_a_look(texts):
        return
    for raw in _raws(site):
        for name, text, node in _texts_of(raw):
            what = secret_in(text) or secret_in(f"{name}: {text}")
            if what:
                message = f"this looks like {what}, and a record must not hold one"
                hint = "take it out, say in the site's “vault” where it is kept, and change it if "
                hint += "it was ever committed: git forgets nothing"
                yield Problem(place_of(raw.path, node), "secret", message, hint)


def _worth_a_look(texts: Sequence[str]) -> bool:
    """Whether any text of a site can be a secret, asked of all at once: it seldom is."""
    together = "\n".join(texts)
    folded = together.casefold()
    if any(sign in folded for sign in _SIGNS) and secret_in(together):
        return True
    return any(_is_token(run) for text in texts if len(text) >= _LONG for run in _RUN.findall(text))


def secret_in(text: str) -> str | None:
    """What kind of secret `text` looks like, or None."""
    if _KEY.search(text):
        return "a private key"
    if _ADDRESS.search(text):
        return "an address with credentials in it"
    if _HASH.search(text):
        return "a hashed password"
    if _WIRELESS.search(text):
        return "the text of a wireless network's QR label"
    for match in _SAID.finditer(text):
        if match["value"].casefold().rstrip(".:)") not in _POINTERS:
            return "a password or key"
    for match in _COUNTED.finditer(text):
        value = match["value"]
        if len(re.findall(r"\d", value)) >= 4 and not _DAY.match(value):
            return "a code or password"
    if any(_is_token(run) for run in _RUN.findall(text)):
        return "a generated key or token"
    return None


def _is_token(run: str) -> bool:
    """Whether letters and digits follow each other as a generator throws them: names and file
    names seldom change between capitals, small letters and digits; a generator does at more than
    every other sign."""
    if any(not digits.isdigit() and not digits.isalpha() for digits in _HEX.findall(run)):
        return True
    signs = [sign for sign in run if sign.isalnum()]
    kinds = [1 if sign.isdigit() else 2 if sign.isupper() else 3 for sign in signs]
    if len(signs) < _LONG or len(set(kinds)) < 3:
        return False
    changes = sum(one != other for one, other in pairwise(kinds))
    return changes / len(signs) > 0.42 and _bits(signs) > 3.4


def _bits(signs: list[str]) -> float:
    """Shannon's entropy a sign."""
    counts = Counter(signs).values()
    return -sum(n / len(signs) * math.log2(n / len(signs)) for n in counts)


def _raws(site: Site) -> Iterator[Raw]:
    tables: Iterable[Iterable[Record]] = (
        [site.info],
        site.contacts.values(),
        site.cautions.values(),
        site.buildings.values(),
        site.floors.values(),
        site.rooms.values(),
        site.circuits.values(),
        site.networks.values(),
        site.enclosures.values(),
        site.items.values(),
        site.cords.values(),
        site.outlets.values(),
        site.backbones.values(),
        site.pathways.values(),
        site.findings.values(),
        site.jobs.values(),
        site.photos.values(),
        site.tests.values(),
    )
    return (record.raw for record in chain.from_iterable(tables))


def _lines_of(raw: Raw) -> list[str]:
    """The texts of a record; those that stand under a name no kind of record has, with it."""
    known = KINDS[raw.kind].specs
    lines: list[str] = []
    for name, node in raw.fields.items():
        if type(node) is ScalarNode and name in known:
            lines.append(node.value[:MAX_TEXT])
        else:
            lines += [f"{inner}: {text}" for inner, text, _ in _inner(name, node)]
    return lines


def _texts_of(raw: Raw) -> Iterator[tuple[str, str, Node]]:
    """Every text of a record with the name it stands under."""
    for name, node in raw.fields.items():
        yield from _inner(name, node)


def _inner(name: str, node: Node) -> Iterator[tuple[str, str, Node]]:
    if isinstance(node, ScalarNode):
        yield name, node.value[:MAX_TEXT], node  # no field holds more
    elif isinstance(node, SequenceNode):
        for item in node.value:
            yield from _inner(name, item)
    elif isinstance(node, MappingNode):
        for key, value in node.value:
            yield from _inner(str(key.value), value)
