"""What switches say of their ports, held against the patching."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from asbuilt.cli import main
from asbuilt.facts.switch_status import (
    Mismatch,
    SwitchPortStatus,
    compare_with_records,
    far_ends,
    ports_without_status,
    trailing_port_number,
)
from asbuilt.lists.columns import read_columns, under_titles
from asbuilt.lists.csv_file import read_csv
from asbuilt.lists.switch_status import SwitchStatusList, read_switch_status
from asbuilt.model.site import Site
from asbuilt.records.fields import PortId, read_port
from tests.books import site_from

TEXTS = {
    "site.yml": "name: Harbour Lane\nrooms: {'101': {}, '110': {}}\n",
    "enclosures/1A.yml": """\
height: 12 U
front:
  12: {panel: A, ports: 24}
  11: {switch: SW1, ports: 24, uplinks: 2, host name: hl-1a-sw1, dead: [24]}
  10: {switch: SW2, ports: 8, host name: hl-1a-sw2}
  9: {panel: F, ports: 6, media: fibre}
patching:
  A/01: {to: SW1/01}
  A/02: {to: SW1/02}
  A/03: {to: SW1/03}
  SW1/20: {to: SW2/08}
  SW1/25: {to: F/01, media: fibre}
""",
    "enclosures/2A.yml": """\
height: 12 U
front:
  12: {panel: F, ports: 6, media: fibre}
  11: {switch: SW1, ports: 24, uplinks: 2, host name: hl-2a-sw1}
patching:
  F/01: {to: SW1/25, media: fibre}
""",
    "backbones.yml": "BB1: {from: 1A/F/01-06, to: 2A/F/01-06, cable: OM4}\n",
    "outlets.yml": """\
