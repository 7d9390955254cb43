"""The sheet of a cutover as a page that stands alone: to be printed and worked by."""

from __future__ import annotations

import re
from itertools import groupby

from markupsafe import Markup

from asbuilt.cutover.sheet import VERIFICATION_CHECKS, CutoverSheet
from asbuilt.cutover.sheet_output import (
    format_minutes,
    people_without_service,
    rooms_without_service,
)
from asbuilt.drawings.elevation import draw_elevation
from asbuilt.drawings.sheet import TitleBlock
from asbuilt.escape import fingerprint
from asbuilt.model.site import Site, natural
from asbuilt.pages.view import environment
from asbuilt.trade.cautions import DISCLAIMER, EMERGENCY_CALL_CAUTION

_DARK_SCHEME = re.compile(r'\[data-md-color-scheme="slate"\] \{([^{}<]*--ink:[^{}<]*)\}')


def cutover_page(sheet: CutoverSheet, style: str, script: str) -> str:
    """The whole page, with the `style` of the pages and the `script` that lays drawings over each
    other in it; it asks nothing of anybody else, and runs no other script."""
    dark = _DARK_SCHEME.search(style)
    template = environment().get_template("cutover.html")
    labels = _labels(sheet)
    blocks = [list(steps) for _, steps in groupby(sheet.window.steps, lambda step: step.block)]
    return template.render(
        s=sheet,
        w=sheet.window,
        before=sheet.plan.before,
        blocks=blocks,
        ticks=VERIFICATION_CHECKS,
        clock=format_minutes,
        persons_of=people_without_service,
        rooms_of=rooms_without_service,
        labels=labels,
        words=lambda keys: ", ".join(labels.get(key, key) for key in keys),
        drawings=_drawings(sheet),
        emergency=EMERGENCY_CALL_CAUTION,
        deference=DISCLAIMER,
        style=Markup(style.replace("</", "<\\/")),  # noqa: S704 - ours
        script=Markup(script),  # noqa: S704 - ours
        fingerprint=fingerprint(script),
        dark=Markup(dark[1] if dark else ""),  # noqa: S704 - ours
    )


def _labels(sheet: CutoverSheet) -> dict[str, str]:
    """What is printed on each outlet, by key."""
    labels = {key: sheet.plan.before.label_of(o) for key, o in sheet.plan.before.outlets.items()}
    return labels | {
        key: sheet.plan.after.label_of(o) for key, o in sheet.plan.after.outlets.items()
    }


def _drawings(sheet: CutoverSheet) -> list[tuple[str, Markup | None, Markup | None]]:
    """Each enclosure in which something is mounted otherwise, as it stands and as planned."""
    keys = sorted({key.partition("/")[0] for key in sheet.equipment_changes}, key=natural)
    sides = ((sheet.plan.before, sheet.base), (sheet.plan.after, sheet.target))
    return [(key, *(_elevation(sheet, site, key, name) for site, name in sides)) for key in keys]  # type: ignore[misc]


def _elevation(sheet: CutoverSheet, site: Site, key: str, revision: str) -> Markup | None:
    if key not in site.enclosures:
        return None
    title = TitleBlock(
        site=site.name,
        sheet=f"{key}-front",
        subject=f"Enclosure {key}, front",
        revision=revision,
        date="",
        drawn_by="asbuilt, from the records",
        scale="1 : 5 on paper",
    )
    marked = frozenset(sheet.equipment_changes)
    return Markup(draw_elevation(site, key, "front", title, highlight=marked))  # noqa: S704
