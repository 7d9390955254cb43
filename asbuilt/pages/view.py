"""Templates to pages: the one template environment, and what a template may ask for.

Each page kind has its template beside its module. The environment escapes everything and fails
on a name it doesn't know.
"""

from __future__ import annotations

import datetime as dt
import unicodedata
from collections.abc import Callable, Iterable
from functools import lru_cache
from typing import Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from jinja2.runtime import Context
from markupsafe import Markup, escape

from asbuilt.changes.log import Entry
from asbuilt.changes.log_lines import LogLine, Piece
from asbuilt.escape import html, plain
from asbuilt.model.describe import cable_name, describe_item, format_quantity
from asbuilt.model.site import PortState, Site
from asbuilt.pages import links
from asbuilt.pages.context import PageContext
from asbuilt.records.enclosures import Item
from asbuilt.records.fields import PortId
from asbuilt.records.kinds import REFERABLE
from asbuilt.records.links import DEVICE
from asbuilt.records.quantity import Quantity
from asbuilt.trade.glossary import TERMS_BY_NAME

#: A sign for each state, so that it is told by shape and word as well as colour.
STATE_SYMBOLS = {
    PortState.IN_USE: "■",
    PortState.CABLED: "◧",
    PortState.FREE: "□",
    PortState.DEAD: "✕",
    PortState.ABANDONED: "⌿",
    PortState.RESERVED: "◆",
    PortState.UNKNOWN: "?",
}


#: A label of more signs may break where it stands in a list.
LONG_LABEL: Final = 40
#: What stands for an outlet that this edition's reader isn't shown.
WITHHELD_OUTLET = Markup('<span class="withheld">device</span>')


class _DirectCallContext(Context):
    """Calls what a template calls. Jinja would look each time whether the function asks for the
    state of the template; none of ours does."""

    def call(
        self,
        called: Callable[..., Any],
        /,
        *args: Any,
        _block_vars: object = None,
        _loop_vars: object = None,
        **named: Any,
    ) -> Any:
        return called(*args, **named)


