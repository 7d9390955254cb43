"""Where the page of each thing is, relative to the site's own folder.

Keys hold only letters, digits and `. _ + -`, so they stand in paths and anchors as they are.
"""

from __future__ import annotations

GLANCE_PATH = "glance.html"
GLOSSARY_PATH = "glossary.html"


def outlet(key: str) -> str:
    return f"outlets/{key}.html"


def enclosure(key: str) -> str:
    return f"enclosures/{key}.html"


def outlet_path(key: str, outlet_key: str) -> str:
    """An enclosure with the path of an outlet lit in its elevation."""
    return f"{enclosure(key)}#path-{outlet_key}"


def item(key: str) -> str:
    """`1A/A` has its page in the folder of its enclosure."""
    return f"enclosures/{key}.html"


def port(item_key: str, printed: str) -> str:
    return f"{item(item_key)}#port-{printed}"


def room(key: str) -> str:
    return f"outlets.html#room-{key}"


def plan(floor: str) -> str:
    return f"plans/{floor}.html"


def door(enclosure_key: str) -> str:
    """The sheet for the cabinet's door."""
    return f"doors/{enclosure_key}.html"


def backbone(key: str) -> str:
    return f"connectivity.html#backbone-{key}"


def circuit(key: str) -> str:
    return f"index.html#circuit-{key}"


def finding(key: str) -> str:
    return f"findings.html#{key}"


def job(key: str) -> str:
    return f"jobs/{key}.html"


def photo(key: str) -> str:
    return f"photos/{key}.jpg"


def photo_thumbnail(key: str) -> str:
    return f"photos/small/{key}.jpg"


def change(commit: str) -> str:
    return f"changes.html#c{commit[:10]}"


def record(kind: str, key: str) -> str | None:
    """The page of a record by kind and key, if its kind has one."""
    makers = {
        "outlet": outlet,
        "enclosure": enclosure,
        "room": room,
        "backbone": backbone,
        "circuit": circuit,
        "finding": finding,
        "job": job,
    }
    if kind == "port":
        owner, _, name = key.rpartition("/")
        return port(owner, name)
    if kind in makers:
        return makers[kind](key)
    return item(key) if key.count("/") == 1 else None


def absolute_url(pages_at: str, page: str) -> str:
    """Where a page is, of a site whose pages are served at an address."""
    return f"{pages_at.rstrip('/')}/{page}"


def relative(target: str, page: str) -> str:
    """`target`, a path within the site, as a link on `page`."""
    return "../" * page.count("/") + target
