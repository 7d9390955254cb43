"""The client's edition holds nothing the client may not read: canaries in every field, generated
from the declared kinds, so that a new field is covered the day it is declared."""

from __future__ import annotations

import dataclasses
import pickle
from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any

import pytest
import yaml

from asbuilt.model.paths import cabling_graph, loses_service, outlets_without_service, paths_of
from asbuilt.model.site import Site, site_of
from asbuilt.records.edition import (
    Alias,
    Edition,
    Withheld,
    WithheldKeys,
    audience_table,
    for_client,
    in_edition,
    is_withheld,
    withheld_keys,
)
from asbuilt.records.fields import (
    KEY,
    Day,
    Listed,
    Measure,
    Period,
    PortTexts,
    Sighting,
    SpotOnPlan,
    Text,
)
from asbuilt.records.kind import Audience, Kind, Raw, fact
from asbuilt.records.kinds import ALL_KINDS, KINDS, REFERABLE
from asbuilt.records.layout import take_apart
from asbuilt.records.links import Outlet
from asbuilt.records.reading import Records, read_folder
from tests.canaries import FIXED, Canaries, CanarySite
from tests.conftest import Golden
from tests.random_sites import random_records

SEEDS = range(40)


# The declarations


def test_whatever_isnt_declared_is_internal() -> None:
    assert audience_table()["pathway"]["label"] is Audience.INTERNAL
    assert audience_table()["network"]["name"] is Audience.INTERNAL
    assert audience_table()["outlet"]["room"] is Audience.CLIENT
    for kind in ALL_KINDS:
        assert audience_table()[kind.name]["internal"] is Audience.INTERNAL


def test_what_is_opened_to_the_client_was_looked_at(golden: Golden) -> None:
    """A field that is opened, or a kind, turns this red until somebody has looked at it."""
    lines = [
        f"{kind}: {', '.join(sorted(n for n, who in fields.items() if who is Audience.CLIENT))}\n"
        for kind, fields in sorted(audience_table().items())
    ]
    golden("client-reads.txt", "".join(lines))


