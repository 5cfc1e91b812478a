"""A yard as it truly is, hidden from the planner: its supply, ground, pipes and nozzles, and what is wrong in it.

It shares with the planner only what was bought and where it lies: bores, lengths, fittings, heights, charts. The water
is solved here by a root search on the nozzles' pressures, with friction by Swamee and Jain (1976, from memory) and a
supply whose loss grows with another power of the flow. All invented.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.optimize import brentq, root

from plan_yards import CATALOGUE
from rillwright.jobs.zone_models import zone_model
from rillwright.solvers.leak import closed_pipes

RHO, NU, G = 999.1, 1.138e-6, 9.80665  # water at 15 °C, CRC Handbook, from memory; standard gravity
AIR = 101_325.0  # [Pa] standard atmosphere
POWER = 1.85  # of the flow, in the loss of the true supply


@dataclass(frozen=True)
class Wrong:
    """What is wrong in a zone until somebody mends it."""

    kind: str = "as planned"
    head: str = ""  # where
    nozzle: float = 1.0  # factor on what the head passes
    leak: tuple[str, float] = ("", 0.0)  # lateral node, [m³/s/Pa^0.5]
    shut: float = 0.0  # [Pa/(m³/s)²] that the zone's valve takes more


SOUND = Wrong()


@dataclass(frozen=True)
class Shown:
    """What faultless instruments would show while a zone runs."""

    flow: float  # [m³/s] at the meter
    entry: float  # [Pa]
    valve: float  # [Pa] behind the zone's valve
    heads: Mapping[str, float]  # [Pa] at the nozzle

    def at(self, place):
        return {"entry": self.entry, "valve": self.valve}.get(place) or self.heads[place]


@dataclass(frozen=True)
class TrueYard:
    """The truth behind a plan's yard; static, loss and rough are factors on what its readings said."""

    plan: object
    seed: int
    static: float = 1.0
    loss: float = 1.0
    rough: float = 1.0
    _known: dict = field(default_factory=dict)

    def _own(self, *name):
        """Dice of one thing, the same whenever it is asked for."""
        return np.random.default_rng([self.seed, *"|".join(name).encode()])

    @property
    def charts(self):
        return 1 + 0.03 * float(self._own("charts").standard_normal())

    def passes(self, head):
        """Factor on what a head passes, as its nozzle was made."""
        return self.charts * (1 + 0.03 * float(self._own("nozzle", head).standard_normal()))

    def rise(self, head):
        """How much higher [m] a head stands than the spots say."""
        return 0.02 * float(self._own("rise", head).standard_normal())

    def stem(self, zone):
        """Turns of the stem of a zone's flow control, and the power of its law."""
        dice = self._own("stem", zone)
        return float(dice.uniform(5.5, 9.0)), float(dice.uniform(1.8, 2.3))

    def pressure(self, flow):
        """Pressure [Pa] at the water entry at a flow [m³/s]."""
        said = self.plan.supply.expected
        usual = max(zone.flow for zone in self.plan.zones)
        lost = self.loss * said.factor * usual ** (said.exponent - POWER) * flow**POWER
        street = self.static * said.static - lost
        return street if said.cap is None else min(street, said.cap)

    def flow(self, pressure):
        """Flow [m³/s] at which the entry keeps a pressure [Pa]."""
        return brentq(lambda flow: self.pressure(flow) - pressure, 1e-9, 0.05)

    def fill(self, *, bore, kept=1.0):
        """Flow [m³/s] out of an open outlet of a bore [m] that loses its jet and so many velocity heads."""
        speed = 4 / (math.pi * bore**2)
        return brentq(lambda q: self.pressure(q) - (1 + kept) * RHO / 2 * (q * speed) ** 2, 1e-9, 0.05)

    def run(self, zone, *, plan=None, wrong=SOUND, turns=0.0):
        """A zone alone, its flow control so many turns in."""
        plan = plan or self.plan
        key = (id(plan), zone, wrong, turns)
        if key not in self._known:
            self._known[key] = self._solved(plan, zone, wrong, turns)
        return self._known[key]

    def _solved(self, plan, zone, wrong, turns):
        known = next(one for one in plan.zones if one.id == zone)
        model = zone_model(plan, known, CATALOGUE)
        links, height = _from_the_source(model.network), dict(model.network.elevation)
        outlets = {
            node: (law.coefficient * self.passes(head) * (wrong.nozzle if head == wrong.head else 1.0), law.exponent)
            for head, node in model.outlets.items()
            for law in (model.network.outlets[node],)
        }
        for head, node in model.outlets.items():
            height[node] += self.rise(head)
        if wrong.leak[1]:
            outlets[wrong.leak[0]] = (wrong.leak[1], 0.5)
        whole, power = self.stem(zone)
        wide = next(link.device.factor for link in links if link.device is not None and "valve" in link.id)
        control = wide * ((1 - min(turns, 0.99 * whole) / whole) ** -power - 1) + wrong.shut
        nodes = list(outlets)
        coefficient, exponent = (np.array(column) for column in zip(*outlets.values(), strict=True))

        def pressures(stands):
            passed = dict(zip(nodes, coefficient * np.maximum(stands, 1.0) ** exponent, strict=True))
            flow = _flows(links, passed)
            here = {model.network.source: self.pressure(sum(passed.values()))}
            for link in links:
                lost = self._lost(link, flow[link.id], control if link.id == model.control else 0.0)
                rise = RHO * G * (height[link.end] - height[link.start])
                here[link.end] = here[link.start] - rise - lost
                if link.regulated_to is not None:
                    here[link.end] = min(here[link.end], link.regulated_to)
            return here, sum(passed.values())

        begin = np.full(len(nodes), 0.5 * self.pressure(known.flow))
        found = root(lambda x: (np.array([pressures(1e5 * x)[0][node] for node in nodes]) - 1e5 * x) / 1e5, begin / 1e5)
        assert found.success, found.message
        here, flow = pressures(1e5 * found.x)
        heads = {head: float(here[node]) for head, node in model.outlets.items()}
        return Shown(float(flow), float(here[model.network.source]), float(here[known.place]), heads)

    def _lost(self, link, flow, control):
        if link.device is not None:
            return link.device.threshold + (link.device.factor + control) * flow**2
        speed = 4 * flow / (math.pi * link.bore**2)
        return (_friction(speed, link.bore, self.rough * link.roughness) * link.length / link.bore + link.minor) * (
            RHO / 2 * speed**2
        )

    def watch(self, pipes, *, leak, seconds, begin, dice, gauge=1.5e3):
        """A leak watch: readings of a gauge that errs by so much [Pa], and of water that warms a little.

        The pipes give by their walls and the water, and hold three in a thousand of air; a leak [m³/s at the first
        pressure] falls with the root of it.
        """
        closed = closed_pipes(pipes, CATALOGUE)
        air, give = 0.003, closed.stretch + 4.6e-10  # of water at 15 °C, CRC Handbook, from memory
        pressure, step, readings = begin, 1.0, []
        for second in range(int(seconds[-1]) + 1):
            if second in seconds:
                shown = max(pressure + gauge * float(dice.standard_normal()), 0.0)
                readings.append({"after": float(second), "pressure": shown, "water": 285.0})
            soft = give + air * (begin + AIR) / (pressure + AIR) ** 2
            pressure -= step * leak / closed.volume * math.sqrt(max(pressure, 0.0) / begin) / soft
            pressure = max(pressure, 0.0)
        return readings


def _from_the_source(network):
    """Links of a tree in the order of the water, each turned its way."""
    found, reached, left = [], {network.source}, list(network.links)
    while left:
        link = next(one for one in left if one.start in reached or one.end in reached)
        left.remove(link)
        assert not {link.start, link.end} <= reached, "the truth knows trees only"
        found.append(link if link.start in reached else replace(link, start=link.end, end=link.start))
        reached.add(found[-1].end)
    return found


def _flows(links, passed):
    """Flow [m³/s] of every link of a tree, by what the outlets pass."""
    below = dict(passed)
    flow = {}
    for link in reversed(links):
        flow[link.id] = below.get(link.end, 0.0)
        below[link.start] = below.get(link.start, 0.0) + flow[link.id]
    return flow


def _friction(speed, bore, rough):
    """Darcy's friction factor: Swamee and Jain (1976), from memory; laminar under Reynolds 2300."""
    reynolds = max(speed * bore / NU, 1.0)
    if reynolds < 2300:
        return 64 / reynolds
    return 0.25 / math.log10(rough / (3.7 * bore) + 5.74 / reynolds**0.9) ** 2
