"""Somebody builds a planned yard, day by day, and keeps its field log: with errors of reading, slips, faults and rain.

All invented. Everything is drawn from one seed, so that a build is the same whenever it is done again.
"""

import json
import uuid
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import numpy as np

from rillwright.model.field_log import Entry
from true_yard import SOUND, TrueYard

GAUGE, METER, MARK, WATCH = 14e3, 0.03, 0.03, 0.3  # [Pa], share, share, [s]: standard errors of a careful reader
RAIN = 0.3  # chance that a day is lost to the weather
BORE = 0.019  # [m] of the hose bib that buckets are filled from
IN_HAND = {"nozzle clogged": "clogged", "wrong nozzle": "another nozzle", "head broken or missing": "broken or missing"}
ON_WALK = {"leak in a lateral": "wet ground", "head broken or missing": "gushing"}


@dataclass
class Build:
    """One build and its log; stages, by name how many entries there were when each ended."""

    yard: TrueYard
    first: datetime = datetime(2027, 5, 1, 8, tzinfo=UTC)
    entries: list[Entry] = field(default_factory=list)
    stages: dict[str, int] = field(default_factory=dict)
    lost: int = 0  # days, to rain

    def __post_init__(self):
        self.plan, self.now = self.yard.plan, self.entries[-1].made if self.entries else self.first
        self.dice = np.random.default_rng([self.yard.seed, 11, len(self.entries)])

    def log(self, stage):
        """The log as it stood at the end of a stage."""
        return self.entries[: self.stages[stage]]

    def day(self, stage):
        """The day on which a stage ended."""
        return self.log(stage)[-1].made.date()

    def write(self, path, stage=None):
        """Write the log as JSON lines."""
        entries = self.entries if stage is None else self.log(stage)
        path.write_text("".join(f"{one.model_dump_json(exclude_defaults=True)}\n" for one in entries))

    # what somebody does

    def put(self, what, *, words="", corrects=None):
        """Write one entry, some minutes after the last."""
        self.now += timedelta(minutes=float(self.dice.uniform(3, 25)))
        made = {"id": uuid.UUID(bytes=self.dice.bytes(16), version=4), "made": self.now, "what": what, "words": words}
        self.entries.append(Entry.model_validate(json.loads(json.dumps(made, default=str)) | {"corrects": corrects}))
        return self.entries[-1].id

    def sleep(self, days=1):
        """Go on some work days later; rain takes a day now and then."""
        while days:
            self.now = (self.now + timedelta(days=1)).replace(hour=8, minute=0)
            rains = self.dice.random() < RAIN
            self.lost += rains
            days -= not rains

    def end(self, stage):
        self.stages[stage] = len(self.entries)

    def read(self, value, error):
        return max(float(value + error * self.dice.standard_normal()), 0.0)

    def test(self, measurement, *, corrects=None):
        return self.put({"kind": "supply test", "measurement": measurement}, corrects=corrects)

    def measure(self, *, slip=False):
        """A static gauge, gauges while a zone's flow and half of it run, and bucket fills; perhaps a slip mended."""
        yard = self.yard
        static = self.read(yard.pressure(0.0), GAUGE)
        if slip:  # kPa written for psi, seen at once
            first = self.test({"kind": "static gauge", "pressure": static / 6.894757})
            self.test({"kind": "static gauge", "pressure": static}, corrects=first)
        else:
            self.test({"kind": "static gauge", "pressure": static})
        for share in (0.5, 1.0):
            flow = share * max(zone.flow for zone in self.plan.zones)
            gauge = {"kind": "gauge at a flow", "pressure": self.read(yard.pressure(flow), GAUGE)}
            self.test(gauge | {"flow": self.read(flow, 0.05 * flow)})
        volume, mark = 0.02, 1 + MARK * float(self.dice.standard_normal())
        seconds = [self.read(volume * mark / yard.fill(bore=BORE), WATCH) for _ in range(3)]
        self.test({"kind": "bucket fill", "volume": volume, "seconds": seconds, "outlet_bore": BORE})

    def bury(self, zone, depth):
        """Open a net's trenches, lay its pipes, close; one trench is logged by its pipes alone."""
        own = [pipe for pipe in self.plan.pipes if pipe.zone == zone]
        trenches = [trench.id for trench in self.plan.trenches if {pipe.id for pipe in own} & {*trench.pipes}]
        if trenches:
            self.put({"kind": "trench", "trenches": trenches, "state": "open"})
        for pipe in own:
            self.put({"kind": "pipe buried", "pipe": pipe.id, "depth": self.read(depth, 0.02)})
        if trenches:
            self.put({"kind": "trench", "trenches": trenches, "state": "closed"})

    def fit(self, zone):
        """Fit a zone's valve a hand's breadth off its place, and splice its wire."""
        place = next(place for place in self.plan.places if zone in place.zones)
        at = [self.read(value + 50, 0.05) - 50 for value in place.at]
        self.put({"kind": "part fitted", "part": "valve", "name": zone, "place": at, "depth": 0.15})
        self.put({"kind": "part fitted", "part": "splice", "name": zone, "place": at, "depth": 0.1})

    def watch(self, net, leak):
        """Watch a net closed under pressure; leak [m³/s]."""
        pipes = [pipe for pipe in self.plan.pipes if (pipe.zone or "main") == net]
        seconds = [60.0 * k for k in range(6)] if leak else [600.0 * k for k in range(6)]
        shown = self.yard.watch(pipes, leak=leak, seconds=seconds, begin=4e5, dice=self.dice)
        self.put({"kind": "leak watch", "closed_in": [net], "readings": shown, "held": 1800.0})

    def start(self, zone, wrong=SOUND):
        """Start a zone with its control wide open: meter, entry, valve, first and last head."""
        shown = self.yard.run(zone, wrong=wrong)
        places = ["entry", "valve", *dict.fromkeys((min(shown.heads), max(shown.heads)))]
        pressures = [{"at": at, "pressure": self.read(shown.at(at), GAUGE)} for at in places]
        flow = self.read(shown.flow, METER * shown.flow)
        self.put({"kind": "zone start", "zone": zone, "flow": flow, "pressures": pressures})

    def look(self, zone, wrong):
        """Walk along the zone, and take the nozzle of the suspected head into the hand."""
        seen = ON_WALK.get(wrong.kind, "short or odd throw" if wrong.head else "nothing odd")
        walk = {"kind": "zone walk", "zone": zone, "seen": seen}
        self.put(walk | ({"head": wrong.head} if seen in ("gushing", "short or odd throw") else {}))
        if wrong.head:
            self.put({"kind": "head look", "head": wrong.head, "seen": IN_HAND[wrong.kind]})

    def turn(self, zone, turns):
        """Turn a zone's control in so far, and read the meter."""
        flow = self.yard.run(zone, turns=turns).flow
        self.put({"kind": "valve setting", "zone": zone, "turns": turns, "flow": self.read(flow, METER * flow)})


def built(yard, *, wrong, zone, leaking):
    """Build a yard: wrong, what is wrong in a zone at first; leaking, the net that leaks at first.

    Stages: measured; bought; half, when the main and the first zone lie; leaked; mended; started; seen; sound; done.
    """
    build = Build(yard)
    build.measure(slip=True)
    build.end("measured")
    build.sleep()
    build.put({"kind": "parts bought", "whole_list": True, "given_back": 0.8})
    build.end("bought")
    nets = [None, *(one.id for one in yard.plan.zones)]
    for net in nets:
        build.sleep()
        build.bury(net, yard.plan.yard.rules.trench_depth)
        if net is not None:
            build.fit(net)
        if net == nets[1]:
            build.end("half")
    for net in ("main", *nets[1:]):
        build.watch(net, leak=2e-6 if net == leaking else 0.0)
    build.end("leaked")
    build.sleep()
    build.watch(leaking, leak=0.0)
    build.end("mended")
    build.start(zone, wrong)
    build.end("started")
    build.look(zone, wrong)
    build.end("seen")
    build.sleep()
    build.start(zone)
    build.end("sound")
    return build
