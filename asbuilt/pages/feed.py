"""The change log as a feed: the Atom Syndication Format, RFC 4287."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Final

from asbuilt.changes.log import Entry
from asbuilt.escape import html
from asbuilt.pages import links

#: What a subscriber is sent: the newest entries, not the whole history.
MAX_ENTRIES: Final = 50
#: When nothing has changed yet, a feed still has to say when it was last updated.
_NEVER: Final = dt.datetime(1970, 1, 1, tzinfo=dt.UTC)


def atom_feed(key: str, name: str, entries: Sequence[Entry]) -> str:
    """The feed of a site, newest first. Work not committed yet isn't in it.

    Its identifiers are the commits (`urn:asbuilt:…`), since the site's address isn't known here;
    its links are relative to the feed.
    """
    committed = [entry for entry in entries if entry.commit][:MAX_ENTRIES]
    updated = max((entry.when for entry in committed), default=_NEVER)
    body = "".join(_entry(key, entry) for entry in committed)
    return (
        '<?xml version="1.0" encoding="utf-8"?>\n'
        '<feed xmlns="http://www.w3.org/2005/Atom">\n'
        f"<title>Changes of {html(name)}</title>\n"
        f"<id>urn:asbuilt:site:{html(key)}</id>\n"
        f"<updated>{_timestamp(updated)}</updated>\n"
        '<link rel="alternate" href="changes.html"/>\n'
        '<link rel="self" href="changes.atom"/>\n'
        f"<author><name>{html(name)}</name></author>\n"
        f"{body}</feed>\n"
    )


def _entry(key: str, entry: Entry) -> str:
    sentences = [told.text for told in entry.lines] or [entry.problem or ""]
    listed = "".join(f"<li>{html(sentence)}</li>" for sentence in sentences)
    author = f"<author><name>{html(entry.author)}</name></author>\n" if entry.author else ""
    return (
        "<entry>\n"
        f"<title>{html(sentences[0])}</title>\n"
        f"<id>urn:asbuilt:change:{html(key)}:{entry.commit}</id>\n"
        f"<updated>{_timestamp(entry.when)}</updated>\n"
        f'<link rel="alternate" href="{links.change(entry.commit)}"/>\n'
        f"{author}"
        f'<content type="html">{html(f"<ul>{listed}</ul>")}</content>\n'
        "</entry>\n"
    )


def _timestamp(when: dt.datetime) -> str:
    return when.isoformat(timespec="seconds")
