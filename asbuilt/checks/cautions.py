"""Cautions: how a hazard is known, and from whom.

A hazard is surveyed (a reference or a date says by which survey), reported (a name or a date says
by whom) or not known, which is never the same as none. A claim without its source can't be relied
on by whoever works there next. These records decide nothing: local codes, the authority having
jurisdiction and competent or licensed people do.
"""

from __future__ import annotations

from collections.abc import Iterator

from asbuilt.model.paths import CablingGraph
from asbuilt.model.site import Site
from asbuilt.problem import Problem


def check_cautions(site: Site, net: CablingGraph) -> Iterator[Problem]:
    for caution in site.cautions.values():
        written = caution.raw.fields.keys()
        if caution.known == "surveyed" and written.isdisjoint(("reference", "on")):
            message = f"caution {caution.key} is said to be surveyed, but not by which survey"
            hint = "give its “reference” or the day (“on”), or write “known: reported”"
            yield caution.remark("known", "caution-source", message, hint)
        elif caution.known == "reported" and written.isdisjoint(("by", "on")):
            message = f"caution {caution.key} is said to be reported, but not by whom"
            hint = "say “by” whom or “on” which day, or write “known: not known”"
            yield caution.remark("known", "caution-source", message, hint)