@lru_cache(maxsize=1)
def environment() -> Environment:
    env = Environment(
        loader=PackageLoader("asbuilt", "pages"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
        finalize=_printable,
    )
    env.context_class = _DirectCallContext
    env.globals["signs"] = {state.value: sign for state, sign in STATE_SYMBOLS.items()}
    env.filters["named"] = isolate_direction
    env.globals.update(
        cable_name=cable_name,
        count=count,
        day=format_date,
        fact=fact_row,
        first_up=capitalise_first,
    )
    return env


def _printable(value: object) -> object:
    if value is None:
        return ""
    return plain(value) if type(value) is str else value


def render(template: str, view: PageView, **values: object) -> str:
    return environment().get_template(template).render(v=view, book=view.book, **values)


class PageView:
    """What a template on one page of a book can ask for: links and words for things."""

    def __init__(self, book: PageContext, path: str) -> None:
        self.book = book
        self.path = path
        self._up = links.relative("", path)
        self._explained: set[str] = set()

    @property
    def site(self) -> Site:
        return self.book.site

    def href(self, target: str) -> str:
        return self._up + target

    def link(self, target: str | None, text: object) -> Markup:
        """`text`, as a link where there is something to link to."""
        return _anchor(None if target is None else self.href(target), str(text))

    def label(self, target: str | None, text: str) -> Markup:
        return _label_span(None if target is None else self.href(target), text)

    def outlet(self, key: str, text: str | None = None) -> Markup:
        outlet = self.site.outlets.get(key)
        if outlet is None:
            return self.link(None, text or key)
        if outlet.serves == DEVICE:
            return WITHHELD_OUTLET
        return self.label(links.outlet(key), text or self.site.label_of(outlet))

    def outlets(self, keys: Iterable[str]) -> Markup:
        return _joined(", ", (self.outlet(key) for key in keys))

    def cables(self, keys: Iterable[str]) -> Markup:
        """Drops and backbones by their keys."""
        return _joined(
            ", ",
            (
                self.record("backbone", key) if key in self.site.backbones else self.outlet(key)
                for key in keys
            ),
        )

    def room(self, key: str | None) -> Markup:
        if key is None or key not in self.site.rooms:
            return Markup('<span class="unknown">room not recorded</span>')
        return self.link(links.room(key), self.site.room_name(key))

    def room_on_plan(self, room: str | None, text: str) -> Markup:
        """A link to a room on its floor's plan; nothing where its floor isn't recorded."""
        floor = self.site.floor_of(room)
        if floor is None:
            return Markup("")
        return self.link(f"{links.plan(floor.key)}#room-{room}", text)

    def enclosure(self, key: str) -> Markup:
        found = self.site.enclosures.get(key)
        if found is None:
            return self.link(None, key)
        return self.link(links.enclosure(key), found.label or key)

    def path_in_elevation(self, key: str, outlet: str) -> Markup:
        """A link to an enclosure whose elevation shows an outlet's path."""
        name = self.site.enclosures[key].label or key
        return self.link(links.outlet_path(key, outlet), f"enclosure {name}")

    def item(self, key: str, text: str | None = None) -> Markup:
        found = self.site.items.get(key)
        return self.link(
            links.item(key) if found else None, text or (found.title if found else key)
        )

    def port(self, port: PortId, short: bool = False) -> Markup:
        shown = port.printed if short else str(port)
        target = links.port(port.item, port.printed) if port in self.site.ports else None
        return self.label(target, shown)

    def job(self, key: str | None) -> Markup:
        if key is None:
            return Markup("")
        found = self.site.jobs.get(key)
        return self.link(links.job(key) if found else None, key)

    def record(self, kind: str, key: str, text: str | None = None) -> Markup:
        """A link to any record that is there; what isn't (any more) is named without one."""
        if kind == "outlet" and key in self.site.outlets:
            return self.outlet(key, text)
        known = self.site.records_of(kind) if kind in REFERABLE else ()
        return self.link(links.record(kind, key) if key in known else None, text or key)

    def sentence_part(self, piece: Piece) -> Markup:
        if piece.kind is None or piece.key is None:
            return self.link(None, piece.text)
        return self.record(piece.kind, piece.key, piece.text)

    def term(self, name: str, text: str = "") -> Markup:
        """A term of the trade in our own words: where it first stands on a page of the client's,
        it leads to what it means."""
        term = TERMS_BY_NAME[name]
        if self.book.internal or name in self._explained:
            return self.link(None, text or name)
        self._explained.add(name)
        return self.link(f"{links.GLOSSARY_PATH}#{term.anchor}", text or name)

    def sentence(self, told: LogLine) -> Markup:
        return _joined("", (self.sentence_part(piece) for piece in told.sentence))

    def entry_link(self, entry: Entry) -> Markup:
        return self.link(links.change(entry.commit or "uncommitted"), format_date(entry.when))

    def describe_item(self, item: Item) -> str:
        return describe_item(item)

    def format_quantity(self, quantity: Quantity | None) -> str:
        """A length as this site shows them; anything else as it was recorded."""
        return format_quantity(self.site, quantity)

    def bar(self, used: float, lost: float, total: float, label: str) -> Markup:
        """Used, unusable and free of a total, as a drawn bar with its figures as text."""
        if total <= 0:
            return Markup("")
        full = 200
        a = round(full * min(used, total) / total, 1)
        b = round(full * min(lost, max(total - used, 0)) / total, 1)
        return Markup(
            '<svg class="bar" viewBox="0 0 200 10" preserveAspectRatio="none" role="img" '
            'aria-label="{}"><rect class="bar-all" width="200" height="10"/>'
            '<rect class="bar-used" width="{}" height="10"/>'
            '<rect class="bar-lost" x="{}" y="5" width="{}" height="5"/></svg>'
        ).format(label, a, a, b)


@lru_cache(maxsize=2**14)
def _anchor(href: str | None, text: str) -> Markup:
    shown = html(text)
    if href is None:
        return Markup(shown)  # noqa: S704 - escaped above
    return Markup(f'<a href="{html(href)}">{shown}</a>')  # noqa: S704


@lru_cache(maxsize=2**14)
def _label_span(href: str | None, text: str) -> Markup:
    long = " long" if len(text) > LONG_LABEL else ""
    return Markup(f'<span class="label{long}">{_anchor(href, text)}</span>')  # noqa: S704


def _joined(between: str, parts: Iterable[Markup]) -> Markup:
    """As `Markup.join`, which looks at each part once more."""
    return Markup(between.join(parts))  # noqa: S704 - each is escaped


_RIGHT_TO_LEFT: Final = frozenset({"R", "AL", "AN"})


def isolate_direction(text: str | None) -> str:
    """A name as it stands among other words: one with signs written from right to left is set
    apart, so that numbers and commas around it stay where they are (Unicode UAX #9)."""
    if not text or text.isascii():
        return text or ""
    turned = any(unicodedata.bidirectional(sign) in _RIGHT_TO_LEFT for sign in text)
    return Markup("<bdi>{}</bdi>").format(plain(text)) if turned else text


def join_names(names: Iterable[str], between: str = ", ") -> str:
    """Names one after the other, each set apart where it has to be."""
    shown = [isolate_direction(name) for name in names]
    apart = any(isinstance(name, Markup) for name in shown)
    return Markup(between).join(shown) if apart else between.join(shown)  # noqa: S704 - ours


def fact_row(term: str, value: object) -> Markup:
    """A line of a list of facts; none for what isn't recorded. A macro would take five times as
    long, and an outlet's page has twenty."""
    if not value:
        return Markup("")
    shown = escape(plain(value) if type(value) is str else value)
    return Markup(f"<div><dt>{escape(term)}</dt><dd>{shown}</dd></div>")  # noqa: S704 - escaped


def count(number: int, one: str, many: str = "") -> str:
    """A number with its noun: “1 outlet”, “3 outlets”."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def capitalise_first(text: str) -> str:
    """`text` with a capital to begin a sentence; names within keep theirs."""
    return text[:1].upper() + text[1:]


def format_date(when: dt.date | dt.datetime | None) -> str:
    """A date as everybody reads it: 7 March 2025."""
    return _format_date(when.year, when.month, when.day) if when else ""


@lru_cache(maxsize=2**12)
def _format_date(year: int, month: int, day: int) -> str:
    return f"{day} {dt.date(year, month, day):%B %Y}"
