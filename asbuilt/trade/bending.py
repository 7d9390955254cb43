"""How tightly cable and conduit may be bent, and how hard a cable may be pulled.

ANSI/TIA-568.0-D: inside radius of a four-pair cable 4 × its diameter (older and makers' rules have
8 × for screened cable), of its cord 1 ×, of a multi-pair backbone 10 ×, of fibre 20 × while it is
pulled and 10 × at rest. ANSI/TIA-569: a conduit up to 2 in (53 mm) bends at 6 × its inside
diameter, a larger one, or one for fibre, at 10 ×. Millimetres, newtons.
"""

from typing import Final

from asbuilt.trade.limit import Limit

#: Least inside radius as a multiple of the cable's outside diameter.
BEND_RADIUS_FACTORS: Final = {
    "four-pair cable": 4.0,
    "four-pair cord": 1.0,
    "multi-pair backbone": 10.0,
    "fibre, pulled": 20.0,
    "fibre, at rest": 10.0,
}
MIN_CORD_RADIUS: Final = 6.4  # 0.25 in
#: The inside diameter up to which a conduit counts as small: trade size 2.
MAX_SMALL_CONDUIT: Final = 53.0
PULLING_TENSION: Final = Limit("pulling a four-pair cable", 110, "N", "ANSI/TIA-568.0-D")
FIBRE_PULLING_TENSION: Final = Limit(
    "pulling a horizontal fibre cable", 222, "N", "ANSI/TIA-568.0-D"
)


def min_bend_radius(kind: str, diameter: float) -> float:
    """The least inside radius of a bend in a cable: `kind` is one of RADII."""
    radius = BEND_RADIUS_FACTORS[kind] * diameter
    return max(radius, MIN_CORD_RADIUS) if kind == "four-pair cord" else radius


def min_conduit_radius(bore: float, fibre: bool = False) -> float:
    """The least inside radius of a conduit's bend."""
    return (10 if fibre or bore > MAX_SMALL_CONDUIT else 6) * bore
