"""Checks of a finished plan that look at its pipes and trenches."""

import math
from collections.abc import Iterator

import shapely
from shapely.geometry import LineString, Point

from rillwright.jobs.checks.inspection import SLACK, Inspection, highest_static
from rillwright.jobs.pipework import ENTRY
from rillwright.model.findings import Finding, Severity
from rillwright.solvers.mains import carrying, ring_of

__all__ = [
    "laterals_below_devices",
    "main_as_asked",
    "pipe_ratings",
    "pipes_clear",
    "pipes_continuous",
    "ring_closed",
    "surges",
    "velocities",
]


def pipes_continuous(case: Inspection) -> Iterator[Finding]:
    """Pipes lead without a gap from the water entry to every valve place, and from there to every head."""
    plan = case.plan
    at = {node.id: node.at for node in plan.nodes}
    ends = {pipe.id: (at[pipe.start], at[pipe.end]) for pipe in plan.pipes}
    sound = [p for p in plan.pipes if max(map(math.dist, (p.path[0], p.path[-1]), ends[p.id])) < 0.01]
    before = {(pipe.zone, pipe.end): pipe.start for pipe in sound}

    def gap(net: str | None, node: str, root: str) -> str | None:
        """The node at which the way back to the root breaks off; None when there is a way."""
        for _ in range(len(sound) + 1):
            if node == root or at.get(node, node) == at.get(root, root):
                return None
            if (net, node) not in before:
                break
            node = before[net, node]
        return node

    ways: list[tuple[str | None, str, str, str]] = [(None, place.id, ENTRY, "the main") for place in plan.places]
    ways += [(zone.id, head, zone.place, zone.id) for zone in plan.zones for head in zone.heads]
    for net, node, root, name in ways:
        broken = gap(net, node, root)
        if broken is not None:
            yield Finding(
                rule="pipes-continuous",
                severity="must",
                where=node,
                what=f"the pipes of {name} do not lead from {root} to {node}: they break off at {broken}",
                do="Plan again; report this if it stays.",
            )


def ring_closed(case: Inspection) -> Iterator[Finding]:
    """Whichever stretch of a ring is shut, each valve place is still joined to the water entry."""
    choice, main = case.plan.main, [pipe for pipe in case.plan.pipes if pipe.role == "main"]
    if choice is None or choice.laid != "looped":
        return
    single = [pipe.id for pipe in main if pipe not in ring_of(main)]
    beyond = [
        place.id
        for place in case.plan.places
        if any(not carrying([p for p in main if p.id != one], ENTRY, place.id) for one in single)
    ]
    if beyond:
        yield Finding(
            rule="ring-closed",
            severity="know",
            where=beyond[0],
            what=f"{', '.join(beyond)} lie behind a single stretch of the main ({', '.join(single)}): no second way "
            "can be dug there",
            do="Nothing, or move the water entry or the valve place.",
        )


def main_as_asked(case: Inspection) -> Iterator[Finding]:
    """The main is laid as the yard asks; a ring that bears less with a stretch shut says so."""
    choice = case.plan.main
    if choice is None:
        return
    if choice.laid == "branched" and choice.asked == "looped":
        yield Finding(
            rule="main-layout",
            severity="know",
            where="yard",
            what=f"a looped main is asked for and the main is branched: {choice.why}",
            do="Nothing, or allow more valve places or ground for trenches.",
        )
    nozzles = {n.id: n for n in case.plan.nozzles}
    starts = {h.id: nozzles[h.nozzle].lowest_pressure for h in case.plan.heads}
    weak = [shut for shut in choice.shut if shut.least < starts[shut.head]]
    if weak:
        worst = min(weak, key=lambda shut: shut.least)
        also = "".join(f", {shut.pipe}" for shut in weak if shut is not worst)
        yield Finding(
            rule="ring-shut",
            severity="know",
            where=worst.pipe,
            what=f"with {worst.pipe} shut for a repair {worst.head} may get only {case.show(worst.least, 'pressure')}, "
            f"and its chart starts at {case.show(starts[worst.head], 'pressure')}"
            + (f"; so too{also}" if also else ""),
            do="Leave the zones that fall short off until the stretch is open again.",
        )


def pipes_clear(case: Inspection) -> Iterator[Finding]:
    """No trench runs through a building, water, a keep-out or a trunk, but for the way out from an entry inside one."""
    barred = shapely.buffer(case.ground.no_trench, -0.05)
    entry = Point(case.plan.yard.water_entry.at)
    way_out = shapely.distance(entry, barred.boundary) if barred.covers(entry) else 0.0
    beyond = barred.difference(entry.buffer(way_out + 0.5))
    for trench in case.plan.trenches:
        inside = LineString(trench.path).intersection(beyond)
        if inside.length > 0.05:
            yield Finding(
                rule="trench-clear",
                severity="must",
                where=trench.id,
                what=f"{trench.id} runs {case.show(inside.length, 'length')} where no trench may go",
                do="Move the valve place or the keep-out.",
            )


