"""All readings together: what was measured of supply, pipes and nozzles, and the plan's numbers before and after."""

import uuid
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from rillwright.errors import InputError
from rillwright.jobs.answers.answer import Answer, Book, band_words
from rillwright.jobs.answers.starts import gauges_of
from rillwright.jobs.zone_models import start_model, zone_model, zone_of
from rillwright.model.field_log import HeadPressure, ValveSetting, ZoneStart, supply_tests, zone_flow
from rillwright.report.workings import Given, Working
from rillwright.solvers.certainty import YardDraws, run_zone
from rillwright.solvers.recalibrate import Recalibrated, ZoneReading, recalibrate
from rillwright.solvers.startup import FLOW, Gauge
from rillwright.solvers.supply.outlook import band

__all__ = ["recalibrated_answer"]

_SOURCE = "docs/theory/recalibrate.md"
_DRAWS = 512
_STRAY = 3.0  # standard errors from which a reading is named
Floats = NDArray[np.float64]


def recalibrated_answer(book: Book) -> Iterator[Answer]:
    """One answer by all readings of the supply and of zones wide open; none without any."""
    zones, ids = _readings(book)
    tests = [entry.id for entry, _ in supply_tests(book.entries)]
    if not zones and not tests:
        return
    names = [zone.id for zone in book.plan.zones]
    before = book.as_planned(_DRAWS)
    found = recalibrate(
        book.service, zones, before, heads=book.plan.heads, booster=book.yard.water_entry.booster, seed=book.seed
    )
    pressure = book.plan.supply.reference_pressure
    rows = [
        ("supply.flow", f"flow left at {book.show(pressure, 'pressure')}", "flow", *_supply(before, found, pressure))
    ]
    for name in names:
        model = zone_model(book.plan, zone_of(book.plan, name), book.catalogue)
        was, now = run_zone(model, before), run_zone(model, found.draws)
        rows.append((f"{name}.flow", f"{name}, flow as set", "flow", was.flow, now.flow))
        worst = was.open_pressure.min(axis=1), now.open_pressure.min(axis=1)
        rows.append((f"{name}.worst", f"{name}, worst head wide open", "pressure", *worst))
    subject = "all readings"
    lines = [book.refitted.words] if tests else []
    lines += [_line(title, kind, was, now, book) for _, title, kind, was, now in rows]
    workings = [w for key, title, kind, was, now in rows for w in _workings(f"{subject}.{key}", title, kind, was, now)]
    factors = list(_factors(subject, found, before))
    gauged = sum(len(zone.gauges) for zone in zones)
    readings = len(book.service.readings)
    counts = f"{readings} reading{'' if readings == 1 else 's'} of the supply and {gauged} of zones together"
    verdict = f"{counts}; told most: {_most(found)}."
    says = [*lines, *(f"{w.title}: {w.value:.2f}." for w in factors), *_strays(book, zones, found)]
    yield Answer(subject, verdict, tuple(says), _do(book), (*workings, *factors), (*tests, *ids))


def _do(book: Book) -> tuple[str, ...]:
    if not book.refitted.fresh:
        return ()
    instead = " in place of its own readings" if book.refitted.contradicted else ""
    return (
        f"Put the log's supply tests into the yard{instead} and plan again, so that zones and sizes follow what was "
        "measured.",
    )


def _readings(book: Book) -> tuple[list[ZoneReading], list[uuid.UUID]]:
    """Start-ups, and flows and pressures at heads that no valve setting precedes; the last start-up of each zone."""
    set_since: set[str] = set()
    gauges: dict[str, dict[str, Gauge]] = {}
    zones = {head: zone.id for zone in book.plan.zones for head in zone.heads}
    ids: list[uuid.UUID] = []
    for entry in book.entries:
        what = entry.what
        if isinstance(what, ValveSetting) and what.turns > 0:
            set_since.add(what.zone)
        metered = zone_flow(what)
        try:
            if isinstance(what, ZoneStart):
                zone = zone_of(book.plan, what.zone)
                gauges[zone.id] = {gauge.column: gauge for gauge in gauges_of(what, zone)}
            elif metered is not None and metered.zone not in set_since:
                zone = zone_of(book.plan, metered.zone)
                flow = metered.volume / metered.seconds
                gauges.setdefault(zone.id, {})[FLOW] = Gauge(FLOW, flow, max(metered.volume_error, 0.005) * flow)
            elif isinstance(what, HeadPressure) and zones.get(what.head, what.head) not in {*set_since, what.head}:
                own = gauges.setdefault(zones[what.head], {})
                own[what.head] = Gauge(what.head, what.pressure, max(what.pressure_error, 500.0))
            else:
                continue
        except InputError:
            continue  # an answer of its own says so
        ids.append(entry.id)
    return [
        ZoneReading(start_model(book.plan, zone_of(book.plan, name), book.catalogue), tuple(own.values()))
        for name, own in gauges.items()
    ], ids


def _supply(before: YardDraws, found: Recalibrated, pressure: float) -> tuple[Floats, Floats]:
    return before.supplies.flow(pressure), found.draws.supplies.flow(pressure)


def _line(title: str, kind: str, was: Floats, now: Floats, book: Book) -> str:
    (a, b, c), (d, e, f) = band(was), band(now)
    return (
        f"{title}: before {book.show(b, kind)} ({band_words(book, a, c, kind)}), "
        f"after {book.show(e, kind)} ({band_words(book, d, f, kind)})."
    )


def _workings(key: str, title: str, kind: str, was: Floats, now: Floats) -> Iterator[Working]:
    formula = "network solved in every draw of the yard; quantile"
    for when, values in (("before", was), ("after", now)):
        for end, value in zip(("low", "median", "high"), band(values), strict=True):
            given = (Given("draws", str(len(values))),)
            yield Working(f"{key}.{when}-{end}", f"{title}, {when}", value, kind, formula, given, _SOURCE)


def _factors(subject: str, found: Recalibrated, before: YardDraws) -> Iterator[Working]:
    """Factors that the readings put on what the plan took for granted."""
    after = found.draws
    pairs = [("roughness", before.roughness, after.roughness), ("fittings", before.fittings, after.fittings)]
    pairs += [(f"flow of {kind} nozzles", before.chart[kind], after.chart[kind]) for kind in after.chart]
    for name, was, now in pairs:
        (_, _, _), (low, median, high) = band(was), band(now)
        given = (
            Given("before, 90 % band", f"{band(was)[0]:.2f} to {band(was)[2]:.2f}"),
            Given("after, 90 % band", f"{low:.2f} to {high:.2f}"),
        )
        formula = "trust-region least squares of all readings with the spreads of the plan; median over draws"
        title = f"Factor on {name} ({low:.2f} to {high:.2f})"
        yield Working(f"{subject}.factor.{name}", title, median, "number", formula, given, _SOURCE)


def _most(found: Recalibrated) -> str:
    name, share = max(((n, s) for n, s in found.told.items() if n != "outlet"), key=lambda pair: pair[1])
    return f"{name}, its spread less by {100 * share:.0f} %"


def _strays(book: Book, zones: list[ZoneReading], found: Recalibrated) -> Iterator[str]:
    labels = [reading.label for reading in book.service.readings]
    labels += [f"{zone.model.zone.id}, {gauge.column}" for zone in zones for gauge in zone.gauges]
    for label, stray in zip(labels, found.strays, strict=True):
        if abs(stray) > _STRAY:
            yield f"{label} strays by {abs(stray):.1f} standard errors from all the rest: look at it again."
