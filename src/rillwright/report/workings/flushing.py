"""Workings of filling, air and flushing."""

from collections.abc import Iterator

from rillwright.model.flushing import (
    FILL_VELOCITY,
    FLUSH_VELOCITY,
    FLUSH_VOLUMES,
    LEAST_FLUSH_TIME,
    AirPocket,
    Filling,
    Flushing,
    FlushStep,
)
from rillwright.model.plan import Plan
from rillwright.physics.air import clearing_velocity
from rillwright.physics.pipes import flow_at_velocity
from rillwright.physics.units import System, show
from rillwright.report.flush_words import BUCKET
from rillwright.report.workings.working import HYDRAULICS, Given, Working

__all__ = ["flushing_workings"]

_LEVELS = "heights of the ground along the pipes, less the cover; docs/theory/flushing.md"
_FILL = "1 ft/s while filling: advice for plastic pipe, from memory"
_FLUSH = "common practice, no source; docs/theory/flushing.md"


def flushing_workings(plan: Plan) -> Iterator[Working]:
    """Workings of each line's filling, each pocket of air, each step of flushing and each run that it washes."""
    found, system = plan.flushing, plan.yard.units
    if found is None:
        return
    for line in found.fillings:
        yield from _filling(line, system)
    for number, pocket in enumerate(found.pockets, start=1):
        yield from _air(f"air.{number}", pocket, system)
    if found.suction is not None:
        low, high = (
            Given(word, pipe, f"pipe.{pipe}.length")
            for word, pipe in (("lowest point in", found.suction.lowest), ("highest in", found.suction.highest))
        )
        yield Working(
            "suction.fall",
            "The main's highest point over its lowest",
            found.suction.fall,
            "length",
            "greatest less least level",
            (high, low),
            _LEVELS,
        )
        given = Given("fall", show(found.suction.fall, "length", system), "suction.fall")
        yield Working(
            "suction.pressure",
            "Suction at the main's highest point when it is let empty shut",
            found.suction.pressure,
            "pressure",
            "ρ g · fall, at the most the air's own pressure",
            (given,),
            "hydrostatics",
        )
    for number, step in enumerate(found.steps, start=1):
        yield from _step(f"flush.{number}", number, step, system)
    yield from _runs(found)
    yield Working(
        "flush.steps", "Steps of flushing", len(found.steps), "count", "ends put together while no run is washed less"
    )
    yield Working(
        "flush.fewest",
        "Steps that no choice of ends can beat",
        found.fewest,
        "count",
        "1 + valve places + for each zone: flow that its ends' last runs need / flow with all ends open, rounded up",
        (),
        _FLUSH,
    )


def _filling(line: Filling, system: System) -> Iterator[Working]:
    key = f"fill.{line.line}"
    name = "the main" if line.line == "main" else line.line
    yield Working(
        f"{key}.volume",
        f"Water that fills {name}",
        line.volume,
        "volume",
        "sum of π/4 · D² · length over its pipe",
        (),
        "geometry",
    )
    bore = Given(
        f"bore of {line.narrowest}, the narrowest", show(line.bore, "bore", system), f"pipe.{line.narrowest}.bore"
    )
    speed = Given("v", show(FILL_VELOCITY, "velocity", system))
    yield Working(
        f"{key}.flow",
        f"Flow to fill {name} at",
        line.flow,
        "flow",
        "π/4 · D² · v, so that no run is faster",
        (bore, speed),
        _FILL,
        flow_at_velocity(FILL_VELOCITY, inside_diameter=line.bore),
    )
    given = (
        Given("volume", show(line.volume, "volume", system), f"{key}.volume"),
        Given("flow", show(line.flow, "flow", system), f"{key}.flow"),
    )
    yield Working(
        f"{key}.time",
        f"Time to fill {name}",
        line.seconds,
        "minutes",
        "volume / flow",
        given,
        "geometry",
        line.volume / line.flow,
    )
    bucket = BUCKET[system]
    given = (Given("bucket", show(bucket, "volume", system)), given[1])
    yield Working(
        f"{key}.bucket",
        f"A bucket fills at that flow in, {name}",
        bucket / line.flow,
        "minutes",
        "volume of the bucket / flow",
        given,
        "geometry",
        bucket / line.flow,
    )


