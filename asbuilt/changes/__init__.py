"""What changed between two states of a site's records, as values; and apart from that, in words.

state        records → plain values to compare
parsed_file  a record file at one revision → the records in it
identity     whether two records under two keys are the same one
compare      two states → changes, and back again
meaning      what a change means to the trade
job_scope    what the commits of one job touched
log          a site's history as values
serialise    a history as plain lists, and back again
output       the log as lines, JSON and Markdown
names, sentences, log_lines    the same in sentences anybody understands
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
