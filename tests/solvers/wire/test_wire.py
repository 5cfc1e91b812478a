"""Wire of small systems, against circuits solved node by node and every choice of gauges."""

import itertools
import math
import random
from types import SimpleNamespace

import numpy as np
import pytest

from rillwright.model.wire import WireTerms
from rillwright.physics.wires import GAUGES, resistance
from rillwright.solvers.wire import LOOP, plan_wire

PRICE = {18: 0.35, 16: 0.5, 14: 0.75, 12: 1.15, 10: 1.8}


def run(start, end, length):
    return SimpleNamespace(start=start, end=end, length=length)


def system(mains, places, *, controller=(0.0, 40.0), cover=0.3):
    """All that the wire reads of a yard and a plan."""
    yard = SimpleNamespace(
        controller=SimpleNamespace(at=controller),
        water_entry=SimpleNamespace(at=(0.0, 0.0)),
        rules=SimpleNamespace(trench_depth=cover),
    )
    stands = [SimpleNamespace(id=name, zones=zones) for name, zones in places.items()]
    return {"yard": yard, "mains": mains, "places": stands}


def random_system(seed):
    """A tree of mains with places and junctions."""
    dice = random.Random(seed)
    nodes, mains = ["entry"], []
    for n in range(1, dice.randint(2, 6)):
        mains.append(run(dice.choice(nodes), f"N{n}", dice.uniform(5, 120)))
        nodes.append(f"N{n}")
    ends = {one.end for one in mains} - {one.start for one in mains}
    zone = itertools.count(1)
    places = {
        name: tuple(f"Z{next(zone)}" for _ in range(dice.randint(1, 3)))
        for name in nodes
        if name in ends or dice.random() < 0.3
    }
    return system(mains, places, controller=dice.choice((None, (3.0, 20.0))))


def planned(facts, **terms):
    return plan_wire(**facts, terms=WireTerms(**terms), price=PRICE.__getitem__)


def circuit(facts, made, zone, others, current):
    """Voltage at a valve, by Kirchhoff: nodes of the common and the ends of strands, solved as one linear system."""
    stands = {z: place.id for place in facts["places"] for z in place.zones}
    before = {run.end: run for run in facts["mains"]}
    own = made.station_ohm
    names, rows = {}, []

    def node(name):
        return names.setdefault(name, len(names))

    def wire(one, two, ohm):
        rows.append((node(one), node(two), 1 / max(ohm, 1e-9)))

    entry = facts["yard"].controller.at
    lead = math.dist(entry, (0.0, 0.0)) if entry is not None else 0.0
    wire("source back", "c entry", made.common_ohm * lead)
    for run in facts["mains"]:
        wire(f"c {run.start}", f"c {run.end}", made.common_ohm * run.length)
    draws = {}
    for each, amps in ((zone, current), *((other, made.terms.holding) for other in others)):
        place, length = stands[each], lead + LOOP
        while place in before:
            length, place = length + before[place].length, before[place].start
        wire("source", f"s {each}", own * length)
        # The loop in a box: of its own for valves at other places, shared by those at one place.
        wire(f"c {stands[each]}", f"loop {stands[each]}", made.common_ohm * LOOP)
        draws[each] = (f"s {each}", f"loop {stands[each]}", amps)
    rows = list(dict.fromkeys(rows))
    matrix, right = np.zeros((len(names), len(names))), np.zeros(len(names))
    for one, two, conductance in rows:
        matrix[one, one] += conductance
        matrix[two, two] += conductance
        matrix[one, two] -= conductance
        matrix[two, one] -= conductance
    for strand, back, amps in draws.values():
        right[names[strand]] -= amps
        right[names[back]] += amps
    for name, level in (("source", made.terms.voltage), ("source back", 0.0)):
        matrix[names[name]] = 0.0
        matrix[names[name], names[name]] = 1.0
        right[names[name]] = level
    idle = [n for n in range(len(names)) if not matrix[n].any()]
    for n in idle:
        matrix[n, n] = 1.0
    volts = np.linalg.solve(matrix, right)
    strand, back, _ = draws[zone]
    return volts[names[strand]] - volts[names[back]]