def _air(key: str, pocket: AirPocket, system: System) -> Iterator[Working]:
    yield Working(
        f"{key}.rise",
        f"Crest in {pocket.pipe} over the next opening",
        pocket.rise,
        "length",
        "level of the crest less the greatest level from which air gets to an opening without falling",
        (),
        _LEVELS,
    )
    given = (Given("crest over the opening", show(pocket.rise, "length", system), f"{key}.rise"),)
    yield Working(
        f"{key}.volume",
        f"Air that may stay under the crest in {pocket.pipe}",
        pocket.volume,
        "volume",
        "volume of the pipe over the level at which air gets out",
        given,
        _LEVELS,
    )
    given = (Given("pipe", pocket.falls_in, f"pipe.{pocket.falls_in}.velocity"),)
    yield Working(
        f"{key}.velocity",
        f"Water beyond the crest in {pocket.pipe}",
        pocket.velocity,
        "velocity",
        "flow / (π/4 · D²)",
        given,
        HYDRAULICS,
    )
    laws = (
        Given(f"bore D of {pocket.falls_in}", show(pocket.bore, "bore", system), f"pipe.{pocket.falls_in}.bore"),
        Given("steepest slope S", show(pocket.slope, "share", system)),
    )
    yield Working(
        f"{key}.clears",
        f"Velocity that carries the air on in {pocket.falls_in}",
        pocket.clears,
        "velocity",
        "√(g D) · (0.56 √S + 0.61)",
        laws,
        "Escarameia (2007), from memory; docs/theory/flushing.md",
        clearing_velocity(pocket.bore, slope=pocket.slope),
    )


def _step(key: str, number: int, step: FlushStep, system: System) -> Iterator[Working]:
    name = f"Flushing step {number}, {step.line}"
    ends = (Given("open", " ".join(step.ends)), Given("jet", "takes one velocity head of the end's bore"))
    flow = Given("flow", show(step.flow, "flow", system), f"{key}.flow")
    filled = Given("pipe on the ways to the open ends", show(step.line_volume, "volume", system))
    yield Working(
        f"{key}.flow",
        f"{name}: flow",
        step.flow,
        "flow",
        "cautious supply, flow controls wide open, all other ends shut",
        ends,
        HYDRAULICS,
    )
    slowest = "" if step.slowest == "service" else f"pipe.{step.slowest}.bore"
    yield Working(
        f"{key}.velocity",
        f"{name}: slowest water",
        step.velocity,
        "velocity",
        "least flow / (π/4 · D²) on the ways to the open ends",
        (Given("in", step.slowest, slowest), flow),
        HYDRAULICS,
    )
    least = Given("no less than", show(LEAST_FLUSH_TIME, "minutes", system))
    again = max(FLUSH_VOLUMES * step.line_volume / step.flow, LEAST_FLUSH_TIME) if step.flow > 0 else None
    yield Working(
        f"{key}.time",
        f"{name}: time",
        step.seconds,
        "minutes",
        f"{FLUSH_VOLUMES:g} · volume of the line / flow",
        (filled, flow, least),
        _FLUSH,
        again,
    )
    time = Given("time", show(step.seconds, "minutes", system), f"{key}.time")
    yield Working(
        f"{key}.volume",
        f"{name}: water let out",
        step.volume,
        "volume",
        "flow · time",
        (flow, time),
        _FLUSH,
        step.flow * step.seconds,
    )


def _runs(found: Flushing) -> Iterator[Working]:
    for run in found.runs:
        given = (
            Given("step", str(run.step), f"flush.{run.step}.flow"),
            Given("bore", run.pipe, f"pipe.{run.pipe}.bore"),
        )
        wanted = f"flow / (π/4 · D²) in the step that washes it best; {FLUSH_VELOCITY:g} m/s carries grit"
        yield Working(
            f"flush.{run.pipe}",
            f"{run.pipe}: velocity when flushed",
            run.velocity,
            "velocity",
            wanted,
            given,
            HYDRAULICS,
        )
