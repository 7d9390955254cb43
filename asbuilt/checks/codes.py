"""Every code a problem can have, with what it means: the reference of `asbuilt check`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

CODES_BY_SUBJECT: Final[Mapping[str, Mapping[str, str]]] = {
    "Files": {
        "file-size": "The file is larger than a record, a plan or a photo may be.",
        "file-encoding": "The file isn't UTF-8 text.",
        "file-link": "A symbolic link stands where a file should.",
        "file-name": "The file's name holds characters that can't be shown.",
        "file-special": "What stands here is no plain file.",
        "file-unreadable": "The system doesn't let the file be read.",
        "misplaced-file": "The file looks like records, but stands where none are read.",
        "no-site": "The folder has no site.yml.",
        "plan-missing": "A floor names a plan that isn't among the site's files.",
        "plan-unfit": "A floor's plan can't be shown.",
        "photo-missing": "A photo's record names no file among the site's photos.",
        "photo-unfit": "A photo can't be shown.",
        "empty": "A file or a field is there, but nothing is written in it.",
        "control-character": "The text holds a character that can’t be seen.",
    },
    "YAML and CSV": {
        "yaml-syntax": "The text isn't YAML.",
        "yaml-tab": "A tab indents a line; YAML is indented with spaces.",
        "yaml-shape": "A list, a single value or a group of names stands where another is wanted.",
        "yaml-key": "Something that is no name stands before a colon.",
        "yaml-alias": "An alias or a merge key refers to another place; records write values out.",
        "yaml-tag": "A tag says what a value is; records need none.",
        "yaml-depth": "The text is nested deeper than any record.",
        "csv-syntax": "The text isn't CSV with commas between its cells.",
        "csv-cells": "A line has more or fewer cells than its header has columns.",
    },
    "Records": {
        "bad-key": "A key holds signs that can't be in a key, or is too long.",
        "duplicate-key": "A key or a column stands there twice.",
        "field-missing": "A record or a table lacks a field it can't do without.",
        "unknown-key": "A field or section has a name that no such record has.",
        "role-missing": "It isn't said what is mounted, or two things are said at once.",
        "unknown-word": "A word isn't one of those the field knows.",
        "wrong-type": "A value isn't of the kind the field holds.",
        "out-of-range": "A number is larger or smaller than it can be.",
        "unit-missing": "A quantity has no unit.",
        "too-long": "A text is longer than a field may be.",
        "bad-address": "A text can't be an address that pages are served at.",
        "bad-port": "A text can't be a port, or a range of ports.",
        "port-twice": "A port is named twice in one list.",
        "unknown-reference": "A record is named that isn't there.",
    },
    "What is mounted": {
        "enclosure-height": "An enclosure's height is no number of rack units it can have.",
        "unit-outside": "A thing is mounted at units its enclosure doesn't have.",
        "unit-overlap": "Two things take the same unit on the same face.",
        "too-deep": "A thing is deeper than its enclosure.",
        "depth-clash": "What is in front and at the rear is together deeper than the enclosure.",
    },
    "Ports and what connects them": {
        "port-unknown": "A port is named that its panel, switch, router or device doesn't have.",
        "ports-missing": "Ports of a thing are named, but not how many it has.",
        "port-states": "A port is listed in two states at once.",
        "port-used-twice": "Two cables, cords or circuits are on one port.",
        "cord-loop": "Both ends of a cord are in one port.",
        "cord-twice": "A cord is recorded from both its ends.",
        "cord-same-switch": "Both ends of a cord are in one switch.",
        "backbone-ends": "A backbone has more ports at one end than at the other.",
        "backbone-strands": "A backbone has more ports than strands or pairs.",
        "media-differ": "Fibre ends at a copper panel, or copper at a fibre one.",
        "link-too-long": "A copper link is longer than 90 m.",
        "channel-too-long": "A copper link and its cords are together longer than 100 m.",
        "speeds-differ": "The two ends of a connection between switches run at different speeds.",
        "poe-over-budget": "The power classes on a switch add up to more than it can give.",
        "poe-not-given": "An outlet takes power from its cable, but its switch port gives none.",
        "patched-not-cabled": "A panel port has a cord, but no cable.",
        "outlet-unpatched": "An outlet is recorded as in use, but no cord is in its port.",
        "outlet-no-path": "The way from an outlet breaks off before it reaches a switch.",
        "switch-not-fed": "No way leads from a switch to what feeds the site.",
    },
    "Labels": {
        "label-pattern": "The site's label scheme can't be read.",
        "label-scheme": "A label doesn't follow the site's scheme, or names another port.",
        "label-repeats": "A label stands on more than one outlet.",
    },
    "Test results": {
        "test-failed": "The last valid result of a link is a fail.",
        "test-marginal": "A link passed within the instrument's accuracy only.",
        "test-outdated": "A link was installed or terminated after its last test.",
        "test-calibration": "The instrument of a link's last test was out of calibration.",
        "test-length": "A tested length differs from the recorded one by more than a "
        "tester’s accuracy.",
        "test-limit": "A link was held against the limit of another kind of cable.",
    },
    "Facts and work": {
        "position-off-grid": "An outlet's position is a cell that its floor's plan doesn't have.",
        "fact-missing": "A fact isn't recorded yet; counted, one remark a kind of fact.",
        "caution-source": "A hazard is said to be surveyed or reported, but not by whom or when.",
        "days-order": "Of two days, the one that comes first lies after the other.",
        "finding-state": "A finding has signs of being cleared, but not when.",
        "job-state": "A job's state and its facts don't agree.",
        "emergency-location": "A phone was moved; its emergency calls may give the old place.",
        "change-without-job": "A change in the records is explained by no job.",
        "job-never-recorded": "A job is done, but its change never came into the records.",
        "job-outside-window": "A job's change was made outside its planned window.",
        "secret": "A text looks like a password, a code, a key or a token.",
    },
}

CODES: Final[Mapping[str, str]] = {
    code: meaning for codes in CODES_BY_SUBJECT.values() for code, meaning in codes.items()
}
