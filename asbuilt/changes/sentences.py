"""One change, or many alike, in one plain sentence.

Each function answers for one sort of thing: `single` words for one aspect alone, `crowd` words
for several told together. They say what an office manager asks: which, where, what about it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from asbuilt.changes.compare import Change, RecordState
from asbuilt.changes.identity import ITEM_KINDS
from asbuilt.changes.meaning import Aspect, Meaning
from asbuilt.changes.names import (
    Names,
    Phrase,
    Piece,
    capital,
    is_device,
    kind_word,
    listing,
    phrase,
    plural,
    shown,
)
from asbuilt.changes.state import Facts, Value, text_of, texts_of
from asbuilt.model.site import natural

LISTED = 6  # names in a sentence; more stand in its details
SHORT = 90  # characters of a text that a sentence quotes

_FIELD_WORDS = {
    ("outlet", "serves"): "what it serves",
    ("outlet", "poe"): "power class",
    ("outlet", "person"): "who works there",
    ("outlet", "plate"): "place in the room",
    ("outlet", "position"): "position on the plan",
    ("outlet", "via"): "pathways",
    ("outlet", "port"): "panel port",
    ("switch", "poe"): "power over Ethernet budget",
    ("", "seen"): "last sighting",
    ("ups", "battery changed"): "date of the last battery change",
    ("", "dead"): "dead ports",
    ("", "abandoned"): "abandoned ports",
    ("", "reserved"): "reserved ports",
    ("", "unknown"): "untraced ports",
    ("", "printed"): "printed labels",
    ("", "installed"): "date of installation",
    ("", "terminated"): "date of termination",
    ("", "internal"): "note for engineers",
    ("switch", "poe measured"): "power over Ethernet measured",
    ("power strip", "in use"): "sockets in use",
    ("cord", "cord"): "length",
    ("site", "do not touch"): "what must not be switched off",
    ("site", "ask"): "how to ask for a change",
    ("site", "binder handed over"): "when the last binder was handed over",
    ("site", "pages at"): "where the engineers’ pages are served",
    ("site", "client pages at"): "where the client’s pages are served",
    ("site", "vault"): "where credentials are kept",
    ("site", "spare"): "spare capacity asked for",
    ("caution", "found"): "what is known",
    ("caution", "known"): "how it is known",
    ("caution", "by"): "who reported it",
    ("caution", "on"): "date",
    ("job", "why"): "reason",
    ("job", "window"): "planned window",
    ("router", "does"): "what it is",
    ("device", "does"): "what it is",
}
#: Of several facts of a kind that change together, the one a reader wants first.
_LEADING: Mapping[str, tuple[str, ...]] = {
    "backbone": ("state", "length"),
    "circuit": ("carrier", "speed"),
    "enclosure": ("bonding", "height", "room"),
    "finding": ("severity", "what"),
    "floor": ("plan",),
    "job": ("window",),
    "outlet": ("state", "length", "serves"),
    "panel": ("dead",),
    "switch": ("poe", "dead"),
    "ups": ("runtime", "output"),
}
_SERVES = {
    "spare": ", as a spare",
    "building control": ", for building control",
    "other": "",
    "unknown": "",
    "device": "",
}


@dataclass(frozen=True, slots=True)
class SentenceWriter:
    """What sentences are made with: the names of things before and after."""

    before: Names
    after: Names


Single: TypeAlias = Callable[[SentenceWriter, Aspect], Phrase]


def single(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    """A sentence for one aspect of one change."""
    kind, what = aspect.change.kind, aspect.what
    family = "item" if kind in ITEM_KINDS else kind
    words = _SINGLES.get((family, what)) or _ANY[what]
    return _ended(words(teller, aspect))


def crowd(teller: SentenceWriter, aspects: Sequence[Aspect]) -> Phrase:
    """A sentence for several aspects of the same sort."""
    what = aspects[0].what
    if aspects[0].change.kind == "cord" and what in _PATCHING:
        words = _patched_alike(teller, aspects)
        if words:
            return _ended(words)
    subject, rest = _subject(teller, aspects)
    if what is Meaning.CHANGED:
        return _ended(phrase(_changed_alike(aspects), " for ", subject, rest))
    verb = _verb(aspects, what)
    tail = _common(teller, aspects)
    return _ended(phrase(subject, f" were {verb}", tail, rest))


def _ended(words: Phrase) -> Phrase:
    """A capital before and a full stop after, unless a shortened text ends it already."""
    stop = () if words and words[-1].text.endswith("…") else (Piece("."),)
    return capital(phrase(words, stop))


def field_word(kind: str, field: str) -> str:
    return _FIELD_WORDS.get((kind, field)) or _FIELD_WORDS.get(("", field)) or field


def named(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    """The thing of an aspect, as it is called now (or was called, when it is gone)."""
    thing, names = _side(teller, aspect)
    return names.thing(thing.kind, thing.key, thing.facts)


def quoted(value: Value | None) -> str:
    """A value within a sentence: all of it, or its first words."""
    text = " ".join(shown(value).split())
    if len(text) <= SHORT:
        return text
    words = text[: SHORT - 2].rpartition(" ")[0] or text[: SHORT - 2]
    return f"{words} …"


def _side(teller: SentenceWriter, aspect: Aspect) -> tuple[RecordState, Names]:
    change = aspect.change
    if change.after:
        return change.after, teller.after
    assert change.before
    return change.before, teller.before


# Several at once


def _subject(teller: SentenceWriter, aspects: Sequence[Aspect]) -> tuple[Phrase, Phrase]:
    """Who it is about: all by name when they are few, else their number and, for the end of the
    sentence, the first of them."""
    kinds = {aspect.change.kind for aspect in aspects}
    kind = kinds.pop() if len(kinds) == 1 else "thing"
    word = _crowd_word(kind, aspects)
    names = []
    apart = {aspect.change.key.partition("/")[0] for aspect in aspects}
    for aspect in aspects:
        thing, sides = _side(teller, aspect)
        # Things of the same name may stand in several enclosures.
        name = sides.thing if thing.kind in ITEM_KINDS and len(apart) > 1 else sides.short
        names.append(name(thing.kind, thing.key, thing.facts))
    count = f"{len(aspects)} {plural(word)}"
    if kind == "outlet" and all(is_device(aspect.change.thing.facts) for aspect in aspects):
        return phrase(count), ()
    if len(names) <= 3 and kind in ("outlet", "backbone", "finding", "job", "contact"):
        return phrase(f"{plural(word)} ", listing(names)), ()
    return phrase(count), phrase(": ", _first_of(names))


_PATCHING = {
    Meaning.ADDED: ("patched to ", "patched"),
    Meaning.REMOVED: ("unpatched from ", "unpatched"),
    Meaning.REPATCHED: ("re-patched to ", "re-patched"),
}


def _patched_alike(teller: SentenceWriter, aspects: Sequence[Aspect]) -> Phrase:
    """Cords by the outlets they serve; nothing when one of them serves none."""
    names = teller.before if aspects[0].what is Meaning.REMOVED else teller.after
    found = [patched(names, _side(teller, aspect)[0].facts) for aspect in aspects]
    keys = sorted({key for outlets, _, _ in found for key in outlets}, key=natural)
    if len(keys) != len(aspects) or not all(outlets for outlets, _, _ in found):
        return ()
    to, plain = _PATCHING[aspects[0].what]
    far = {names.item_of(there) for _, _, there in found}
    verb = phrase(to, far.pop()) if len(far) == 1 else phrase(plain)
    outlets = [names.short("outlet", key) for key in keys]
    if len(outlets) <= 3:
        return phrase("outlets ", listing(outlets), " were ", verb)
    return phrase(f"{len(outlets)} outlets were ", verb, ": ", _first_of(outlets))


def _first_of(names: Sequence[Phrase]) -> Phrase:
    more = f" and {len(names) - LISTED} more" if len(names) > LISTED else ""
    commas = [part for name in names[:LISTED] for part in (", ", name)][1:]
    return phrase(*commas, more)


def _crowd_word(kind: str, aspects: Sequence[Aspect]) -> str:
    if kind == "outlet" and all(is_device(aspect.change.thing.facts) for aspect in aspects):
        return "device"
    return "test result" if kind == "test" else kind_word(kind)


def _verb(aspects: Sequence[Aspect], what: Meaning) -> str:
    kind = aspects[0].change.kind
    family = "item" if kind in ITEM_KINDS else kind
    return _VERBS.get((family, what)) or _VERBS.get(("", what)) or what.value


_VERBS: dict[tuple[str, Meaning], str] = {
    ("", Meaning.OPENED): "recorded",
    ("", Meaning.ADDED): "recorded",
    ("", Meaning.REMOVED): "taken out of the records",
    ("", Meaning.RETERMINATED): "re-terminated",
    ("", Meaning.ADVANCED): "brought forward",
    ("", Meaning.REWRITTEN): "written from their other end",
    ("", Meaning.FOLLOWED): "only brought in line with a new name",
    ("outlet", Meaning.ADDED): "added",
    ("outlet", Meaning.REMOVED): "removed",
    ("item", Meaning.ADDED): "mounted",
    ("item", Meaning.REMOVED): "taken out",
    ("item", Meaning.RERACKED): "moved",
    ("enclosure", Meaning.ADDED): "put up",
    ("enclosure", Meaning.REMOVED): "taken down",
    ("cord", Meaning.ADDED): "added",
    ("cord", Meaning.REMOVED): "taken out",
    ("backbone", Meaning.ADDED): "laid",
    ("backbone", Meaning.REMOVED): "removed",
    ("finding", Meaning.OPENED): "reported",
}


def _common(teller: SentenceWriter, aspects: Sequence[Aspect]) -> Phrase:
    """What all of them share: the floor, the enclosure, the switch, the rooms from and to."""
    kind, what = aspects[0].change.kind, aspects[0].what
    tails = [_tail(teller, aspect) for aspect in aspects]
    if kind == "test" and what is Meaning.ADDED:
        results = [text_of(aspect.change.thing.facts, "result") or "?" for aspect in aspects]
        counted = [f"{results.count(word)} {word}" for word in sorted(set(results))]
        return phrase(f" ({', '.join(counted)})")
    return tails[0] if all(tail == tails[0] for tail in tails) else ()


def _tail(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    thing, names = _side(teller, aspect)
    kind, what = thing.kind, aspect.what
    if kind == "outlet" and what in (Meaning.ADDED, Meaning.REMOVED):
        floor = names.floor_of(text_of(thing.facts, "room"))
        return phrase(f" {'on' if what is Meaning.ADDED else 'from'} {floor}") if floor else ()
    if kind == "outlet" and what is Meaning.MOVED:
        was, now = _rooms(teller, aspect)
        return phrase(" from ", was, " to ", now) if was != now else phrase(" within ", now)
    if kind == "outlet" and what is Meaning.RETERMINATED:
        ports = texts_of(thing.facts, "port")
        return phrase(" on ", names.item_of(ports[0])) if ports else ()
    if kind in ITEM_KINDS and what is not Meaning.CHANGED:
        of = " of " if what is Meaning.REMOVED else " in "
        return phrase(of, names.enclosure(thing.key.partition("/")[0]))
    if kind == "cord" and what is not Meaning.CHANGED:
        of = " of " if what is Meaning.REMOVED else " in "
        enclosure = thing.key.partition("/")[0]
        return phrase(of, names.enclosure(enclosure)) if "/" in thing.key else ()
    if kind == "room" and what is Meaning.ADDED:
        floor = names.floor_of(thing.key)
        return phrase(f" on {floor}") if floor else ()
    return ()


def _changed_alike(aspects: Sequence[Aspect]) -> Phrase:
    """“length was recorded”, “what it serves changed from desk to phone”."""
    kind, fields = aspects[0].change.kind, aspects[0].fields
    said = [field_word(kind, name) for name in fields]
    words = [(Piece(word),) for word in said]
    pairs = {
        (quoted(a.change.was(name)), quoted(a.change.now(name))) for a in aspects for name in fields
    }
    if all(a.change.was(name) is None for a in aspects for name in fields):
        return phrase(listing(words), f" {_be(said)} recorded")
    if all(a.change.now(name) is None for a in aspects for name in fields):
        return phrase(listing(words), f" {_be(said)} taken out")
    if len(fields) == 1 and len(pairs) == 1:
        was, now = pairs.pop()
        return phrase(listing(words), f" changed from {was} to {now}")
    return phrase(listing(words), " changed")


def _be(words: Sequence[str]) -> str:
    """“length was”, “hours were”, “length and room were”."""
    many = len(words) > 1 or (words[0][-1:] == "s" and words[0][-2:] != "ss")
    return "were" if many else "was"


# One alone: any sort of thing


def _any_added(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    return phrase(named(teller, aspect), " was recorded")


def _any_removed(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    return phrase(named(teller, aspect), " was taken out of the records")


def _any_replaced(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    before, after = aspect.change.before, aspect.change.after
    assert before and after
    old = teller.before.thing(before.kind, before.key, before.facts)
    if (before.kind, before.key) == (after.kind, after.key):
        return phrase(old, " was replaced by another")
    return phrase(old, " was replaced by ", teller.after.item(after.kind, after.key, after.facts))


def _any_renamed(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    before, after = aspect.change.before, aspect.change.after
    assert before and after
    word = "" if before.kind == "room" else f"{kind_word(before.kind)} "
    old = Piece(before.key.rpartition("/")[2])
    new = Piece(after.key.rpartition("/")[2], after.kind, after.key)
    inside: Phrase = ()
    if before.kind in ITEM_KINDS:
        inside = phrase(" in ", teller.after.enclosure(after.key.partition("/")[0]))
    if before.kind == "room":
        word = "room "
    return phrase(f"{word}", old, inside, " is now recorded as ", new)


def _any_moved(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    was, now = _rooms(teller, aspect)
    if was != now:
        return phrase(named(teller, aspect), " was moved from ", was, " to ", now)
    field = next((name for name in ("plate", "position") if name in aspect.fields), "")
    where = phrase(named(teller, aspect), " was moved within ", now)
    if field == "plate" or (field == "position" and aspect.change.kind == "enclosure"):
        old, new = quoted(aspect.change.was(field)), quoted(aspect.change.now(field))
        return phrase(where, f", from “{old}” to “{new}”")
    return where


def _any_reterminated(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    fields = [name for name in ("port", "from", "to", "lands on") if name in aspect.fields]
    was = [port for name in fields for port in _ports(aspect.change.was(name))]
    now = [port for name in fields for port in _ports(aspect.change.now(name))]
    thing = named(teller, aspect)
    if not now:
        return phrase(thing, " no longer ends on ", teller.before.ports(was))
    if not was:
        return phrase(thing, " now ends on ", teller.after.ports(now))
    if len(was) == len(now) == 1:
        change = teller.after.port_to_port(now[0], " instead of ", was[0], teller.before)
        return phrase(thing, " now ends on ", change)
    if len(was) + len(now) > 4:
        return phrase(thing, " now ends on other ports of ", teller.after.item_of(now[0]))
    return phrase(
        thing, " now ends on ", teller.after.ports(now), ", before on ", teller.before.ports(was)
    )


def _ports(value: Value | None) -> tuple[str, ...]:
    return texts_of({"port": value}, "port") if value is not None else ()


def _any_relabelled(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    change = aspect.change
    plain = change.key.rpartition("/")[2]
    field = "label" if "label" in aspect.fields else aspect.fields[0]
    was, now = (
        quoted(side if side is not None else plain)
        for side in (change.was(field), change.now(field))
    )
    end = " at the panel’s end" if field == "label at panel" else ""
    about = phrase("the label", end, " of ", _by_key(teller, aspect))
    return phrase(about, f" now reads “{now}”, before “{was}”")


def _by_key(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    """A thing by its key, where its label is what is being told."""
    thing, names = _side(teller, aspect)
    bare = {name: value for name, value in thing.facts.items() if name != "label"}
    return names.thing(thing.kind, thing.key, bare)


def _any_changed(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    change, fields = aspect.change, aspect.fields
    thing = named(teller, aspect)
    if len(fields) > 1:
        lead = next((name for name in _LEADING.get(change.kind, ()) if name in fields), None)
        if lead is not None and change.now(lead) is not None:
            rest = tuple(name for name in fields if name != lead)
            first = _any_changed(teller, Aspect(aspect.what, change, (lead,)))
            return phrase(first, "; ", _also(change, rest))
        words = [(Piece(field_word(change.kind, name)),) for name in fields]
        if all(change.was(name) is None for name in fields):
            return phrase(listing(words), " were recorded for ", thing)
        if all(change.now(name) is None for name in fields):
            return phrase(listing(words), " were taken out for ", thing)
        return phrase(listing(words), " changed for ", thing)
    (name,) = fields or ("note",)
    word, was, now = field_word(change.kind, name), change.was(name), change.now(name)
    if name == "seen" and now is not None:
        return phrase(thing, f" was last seen on {quoted(now)}")
    if was is None:
        return phrase(f"{word} {_be([word])} recorded for ", thing, f": {quoted(now)}")
    if now is None:
        return phrase(f"{word} {_be([word])} taken out for ", thing, f" (before: {quoted(was)})")
    return phrase(f"{word} changed for ", thing, f" from {quoted(was)} to {quoted(now)}")


def _also(change: Change, fields: Sequence[str]) -> Phrase:
    """“length and room changed as well”."""
    said = [field_word(change.kind, name) for name in fields]
    new = all(change.was(name) is None for name in fields)
    verb = f"{_be(said)} recorded" if new else "changed"
    return phrase(listing([(Piece(word),) for word in said]), f" {verb} as well")


def _caution_changed(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    """What a survey or report says comes first: “caution asbestos is surveyed now: none found”."""
    change = aspect.change
    known, found = change.now("known"), change.now("found")
    if known is None or not {"known", "found"} & set(aspect.fields):
        return _any_changed(teller, aspect)
    before = change.was("known")
    was = f" (before: {quoted(before)})" if before not in (None, known) else ""
    said = phrase(named(teller, aspect), f" is {quoted(known)}{was}")
    return phrase(said, f": {quoted(found)}") if found is not None else said


def _any_rewritten(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    return phrase(named(teller, aspect), " is only recorded from its other end now")


def _any_followed(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    return phrase(
        "the record of ", named(teller, aspect), " was only brought in line with a new name"
    )


def _any_opened(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    return phrase(named(teller, aspect), " was recorded")


# One alone: outlets


def _rooms(teller: SentenceWriter, aspect: Aspect) -> tuple[Phrase, Phrase]:
    change = aspect.change
    before = text_of(change.before.facts if change.before else None, "room")
    after = text_of(change.after.facts if change.after else None, "room")
    was = teller.before.room(before)
    return (teller.after.room(after) if before == after else was), teller.after.room(after)


def _outlet_added(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    facts = aspect.change.thing.facts
    parts = [named(teller, aspect), phrase(" was added")]
    room = text_of(facts, "room")
    if room:
        parts.append(phrase(" in ", teller.after.room(room)))
    ports = texts_of(facts, "port")
    if ports:
        parts.append(phrase(" on " if not room else ", on ", teller.after.ports(ports)))
    parts.append(phrase(_purpose(facts)))
    return phrase(*parts)


def _purpose(facts: Facts) -> str:
    serves = text_of(facts, "serves")
    if not serves:
        return ""
    article = "an" if serves[:1] in "aeiou" else "a"
    return _SERVES.get(serves, f", for {article} {serves}")


def _outlet_removed(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    facts = aspect.change.thing.facts
    room = text_of(facts, "room")
    out_of = phrase(" from ", teller.before.room(room)) if room else ()
    return phrase(named(teller, aspect), " was removed", out_of)


# One alone: cords


def _ends(facts: Facts) -> tuple[str, str]:
    return text_of(facts, "from") or "", text_of(facts, "to") or ""


def patched(names: Names, facts: Facts) -> tuple[tuple[str, ...], str, str]:
    """The outlets a cord serves, the port they come by, and the port they are patched to."""
    one, other = _ends(facts)
    for here, there in ((one, other), (other, one)):
        outlets = names.served_by(here)
        if outlets and not (names.served_by(there) and not names.is_panel(here)):
            return outlets, here, there
    return (), one, other


def _outlets(names: Names, keys: Sequence[str]) -> Phrase:
    return listing([names.thing("outlet", key) for key in keys])


def _be_many(keys: Sequence[str]) -> str:
    return "was" if len(keys) == 1 else "were"


def _cord_added(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    names = teller.after
    outlets, here, there = patched(names, aspect.change.thing.facts)
    if outlets:
        who = _outlets(names, outlets)
        return phrase(who, f" {_be_many(outlets)} patched to ", names.port(there))
    return phrase("a cord was installed from ", names.port_to_port(here, " to ", there))


def _cord_removed(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    names = teller.before
    outlets, here, there = patched(names, aspect.change.thing.facts)
    if outlets:
        who = _outlets(names, outlets)
        return phrase(who, f" {_be_many(outlets)} unpatched from ", names.port(there))
    return phrase("the cord from ", names.port_to_port(here, " to ", there), " was taken out")


def _cord_repatched(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    before, after = aspect.change.before, aspect.change.after
    assert before and after
    had, old_port, old_far = patched(teller.before, before.facts)
    has, new_port, new_far = patched(teller.after, after.facts)
    if has and old_far == new_far and had != has:
        now = phrase(teller.after.port(new_far), " now serves ", _outlets(teller.after, has))
        if had:
            return phrase(now, ", before ", _outlets(teller.before, had))
        return now
    if has and had == has:
        who = phrase(_outlets(teller.after, has), f" {_be_many(has)} re-patched")
        if old_far == new_far:
            through = teller.after.port_to_port(new_port, " instead of ", old_port, teller.before)
            return phrase(who, " through ", through)
        ends = teller.before.port_to_port(old_far, " to ", new_far, teller.after)
        return phrase(who, " from ", ends)
    old_ends, new_ends = (old_port, old_far), (new_port, new_far)
    kept = next((end for end in old_ends if end in new_ends), None)
    if kept is not None:
        left = next((end for end in old_ends if end != kept), kept)
        taken = next((end for end in new_ends if end != kept), kept)
        moved = teller.before.port_to_port(left, " to ", taken, teller.after)
        return phrase("the cord at ", teller.after.port(kept), " was re-patched from ", moved)
    went = teller.before.port_to_port(old_port, " to ", old_far)
    goes = teller.after.port_to_port(new_port, " to ", new_far)
    return phrase("a cord was re-patched: it went from ", went, " and goes from ", goes)


# One alone: what is mounted, and what it is mounted in


def _item_added(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    thing = aspect.change.thing
    at = text_of(thing.facts, "at")
    where = f" at U{at}" if at else ""
    if text_of(thing.facts, "face") == "rear":
        where += ", at the rear"
    enclosure = teller.after.enclosure(thing.key.partition("/")[0])
    item = teller.after.item(thing.kind, thing.key, thing.facts)
    verb = " was set aside in " if thing.kind == "reserve" else " was mounted in "
    return phrase(item, verb, enclosure, where)


def _item_removed(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    thing = aspect.change.thing
    item = teller.before.item(thing.kind, thing.key, thing.facts)
    enclosure = teller.before.enclosure(thing.key.partition("/")[0])
    verb = " was given free in " if thing.kind == "reserve" else " was taken out of "
    return phrase(item, verb, enclosure)


def _item_reracked(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    before, after = aspect.change.before, aspect.change.after
    assert before and after
    old, new = before.key.partition("/")[0], after.key.partition("/")[0]
    was, now = _mounted_at(before.facts), _mounted_at(after.facts)
    item = teller.after.item(after.kind, after.key, after.facts)
    if old != new:
        return phrase(
            item, " was moved from ", teller.before.enclosure(old), f", {was}, to ",
            teller.after.enclosure(new), f", {now}",
        )  # fmt: skip
    return phrase(item, " was moved in ", teller.after.enclosure(new), f" from {was} to {now}")


def _mounted_at(facts: Facts) -> str:
    at, face = text_of(facts, "at"), text_of(facts, "face")
    place = f"U{at}" if at else text_of(facts, "where") or "beside the units"
    part = text_of(facts, "part")
    return place + (f" {part}" if part else "") + (" at the rear" if face == "rear" else "")


def _enclosure_added(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    facts = aspect.change.thing.facts
    about = [text for text in (text_of(facts, "kind"), text_of(facts, "height")) if text]
    room = text_of(facts, "room")
    where = phrase(" in ", teller.after.room(room)) if room else ()
    words = f" ({', '.join(about)})" if about else ""
    return phrase(named(teller, aspect), words, " was put up", where)


def _enclosure_removed(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    room = text_of(aspect.change.thing.facts, "room")
    where = phrase(" in ", teller.before.room(room)) if room else ()
    return phrase(named(teller, aspect), where, " was taken down")


def _backbone_added(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    facts = aspect.change.thing.facts
    ends = [texts_of(facts, name) for name in ("from", "to")]
    thing = named(teller, aspect)
    if not all(ends):
        return phrase(thing, " was laid")
    start, end = (teller.after.item_of(ports[0]) for ports in ends)
    return phrase(thing, " was laid from ", start, " to ", end)


# One alone: work


def _said(aspect: Aspect, field: str) -> str:
    text = text_of(aspect.change.thing.facts, field)
    return f": {quoted(text)}" if text else ""


def _finding_opened(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    end = "; it is cleared already" if "cleared on" in aspect.change.thing.facts else ""
    return phrase(named(teller, aspect), " was reported", _said(aspect, "what"), end)


def _finding_cleared(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    return phrase(named(teller, aspect), " was cleared", _said(aspect, "what"))


def _finding_reopened(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    return phrase(named(teller, aspect), " is open again", _said(aspect, "what"))


_STATE_WORDS = {
    "asked": "was asked for",
    "authorised": "was authorised",
    "planned": "is planned",
    "done": "is done",
    "verified": "is done and verified",
    "refused": "was refused",
}


def _job_state(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    state = text_of(aspect.change.thing.facts, "state") or "asked"
    words = _STATE_WORDS.get(state, f"is {state}")
    return phrase(named(teller, aspect), f" {words}", _said(aspect, "title"))


def _test_added(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    facts = aspect.change.thing.facts
    link = teller.after.link(text_of(facts, "link") or aspect.change.key)
    date = text_of(facts, "date")
    on = f" on {date}" if date else ""
    return phrase(link, f" was tested{on}: {text_of(facts, 'result') or 'no result'}")


def _site_added(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    name = text_of(aspect.change.thing.facts, "name")
    return phrase("the records of ", name or "the site", " were begun")


def _site_removed(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    name = text_of(aspect.change.thing.facts, "name")
    return phrase("the records of ", name or "the site", " were taken out")


def _circuit_added(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    facts = aspect.change.thing.facts
    about = [text for text in (text_of(facts, n) for n in ("carrier", "service")) if text]
    words = f" ({', '.join(about)})" if about else ""
    return phrase(named(teller, aspect), words, " was recorded")


def _caution_added(teller: SentenceWriter, aspect: Aspect) -> Phrase:
    facts = aspect.change.thing.facts
    known, where = text_of(facts, "known"), text_of(facts, "where")
    found = facts.get("found")
    about = f", {where}" if where else ""
    said = f": {quoted(found)}" if found else ""
    what = text_of(facts, "hazard") or "?"
    return phrase("a caution was recorded: ", what, f" ({known}){about}{said}")


_ANY: dict[Meaning, Single] = {
    Meaning.ADDED: _any_added,
    Meaning.OPENED: _any_opened,
    Meaning.REMOVED: _any_removed,
    Meaning.REPLACED: _any_replaced,
    Meaning.RENAMED: _any_renamed,
    Meaning.MOVED: _any_moved,
    Meaning.RERACKED: _any_changed,
    Meaning.RETERMINATED: _any_reterminated,
    Meaning.REPATCHED: _any_changed,
    Meaning.RELABELLED: _any_relabelled,
    Meaning.CLEARED: _any_changed,
    Meaning.REOPENED: _any_changed,
    Meaning.ADVANCED: _any_changed,
    Meaning.CHANGED: _any_changed,
    Meaning.REWRITTEN: _any_rewritten,
    Meaning.FOLLOWED: _any_followed,
}

_SINGLES: dict[tuple[str, Meaning], Single] = {
    ("caution", Meaning.CHANGED): _caution_changed,
    ("outlet", Meaning.ADDED): _outlet_added,
    ("outlet", Meaning.REMOVED): _outlet_removed,
    ("cord", Meaning.ADDED): _cord_added,
    ("cord", Meaning.REMOVED): _cord_removed,
    ("cord", Meaning.REPATCHED): _cord_repatched,
    ("item", Meaning.ADDED): _item_added,
    ("item", Meaning.REMOVED): _item_removed,
    ("item", Meaning.RERACKED): _item_reracked,
    ("enclosure", Meaning.ADDED): _enclosure_added,
    ("enclosure", Meaning.REMOVED): _enclosure_removed,
    ("backbone", Meaning.ADDED): _backbone_added,
    ("finding", Meaning.OPENED): _finding_opened,
    ("finding", Meaning.CLEARED): _finding_cleared,
    ("finding", Meaning.REOPENED): _finding_reopened,
    ("job", Meaning.OPENED): _job_state,
    ("job", Meaning.ADVANCED): _job_state,
    ("test", Meaning.ADDED): _test_added,
    ("site", Meaning.ADDED): _site_added,
    ("site", Meaning.REMOVED): _site_removed,
    ("circuit", Meaning.ADDED): _circuit_added,
    ("caution", Meaning.ADDED): _caution_added,
}
