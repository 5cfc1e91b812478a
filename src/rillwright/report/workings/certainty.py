"""Workings of how sure the plan is: chances, bands, the week's hours, and what to measure next."""

from collections.abc import Iterator

from rillwright.model.certainty import Certainty, Chance, LawnCertainty, ZoneCertainty
from rillwright.model.plan import Plan
from rillwright.model.site import Watering
from rillwright.physics.units import show
from rillwright.report.workings.working import Given, Working

__all__ = ["certainty_workings"]

_SOURCE = "network solved in every draw; docs/theory/certainty.md"
_NEXT = "measurement simulated on the draws, which then weigh anew; docs/theory/certainty.md"


def certainty_workings(plan: Plan) -> Iterator[Working]:
    """Workings of the plan's certainty; none when nobody asked for it."""
    sure = plan.certainty
    if sure is None:
        return
    if sure.sound is not None:
        zones = tuple(Given(z.id, _share(z.sound, plan), f"certainty.zone.{z.id}") for z in sure.zones)
        formula = "draws in which every head of every zone is inside its pressure band / all draws"
        yield _chance("certainty.sound", "All zones sound", sure.sound, formula, (_draws(sure), *zones))
    for zone in sure.zones:
        yield from _zone(zone, sure, plan)
    for lawn in sure.lawns:
        yield from _lawn(lawn, sure, plan)
    yield from _window(sure, plan)
    yield from _next(sure)


def _draws(sure: Certainty) -> Given:
    return Given("draws", str(sure.draws))


def _share(chance: Chance, plan: Plan) -> str:
    return show(chance.value, "share", plan.yard.units)


def _chance(key: str, title: str, chance: Chance, formula: str, given: tuple[Given, ...]) -> Working:
    return Working(key, title, chance.value, "share", formula, given, _SOURCE)


def _zone(zone: ZoneCertainty, sure: Certainty, plan: Plan) -> Iterator[Working]:
    key = f"certainty.zone.{zone.id}"
    spreads = tuple(Given(s.name, s.drawn) for s in sure.spreads)
    weak = min(zone.heads, key=lambda head: min(head.enough.value, head.not_too_much.value))
    yield _chance(
        key,
        f"{zone.id}: chance that every head is in its pressure band",
        zone.sound,
        "draws in which every head is inside the band of its chart, control set, the house drawing now and then / all "
        "draws",
        (
            _draws(sure),
            Given(f"least sure: {weak.id} gets enough", _share(weak.enough, plan), f"certainty.head.{weak.id}.enough"),
            Given(
                f"{weak.id} gets not too much",
                _share(weak.not_too_much, plan),
                f"certainty.head.{weak.id}.not-too-much",
            ),
            *spreads,
        ),
    )
    formula = "sqrt(p (1 - p) / draws) with p = (hits + 1) / (draws + 2)"
    yield Working(f"{key}.error", f"{zone.id}: its sampling error", zone.sound.error, "share", formula, (_draws(sure),))
    formula = "the same over the draws in which nobody in the house draws water"
    yield _chance(f"{key}.undisturbed", f"{zone.id}: chance, house quiet", zone.undisturbed, formula, (_draws(sure),))
    yield from _bands(zone, key, sure)
    for head in zone.heads:
        for name, chance, words in (
            ("enough", head.enough, "at least the least pressure of its chart"),
            ("not-too-much", head.not_too_much, "at most the greatest pressure of its chart"),
        ):
            formula = f"draws in which it gets {words} / all draws"
            now = Given("pressure as planned", *_pressure_of(head.id, plan))
            yield _chance(f"certainty.head.{head.id}.{name}", f"{head.id}: chance of {words}", chance, formula, (now,))


def _pressure_of(head: str, plan: Plan) -> tuple[str, str]:
    pressure = next(h.pressure for h in plan.heads if h.id == head)
    return show(pressure, "pressure", plan.yard.units), f"head.{head}.pressure"


def _bands(zone: ZoneCertainty, key: str, sure: Certainty) -> Iterator[Working]:
    quantiles = (("low", "5 % quantile"), ("median", "median"), ("high", "95 % quantile"))
    for name, band, dimension, words in (
        ("worst", zone.worst, "pressure", "pressure at the head with the least"),
        ("best", zone.best, "pressure", "pressure at the head with the most"),
        ("open", zone.open_worst, "pressure", "the least pressure, control wide open and nobody else drawing"),
        ("flow", zone.flow, "flow", "flow"),
        ("rate", zone.precipitation, "rate", "precipitation rate"),
    ):
        for end, quantile in quantiles:
            value: float = getattr(band, end)
            formula = f"{quantile} over the draws"
            yield Working(
                f"{key}.{name}-{end}", f"{zone.id}: {words}", value, dimension, formula, (_draws(sure),), _SOURCE
            )


