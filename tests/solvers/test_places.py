"""Valve places: where they may be, and the height rule of each backflow kind."""

import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from rillwright.model.ground import resolve_ground
from rillwright.model.parts import BackflowDevice
from rillwright.model.plan import Head, ValvePlace, Zone
from rillwright.model.site import Yard
from rillwright.physics.units import INCH
from rillwright.solvers.places import (
    PlaceOption,
    check_places,
    device_height,
    may_serve,
    outlet_level,
    place_options,
)
from rillwright.solvers.places.trench_walk import TrenchWalk
from rillwright.solvers.zoning import HeadLoad, ZoneProblem, make_zones

# ASSE 1001: critical level at least 6 in over every outlet downstream, no shut-off after it, one for each zone valve.
ATMOSPHERIC = BackflowDevice(
    kind="atmospheric vacuum breaker",
    scope="zone",
    above_outlets=6 * INCH,
    above_ground=0.0,
    sizes=(),
    source="ASSE 1001",
)
# ASSE 1020: at least 12 in over the highest outlet downstream; may hold continuous pressure.
PRESSURE = replace(
    ATMOSPHERIC,
    kind="pressure vacuum breaker",
    scope="system",
    above_outlets=12 * INCH,
    above_ground=12 * INCH,
    source="ASSE 1020",
)
REDUCED = replace(PRESSURE, kind="reduced pressure zone", above_outlets=None)


def rectangle(x, y, width, height):
    return [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]


def make_yard(areas, *, spots=(), entry=(9.0, 8.0), units="metric", **backflow):
    return Yard(
        name="invented",
        units=units,
        areas=[{"id": f"{kind} {i}", "kind": kind, "outline": ring} for i, (kind, ring) in enumerate(areas)],
        spot_heights=[{"at": at, "height": height} for at, height in spots],
        water_entry={"at": entry, "height": 0.0, "pipe": {"material": "PVC schedule 40", "size": "1 in", "length": 20}},
        controller={"stations": 8},
        backflow={"allowed": ["atmospheric vacuum breaker"], **backflow},
        trees=[{"id": "oak", "at": (3.0, 3.0), "trunk_radius": 0.4}],
    )


def make_head(name, at, ground):
    return Head(
        id=name,
        lawn="lawn 0",
        at=at,
        ground=ground,
        head_class="spray",
        nozzle="n",
        arc_start=0,
        arc=90,
        radius_share=1,
        radius=4,
        flow=1e-4,
        pressure=2e5,
        hydrozone="sun",
    )


def make_option(ground, *, riser=1.2, at=(0.0, 0.0)):
    return PlaceOption(id="P1", at=at, ground=ground, entry_distance=1.0, highest_level=ground + riser)


def make_zone(name, heads, place):
    """A zone with the fields that the place rules read."""
    return Zone.model_construct(id=name, heads=tuple(heads), place=place)


def make_place(name, ground, height, zones, kind="atmospheric vacuum breaker"):
    return ValvePlace(
        id=name, at=(0, 0), ground=ground, backflow=kind, device_height=height, highest_outlet=0, zones=tuple(zones)
    )


FLAT = make_yard([("lawn", rectangle(0, 0, 20, 20)), ("building", rectangle(6, 8, 8, 6))])
L_SHAPE = make_yard(
    [
        ("lawn", [(0, 0), (30, 0), (30, 8), (10, 8), (10, 25), (0, 25)]),
        ("building", rectangle(10, 8, 15, 12)),
        ("paving", rectangle(25, 0, 3, 8)),
    ],
    entry=(10.0, 12.0),
)
STRIP = make_yard([("lawn", rectangle(0, 0, 40, 1.2)), ("paving", rectangle(0, 1.2, 40, 2))], entry=(1.0, 0.6))
ISLAND = make_yard(
    [("paving", rectangle(0, 0, 20, 20)), ("bed", rectangle(8, 8, 4, 4)), ("lawn", rectangle(1, 1, 5, 5))],
    entry=(1.0, 6.5),
)
STEEP = make_yard(
    [("lawn", rectangle(0, 0, 20, 30)), ("building", rectangle(5, 12, 10, 6))],
    spots=[((0, 0), 0.0), ((20, 0), 0.0), ((0, 30), 6.0), ((20, 30), 6.0)],
    entry=(5.0, 14.0),
)


@pytest.mark.parametrize("yard", [FLAT, L_SHAPE, STRIP, ISLAND, STEEP], ids=["flat", "L", "strip", "island", "steep"])
def test_options_stand_on_allowed_ground_apart_and_near_first(yard):
    ground = resolve_ground(yard)
    options = place_options(ground, yard, heads=[make_head("H1", (2, 2), 0.0)], device=REDUCED)
    assert 3 <= len(options) <= 60
    for option in options:
        assert ground.surface_at(*option.at) in ("lawn", "bed", None)
        assert not ground.trunks.covers(shapely.Point(option.at))
        assert option.highest_level == pytest.approx(ground.terrain.at(*option.at) + yard.backflow.highest_riser)
        assert option.entry_distance >= math.dist(option.at, yard.water_entry.at) - 1e-6
    apart = [math.dist(a.at, b.at) for i, a in enumerate(options) for b in options[:i]]
    assert min(apart) >= 0.8 - 1e-9
    distances = [option.entry_distance for option in options]
    assert distances == sorted(distances)
    assert len({option.id for option in options}) == len(options)


