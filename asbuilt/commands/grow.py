"""The command that says whether more drops go in."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from asbuilt.commands.completion import site_keys
from asbuilt.escape import terminal
from asbuilt.growth.answers import GrowthAnswer, growth_answer, remaining_capacity
from asbuilt.io.files import choose_sites
from asbuilt.io.transaction import records_around
from asbuilt.problem import WorldError
from asbuilt.publish import load
from asbuilt.records.links import COPPER_CABLES


def register(main: click.Group) -> None:
    main.add_command(grow_command)


@click.command("grow")
@click.argument("site", metavar="SITE", shell_complete=site_keys)
@click.option("--drops", type=int, required=True, metavar="N", help="How many more.")
@click.option("--poe", type=click.IntRange(0, 8), metavar="CLASS", help="Their power class.")
@click.option("--at", metavar="SPACE", help="Only in this room or enclosure.")
@click.option("--cable", type=click.Choice(COPPER_CABLES), default="cat6", show_default=True)
@click.option("--format", "form", type=click.Choice(["text", "json"]), default="text")
def grow_command(
    site: str, drops: int, poe: int | None, at: str | None, cable: str, form: str
) -> int:
    """Say whether SITE has room for N more drops: without an outage, in an outage window, or only
    with a new enclosure. Lists the materials, and the room that is left after that."""
    top = records_around(Path.cwd())
    (key,) = choose_sites(top, [site])
    reading = load.load_site(top, key)
    if not reading.sound or reading.site is None or reading.net is None:
        raise WorldError(f"the records of {key} have errors; “asbuilt check {key}” tells them")
    growth = growth_answer(reading.site, reading.net, drops, poe, at, cable)
    if growth.refusal:
        hint = f"; {growth.hint}" if growth.hint else ""
        raise WorldError(f"{growth.refusal}{hint}")
    if form == "json":
        click.echo(json.dumps(_value(growth), ensure_ascii=False, indent=2))
    else:
        for line in _lines(growth):
            click.echo(terminal(line) if not line.startswith("  ") else f"  {terminal(line)}")
    return 0


def _lines(growth: GrowthAnswer) -> Iterator[str]:
    yield f"{growth.drops} more drops of {growth.request.cable}: {growth.verdict}"
    for tier in growth.tiers:
        takes = "no limit in these records" if tier.max_drops is None else f"takes {tier.max_drops}"
        yield f"  {tier.verdict}: {takes}"
    if growth.bottleneck:
        yield f"limit: {growth.bottleneck.resource}, {growth.bottleneck.basis.text}"
    plan = growth.plan
    if plan:
        for place in plan.placements:
            yield f"  mount a {place.ports}-port {place.kind} as {place.key} at U{place.at[0]}"
        for move in plan.moves:
            to = (
                f", U{move.from_units[0]} to U{move.to_units[0]}"
                if move.to_units and move.to_units != move.from_units
                else ""
            )
            dark = f"; interrupts {', '.join(move.interrupts)}" if move.interrupts else ""
            yield f"  {move.key} is {move.action}{to}{dark}"
        for patch in plan.patches:
            yield f"  patch {len(patch.ports)} drops from {patch.panel} to {patch.switch}"
        yield f"live links interrupted: {len(plan.interrupted_outlets)}"
    yield "materials:" if plan else "what is missing:"
    yield from (f"  {line}" for line in (plan.purchases if plan else growth.missing))
    left = remaining_capacity(growth)
    if left:
        yield f"after that, room for: {left.fits_without_outage} without an outage"
    if growth.remarks:
        yield "remarks:"
        yield from (f"  {remark.text}" for remark in growth.remarks)
    yield "counted on:"
    yield from (f"  {line.text} ({line.source})" for line in growth.assumptions)


def _value(growth: GrowthAnswer) -> dict[str, Any]:
    plan, left = growth.plan, remaining_capacity(growth)
    return {
        "drops": growth.drops,
        "cable": growth.request.cable,
        "poe": growth.request.poe_class,
        "verdict": growth.verdict,
        "as mounted": growth.fits_as_mounted,
        "tiers": [{"tier": tier.verdict, "takes": tier.max_drops} for tier in growth.tiers],
        "bottleneck": growth.bottleneck.resource if growth.bottleneck else None,
        "placements": [
            {"kind": p.kind, "ports": p.ports, "key": p.key, "at": p.at[0]}
            for p in (plan.placements if plan else ())
        ],
        "moves": [
            {"key": m.key, "act": m.action, "to": m.to_units, "interrupts": list(m.interrupts)}
            for m in (plan.moves if plan else ())
        ],
        "interrupted": list(plan.interrupted_outlets) if plan else [],
        "materials": [str(line) for line in (plan.purchases if plan else growth.missing)],
        "after that": left.fits_without_outage if left else None,
        "remarks": [remark.text for remark in growth.remarks],
        "counted on": [line.text for line in growth.assumptions],
    }
