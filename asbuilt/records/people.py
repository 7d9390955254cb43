"""Whom one calls, and what may hurt."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import ClassVar

from asbuilt.records.fields import Day, Flag, Ref, Text, Word
from asbuilt.records.kind import Audience, Kind, Record, fact


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact(Record):
    about: ClassVar[str] = "A person one may have to call."

    name: str = fact(Text("a name"), "Who.", client=True, required=True)
    role: str | None = fact(Text(), "What they do.", client=True)
    helps_with: str | None = fact(Text(), "What they can really help with on site.")
    authorises: bool | None = fact(Flag(), "Whether they may order a change.", client=True)
    phone: str | None = fact(Text("a number"), "The office number.", client=True)
    personal_phone: str | None = fact(Text("a number"), "A number for emergencies only.")
    email: str | None = fact(Text("an address"), "The office address.", client=True)
    hours: str | None = fact(Text(), "When they can be reached.", client=True)
    party: str = fact(
        Word(("client", "us", "carrier", "landlord", "another trade")),
        "Whose person they are.",
        client=True,
        default="client",
    )


HAZARDS = (
    "asbestos",
    "rated barrier",
    "mains power",
    "laser light",
    "powered bundles",
    "work at height",
    "batteries",
    "lone work",
    "confined space",
    "other trade's system",
    "other",
)
KNOWLEDGE = ("surveyed", "reported", "not known")


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution(Record):
    about: ClassVar[str] = (
        "Something that may hurt, and how it is known: surveyed (with reference and date), "
        "reported (by whom, when) or not known, which is never the same as none."
    )

    hazard: str = fact(Word(HAZARDS, "a hazard"), "What it is.", client=True, required=True)
    known: str = fact(
        Word(KNOWLEDGE), "surveyed, reported or not known.", client=True, required=True
    )
    where: str | None = fact(Text("a place"), "Where.", client=True)
    room: str | None = fact(Ref("room"), "The room, when it is one.", client=True)
    found: str | None = fact(Text(), "What the survey or report says.", client=True)
    reference: str | None = fact(Text(), "The survey's reference.", client=True)
    by: str | None = fact(Text("a name"), "Who surveyed or reported it.", client=True)
    on: dt.date | None = fact(Day(), "When.", client=True)


CONTACT = Kind("contact", Contact, "contacts", Audience.CLIENT)
CAUTION = Kind("caution", Caution, "cautions", Audience.CLIENT)