def test_options_are_the_same_every_time():
    again = [place_options(resolve_ground(STEEP), STEEP, heads=[], device=REDUCED) for _ in range(2)]
    assert again[0] == again[1]


def test_options_reach_the_high_ground_that_the_rule_needs():
    ground = resolve_ground(STEEP)
    top = make_head("H1", (10, 29.5), 5.9)
    options = place_options(ground, STEEP, heads=[top, make_head("H2", (10, 1), 0.2)], device=PRESSURE)
    assert any(may_serve(option, top, device=PRESSURE, yard=STEEP) for option in options)


def test_walls_and_beds_are_offered():
    ground = resolve_ground(FLAT)
    options = place_options(ground, FLAT, heads=[], device=REDUCED)
    gaps = [ground.kinds["building"].distance(shapely.Point(option.at)) for option in options]
    assert sum(0.3 <= gap <= 0.6 for gap in gaps) >= 6
    island = resolve_ground(ISLAND)
    beds = place_options(island, ISLAND, heads=[], device=REDUCED)
    assert any(island.surface_at(*option.at) == "bed" for option in beds)


def test_a_trench_walks_round_the_house():
    ground = resolve_ground(FLAT)
    west, east, south = (5.5, 11.0), (14.5, 11.0), (5.5, 1.0)
    walk = TrenchWalk(ground, [west, east, south])
    around = 2 * math.hypot(0.5, 3.0) + 8.0  # by either end of the house
    assert around - 0.2 <= walk(west, east) <= 1.028 * around + 1.2
    assert walk(west, south) == pytest.approx(10.0)
    assert walk(east, west) == walk(west, east)


def test_atmospheric_breaker_needs_six_inches_over_the_outlet():
    """ASSE 1001: 6 in (152 mm) over the highest outlet."""
    head = make_head("H1", (0, 0), 1.0)
    level = outlet_level(head, FLAT)
    assert level == pytest.approx(1.10)
    just = level + 0.1524 - FLAT.backflow.highest_riser
    assert may_serve(make_option(just), head, device=ATMOSPHERIC, yard=FLAT)
    assert not may_serve(make_option(just - 0.01), head, device=ATMOSPHERIC, yard=FLAT)
    assert device_height(make_option(0.5), [head], device=ATMOSPHERIC, yard=FLAT) == pytest.approx(0.7524)


def test_pressure_breaker_needs_twelve_inches_over_the_outlet():
    """ASSE 1020: 12 in (305 mm) over the highest outlet."""
    head = make_head("H1", (0, 0), 1.0)
    just = 1.10 + 0.3048 - 1.2
    assert may_serve(make_option(just), head, device=PRESSURE, yard=FLAT)
    assert not may_serve(make_option(just - 0.01), head, device=PRESSURE, yard=FLAT)
    assert device_height(make_option(5.0), [head], device=PRESSURE, yard=FLAT) == pytest.approx(0.3048)


def test_other_kinds_leave_the_places_free():
    head = make_head("H1", (0, 0), 50.0)
    assert may_serve(make_option(0.0), head, device=REDUCED, yard=FLAT)
    assert device_height(make_option(0.0), [head], device=REDUCED, yard=FLAT) is None


@pytest.mark.parametrize("device", [ATMOSPHERIC, PRESSURE], ids=["atmospheric", "pressure"])
def test_terrace_decides_who_serves_whom(device):
    """A terrace 2.4 m over the back lawn: the top may serve both, the bottom only itself."""
    terrace, lower = make_head("H1", (0, 0), 2.4), make_head("H2", (0, 10), 0.0)
    top, bottom = make_option(2.4), make_option(0.0)
    assert may_serve(top, terrace, device=device, yard=FLAT)
    assert may_serve(top, lower, device=device, yard=FLAT)
    assert may_serve(bottom, lower, device=device, yard=FLAT)
    assert not may_serve(bottom, terrace, device=device, yard=FLAT)


@settings(max_examples=60)
@given(
    option=st.floats(-5, 5),
    grounds=st.lists(st.floats(-5, 5), min_size=1, max_size=5),
    device=st.sampled_from([ATMOSPHERIC, PRESSURE]),
)
def test_height_and_leave_to_serve_agree(option, grounds, device):
    heads = [make_head(f"H{i}", (0, 0), g) for i, g in enumerate(grounds)]
    place = make_option(option)
    height = device_height(place, heads, device=device, yard=FLAT)
    legal = all(may_serve(place, head, device=device, yard=FLAT) for head in heads)
    assert legal == (height <= FLAT.backflow.highest_riser + 1e-6) or height == pytest.approx(1.2, abs=2e-6)
    for head in heads:
        assert option + height >= outlet_level(head, FLAT) + device.above_outlets - 1e-9


