"""Zones started with one known fault each, and how the tool ranks it, reading by reading."""

from dataclasses import dataclass

import numpy as np

from rillwright.jobs.zone_models import regulators_of, start_model
from rillwright.solvers.certainty import draw_yard
from rillwright.solvers.startup import (
    ENTRY,
    FLOW,
    HAND_SEEN,
    VALVE,
    WALK_SEEN,
    Fault,
    Gauge,
    Look,
    broken,
    clogged,
    diagnose,
    forecast,
    leaking,
    others,
    simulate,
    throttled,
)
from rillwright.solvers.supply import fit_supply

FOLLOW_UPS = 3
KINDS = (
    "head broken or missing",
    "nozzle clogged",
    "wrong nozzle",
    "valve not fully open",
    "leak in a lateral",
    "supply worse than thought",
    "pipes rougher or narrower",
)
GAUGE, METER = 14e3, 0.03  # [Pa] about 2 psi; share
SURE = 0.97  # odds at which nothing more is measured


@dataclass(frozen=True)
class Case:
    cause: str
    ranks: tuple[int, ...]  # of the true cause, after the first readings and after each follow-up
    places: tuple[bool, ...]  # whether the likeliest place is the true one
    asked: tuple[str, ...]
    shows: bool  # whether the fault moves a first reading out of its band


def started(plan, zone, catalogue, *, count, seed):
    """Start a zone `count` times, each with a fault drawn at random; every cause equally often."""
    model = start_model(plan, zone, catalogue)
    fit = fit_supply(plan.yard, catalogue)
    heads, dice = model.zone.heads, np.random.default_rng([seed, int(zone.station)])

    def drawn(number, which):
        return draw_yard(
            plan.yard, fit=fit, heads=heads, zones=[zone.id], seed=which, regulators=regulators_of(plan), count=number
        )

    foretold = forecast(model, drawn(64, 1), catalogue=catalogue)
    risers = {link.id.removeprefix("riser "): link for link in model.zone.network.links}
    faults = [random_fault(KINDS[k % len(KINDS)], model, risers, catalogue, dice) for k in range(count)]
    rows = 1 << int(np.ceil(np.log2(max(count, 2))))
    yards = drawn(rows, 7 + seed)
    truth = simulate(model, yards, [*faults, *faults][:rows])
    sound = simulate(model, yards, [Fault("as planned")] * rows)
    shows = shown_by(foretold, truth - sound)
    return [followed(foretold, fault, truth[k], dice, bool(shows[k])) for k, fault in enumerate(faults)]


def shown_by(foretold, moved):
    """Whether a fault moves one of the first readings out of the band in which nine in ten sound zones lie."""
    first = [0, 1, 2, len(foretold.columns) - 1]
    spread = np.diagonal(foretold.covariance[0])[first]
    error = np.array([METER * foretold.mean[0, 0], GAUGE, GAUGE, GAUGE]) ** 2
    return (np.abs(moved[:, first]) > 1.645 * np.sqrt(spread + error)).any(axis=1)


def random_fault(kind, model, risers, catalogue, dice):
    head = model.zone.heads[dice.integers(len(model.zone.heads))]
    if kind == "head broken or missing":
        return broken(head, riser=risers[head.id], share=float(dice.uniform(0.2, 1.0)), catalogue=catalogue)
    if kind == "nozzle clogged":
        return clogged(head.id, share=float(dice.uniform(0.4, 0.95)))
    if kind == "wrong nozzle":
        choices = list(others(head, catalogue))
        return choices[dice.integers(len(choices))]
    if kind == "valve not fully open":
        return throttled(float(np.exp(dice.uniform(np.log(35e3), np.log(250e3)))), flow=model.zone.target)
    if kind == "leak in a lateral":
        node = model.laterals[dice.integers(len(model.laterals))]
        share = float(np.exp(dice.uniform(np.log(0.15), np.log(1.2))))
        return leaking(node, share=share, flow=model.zone.target, pressure=model.pressure)
    if kind == "supply worse than thought":
        if dice.random() < 0.5:
            return Fault(kind, static=1 - float(dice.uniform(0.18, 0.4)))
        return Fault(kind, loss=float(dice.uniform(2.0, 5.0)))
    return Fault(kind, rough=float(np.exp(dice.uniform(np.log(0.4e-3), np.log(2e-3)))))


def followed(foretold, fault, shown, dice, shows):
    """Read meter, entry, valve and the farthest head; then whatever the tool asks for."""
    columns = foretold.columns
    last = columns[-1]

    def read(column):
        true = shown[columns.index(column)]
        error = METER * true if column == FLOW else GAUGE
        return Gauge(column, float(true + error * dice.standard_normal()), float(error))

    gauges, looks, ranks, places, asked = [read(c) for c in (FLOW, ENTRY, VALVE, last)], [], [], [], []
    for _ in range(FOLLOW_UPS + 1):
        found = diagnose(foretold, gauges, looks)
        ranks.append([cause for cause, _ in found.odds].index(fault.cause))
        places.append((found.places[0][0], found.places[0][1]) == (fault.cause, fault.where))
        if found.odds[0][1] > SURE:
            continue
        ask = found.asks[0]
        asked.append(f"{ask.what} {ask.at}".strip())
        if ask.what == "gauge":
            gauges.append(read(ask.at))
        else:
            looks.append(seen(ask, fault, columns[3:], dice))
    return Case(fault.cause, tuple(ranks), tuple(places), tuple(asked), shows)


IN_HAND = {"nozzle clogged": 1, "wrong nozzle": 2, "head broken or missing": 3}
ON_WALK = {  # chances of gushing, throw, wet ground, nothing: other numbers than the tool's
    "head broken or missing": (0.90, 0.03, 0.02, 0.05),
    "leak in a lateral": (0.05, 0.02, 0.53, 0.40),
}


def seen(ask, fault, heads, dice):
    if ask.what == "nozzle in the hand":
        true = IN_HAND.get(fault.cause, 0) if fault.where == ask.at else 0
        slip = dice.random() < 0.05
        return Look(ask.what, HAND_SEEN[int(dice.integers(len(HAND_SEEN))) if slip else true], ask.at)
    chances = ON_WALK.get(fault.cause, (0.01, 0.05, 0.01, 0.93))
    if fault.cause in ("nozzle clogged", "wrong nozzle"):
        throw = 0.95 * (1 - abs(min(fault.nozzle, 1 / fault.nozzle)) ** 2.2)
        chances = (0.0, throw, 0.0, 1 - throw)
    kind = int(dice.choice(4, p=chances))
    head = fault.where if fault.where in heads and dice.random() < 0.95 else heads[dice.integers(len(heads))]
    return Look(ask.what, WALK_SEEN[kind], head if kind < 2 else "")
