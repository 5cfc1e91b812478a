"""A wider service lets zones grow: devices and valves of its size, not of one inch. The yard is invented."""

from itertools import pairwise

import pytest

from plan_yards import CATALOGUE, rectangle, small_yard
from rillwright.exchange.yard_file import validated
from rillwright.jobs.case import make_case
from rillwright.jobs.zoned import zone_system
from rillwright.model.plan import Head
from rillwright.physics.units import GPM, PSI
from rillwright.solvers.devices import losses_by_flow, valve_for, zone_devices
from rillwright.solvers.supply import fit_supply

SIZES = ("1 in", "1-1/2 in", "2 in")
LEFT_FOR_PIPES = {  # [Pa] such that pressure binds, not the speed in the service
    "pressure vacuum breaker": 102e3,
    "reduced pressure zone": 60e3,
    "double check": 100e3,
    "atmospheric vacuum breaker": 100e3,
}


def case_of(size, *, kind="pressure vacuum breaker", device=None):
    """A field of 48 m by 36 m behind a service of a size on a strong street main."""
    document = small_yard(
        areas=[{"id": "field", "kind": "lawn", "outline": rectangle(0, 0, 48, 36)}],
        spot_heights=[{"at": [x, y], "height": 0.0} for x in (0, 48) for y in (0, 36)],
        water_entry={"at": [2, 0], "height": 0, "pipe": {"material": "PVC schedule 40", "size": size, "length": 15}},
        supply=[
            {"kind": "static gauge", "pressure": 620},
            {"kind": "gauge at a flow", "pressure": 560, "flow": 150},
            {"kind": "gauge at a flow", "pressure": 470, "flow": 300},
        ],
        controller={"stations": 30},
        backflow={"allowed": [kind], "size": device},
        valves={"allowed": ["in-line valve"]},
    )
    yard = validated(document, source="test")
    return make_case(yard, CATALOGUE, fit=fit_supply(yard, CATALOGUE, seed=0), seed=0, effort=0.0)


def heads():
    """Mid rotors every 9 to 12 m, 5 gpm each."""
    nozzle = next(n for n in CATALOGUE.nozzles.values() if n.head_class == "mid rotor")
    return tuple(
        Head(
            id=f"H{number}",
            lawn="field",
            at=at,
            ground=0.0,
            head_class="mid rotor",
            nozzle=nozzle.id,
            arc_start=0.0,
            arc=360.0,
            radius_share=1.0,
            radius=12.0,
            flow=5 * GPM,
            pressure=45 * PSI,
            hydrozone="field",
        )
        for number, at in enumerate(((x, y) for y in (0.5, 9, 18, 27, 35.5) for x in (0.5, 9, 18, 27, 36, 45)), start=1)
    )


@pytest.fixture(scope="module")
def zoned():
    return {size: zone_system(heads(), "pressure vacuum breaker", case=case_of(size)) for size in SIZES}


def test_zones_grow_with_the_service_and_its_device(zoned):
    """By hand: at 7.5 ft/s schedule 40 of 1.049, 1.610 and 2.067 in (ASTM D1785) passes 20.2, 47.6 and 78.4 gpm, which
    is 4, 9 and 15 heads of 5 gpm: 30 heads need 8, 4 and 2 zones."""
    assert [len(draft.zones) for draft in zoned.values()] == [8, 4, 2]


def test_a_device_of_one_inch_throttles_a_wide_service(zoned):
    """By hand: a breaker that loses 5 psi at 20 gpm, 2.5 of them at any flow, loses 37 psi at 75 gpm."""
    throttled = zone_system(heads(), "pressure vacuum breaker", case=case_of("2 in", device="1 in"))
    assert {zone.safe_binds for zone in throttled.zones} == {"curve"}
    assert len(throttled.zones) > len(zoned["2 in"].zones)


@pytest.mark.parametrize(("kind", "pipes"), LEFT_FOR_PIPES.items())
def test_every_flow_that_a_zone_may_draw_leaves_its_head_its_pressure(kind, pipes):
    """Through the devices as they are then chosen, at each of many flows up to the capacity, and no further."""
    case, head = case_of("2 in", kind=kind), heads()[0]
    flow, binds = case.limits.capacity(case.need(head, kind, pipes=pipes))
    assert binds == "curve"
    least = case.least_pressure(CATALOGUE.nozzles[head.nozzle], head.pressure)

    def left(drawn):
        devices = zone_devices(kind, yard=case.yard, catalogue=CATALOGUE, flow=drawn)
        lost = sum(device.loss.at(drawn) for device in devices) + pipes
        rise = case.yard.water_entry.weight * case.yard.rules.popup_height
        return case.limits.cautious.pressure(drawn) - lost - rise - least

    assert all(left(flow * share / 40) >= -1.0 for share in range(1, 41))
    assert left(flow * 1.001) < 0


@pytest.mark.parametrize("kind", LEFT_FOR_PIPES)
def test_the_valve_is_of_its_size_up_to_each_flow(kind):
    case = case_of("2 in", kind=kind)
    steps = losses_by_flow(kind, yard=case.yard, catalogue=CATALOGUE)
    for (most, losses), (_, wider) in pairwise(steps):
        for flow, expected in ((0.999 * most, losses), (1.001 * most, wider)):
            assert valve_for(kind, yard=case.yard, catalogue=CATALOGUE, flow=flow).loss in expected