def rules_of(findings):
    return sorted((finding.rule, finding.where) for finding in findings)


def test_a_right_plan_has_no_findings():
    heads = [make_head("H1", (0, 0), 0.0), make_head("H2", (0, 0), 0.5)]
    zones = [make_zone("Z1", ["H1", "H2"], "P1")]
    assert check_places([make_place("P1", 0.2, 0.5524, ["Z1"])], heads, zones, ATMOSPHERIC, FLAT) == []


def test_each_break_of_the_rule_is_found():
    heads = [make_head("H1", (0, 0), 0.0), make_head("H2", (0, 0), 2.4)]
    low, high = make_zone("Z1", ["H1"], "P1"), make_zone("Z2", ["H2"], "P2")
    good = make_place("P1", 0.0, 0.3, ["Z1"])

    def check(*places, zones=(low, high), device=ATMOSPHERIC):
        findings = check_places(places, heads, zones, device, FLAT)
        assert all(finding.severity == "must" for finding in findings)
        return rules_of(findings)

    assert check(good, make_place("P2", 2.4, 0.2, ["Z2"])) == [("backflow-height", "P2")]
    assert check(good, make_place("P2", 0.0, 2.66, ["Z2"])) == [("riser-height", "P2")]
    assert check(good, make_place("P2", 2.4, None, ["Z2"])) == [("backflow-height", "P2")]
    assert check(good, make_place("P2", 2.4, 0.3, ["Z2"], "double check")) == [("place-backflow", "P2")]
    assert check(good, make_place("P2", 2.4, 0.3, ["Z2", "Z1"])) == [("place-of-zone", "Z1")]
    assert check(good, make_place("P2", 2.4, 0.3, [])) == [("place-of-zone", "Z2")]
    assert check(good, make_place("P2", 2.4, 0.3, ["Z2", "Z9"])) == [("place-of-zone", "P2")]
    pressure = make_place("P1", 3.0, 0.1, ["Z1"], "pressure vacuum breaker")
    assert check(pressure, zones=(low,), device=PRESSURE) == [("backflow-height", "P1")]


def test_findings_speak_the_yards_units():
    yard = make_yard([("lawn", rectangle(0, 0, 20, 20))], units="US")
    place = make_place("P1", 0.0, 0.1, ["Z1"])
    (finding,) = check_places(
        [place], [make_head("H1", (0, 0), 0.0)], [make_zone("Z1", ["H1"], "P1")], ATMOSPHERIC, yard
    )
    assert "6.000 in" in finding.what
    assert finding.source == "ASSE 1001"


@pytest.mark.parametrize("device", [ATMOSPHERIC, PRESSURE, REDUCED], ids=["atmospheric", "pressure", "reduced"])
def test_zones_on_a_steep_yard_pass_the_check_written_apart(device):
    """A 20 % slope with a house across it: from options to places, every head legal, round the house."""
    ground = resolve_ground(STEEP)
    spots = [(x, y) for y in (2.0, 8.0, 21.0, 28.0) for x in (1.0, 7.0, 13.0, 19.0)]
    heads = [make_head(f"H{i}", at, ground.terrain.at(*at)) for i, at in enumerate(spots)]
    options = place_options(ground, STEEP, heads=heads, device=device)
    may = {o.id: frozenset(h.id for h in heads if may_serve(o, h, device=device, yard=STEEP)) for o in options}
    walk = TrenchWalk(ground, [*(o.at for o in options), *spots])
    loads = [
        HeadLoad(id=h.id, at=h.at, level=outlet_level(h, STEEP), flow=h.flow, capacity=5e-4, group="a") for h in heads
    ]
    prices = {"place_cost": 60.0, "zone_cost": 100.0, "trench_cost": 8.0}
    problem = ZoneProblem(tuple(loads), options, may, stations=6, distance=walk, **prices)
    zoning = make_zones(problem)
    assert zoning.clashes == ()
    assert len(zoning.groups) == 4
    by_id, by_place = {h.id: h for h in heads}, {o.id: o for o in options}
    zones = [make_zone(f"Z{i}", g.heads, g.place) for i, g in enumerate(zoning.groups)]
    places = []
    for name in zoning.places_used:
        mine = [zone for zone in zones if zone.place == name]
        served = [by_id[h] for zone in mine for h in zone.heads]
        height = device_height(by_place[name], served, device=device, yard=STEEP)
        names = [zone.id for zone in mine]
        places.append(make_place(name, by_place[name].ground, height, names, device.kind))
    assert check_places(places, heads, zones, device, STEEP) == []
    if device is not REDUCED:
        assert all(by_place[z.place].ground > 3.5 for z in zones if any(by_id[h].ground > 5 for h in z.heads))