@pytest.mark.parametrize("declared", [None, False, True])
def test_a_new_field_is_internal_until_it_is_declared(
    declared: bool | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened = {} if declared is None else {"client": declared}
    novelty = ("novelty", "str | None", fact(Text(), "Something new.", **opened))
    record = dataclasses.make_dataclass(
        "Novel", [novelty], bases=(Outlet,), frozen=True, slots=True, kw_only=True
    )
    monkeypatch.setitem(KINDS, "outlet", Kind("outlet", record, "outlets", Audience.CLIENT))
    records = _read(
        {"site.yml": "name: x\n", "outlets.yml": "K1: {novelty: canary, jacket: red}\n"}
    )
    assert records.problems == ()
    (outlet,) = in_edition(Edition.CLIENT, records).by_kind["outlet"].values()
    assert outlet.raw.fields.keys() - {"novelty"} == {"jacket"}
    assert ("canary" in "".join(_everything(outlet))) is (declared is True)
    assert (audience_table()["outlet"]["novelty"] is Audience.CLIENT) is (declared is True)


@pytest.mark.parametrize("opened", [{}, {"audience": Audience.CLIENT}])
def test_a_new_kind_is_internal_until_it_is_declared(
    opened: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(KINDS, "outlet", Kind("outlet", Outlet, "outlets", **opened))
    records = _read({"site.yml": "name: x\n", "outlets.yml": "K1: {jacket: red}\n"})
    shown = [raw.key for raw in in_edition(Edition.CLIENT, records).raw if raw.kind == "outlet"]
    assert shown == (["K1"] if opened else [])


@pytest.mark.parametrize("kind", ALL_KINDS, ids=lambda kind: kind.name)
def test_required_fields_are_the_clients_too(kind: Kind) -> None:
    """Else a record could not be built in the client's edition."""
    if kind.audience is Audience.CLIENT or kind.declared:
        assert all(
            spec.audience is Audience.CLIENT for spec in kind.specs.values() if spec.required
        )


@pytest.mark.parametrize("kind", ALL_KINDS, ids=lambda kind: kind.name)
def test_what_the_client_reads_points_to_what_the_client_reads(kind: Kind) -> None:
    """Or to what may be told, one by one: then no reference to an untold one is left."""
    for spec in kind.specs.values():
        if spec.audience is Audience.CLIENT and spec.refers_to:
            pointed = [KINDS[name] for name in REFERABLE[spec.refers_to]]
            assert all(k.audience is Audience.CLIENT or k.declared for k in pointed)


def test_what_is_never_the_clients() -> None:
    """The list of what only engineers may read: management addresses, networks, host names, serial
    numbers, keys and entry, personal numbers, where credentials are kept."""
    for kind, names in {
        "site": ("access", "vault", "maintenance window"),
        "contact": ("personal phone",),
        "room": ("locked", "key with"),
        "enclosure": ("locked", "key with", "supply", "front door", "rear door"),
        "switch": ("address", "host name", "serial", "printed", "where"),
        "router": ("address", "host name", "serial"),
        "device": ("address", "host name", "serial"),
        "reserve": ("for",),
        "outlet": ("network", "withhold", "via"),
        "job": ("instructions", "outlets"),
        "test": ("by", "instrument"),
    }.items():
        for name in names:
            assert KINDS[kind].specs[name].audience is Audience.INTERNAL, f"{kind}: {name}"


# The canaries


def _read(files: Mapping[str, str]) -> Records:
    return read_folder("harbour", {path: text.encode() for path, text in files.items()})


def _built(records: Records) -> Site:
    site = site_of(records)
    assert isinstance(site, Site)
    return site


def _everything(thing: object) -> Iterator[str]:
    """Every text that can be reached from a thing, the marks and nodes of its file included."""
    if isinstance(thing, str):
        yield thing
    elif isinstance(thing, Mapping):
        for key, value in thing.items():
            yield from _everything(key)
            yield from _everything(value)
    elif isinstance(thing, (tuple, list, set, frozenset)):
        for value in thing:
            yield from _everything(value)
    elif isinstance(thing, yaml.Node):
        yield thing.tag
        yield from _everything(thing.value)
        for mark in (thing.start_mark, thing.end_mark):
            yield from (str(mark.name), str(mark.buffer))
    elif dataclasses.is_dataclass(thing):
        for entry in dataclasses.fields(thing):
            yield from _everything(getattr(thing, entry.name))
    else:
        yield str(thing)


def _haystack(records: Records) -> str:
    site = _built(records)
    pickled = pickle.dumps((records, site)).decode("latin-1")
    return "\n".join((*_everything(records), *_everything(site), repr(site), pickled)).casefold()


@pytest.fixture(scope="module")
def story() -> tuple[Canaries, Records]:
    made = CanarySite()
    return made.canaries, _read(made.files())


def test_the_site_of_canaries_is_a_good_site(story: tuple[Canaries, Records]) -> None:
    canaries, records = story
    assert [str(problem) for problem in records.problems] == []
    assert {raw.kind for raw in records.raw} == set(KINDS)
    places = (*canaries.secret.values(), *canaries.open.values())
    for kind in ALL_KINDS:
        for name, spec in kind.specs.items():
            inner = spec.type.of if isinstance(spec.type, Listed) else spec.type
            room = isinstance(inner, (Text, Sighting, Measure, Day, Period, SpotOnPlan, PortTexts))
            if room and (kind.name, name) not in FIXED:
                assert any(place.startswith(f"{kind.name}: {name}") for place in places)


def test_every_canary_is_in_the_engineers_edition(story: tuple[Canaries, Records]) -> None:
    """So that its absence elsewhere means something. Comments are never read at all."""
    canaries, records = story
    everything = _haystack(records)
    missing = {w for token, w in canaries.secret.items() if token not in everything}
    assert missing == {"a comment"}


def test_no_canary_is_in_the_clients_edition(story: tuple[Canaries, Records]) -> None:
    canaries, records = story
    everything = _haystack(in_edition(Edition.CLIENT, records))
    leaked = {where: token for token, where in canaries.secret.items() if token in everything}
    assert leaked == {}


def test_what_the_client_may_read_is_there(story: tuple[Canaries, Records]) -> None:
    canaries, records = story
    client = in_edition(Edition.CLIENT, records)
    everything = _haystack(client)
    missing = {where: token for token, where in canaries.open.items() if token not in everything}
    assert missing == {}
    assert client.problems == ()
    for raw in client.raw:
        assert all(KINDS[raw.kind].specs[name].audience is Audience.CLIENT for name in raw.fields)


def test_nothing_of_the_file_is_kept_but_line_and_column(story: tuple[Canaries, Records]) -> None:
    """The parser's own marks can hold the whole text of the file."""
    _, records = story
    text = "K1: {room: '101', internal: canary1}\n"
    root = yaml.compose(text, Loader=yaml.SafeLoader)
    assert isinstance(root, yaml.MappingNode)
    ((_, value),) = root.value
    raw = Raw("outlet", "K1", {k.value: v for k, v in value.value}, "outlets/canary2.yml", root)
    (shown,) = for_client([raw], WithheldKeys())
    assert "canary" not in "".join(_everything(shown))
    assert "canary" not in pickle.dumps(shown).decode("latin-1")
    assert (shown.place.line, shown.place.column) == (1, 1)
    assert shown.fields["room"].start_mark.column == value.value[0][1].start_mark.column
    for raw in in_edition(Edition.CLIENT, records).raw:
        assert raw.path == raw.kind


def test_what_was_left_out_is_counted(story: tuple[Canaries, Records]) -> None:
    _, records = story
    tally = Withheld()
    in_edition(Edition.CLIENT, records, tally)
    assert tally.counts["pathway"] == tally.counts["network"] == 1
    assert tally.counts["outlet shown as device"] == 2
    assert tally.counts["device shown as device"] == 2
    assert tally.counts["job"] == 1
    assert tally.counts["finding"] == 2
    assert tally.counts["photo"] == 2
    assert tally.counts["site: vault"] == 1


# What is withheld


MINI = {
    "site.yml": "name: Harbour Lane\nrooms: {'101': {name: gym}, '104': {}}\n",
    "enclosures/1A.yml": (
        "height: 12 U\nroom: '104'\n"
        "front:\n"
        "  12: {panel: A, ports: 8}\n"
        "  11: {switch: SW1, ports: 8, poe: 120 W}\n"
        "  5:  {device: NVR1, does: camera recorder, label: NVR-7, ports: 1, named ports: [CAM-LAN]}\n"
        "  4:  {device: SRV1, does: file server, withhold: no, ports: 2}\n"
        "patching:\n"
        "  A/01: {to: SW1/01}\n"
        "  A/02: {to: SW1/02}\n"
        "  NVR1/CAM-LAN: {to: SW1/03}\n"
        "  SW1/04: {to: NVR1/01}\n"
    ),
    "outlets.yml": (
        "1A-A01: {room: '101', port: 1A/A/01, serves: desk, note: under camera CAM-12}\n"
        "1A-A02: {room: '101', port: 1A/A/02, serves: camera, label: CAM-12, plate: ceiling,"
        " poe: class 3, length: 31.5 m, note: sees the till}\n"
        "1A-A03: {room: '101', serves: alarm}\n"
    ),
    "findings.yml": (
        "F1: {what: the jack 1A-A02 hangs loose, outlet: 1A-A02, room: '101', share with client: yes}\n"
        "F2: {what: 1A-A01 and 1A-A02 are loose, outlet: [1A-A01, 1A-A02], share with client: yes}\n"
        "F3: {what: NVR1 is hot, item: 1A/NVR1, share with client: yes}\n"
        "F4: {what: a cord is missing, port: 1A/A/02, share with client: yes}\n"
        "F5: {what: the server is loud, item: 1A/SRV1, share with client: yes}\n"
    ),
    "tests/2025.csv": (
        "link,date,result\n1A-A01,2025-03-07,fail\n1A-A01,2025-03-07,pass\n1A-A02,2025-03-07,pass\n"
    ),
}


def _client(files: Mapping[str, str]) -> Site:
    records = _read(files)
    assert records.problems == ()
    client = in_edition(Edition.CLIENT, records)
    assert client.problems == ()
    return _built(client)


def test_a_camera_is_a_device_on_its_port() -> None:
    site = _client(MINI)
    assert list(site.outlets) == ["1A-A01", "device-1A-A-02", "device-unplaced"]
    device = site.outlets["device-1A-A-02"]
    assert [str(port) for port in device.port] == ["1A/A/02"]
    assert (device.serves, device.poe) == ("device", "class 3")
    assert (device.label, device.room, device.plate, device.length, device.note) == (None,) * 5


def test_a_mounted_device_goes_by_its_place_unless_it_may_be_told() -> None:
    site = _client(MINI)
    assert [i.key for i in site.items_in["1A"]] == ["1A/A", "1A/SW1", "1A/device-u5", "1A/SRV1"]
    recorder, server = site.items["1A/device-u5"], site.items["1A/SRV1"]
    assert (recorder.label, recorder.height) == (None, 1)
    assert recorder.port_names() == ("1", "N1")
    assert getattr(server, "does", None) == "file server"
    ends = {cord.key: str(cord.to) for cord in site.cords.values()}
    assert ends["1A/device-u5/N1"] == "1A/SW1/03"
    assert ends["1A/SW1/04"] == "1A/device-u5/01"


def test_words_that_name_a_withheld_thing_read_device() -> None:
    site = _client(MINI)
    assert site.outlets["1A-A01"].note == "under camera device"
    assert site.findings["F2"].what == "1A-A01 and device are loose"


def test_what_is_about_withheld_things_only_stays_untold() -> None:
    site = _client(MINI)
    assert list(site.findings) == ["F2", "F5"]
    assert site.findings["F2"].outlet == ("1A-A01",)


def test_the_key_of_what_is_told_names_nothing_withheld() -> None:
    """As the name of its file may, and the address of its page."""
    jobs = {
        f"jobs/{key}.yml": "title: x\nshare with client: yes\n"
        for key in ("move-CAM-12", "cam12", "J1")
    }
    found = "F.CAM_012: {what: loose, share with client: yes}\nF-CAM-12.: {what: x, share with client: yes}\n"
    site = _client(MINI | jobs | {"findings.yml": found.replace("12.:", "12:")})
    assert list(site.jobs) == ["J1", "device", "move-device"]
    assert list(site.findings) == ["F-device", "F.device"]
    text = "".join(
        f"F-CAM-1{sign}2: {{what: x, share with client: yes}}\n" for sign in ("", "_", "+")
    )
    site = _client(MINI | {"findings.yml": text.replace("1_2", "_12").replace("1+2", "+12")})
    assert len(site.findings) == 3, "two never share a name"
    text += "F-device: {what: x, share with client: yes}\n"
    site = _client(MINI | {"findings.yml": text.replace("1_2", "_12").replace("1+2", "+12")})
    assert len(site.findings) == 4


def test_a_photo_belongs_to_what_is_told_by_the_name_it_goes_by() -> None:
    findings = (
        "F-CAM-12: {what: loose, share with client: yes}\nF2: {what: x, share with client: no}\n"
        "F3: {what: the camera, outlet: 1A-A02, share with client: yes}\nF4: {what: [1], share with client: yes}\n"
    )
    jobs = {
        f"jobs/J{n}.yml": f"title: x\nshare with client: {w}\n" for n, w in ((1, "yes"), (2, "no"))
    }
    of = {"P1": "finding: F-CAM-12", "P2": "finding: F2", "P3": "finding: F3", "P4": "finding: F4",
          "P5": "job: J1", "P6": "job: J2"}  # fmt: skip
    photos = "".join(f"{key}: {{{it}, share with client: yes}}\n" for key, it in of.items())
    texts = MINI | jobs | {"findings.yml": findings, "photos.yml": photos}
    raws = for_client(_read(texts).raw, WithheldKeys())
    told = {raw.key: raw for raw in raws if raw.kind == "photo"}
    assert told.keys() == of.keys()
    belong = {key: (name, told[key].fields[name].value) for key in told
              for name in ("finding", "job") if name in told[key].fields}  # fmt: skip
    assert belong == {"P1": ("finding", "F-device"), "P5": ("job", "J1")}
    untold = WithheldKeys(untold=frozenset({("job", "J1")}))  # by the last word
    (photo,) = (r for r in for_client(_read(texts).raw, untold) if r.key == "P5")
    assert "job" not in photo.fields


def test_what_is_withheld_is_so_in_whatever_case_an_old_revision_named_it() -> None:
    """Today that is an error; it may not have been when it was written."""
    text = "F1: {what: x, outlet: [1A-A01, 1a-a02], share with client: yes}\n" + (
        "F2: {what: y, item: 1A/nvr1, outlet: 1A-A01, share with client: yes}\n"
        "F3: {what: y, outlet: 1a-a02, share with client: yes}\n"
        "F4: {what: y, item: 1a/nvr1, share with client: yes}\n"
        "F5: {what: y, port: 1A/nvr1/CAM-LAN, share with client: yes}\n"
    )
    raws, problems = take_apart("findings.yml", "findings.yml", text.encode())
    assert problems == []
    shown = for_client(raws, withheld_keys(_read(MINI).raw))
    assert [raw.key for raw in shown] == ["F1", "F2"]
    assert not {"1a-a02", "nvr1"} & set("".join(_everything(shown)).casefold().split("'"))
    assert "nvr1" not in "".join(_everything(shown)) and "1a-a02" not in "".join(_everything(shown))


def test_results_lose_the_name_of_their_file_and_those_of_cameras_are_gone() -> None:
    site = _client(MINI)
    assert list(site.tests) == ["1A-A01-2025-03-07", "1A-A01-2025-03-07.2"]
    assert [test.result for test in site.tests_of["1A-A01"]] == ["fail", "pass"]


@pytest.mark.parametrize(
    "fields",
    [
        "serves: camera",
        "serves: cameras",
        "serves: [desk, camera]",
        "serves: device",
        "serves: desk, withhold: yes",
        "serves: desk, withhold: true",
        "serves: desk, withhold: ",
        "serves: desk, withhold: [no]",
    ],
)
def test_in_doubt_an_outlet_is_withheld(fields: str) -> None:
    """As in a revision written under other rules, or with a slip in it."""
    ((raw,), problems) = take_apart("outlets.yml", "outlets.yml", f"K1: {{{fields}}}\n".encode())
    assert problems == []
    assert is_withheld(raw)
    (shown,) = for_client([raw], WithheldKeys())
    assert (shown.key, [*shown.fields]) == ("device-unplaced", ["serves"])


@pytest.mark.parametrize("fields", ["", "serves: desk", "serves: desk, withhold: no", "serves: "])
def test_an_outlet_of_no_secret_use_is_shown(fields: str) -> None:
    ((raw,), _) = take_apart("outlets.yml", "outlets.yml", f"K1: {{{fields}}}\n".encode())
    assert not is_withheld(raw)


def test_of_old_records_only_what_todays_types_can_read_is_shown() -> None:
    text = "K1: {room: {camera: gate}, plate: [a, b], length: 30, cable: cat6, purpose: gate}\n"
    raws, _ = take_apart("outlets.yml", "outlets.yml", text.encode())
    raws.append(dataclasses.replace(raws[0], kind="sensor"))
    (shown,) = for_client(raws, WithheldKeys())
    assert [*shown.fields] == ["cable"]


def test_what_is_withheld_today_is_withheld_in_old_revisions() -> None:
    today = withheld_keys(_read(MINI).raw)
    old = "1A-A02: {room: '104', port: 1A/A/07, serves: desk}\nK9: {serves: door}\n"
    raws, _ = take_apart("outlets.yml", "outlets.yml", old.encode())
    assert [raw.key for raw in for_client(raws, today)] == ["device-1A-A-07", "device-unplaced"]
    before = {**MINI, "enclosures/1A.yml": MINI["enclosures/1A.yml"].replace("5:  {", "7:  {")}
    shown = {raw.key for raw in for_client(_read(before).raw, today)}
    assert "1A/device-u5" in shown, "it keeps the name it has today"


def test_two_things_never_share_a_name() -> None:
    one = WithheldKeys(items={"1A/X": Alias("1A/device-u5")})
    other = WithheldKeys(items={"1A/Y": Alias("1A/device-u5"), "1A/X": Alias("1A/device-u9")})
    assert {key: alias.key for key, alias in (one | other).items.items()} == {
        "1A/X": "1A/device-u5",
        "1A/Y": "1A/device-u5-2",
    }
    long = "A" * 40
    files = MINI | {
        f"enclosures/{long}.yml": f"height: 9 U\nfront: {{9: [{{device: D1}}, {{device: D2}}],"
        f" 8: {{panel: {long}, ports: 2}}}}\n",
        "outlets.yml": f"K1: {{port: {long}/{long}/01, serves: camera}}\n"
        f"K2: {{port: {long}/{long}/01, serves: door}}\n"
        f"K3: {{port: {long}/{long}/02, serves: door}}\n"
        "device-unplaced: {}\nK4: {serves: alarm}\n",
        "findings.yml": "",
        "tests/2025.csv": "link,date,result\n",
    }
    site = _client(files)
    assert len(site.outlets) == 5
    assert all(KEY.fullmatch(key) for key in site.outlets)
    assert {item.name for item in site.items_in[long]} == {long, "device-u9", "device-u9-2"}


def test_the_engineers_edition_is_the_records() -> None:
    records = _read(MINI)
    assert in_edition(Edition.INTERNAL, records) is records


# The same counts in both editions, on random sites


def _both(seed: int) -> tuple[Records, Site, Site]:
    records = random_records(seed)
    client = in_edition(Edition.CLIENT, records)
    assert client.problems == ()
    return records, _built(records), _built(client)


def _port_states(site: Site) -> Counter[tuple[Any, ...]]:
    uses = site.ports.values()
    return Counter((use.id.enclosure, type(use.item), use.state, len(use.cords)) for use in uses)


@pytest.mark.parametrize("seed", SEEDS)
def test_counts_add_up_in_both_editions(seed: int) -> None:
    _, site, client = _both(seed)
    assert len(client.outlets) == len(site.outlets)
    assert _port_states(client) == _port_states(site)
    assert [len(items) for items in client.items_in.values()] == [
        len(items) for items in site.items_in.values()
    ]
    ours, theirs = cabling_graph(site), cabling_graph(client)
    lengths = [
        sorted(
            (len(path.hops), path.complete)
            for outlet in each.outlets.values()
            for path in paths_of(net, outlet)
        )
        for each, net in ((site, ours), (client, theirs))
    ]
    assert lengths[0] == lengths[1]
    assert len(outlets_without_service(ours, ours.roots)) == len(
        outlets_without_service(theirs, theirs.roots)
    )
    assert sorted(map(len, loses_service(ours).values())) == sorted(
        map(len, loses_service(theirs).values())
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_nothing_points_to_what_is_withheld(seed: int) -> None:
    records, _, client = _both(seed)
    withheld = withheld_keys(records.raw)
    gone = withheld.outlets | set(withheld.items)
    for outlet in client.outlets.values():
        assert outlet.key not in gone
        if outlet.serves == "device":
            assert (outlet.label, outlet.room, outlet.plate, outlet.note) == (None,) * 4
    for raw in in_edition(Edition.CLIENT, records).raw:
        assert raw.key not in gone
        for spec in KINDS[raw.kind].specs.values():
            node = raw.fields.get(spec.name)
            if node is not None and spec.refers_to:
                items = node.value if isinstance(node, yaml.SequenceNode) else [node]
                assert not {item.value for item in items} & gone
            elif node is not None and isinstance(spec.type, Text):
                assert not set(str(node.value).split()) & {k for k in gone if len(k) > 2}
    for finding in client.findings.values():
        assert not set(finding.outlet) & gone