1A-A01: {room: "101", port: 1A/A/01, serves: desk}
1A-A02: {room: "101", port: 1A/A/02, serves: phone}
1A-A03: {room: "101", port: 1A/A/03, state: spare}
""",
}


def port(text: str) -> PortId:
    found = read_port(text)
    assert found
    return found


def said(*heard: SwitchPortStatus) -> list[str]:
    return [str(difference) for difference in compare_with_records(site_from(TEXTS), heard)]


def test_a_wire_that_says_what_is_recorded_says_nothing_new() -> None:
    assert not said(
        SwitchPortStatus(port("1A/SW1/01"), up=True),
        SwitchPortStatus(port("1A/SW1/02"), up=True, neighbour="phone-0042"),  # its own name
        SwitchPortStatus(port("1A/SW1/03"), up=False),  # a spare outlet
        SwitchPortStatus(port("1A/SW1/04"), up=False),
        SwitchPortStatus(
            port("1A/SW1/20"), up=True, neighbour="HL-1A-SW2.example.net", neighbour_port="Gi0/8"
        ),
        SwitchPortStatus(
            port("1A/SW1/25"), up=True, neighbour="hl-2a-sw1", neighbour_port="Te1/0/25"
        ),
    )


def test_up_with_nothing_recorded() -> None:
    assert said(SwitchPortStatus(port("1A/SW1/07"), up=True, neighbour="camera-3")) == [
        "1A/SW1/07: up, but nothing is recorded in it (heard: camera-3)"
    ]


def test_up_and_recorded_as_dead() -> None:
    assert said(SwitchPortStatus(port("1A/SW1/24"), up=True)) == [
        "1A/SW1/24: up, but recorded as out of use (recorded: dead)"
    ]


def test_recorded_and_down() -> None:
    assert said(
        SwitchPortStatus(port("1A/SW1/01"), up=False), SwitchPortStatus(port("1A/SW1/20"), up=False)
    ) == [
        "1A/SW1/01: recorded, but down (recorded: 1A-A01 (desk))",
        "1A/SW1/20: recorded, but down (recorded: 1A/SW2/08)",
    ]


@pytest.mark.parametrize(
    ("where", "neighbour", "at"),
    [
        ("1A/SW1/20", "hl-2a-sw1", ""),  # another switch of ours
        ("1A/SW1/20", "hl-1a-sw2", "Gi0/7"),  # the right one, another port
        ("1A/SW1/25", "somebody", ""),  # nobody the records know
        ("1A/SW1/01", "hl-1a-sw2", ""),  # a switch where a desk should be
    ],
)
def test_another_neighbour(where: str, neighbour: str, at: str) -> None:
    (one,) = compare_with_records(
        site_from(TEXTS), [SwitchPortStatus(port(where), True, neighbour, at)]
    )
    assert one.mismatch is Mismatch.NEIGHBOUR
    assert one.reported == " ".join(filter(None, (neighbour, at)))


def test_the_way_leads_through_panels_and_backbones() -> None:
    site = site_from(TEXTS)
    assert far_ends(site, site.ports[port("1A/SW1/25")]) == (port("2A/SW1/25"),)
    assert far_ends(site, site.ports[port("1A/SW1/01")]) == (port("1A/A/01"),)
    assert far_ends(site, site.ports[port("1A/SW1/09")]) == ()


def test_what_the_list_leaves_out_is_known() -> None:
    heard = [SwitchPortStatus(PortId("1A/SW2", str(n)), up=False) for n in range(1, 8)]
    assert ports_without_status(site_from(TEXTS), heard) == (port("1A/SW2/08"),)


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("GigabitEthernet1/0/07", "7"),
        ("ge-0/0/3", "3"),
        ("24", "24"),
        ("Port 10", "10"),
        ("mgmt", None),
        ("", None),
    ],
)
def test_a_ports_name_ends_in_its_number(text: str, number: str | None) -> None:
    assert trailing_port_number(text) == number


# From a list


def listed(
    text: str, columns: str = "list: switch-status\n", switch: str | None = None
) -> SwitchStatusList:
    site: Site = site_from(TEXTS)
    told = read_columns("c.yml", columns, "switch-status")
    titled, wrong, unknown = under_titles(read_csv(text.encode()), told)
    assert titled and not wrong and not unknown
    return read_switch_status(site, titled, site.items[switch] if switch else None)


def test_an_export_is_read_through_its_columns_file() -> None:
    found = listed(
        "Sw;If;State;Nb\nhl-1a-sw1.example.net;Gi1/0/20;connected;hl-1a-sw2\n1A/SW2;3;err;\nold;1;up;\n",
        "list: switch-status\ncolumns:\n  Sw: {field: switch, words: {old: not used}}\n  If: port\n"
        "  State: {field: link, words: {err: down}}\n  Nb: neighbour\n",
    )
    assert not found.wrong
    assert found.heard == [
        SwitchPortStatus(port("1A/SW1/20"), True, "hl-1a-sw2"),
        SwitchPortStatus(port("1A/SW2/03"), False),
    ]
    assert found.read_as == {"Gi1/0/20": "1A/SW1/20"}
    assert found.left_out == 1


def test_a_list_of_one_switch_needs_no_column_for_it() -> None:
    assert listed("port,link\n1,up\n", switch="1A/SW1").heard == [
        SwitchPortStatus(port("1A/SW1/01"), True)
    ]
    assert "--switch" in str(listed("port,link\n1,up\n").wrong[0])


def test_what_isnt_understood_is_told_by_row_and_column() -> None:
    found = listed(
        "switch,port,link\nSW1,1,up\nhl-9,1,up\n1A/SW1,mgmt,up\n1A/SW1,1,maybe\n1A/SW1,2,up\n1A/SW1,Gi0/2,up\n,1,up\n1A/SW1,,up\n1A/SW1,3,\n"
    )
    assert [str(one).partition(";")[0] for one in found.wrong] == [
        "row 2, column A: several things are called “SW1”",
        "row 3, column A: “hl-9” is no switch of these records",
        "row 4, column B: 1A/SW1 has no port “mgmt”",
        "row 5, column C: “maybe” is neither up nor down",
        "row 7: 1A/SW1/02 stands here a second time, first in row 6",
        "row 8: it isn't said which switch this is of",
        "row 9: it isn't said which port this is",
        "row 10: it isn't said whether the port is up",
    ]


def test_the_command_tells_and_writes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for path, text in TEXTS.items():
        file = tmp_path / "sites/harbour" / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, "utf-8")
    (tmp_path / "w.csv").write_text("port,link\nGi0/1,down\nGi0/7,up\n", "utf-8")
    monkeypatch.chdir(tmp_path)
    before = {file: file.read_bytes() for file in tmp_path.rglob("*.yml")}
    ran = CliRunner().invoke(main, ["switch-status", "harbour", "w.csv", "--switch", "1A/SW1"])
    assert ran.exit_code == 0, ran.output
    assert "by the number at their end: Gi0/1 as 1A/SW1/01, Gi0/7 as 1A/SW1/07" in ran.output
    assert "1A/SW1/01: recorded, but down (recorded: 1A-A01 (desk))" in ran.output
    assert "1A/SW1/07: up, but nothing is recorded in it" in ran.output
    assert "the list says nothing of 1A/SW1/02" in ran.output
    assert {file: file.read_bytes() for file in tmp_path.rglob("*.yml")} == before
