"""Checks of the control wire: every valve opens, the transformer bears it, it lies deep enough and in a trench."""

from collections.abc import Iterator

import shapely

from rillwright.jobs.checks.inspection import Check, Inspection
from rillwright.model.findings import Finding
from rillwright.physics.units import INCH

__all__ = ["WIRE_CHECKS", "transformer_bears_it", "wire_deep_enough", "wire_has_a_way", "wire_opens_valves"]

LEAST_COVER = 6 * INCH  # [m] over control wire of 30 V or less: NEC table 300.5, column 5, from memory
BESIDE = 0.6  # [m] from a wall or a trench within which wire is fixed to the one or lies in the other; judgement
LEAST_LEAD = 1.0  # [m] of open ground that is worth a word; judgement
_THEORY = "docs/theory/wire.md"


def wire_opens_valves(case: Inspection) -> Iterator[Finding]:
    """The thickest wire on sale still leaves every valve the voltage that opens it."""
    wire = case.plan.wire
    if wire is None or wire.enough:
        return
    worst = min(wire.zones, key=lambda zone: zone.opening)
    gets, needs = case.show(worst.opening, "voltage"), case.show(wire.terms.least, "voltage")
    yield Finding(
        rule="wire-too-thin",
        severity="must",
        where=worst.zone,
        what=f"The valve of {worst.zone} gets {gets} as it opens, over {case.show(worst.length, 'length')} of "
        f"{wire.station} AWG wire; it needs {needs}",
        do="Set the controller nearer, let fewer valves open together, or choose valves of less current.",
        source=_THEORY,
    )


def transformer_bears_it(case: Inspection) -> Iterator[Finding]:
    """The transformer gives what the valves that may be open together draw."""
    wire = case.plan.wire
    if wire is None or wire.terms.transformer is None or wire.opening_load <= wire.terms.transformer:
        return
    holds = wire.holding_load <= wire.terms.transformer
    together = "one valve opens" if wire.terms.at_once == 1 else f"the last of {wire.terms.at_once} valves opens"
    yield Finding(
        rule="transformer-load",
        severity="should" if holds else "must",
        where="controller",
        what=f"{case.show(wire.opening_load, 'load')} are drawn as {together}, {case.show(wire.holding_load, 'load')} "
        f"after that; the transformer gives {case.show(wire.terms.transformer, 'load')}",
        do="Fit a larger transformer, or let fewer valves open together. Line voltage is left to a licensed person.",
        source=_THEORY,
    )


def wire_deep_enough(case: Inspection) -> Iterator[Finding]:
    """Control wire lies under the least cover that the code asks of low voltage."""
    wire = case.plan.wire
    if wire is None or wire.cover >= LEAST_COVER - 1e-6:
        return
    yield Finding(
        rule="wire-cover",
        severity="should",
        where="trenches",
        what=f"Control wire lies {case.show(wire.cover, 'depth')} deep; {case.show(LEAST_COVER, 'depth')} are asked",
        do="Dig deeper, or pull it through conduit where the code allows that.",
        source="NEC table 300.5, column 5, from memory; local code rules",
    )


def wire_has_a_way(case: Inspection) -> Iterator[Finding]:
    """From the controller to the water entry the wire goes along a building or in a trench of the plan."""
    controller, entry = case.plan.yard.controller.at, case.plan.yard.water_entry.at
    if case.plan.wire is None or controller is None:
        return
    trenches = shapely.MultiLineString([trench.path for trench in case.plan.trenches])
    ways = shapely.union(case.ground.kinds["building"], trenches).buffer(BESIDE)
    bare = shapely.LineString([controller, entry]).difference(ways).length
    if bare <= LEAST_LEAD:
        return
    yield Finding(
        rule="wire-lead",
        severity="know",
        where="controller",
        what=f"From the controller to the water entry the wire crosses {case.show(bare, 'length')} of open ground "
        "where the plan digs no trench",
        do="Fix it along a wall, or count on that much more trench; a controller near the water entry needs neither.",
        source=_THEORY,
    )


WIRE_CHECKS: tuple[Check, ...] = (wire_opens_valves, transformer_bears_it, wire_deep_enough, wire_has_a_way)
