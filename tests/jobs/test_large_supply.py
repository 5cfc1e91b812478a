"""A wider service lets zones grow: devices and valves of its size, not of one inch. The yard is invented."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from large_fields import case_of, heads
from plan_yards import CATALOGUE
from rillwright.jobs.build import build_system, on_pipes
from rillwright.jobs.pipework import size_routes
from rillwright.jobs.progress import silent
from rillwright.jobs.search import fit_devices
from rillwright.jobs.search.trial import worth
from rillwright.jobs.zoned import zone_system
from rillwright.solvers.devices import losses_by_flow, valve_for, zone_devices

SIZES = ("1 in", "1-1/2 in", "2 in")
LEFT_FOR_PIPES = {  # [Pa] such that pressure binds, not the speed in the service
    "pressure vacuum breaker": 102e3,
    "reduced pressure zone": 60e3,
    "double check": 100e3,
    "atmospheric vacuum breaker": 100e3,
}


@pytest.mark.parametrize(
    ("size", "kind"),
    [
        ("3/4 in", "pressure vacuum breaker"),
        ("1 in", "double check"),
        ("1-1/2 in", "pressure vacuum breaker"),
        ("2 in", "pressure vacuum breaker"),
        ("2 in", "reduced pressure zone"),
        ("2 in", "double check"),
    ],
)
def test_the_device_is_of_the_size_that_makes_the_system_cheapest(size, kind):
    """Against each size named in the yard, on the same routes; no source, the prices are invented."""
    case = case_of(size, kind=kind)
    few = heads()[:4]
    draft = build_system(few, zone_system(few, kind, case=case), case=case, progress=silent)
    found = fit_devices(draft, case)
    able = [one.trade_size for one in CATALOGUE.backflow[kind].up_to(size)]
    totals = {named: cost_with(named, draft, case) for named in able}
    assert worth(found, case) == pytest.approx(min(totals.values()))
    for place in found.places:
        assert totals[place.backflow_size or able[-1]] == pytest.approx(min(totals.values()))
    flows = {zone.id: sum(head.flow for head in zone.heads) for zone in found.zones}
    assert all(flows[zone.id] <= zone.safe_flow for zone in found.zones)
    if len(able) > 1:
        assert totals[found.places[0].backflow_size] < totals[able[-1]], "four heads need no wide device"


def cost_with(named, draft, case):
    yard = case.yard.model_copy(update={"backflow": case.yard.backflow.model_copy(update={"size": named})})
    own = replace(case, yard=yard)
    work = size_routes(draft.pipework.routes, {z.id: z.heads for z in draft.zones}, draft.places, draft.kind, own)
    return math.inf if work.trouble else worth(on_pipes(draft, work, own), own)


@pytest.mark.parametrize("fixed", [{"size": "2 in"}, {"owned": "double check"}])
def test_a_device_that_is_named_or_owned_stays(fixed):
    case = case_of("2 in", kind="double check")
    backflow = case.yard.backflow.model_copy(update=fixed)
    case = replace(case, yard=case.yard.model_copy(update={"backflow": backflow}))
    few = heads()[:2]
    draft = build_system(few, zone_system(few, "double check", case=case), case=case, progress=silent)
    assert draft.fits
    assert fit_devices(draft, case) is draft


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
