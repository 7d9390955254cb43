"""What was found, what was asked for and done, what was measured."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import ClassVar

from asbuilt.records.fields import (
    Day,
    Flag,
    Listed,
    Measure,
    Period,
    Port,
    PortId,
    Ref,
    Text,
    Window,
    Word,
)
from asbuilt.records.kind import Audience, Kind, Record, fact
from asbuilt.records.quantity import Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding(Record):
    about: ClassVar[str] = "Something wrong: found, and later cleared or not."

    what: str = fact(Text(), "What is wrong.", client=True, required=True)
    severity: str | None = fact(
        Word(("hazard", "deficient", "incomplete", "untidy")), "How severe it is.", client=True
    )
    room: str | None = fact(Ref("room"), "The room.", client=True)
    enclosure: str | None = fact(Ref("enclosure"), "The enclosure.", client=True)
    item: str | None = fact(Ref("item"), "The mounted thing: enclosure/item.", client=True)
    port: PortId | None = fact(Port(), "The port.", client=True)
    outlet: tuple[str, ...] = fact(
        Listed(Ref("outlet")), "The outlet or outlets.", client=True, many=True
    )
    requirement: str | None = fact(Text(), "The requirement that isn't met.", client=True)
    options: str | None = fact(Text(), "What could be done.")
    advice: str | None = fact(Text(), "What we advise.", client=True)
    to_be_fixed_by: str | None = fact(
        Word(("us", "client", "landlord", "carrier", "another trade")),
        "Who has to put it right.",
        client=True,
    )
    photo: str | None = fact(Text("a file"), "A file under photos/ that shows it as found.")
    found_on: dt.date | None = fact(Day(), "When it was found.", client=True)
    found_by: str | None = fact(Text("a name"), "Who found it.", client=True)
    cleared_on: dt.date | None = fact(Day(), "When it was cleared.", client=True)
    cleared_by: str | None = fact(Text("a name"), "Who cleared it.", client=True)
    evidence: str | None = fact(Text(), "What shows that it is cleared.")
    job: str | None = fact(Ref("job"), "The job that clears it.")
    share_with_client: bool = fact(Flag(), "yes: the client may read this finding.", default=False)


#: The states of a job in the order they are reached; a refused one ends there.
JOB_STATES = ("asked", "authorised", "planned", "done", "verified", "refused")


@dataclass(frozen=True, slots=True, kw_only=True)
class Job(Record):
    about: ClassVar[str] = "A move, add or change: asked for, authorised, planned, done, verified."

    title: str = fact(Text("a title"), "What is to be done, in a line.", client=True, required=True)
    kind: str | None = fact(
        Word(("survey", "move", "add", "change", "removal", "repair", "new work")),
        "What kind of job it is.",
        client=True,
    )
    state: str = fact(
        Word(JOB_STATES, "a state of a job"), "How far it is.", client=True, default="asked"
    )
    why: str | None = fact(Text(), "Why it was asked for.", client=True)
    asked_by: str | None = fact(Text("a name"), "Who asked.", client=True)
    asked_on: dt.date | None = fact(Day(), "When.", client=True)
    authorised_by: str | None = fact(Text("a name"), "Who may and did say yes.", client=True)
    authorised_on: dt.date | None = fact(Day(), "When.", client=True)
    wanted_by: dt.date | None = fact(Day(), "By when it is wanted.", client=True)
    window: Window | None = fact(Period(), "When it is planned for.", client=True)
    outage: bool | None = fact(Flag(), "Whether it needs an outage.", client=True)
    rooms: tuple[str, ...] = fact(
        Listed(Ref("room")), "The rooms it touches.", client=True, many=True
    )
    enclosures: tuple[str, ...] = fact(
        Listed(Ref("enclosure")), "The enclosures it touches.", client=True, many=True
    )
    outlets: tuple[str, ...] = fact(
        Listed(Ref("outlet")), "The outlets it touches, where known.", many=True
    )
    instructions: str | None = fact(Text(), "What the crew has to know.")
    done_by: str | None = fact(Text("a name"), "Who did it.", client=True)
    done_on: dt.date | None = fact(Day(), "When.", client=True)
    verified_by: str | None = fact(Text("a name"), "Who checked every link.", client=True)
    verified_on: dt.date | None = fact(Day(), "When.", client=True)
    refused_because: str | None = fact(Text(), "Why it was refused.", client=True)
    refused_by: str | None = fact(Text("a name"), "Who refused it.", client=True)
    refused_on: dt.date | None = fact(Day(), "When.", client=True)
    emergency_location: str | None = fact(
        Word(("updated", "not updated", "not applicable")),
        "Whether the emergency-call location of moved phones was updated.",
        client=True,
    )
    share_with_client: bool = fact(Flag(), "yes: the client may read this job.", default=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkTest(Record):
    about: ClassVar[str] = "One certification result of one link; failed ones are kept."

    link: str = fact(Ref("link"), "The outlet or backbone tested.", client=True, required=True)
    date: dt.date = fact(Day(), "When.", client=True, required=True)
    result: str = fact(
        Word(("pass", "marginal", "fail")), "How it went.", client=True, required=True
    )
    limit: str | None = fact(Text(), "The limit it was held against.", client=True)
    length: Quantity | None = fact(Measure("length", "23.4 m"), "Length measured.", client=True)
    margin: Quantity | None = fact(
        Measure("loss", "3.1 dB", signed=True),
        "Worst margin; below zero (-0.4 dB) where the limit isn't kept.",
        client=True,
    )
    instrument: str | None = fact(Text(), "The instrument.")
    calibrated: dt.date | None = fact(Day(), "When the instrument was last calibrated.")
    by: str | None = fact(Text("a name"), "Who tested.")


FINDING = Kind("finding", Finding, "findings", declared="share with client")
JOB = Kind("job", Job, "jobs", declared="share with client")
LINK_TEST = Kind("test", LinkTest, "tests", Audience.CLIENT)
