"""All checks of a site, in the order in which a reader would ask."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Final

from asbuilt.checks.backbones import check_backbones
from asbuilt.checks.cautions import check_cautions
from asbuilt.checks.cords import check_cords
from asbuilt.checks.labels import check_labels
from asbuilt.checks.lengths import check_lengths
from asbuilt.checks.media import check_media
from asbuilt.checks.missing import check_missing
from asbuilt.checks.patching import check_patching
from asbuilt.checks.poe import check_poe
from asbuilt.checks.ports import check_ports
from asbuilt.checks.positions import check_positions
from asbuilt.checks.secrets import check_secrets
from asbuilt.checks.speeds import check_speeds
from asbuilt.checks.tests import check_tests
from asbuilt.checks.units import check_units
from asbuilt.checks.work import check_work
from asbuilt.model.paths import CablingGraph
from asbuilt.model.site import Site
from asbuilt.problem import Problem

CHECKS: Final[tuple[Callable[[Site, CablingGraph], Iterable[Problem]], ...]] = (
    check_units,
    check_ports,
    check_cords,
    check_backbones,
    check_media,
    check_lengths,
    check_speeds,
    check_poe,
    check_patching,
    check_labels,
    check_missing,
    check_positions,
    check_cautions,
    check_work,
    check_tests,
    check_secrets,
)


def check_site(site: Site, net: CablingGraph) -> list[Problem]:
    """All that is wrong with a site, sorted by place. The records' own problems (what can't be
    read, what refers to nothing) were told when they were read."""
    return sorted(problem for check in CHECKS for problem in check(site, net))
