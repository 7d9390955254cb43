"""Photos: what one shows, when it was taken, and what it belongs to."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import ClassVar, Final

from asbuilt.records.fields import Day, Flag, Ref, Text, Word
from asbuilt.records.kind import Kind, Record, fact

#: What a photo shows, in the order in which photos stand side by side.
SHOWS: Final = ("as found", "as left", "other")


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo(Record):
    about: ClassVar[str] = "A photo: of what, taken when, as found or as left."

    # The name of a file can tell more than the photo does: the client's copy goes by its key.
    file: str | None = fact(Text("a file"), "The picture: a JPEG or PNG under photos/.")
    what: str | None = fact(Text(), "What one sees.", client=True)
    shows: str = fact(
        Word(SHOWS), "Whether it shows things as found or as left.", client=True, default="other"
    )
    taken: dt.date | None = fact(Day(), "When it was taken.", client=True)
    by: str | None = fact(Text("a name"), "Who took it.", client=True)
    room: str | None = fact(Ref("room"), "The room.", client=True)
    enclosure: str | None = fact(Ref("enclosure"), "The enclosure.", client=True)
    outlet: str | None = fact(Ref("outlet"), "The outlet.", client=True)
    finding: str | None = fact(Ref("finding"), "The finding it shows.", client=True)
    job: str | None = fact(Ref("job"), "The job it was taken for.", client=True)
    share_with_client: bool = fact(Flag(), "yes: the client may see this photo.", default=False)


PHOTO = Kind("photo", Photo, "photos", declared="share with client")