def _lawn(lawn: LawnCertainty, sure: Certainty, plan: Plan) -> Iterator[Working]:
    key, system = f"certainty.lawn.{lawn.id}", plan.yard.units
    planned = next(one.evenness.du for one in plan.lawns if one.id == lawn.id)
    given = (
        _draws(sure),
        Given("DU as planned, still air", show(planned, "share", system), f"lawn.{lawn.id}.du"),
        *(Given(s.name, s.drawn) for s in sure.spreads if s.name in ("nozzles as made", "evenness as built", "wind")),
    )
    least = show(plan.yard.rules.lowest_du, "share", system)
    formula = f"draws in which the low quarter's DU is at least {least} / all draws"
    yield _chance(key, f"{lawn.id}: chance of even water", lawn.even, formula, given)
    for end, value in (("low", lawn.du.low), ("median", lawn.du.median), ("high", lawn.du.high)):
        formula = "DU of the low quarter with each head's flow in the draw, in one of a few winds; quantile"
        yield Working(f"{key}.du-{end}", f"{lawn.id}: DU as built", value, "share", formula, given, _SOURCE)


def _window(sure: Certainty, plan: Plan) -> Iterator[Working]:
    window, system = sure.window, plan.yard.units
    if window is None:
        return
    watering = plan.yard.watering or Watering()
    key, origin = "certainty.window", "assumed" if window.assumed else "stated in the yard"
    available = Given("hours a week", show(window.available, "hours", system), f"{key}.available")
    needed = Given("needed, median", show(window.needed.median, "hours", system), f"{key}.needed-median")
    formula = "draws in which the week's need is at most the hours that may be used / all draws"
    yield _chance(key, "Chance that the water window suffices", window.suffices, formula, (available, needed))
    given = (Given("hours of a night", show(watering.hours, "hours", system)), Given("nights", str(watering.nights)))
    again = watering.hours * watering.nights
    yield Working(f"{key}.available", "Hours a week", window.available, "hours", "hours · nights", given, origin, again)
    depth = show(window.depth.median, "depth", system)
    runs = (
        Given("depth a week, median", depth),
        *(
            Given(zone, show(band.median, "hours", system), f"{key}.{zone}")
            for zone, band in window.zone_needed.items()
        ),
    )
    formula = "sum of the runs of all zones, or the longest span of cycles and pauses when that is more; "
    for end, quantile in (("low", "5 % quantile"), ("median", "median"), ("high", "95 % quantile")):
        value: float = getattr(window.needed, end)
        title = "Hours of watering needed in a week of the peak"
        yield Working(f"{key}.needed-{end}", title, value, "hours", formula + quantile, runs, _SOURCE)
    for zone, band in window.zone_needed.items():
        formula = "depth · exposure · 1 / (0.4 + 0.6 DU) / (rate on the lawn · share that lands), median"
        rate = Given("rate", *_rate_of(zone, plan))
        yield Working(
            f"{key}.{zone}", f"{zone}: run time a week", band.median, "hours", formula, (runs[0], rate), _SOURCE
        )
    yield Working(
        f"{key}.ample", "Hours that suffice in 9 of 10", window.ample, "hours", "90 % quantile", runs, _SOURCE
    )


def _rate_of(zone: str, plan: Plan) -> tuple[str, str]:
    rate = next(z.precipitation for z in plan.zones if z.id == zone)
    return show(rate, "rate", plan.yard.units), f"zone.{zone}.precipitation"


def _next(sure: Certainty) -> Iterator[Working]:
    for number, step in enumerate(sure.next_measurements, start=1):
        given = (Given("measurement", step.what), Given("narrows", step.moves))
        for name, value, formula in (
            ("band-now", step.band_before, "95 % quantile - 5 % quantile"),
            ("band-after", step.band_after, "the same, averaged over what the measurement may read"),
        ):
            yield Working(f"next.{number}.{name}", step.what, value, step.dimension, formula, given, _NEXT)
        if sure.sound is None:
            continue
        for name, value, formula in (
            (
                "wrong-now",
                step.wrong_before,
                "1 - product over the verdicts of the share of draws on the likelier side",
            ),
            ("wrong-after", step.wrong_after, "the same, averaged over what the measurement may read"),
        ):
            yield Working(f"next.{number}.{name}", step.what, value, "share", formula, given, _NEXT)
