"""The next free ports, labels and keys."""

from __future__ import annotations

import pytest

from asbuilt.edits.numbering import (
    bundles,
    free_ports,
    label_for,
    next_key,
    panels_for,
    place_at,
    propose,
)
from asbuilt.edits.outlets import add_outlets
from asbuilt.edits.requests import Refusal
from asbuilt.model.site import Site, site_of
from asbuilt.records.fields import PortId
from asbuilt.records.reading import read_folder
from asbuilt.trade.identifiers import read_link

ENCLOSURE = """\
height: 12 U
front:
  12: {panel: A, ports: 24, reserved: [3], dead: 4, unknown: 5, abandoned: 6}
  11: {switch: SW1, ports: 24}
  10: {panel: F, ports: 12, media: fibre}
  8-9: {panel: B, ports: 48}
patching:
  A/02: {to: SW1/02}
"""


def site(labels: str = "", outlets: str = "", **more: str) -> Site:
    files = {
        "site.yml": f"name: x\n{labels}\nfloors:\n  '1': {{level: 1}}\n"
        "rooms:\n  '104': {floor: '1'}\n  '105': {floor: '1'}\n",
        "enclosures/1A.yml": ENCLOSURE,
        "outlets.yml": outlets or "# none\n",
        **more,
    }
    found = site_of(read_folder("x", {path: text.encode() for path, text in files.items()}))
    assert found
    return found


def test_only_what_is_free_is_proposed_in_order() -> None:
    here = site(
        outlets="1A-A01: {room: '104', port: 1A/A/01}\n1A-A07: {port: 1A/A/07, state: dead}\n"
    )
    ports = [str(port) for port in free_ports(here, panels_for(here, "104"))]
    # 1 ends a cable, 2 has a cord, 3 is reserved, 4 to 6 aren't free, 7 has a dead cable
    assert ports[:3] == ["1A/A/08", "1A/A/09", "1A/A/10"]
    assert len(ports) == 17 + 48  # and none of the fibre panel
    assert ports[17] == "1A/B/01"


def test_labels_by_tia_606() -> None:
    # ANSI/TIA-606-A: 1A-A47 is floor 1, space A, panel A, port 47.
    here = site("labels: ANSI/TIA-606")
    proposal = propose(here, 3, panels_for(here, "104"))
    assert [place.key for place in proposal.places] == ["1A-A01", "1A-A07", "1A-A08"]
    assert all(place.label is None for place in proposal.places)
    link = read_link(proposal.places[1].printed)
    assert link and (link.space, link.panel, link.port) == ("1A", "A", 7)


@pytest.mark.parametrize(
    ("pattern", "label", "key"),
    [
        ("{enclosure}.{panel}.{port:03}", "1A.A.007", "1A.A.007"),
        ("{room}/{port:02}", "104/07", "1A-A07"),  # no key holds a stroke
        ("{floor}-{room} {panel}{port}", "1-104 A7", "1A-A07"),
        ("D{port:04}", "D0007", "D0007"),
    ],
)
def test_labels_by_the_sites_own_pattern(pattern: str, label: str, key: str) -> None:
    here = site(f'labels: "{pattern}"')
    place = place_at(here, PortId("1A/A", "7"), "104")
    assert (place.printed, place.key) == (label, key)


def test_a_pattern_that_names_what_is_not_known_gives_no_label() -> None:
    here = site('labels: "{room}-{port}"')
    assert label_for(here, PortId("1A/A", "7"), None) is None


def test_a_label_in_use_elsewhere_passes_its_port_over() -> None:
    here = site(
        "labels: ANSI/TIA-606", "1A-A07: {port: 1A/A/09}\nX: {label: 1a-a08, port: 1A/A/10}\n"
    )
    proposal = propose(here, 2, panels_for(here, "104"))
    assert [str(place.port) for place in proposal.places] == ["1A/A/01", "1A/A/11"]
    assert [(str(port), label) for port, label in proposal.passed_over] == [
        ("1A/A/07", "1A-A07"),
        ("1A/A/08", "1A-A08"),
    ]


def test_labels_that_repeat_by_intent_get_keys_of_their_own() -> None:
    here = site('labels: "{room}"')
    proposal = propose(here, 3, panels_for(here, "104"), "104")
    assert [place.label for place in proposal.places][1:] == ["104", "104"]
    assert len({place.key for place in proposal.places}) == 3


def test_a_run_starts_at_the_port_named() -> None:
    here = site()
    proposal = propose(here, 2, panels_for(here, "104"), start=PortId("1A/A", "24"))
    assert [str(place.port) for place in proposal.places] == ["1A/A/24", "1A/B/01"]


def test_too_few_ports_are_told_with_their_number() -> None:
    here = site()
    with pytest.raises(Refusal, match="70 free ports were asked for; 1A/A, 1A/B has 67"):
        propose(here, 70, panels_for(here, "104"))


def test_which_enclosure_is_never_guessed() -> None:
    other = {"enclosures/1B.yml": "height: 6 U\nfront:\n  6: {panel: A, ports: 24}\n"}
    with pytest.raises(Refusal, match="1A, 1B"):
        panels_for(site(**other), "104")
    near = site(outlets="x: {room: '104', port: 1B/A/01}\n", **other)
    assert [panel.key for panel in panels_for(near, "104")] == ["1B/A"]
    assert [panel.key for panel in panels_for(near, "105", "1A")] == ["1A/A", "1A/B"]
    both = site(
        outlets="x: {room: '104', port: 1B/A/01}\ny: {room: '104', port: 1A/A/01}\n", **other
    )
    with pytest.raises(Refusal, match="certain"):
        panels_for(both, "104")


def test_bundles_of_24_by_panel() -> None:
    # Common practice: 24 cables to a bundle, one panel's cables together.
    here = site()
    run = add_outlets(here, "104", 60)
    assert [len(bundle) for bundle in run.bundles] == [19, 24, 17]
    assert [bundle[0].port.item for bundle in run.bundles] == ["1A/A", "1A/B", "1A/B"]
    assert tuple(place for bundle in bundles(run.places) for place in bundle) == run.places


def test_the_next_key_of_findings_and_jobs() -> None:
    assert next_key(["F1", "F12", "F2"], "F1") == "F13"
    assert next_key(["J008", "J009"], "J1") == "J010"
    assert next_key(["2025-01-9"], "J1") == "2025-01-10"
    assert next_key([], "J1") == "J1"
    assert next_key(["roof"], "F1") == "F1"
