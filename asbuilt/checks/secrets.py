"""Secrets: a record says where a credential is kept, never what it is.

Records go into git, which forgets nothing, and into pages. So what looks like a password, a door
code, a key or a token is an error, in every text and key of every record, in fields nobody knows as
well. Looked for are: a word for a secret with a value after it, as people, forms and lines of a
switch's configuration write it; private keys (RFC 7468); addresses with credentials in them (RFC
3986, userinfo); credentials of HTTP (RFC 7617, RFC 6750); hashed passwords (also RFC 2307);
wireless and one-time codes as their QR labels write them; tokens by the beginnings their issuers
publish; long texts that mix letters and digits as only a generator does (RFC 7519 and others).
40 hexadecimal digits alone are a commit's id and none. Comments of a file are no records and aren't
looked at.
The text itself is never repeated in a message.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, pairwise
from typing import Final

from asbuilt.model.paths import CablingGraph
from asbuilt.model.site import Site
from asbuilt.problem import Problem
from asbuilt.records.fields import MAX_TEXT
from asbuilt.records.kind import Raw, Record
from asbuilt.records.kinds import KINDS
from asbuilt.yamltext import MappingNode, Node, ScalarNode, SequenceNode, place_of

#: Words that are followed by a secret, whatever it looks like.
_SECRET_WORDS: Final = r"pass(?:word|phrase|code|wd)|pwd|pw|psk|community (?:string|name)|" + (
    r"(?:snmp(?:v[123]c?)?(?:-server)?|r[ow]|read|write|read-only|read-write)[ -]?community|"
    r"(?:client|shared|radius|enable)[ _-]?secret|"
    r"(?:api|wpa[23]?|wep|wi-?fi|pre-?shared|shared|private|secret|access)[ _-]?key"
)
#: Words that are followed by a secret when it has the digits of one.
_CODE_WORDS: Final = r"pin(?:[ _-]?code)?|secret|token|combination|recovery[ _-]?key|" + (
    r"(?:door|gate|alarm|access|entry|safe|lock|key|keypad|disarm|recovery)[ _-]?code"
)
_VALUE: Final = r"[\"'“]?(?P<value>[^\s\"'”,;]+)"
_WORD_THEN_VALUE = re.compile(
    rf"\b(?:{_SECRET_WORDS})s?\b\s*(?:\bis\b|:|=)\s*{_VALUE}|\bsecret\s*=\s*[\"'“]?(?P<other>[^\s\"'”,;]+)",
    re.IGNORECASE,
)
#: Without a sign between; a configuration has the kind of a password before it, one digit.
_WORD_BEFORE_VALUE = re.compile(rf"\b(?:{_SECRET_WORDS})s?\b\s+(?:\d\s+)?{_VALUE}", re.IGNORECASE)
_WORD_THEN_DIGITS = re.compile(
    rf"\b(?:{_SECRET_WORDS}|{_CODE_WORDS})s?\b(?:(?:\s+[a-z]+){{0,3}}?\s*(?:\bis\b|:|=)\s*|\s+){_VALUE}",
    re.IGNORECASE,
)
_WORD_WITH_DIGITS = re.compile(r"\b(?:pin|passcode|pw|pwd)[#_-]?\d{4,}\b", re.IGNORECASE)
_LOGIN = re.compile(
    r"\b(?:login|log-in|credentials)\b\s*(?:\bis\b|\bare\b|:|=)?\s*[A-Za-z][\w.@-]*\s?[/:]\s?[^\s/]{3,}",
    re.IGNORECASE,
)
_CODE = re.compile(
    r"(?<!area )(?<!dialling )(?<!country )\bcode\s*(?:\bis\b|:|=)\s*[\"'“]?[*#]?\d{4,}",
    re.IGNORECASE,
)
_HEX_KEY = re.compile(r"\bkey\b\s*(?:\bis\b|:|=)\s*(?:0x)?[0-9a-f]{10,}\b", re.IGNORECASE)
#: Values that point to where a secret is, or say that there is none.
_POINTERS: Final = frozenset(
    (
        "a", "an", "and", "as", "ask", "at", "behind", "by", "changed", "default", "for", "from",
        "given", "has", "held", "in", "is", "kept", "known", "locked", "n/a", "needed", "no",
        "none", "not", "of", "on", "only", "or", "per", "required", "same", "sealed", "see", "set",
        "stored", "the", "this", "to", "under", "unknown", "vault", "was", "with", "yes", "-", "–",
    )
)  # fmt: skip
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
_PRIVATE_KEY = re.compile(r"-{4,5} ?BEGIN [A-Z0-9 ]*PRIVATE KEY")
_ADDRESS_WITH_LOGIN = re.compile(
    r"\b[a-z][a-z0-9+.-]{1,30}://[^\s/:@]{1,200}:[^\s/@]{1,200}@|\botpauth://", re.IGNORECASE
)
_HASH = re.compile(
    r"\$(?:1|2[aby]?|5|6|7|y|argon2\w*)\$[./A-Za-z0-9$=,+]{8,}"
    r"|\{S?(?:MD5|SHA(?:256|384|512)?)\}[A-Za-z0-9+/]{16,}"
)
_HTTP = re.compile(
    r"\bAuthorization:\s*\w+\s+\S{8,}|\b(?:Basic|Bearer)\s+[A-Za-z0-9+/]{8,}={1,2}(?!\S)"
)
#: As their issuers publish them, so that they can be told.
_KNOWN_TOKEN = re.compile(
    r"\b(?:(?:AKIA|ASIA)[A-Z0-9]{16}\b|gh[pousr]_[A-Za-z0-9]{20}|github_pat_\w{20}|glpat-[\w-]{16}"
    r"|xox[a-z]-[A-Za-z0-9-]{10}|[rs]k_(?:live|test)_\w{10}|AIza[\w-]{30}|npm_[A-Za-z0-9]{20}"
    r"|hv[sb]\.[\w-]{20}|da2-[a-z0-9]{20}|key-[0-9a-z]{30}|eyJ[\w-]{6,}\.eyJ[\w-]{4})"
)
_WIRELESS = re.compile(r"\bWIFI:\S*\bP:[^;\s]+", re.IGNORECASE)
_TOKEN_CHARACTERS = re.compile(r"[A-Za-z0-9_+/=-]{20,}")
_HEX = re.compile(r"[0-9a-f]{32,}", re.IGNORECASE)
_COMMIT_ID_LENGTH: Final = 40  # hexadecimal digits of a commit's id
_ALPHANUMERIC = re.compile(r"[A-Za-z0-9]{20,}")
#: Texts one of which is in whatever any of the above finds, but in few records else.
_HINTS: Final = (
    "password", "passphrase", "passcode", "passwd", "pwd", "pw", "psk", "pin", "key", "community",
    "secret", "token", "combination", "code", "://", "$", "wifi:", "login", "log-in", "credentials",
    "authorization", "basic", "bearer", "{sha", "{ssha", "{md5", "{smd5", "akia", "asia", "ghp_",
    "gho_", "ghu_", "ghs_", "ghr_", "github_", "glpat-", "xox", "sk_", "rk_", "aiza", "npm_",
    "hvs.", "hvb.", "da2-", "eyj",
)  # fmt: skip
_MIN_TOKEN_LENGTH: Final = 20


def check_secrets(site: Site, net: CablingGraph) -> Iterator[Problem]:
    texts = [text for raw in _raws(site) for text in _texts_for_screening(raw)]
    if not _may_hold_a_secret(texts):
        return
    for raw in _raws(site):
        for name, text, node in _texts_of(raw):
            what = secret_in(text) or secret_in(f"{name}: {text}")
            if what:
                message = f"this looks like {what}, and a record must not hold one"
                hint = (
                    "take it out, say under “vault” in site.yml where it is kept, and change it if "
                )
                hint += "it was ever committed: git forgets nothing"
                yield Problem(place_of(raw.path, node), "secret", message, hint)


def _may_hold_a_secret(texts: Sequence[str]) -> bool:
    """Whether any text of a site can be a secret, asked of all at once: it seldom is."""
    folded = "\n".join(texts).casefold()
    signs = [sign for sign in _HINTS if sign in folded]
    if signs:
        suspects = [text for text in texts if any(map(text.casefold().__contains__, signs))]
        if secret_in("\n".join(suspects)):
            return True
    return any(
        _is_token(run)
        for text in texts
        if len(text) >= _MIN_TOKEN_LENGTH
        for run in _TOKEN_CHARACTERS.findall(text)
    )


def secret_in(text: str) -> str | None:
    """What kind of secret `text` looks like, or None."""
    for pattern, what in _PATTERNS:
        if pattern.search(text):
            return what
    for match in _WORD_THEN_VALUE.finditer(text):
        value = match["value"] or match["other"]
        if value.casefold().rstrip(".:)") not in _POINTERS:
            return "a password or key"
    if any(_looks_generated(match["value"]) for match in _WORD_BEFORE_VALUE.finditer(text)):
        return "a code or password"
    for match in _WORD_THEN_DIGITS.finditer(text):
        value = match["value"]
        if len(re.findall(r"\d", value)) >= 4 and not _DATE.match(value):
            return "a code or password"
    if any(_is_token(run) for run in _TOKEN_CHARACTERS.findall(text)):
        return "a generated key or token"
    return None


_PATTERNS: Final = (
    (_PRIVATE_KEY, "a private key"),
    (_ADDRESS_WITH_LOGIN, "an address with credentials in it"),
    (_HASH, "a hashed password"),
    (_WIRELESS, "the text of a wireless network's QR label"),
    (_HTTP, "credentials of a web service"),
    (_KNOWN_TOKEN, "a generated key or token"),
    (_LOGIN, "a name with its password"),
    (_HEX_KEY, "a password or key"),
    (_WORD_WITH_DIGITS, "a code or password"),
    (_CODE, "a code or password"),
)


def _looks_generated(value: str) -> bool:
    """Whether a text that follows a word for a secret is one, not the next word of a sentence."""
    digits, letters = (any(f(sign) for sign in value) for f in (str.isdigit, str.isalpha))
    return len(value) >= 6 and digits and letters and not _DATE.match(value)


def _is_token(run: str) -> bool:
    """Whether letters and digits follow each other as a generator throws them: names and file
    names seldom change between capitals, small letters and digits; a generator does at more than
    every third sign, and where it has one case only at more than every fifth."""
    for digits in _HEX.findall(run):
        if len(digits) != _COMMIT_ID_LENGTH and not digits.isdigit() and not digits.isalpha():
            return True
    signs = [sign for sign in run if sign.isalnum()]
    kinds = [1 if sign.isdigit() else 2 if sign.isupper() else 3 for sign in signs]
    if len(signs) >= _MIN_TOKEN_LENGTH and len(set(kinds)) == 3:
        share = _count_alternations(kinds) / len(signs)
        if share > 0.38 and _entropy(signs) > 3.4:
            return True
        if share > 0.32 and _entropy(signs) > 4.2 and len(signs) >= 36:
            return True
    return any(_is_token_of_one_case(part) for part in _ALPHANUMERIC.findall(run))


def _is_token_of_one_case(part: str) -> bool:
    """Whether a generator may have thrown this of small letters and digits, or of capitals and
    digits, with nothing between: hardly a serial or part number is so long and so mixed."""
    if not (part.islower() or part.isupper()) or len(_HEX.sub("", part)) < _MIN_TOKEN_LENGTH:
        return False
    kinds = [int(sign.isdigit()) for sign in part]
    return _count_alternations(kinds) / len(part) > 0.2 and _entropy([*part]) > 3.4


def _count_alternations(kinds: Sequence[int]) -> int:
    return sum(one != other for one, other in pairwise(kinds))


def _entropy(signs: list[str]) -> float:
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


def _texts_for_screening(raw: Raw) -> list[str]:
    """The texts of a record; those that stand under a name no kind of record has, with it."""
    known = KINDS[raw.kind].specs
    lines: list[str] = [raw.key]
    for name, node in raw.fields.items():
        if type(node) is ScalarNode and name in known:
            lines.append(node.value[:MAX_TEXT])
        else:
            lines += [f"{inner}: {text}" for inner, text, _ in _nested_texts(name, node)]
    return lines


def _texts_of(raw: Raw) -> Iterator[tuple[str, str, Node]]:
    """Every text of a record with the name it stands under."""
    yield "", raw.key, raw.node
    for name, node in raw.fields.items():
        yield from _nested_texts(name, node)


def _nested_texts(name: str, node: Node) -> Iterator[tuple[str, str, Node]]:
    if isinstance(node, ScalarNode):
        yield name, node.value[:MAX_TEXT], node  # no field holds more
    elif isinstance(node, SequenceNode):
        for item in node.value:
            yield from _nested_texts(name, item)
    elif isinstance(node, MappingNode):
        for key, value in node.value:
            yield from _nested_texts(str(key.value), value)