@pytest.mark.parametrize("at_once", [1, 2, 3])
@pytest.mark.parametrize("seed", range(12))
def test_no_choice_of_open_valves_is_worse_than_told(seed, at_once):
    facts = random_system(seed)
    made = planned(facts, at_once=at_once)
    zones = [zone.zone for zone in made.zones]
    for zone in made.zones:
        others = [other for other in zones if other != zone.zone]
        least = min(
            circuit(facts, made, zone.zone, chosen, made.terms.inrush)
            for chosen in itertools.combinations(others, min(at_once - 1, len(others)))
        )
        assert zone.opening == pytest.approx(least, abs=1e-6)
        held = circuit(facts, made, zone.zone, zone.beside, made.terms.holding)
        assert zone.holding == pytest.approx(held, abs=1e-6)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("least", [20.0, 22.5, 23.2])
def test_the_copper_is_the_least_of_all_pairs(seed, least):
    facts = random_system(seed)
    made = planned(facts, least=least, at_once=2)
    serves = {}
    for pair in itertools.product(GAUGES, repeat=2):
        only = [planned(facts, least=least, at_once=2, gauges=[gauge]) for gauge in pair]
        station, common = (one.station_ohm for one in only)
        worst = min(24 - 0.45 * z.length * (station + common) - 0.25 * common * z.shared for z in only[0].zones)
        if worst >= least:
            serves[pair] = made.station_metres * PRICE[pair[0]] + made.common_metres * PRICE[pair[1]]
    assert made.enough == bool(serves)
    if serves:
        cost = made.station_metres * PRICE[made.station] + made.common_metres * PRICE[made.common]
        assert cost == pytest.approx(min(serves.values()))
    else:
        assert (made.station, made.common) == (10, 10)


def test_two_places_in_line_counted_by_hand():
    """Controller 40 m from the entry; V1 (two zones) 10 m on, V2 (one zone) 20 m beyond it; one spare."""
    made = planned(system([run("entry", "V1", 10.0), run("V1", "V2", 20.0)], {"V1": ("Z1", "Z2"), "V2": ("Z3",)}))
    assert [(run.start, run.end, run.strands) for run in made.runs] == [
        ("controller", "entry", 5),
        ("entry", "V1", 5),
        ("V1", "V2", 3),
    ]
    loops = 2 * 1 + 1 * 1 + 2 * 1  # zones at V1 and V2, and the spare in both boxes
    assert made.station_metres == pytest.approx(4 * 40 + 4 * 10 + 2 * 20 + loops)
    assert made.common_metres == pytest.approx(40 + 10 + 20 + 2)
    assert made.splices == 6
    assert not made.boxes
    far = made.zones[-1]
    assert far.length == 71.0
    loop = 2 * 71.0 * resistance(18, temperature=313.15)
    assert far.opening == pytest.approx(24 - 0.45 * loop)


def test_the_common_parts_in_a_box_of_its_own():
    """A junction away from every valve place gets a splice box; a place has its own."""
    mains = [run("entry", "J", 10.0), run("J", "V1", 5.0), run("J", "V2", 5.0)]
    made = planned(system(mains, {"V1": ("Z1",), "V2": ("Z2",)}))
    assert made.boxes == ("J",)
    assert made.splices == 5


def test_a_ring_is_wired_the_shorter_way():
    mains = [run("entry", "V1", 10.0), run("V1", "V2", 30.0), run("entry", "V2", 15.0)]
    made = planned(system(mains, {"V1": ("Z1",), "V2": ("Z2",)}, controller=None))
    assert {zone.zone: zone.length for zone in made.zones} == {"Z1": 11.0, "Z2": 16.0}


def test_a_strand_longer_than_a_reel_is_joined():
    made = planned(system([run("entry", "V1", 400.0)], {"V1": ("Z1",)}, controller=None), reel=152.4)
    assert made.reel_splices == 2  # 401 m: three reels


def test_loads_by_hand():
    """24 V: 0.45 A as one opens is 10.8 VA; a second held open adds 6 VA."""
    facts = system([run("entry", "V1", 10.0)], {"V1": ("Z1", "Z2")})
    assert planned(facts).opening_load == pytest.approx(10.8)
    assert planned(facts, at_once=2).opening_load == pytest.approx(16.8)
    assert planned(facts, at_once=2).holding_load == pytest.approx(12.0)


def test_without_valves_there_is_no_wire():
    assert planned(system([], {"V1": ()})) is None