def velocities(case: Inspection) -> Iterator[Finding]:
    """Water in the pipes keeps under the velocity limit."""
    limit = case.plan.yard.rules.highest_velocity
    for pipe in case.plan.pipes:
        if pipe.velocity > limit * SLACK:
            yield Finding(
                rule="velocity",
                severity="should",
                where=pipe.id,
                what=f"{pipe.size} {pipe.material}: {case.show(pipe.velocity, 'velocity')}, limit "
                f"{case.show(limit, 'velocity')}",
                do="Use the next larger size there.",
            )


def pipe_ratings(case: Inspection) -> Iterator[Finding]:
    """Pipes carry the static pressure at their lowest point, when the supply stands at the top of its band."""
    plan = case.plan
    rating = {(p.material, p.trade_size): p.pressure_rating for p in case.catalogue.pipes}
    told: set[tuple[str, str, str]] = set()
    for pipe in plan.pipes:
        lowest = float(case.ground.terrain.along(pipe.path).min()) - plan.yard.rules.trench_depth
        static = highest_static(plan) + plan.yard.water_entry.weight * (plan.yard.water_entry.height - lowest)
        bears = rating[pipe.material, pipe.size]
        kind = (pipe.role, pipe.material, pipe.size)
        if static <= bears or kind in told:
            continue
        told.add(kind)
        severity: Severity = "must" if pipe.role == "main" else "should"
        yield Finding(
            rule="pipe-rating",
            severity=severity,
            where=pipe.id,
            what=f"{pipe.role} of {pipe.size} {pipe.material} may stand at {case.show(static, 'pressure')} with "
            f"nothing running; it is rated for {case.show(bears, 'pressure')}",
            do="Allow a stronger pipe material, or have a pressure reducing valve fitted before the main.",
            source="rating by the pipe's standard",
        )


def surges(case: Inspection) -> Iterator[Finding]:
    """Pipes bear the pressure of a stopped column on top of the pressure that stands there."""
    sizes = {pipe.id: f"{pipe.size} {pipe.material}" for pipe in case.plan.pipes}
    over = [surge for surge in case.plan.surges if surge.peak > surge.allowed * SLACK]
    for role, when, do in (
        ("main", "when the zone valve shuts", "a slower valve, a pressure reducing valve before the main"),
        ("lateral", "when it starts and the pipe fills", "the valve's flow control opened slowly"),
    ):
        worst = max((s for s in over if s.role == role), key=lambda s: s.peak / s.allowed, default=None)
        if worst is None:
            continue
        others = sorted({s.zone for s in over if s.role == role} - {worst.zone})
        also = f"; so do {', '.join(others)}" if others else ""
        yield Finding(
            rule="surge",
            severity="should",
            where=worst.pipe,
            what=f"{worst.zone} puts {case.show(worst.peak, 'pressure')} on the {role} of {sizes[worst.pipe]} {when}: "
            f"{case.show(worst.standing, 'pressure')} and a surge of {case.show(worst.rise, 'pressure')}, where it may "
            f"bear {case.show(worst.allowed, 'pressure')}{also}",
            do=f"A larger size (less velocity), a stronger class, or {do}.",
            source="docs/theory/water.md",
        )


def laterals_below_devices(case: Inspection) -> Iterator[Finding]:
    """Vacuum breakers stand over all pipe after them too, not only over the heads: a lateral may cross a crest."""
    plan = case.plan
    clear = case.catalogue.backflow[plan.backflow].above_outlets if plan.backflow else None
    if clear is None:
        return
    for place in plan.places:
        critical = place.ground + (place.device_height or 0.0)
        for pipe in (p for p in plan.pipes if p.zone in place.zones):
            crest = float(case.ground.terrain.along(pipe.path).max()) - plan.yard.rules.trench_depth
            short = crest + clear - critical
            if short > 1e-3:
                yield Finding(
                    rule="backflow-pipe-height",
                    severity="must",
                    where=place.id,
                    what=f"{pipe.id} crosses ground so high that the device stands {case.show(short, 'bore')} too low "
                    f"over the pipe, which it must clear by {case.show(clear, 'bore')}",
                    do="Raise the device, or lead the lateral round the crest.",
                    source=case.catalogue.backflow[place.backflow].source,
                )
