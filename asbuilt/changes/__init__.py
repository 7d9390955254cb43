"""What changed between two states of a site's records, as values; and apart from that, in words.

state       records → plain values to compare
evidence    whether two things under two keys are the same thing
compare     two states → changes, and back again
aspects     what a change means to the trade
names, sentences, words    the same, told to an office manager
log         a site's history as values
"""

from asbuilt.changes.compare import Change, RecordState, apply, compare, inverse
from asbuilt.changes.log import Entry, History
from asbuilt.changes.log_lines import LogLine, Piece, lines_of_changes
from asbuilt.changes.state import Facts, Key, State, Value, state_of

__all__ = [
    "Change",
    "Entry",
    "Facts",
    "History",
    "Key",
    "LogLine",
    "Piece",
    "RecordState",
    "State",
    "Value",
    "apply",
    "compare",
    "inverse",
    "lines_of_changes",
    "state_of",
]
