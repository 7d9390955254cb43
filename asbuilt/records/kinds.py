"""Every kind of record there is. A new kind is a new class and one line here."""

from asbuilt.records.enclosures import ENCLOSURE, ITEMS
from asbuilt.records.kind import Kind
from asbuilt.records.links import BACKBONE, CORD, OUTLET, PATHWAY
from asbuilt.records.people import CAUTION, CONTACT
from asbuilt.records.photos import PHOTO
from asbuilt.records.places import BUILDING, FLOOR, ROOM, SITE
from asbuilt.records.services import CIRCUIT, NETWORK
from asbuilt.records.work import FINDING, JOB, LINK_TEST

ALL_KINDS: tuple[Kind, ...] = (
    SITE,
    CONTACT,
    CAUTION,
    BUILDING,
    FLOOR,
    ROOM,
    CIRCUIT,
    NETWORK,
    ENCLOSURE,
    *ITEMS,
    CORD,
    OUTLET,
    BACKBONE,
    PATHWAY,
    FINDING,
    JOB,
    PHOTO,
    LINK_TEST,
)

KINDS: dict[str, Kind] = {kind.name: kind for kind in ALL_KINDS}

#: A reference may name one of several kinds.
REFERABLE: dict[str, tuple[str, ...]] = {
    **{name: (name,) for name in KINDS},
    "item": tuple(kind.name for kind in ITEMS),
    "link": (OUTLET.name, BACKBONE.name),
}
