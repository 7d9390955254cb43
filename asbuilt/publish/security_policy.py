"""The content security policy of published pages: nothing from another host, no script but the
theme’s own."""

from __future__ import annotations

import html.parser

from jinja2 import Environment
from mkdocs.config.defaults import MkDocsConfig

from asbuilt import escape
from asbuilt.publish.theme import FEATURES


def policy_of(env: Environment, config: MkDocsConfig) -> str:
    """Nothing from anywhere else, and no script in a page but the theme's own, by its hash."""
    parts = ("javascripts/base", "javascripts/content", "javascripts/palette")
    scripts: dict[str, None] = {}
    for part in parts:
        template = env.get_template(f"partials/{part}.html")
        for script in _Scripts.of(template.render(config=config, features=FEATURES, base_url=".")):
            scripts[f"'{escape.fingerprint(script)}'"] = None
    # A page opened from a disk has no origin in every browser: `file:` says the same as 'self'.
    here = "'self' file:"
    return "; ".join(
        (
            "default-src 'none'",
            f"script-src {here} {' '.join(scripts)}",
            f"style-src {here} 'unsafe-inline'",
            f"img-src {here} data:",
            f"font-src {here}",
            f"connect-src {here}",
            f"worker-src {here}",
            f"frame-src {here}",
            "base-uri 'none'",
            "form-action 'none'",
        )
    )


class _Scripts(html.parser.HTMLParser):
    """The scripts written into a piece of HTML."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._inside = False

    @classmethod
    def of(cls, text: str) -> list[str]:
        parser = cls()
        parser.feed(text)
        parser.close()
        return parser.found

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._inside = tag == "script" and not any(name == "src" for name, _ in attrs)
        if self._inside:
            self.found.append("")

    def handle_endtag(self, tag: str) -> None:
        self._inside = False

    def handle_data(self, data: str) -> None:
        if self._inside:
            self.found[-1] += data
