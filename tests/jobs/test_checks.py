"""Each check fires when, and only when, its own rule is broken: a good plan is spoilt in one place at a time."""

import pytest

import plan_inspector
from plan_yards import CATALOGUE, planned, planned_example, small_yard
from rillwright.jobs.checks import CHECKS, Inspection, inspect
from rillwright.model.certainty import Chance
from rillwright.model.cycling import Cycling
from rillwright.model.drainage import CheckedHead
from rillwright.model.flushing import AirPocket
from rillwright.model.ground import resolve_ground
from rillwright.model.lawn_water import Spill, WindyWater
from rillwright.model.main_ring import MainChoice, ShutStretch
from rillwright.model.plan import ExistingUse, MeasuredPoint
from rillwright.model.site import BoosterPump, Meter, PinnedHead, PumpPoint, SpotHeight
from rillwright.physics.units import PSI, show
from rillwright.solvers.flushing import plan_flushing
from rillwright.solvers.takeoff.tally import NO_PRICE


@pytest.fixture(scope="module")
def good():
    return planned(small_yard())


def rules(plan):
    return sorted({finding.rule for finding in inspect(plan, resolve_ground(plan.yard), CATALOGUE)})


def swap(plan, field, number=0, **update):
    """The plan with one entry of a list changed."""
    entries = list(getattr(plan, field))
    entries[number] = entries[number].model_copy(update=update)
    return plan.model_copy(update={field: tuple(entries)})


def narrower_than_its_line(plan):
    backflow = plan.yard.backflow.model_copy(update={"size": "1-1/2 in"})
    yard = plan.yard.model_copy(update={"backflow": backflow})
    return swap(plan, "places", backflow_size="1 in").model_copy(update={"yard": yard})


def without_first_lateral(plan):
    first = next(pipe for pipe in plan.pipes if pipe.role == "lateral" and pipe.start == plan.places[0].id)
    return plan.model_copy(update={"pipes": tuple(pipe for pipe in plan.pipes if pipe.id != first.id)})


def without_main(plan):
    return plan.model_copy(update={"pipes": tuple(pipe for pipe in plan.pipes if pipe.role != "main")})


def torn_apart(plan):
    number = next(i for i, pipe in enumerate(plan.pipes) if pipe.role == "lateral")
    path = plan.pipes[number].path
    return swap(plan, "pipes", number, path=((path[0][0] + 1.0, path[0][1]), *path[1:]))


def uneven(plan, **changes):
    return swap(plan, "lawns", evenness=plan.lawns[0].evenness.model_copy(update=changes))


def on_one_station(plan):
    controller = plan.yard.controller.model_copy(update={"stations": len(plan.zones) - 1})
    return plan.model_copy(update={"yard": plan.yard.model_copy(update={"controller": controller})})


def in_two_zones(plan):
    zone = plan.zones[0]
    return swap(plan, "zones", heads=(*zone.heads, zone.heads[0]))


def with_a_lost_pin(plan):
    pin = PinnedHead(id="pin 1", at=plan.heads[0].at, head_class=plan.heads[0].head_class)
    pins = plan.yard.pins.model_copy(update={"heads": [pin]})
    return plan.model_copy(update={"yard": plan.yard.model_copy(update={"pins": pins})})


def over_budget(plan):
    return plan.model_copy(update={"cost": plan.cost.model_copy(update={"budget": plan.cost.total - 1.0})})


def wired(plan, **changes):
    return plan.model_copy(update={"wire": plan.wire.model_copy(update=changes)})


def with_the_controller_across_the_lawn(plan):
    """Farther from its walls and trenches than all of them reach."""
    far = max(x for trench in plan.trenches for x, _ in trench.path) + 5
    controller = plan.yard.controller.model_copy(update={"at": (far, plan.yard.water_entry.at[1])})
    return plan.model_copy(update={"yard": plan.yard.model_copy(update={"controller": controller})})


def on_a_small_transformer(plan):
    return wired(plan, terms=plan.wire.terms.model_copy(update={"transformer": 0.99 * plan.wire.opening_load}))


def on_guesses(plan):
    return plan.model_copy(update={"supply": plan.supply.model_copy(update={"basis": "assumed"})})


def with_a_doubt(plan):
    return plan.model_copy(update={"supply": plan.supply.model_copy(update={"doubts": ("Two gauges disagree.",)})})


def hardly_sure(plan):
    zone = plan.certainty.zones[0]
    doubtful = zone.model_copy(update={"sound": Chance(value=0.9, error=0.006)})
    return plan.model_copy(update={"certainty": plan.certainty.model_copy(update={"zones": (doubtful,)})})


def in_a_hurry(plan):
    short = plan.certainty.window.model_copy(update={"suffices": Chance(value=0.85, error=0.008)})
    return plan.model_copy(update={"certainty": plan.certainty.model_copy(update={"window": short})})


ALWAYS = {"backflow-code", "flush-water"}  # the lawn falls to the house
HOUSE = ((4.0, -2.0), (5.0, -2.0))


def sharing_the_open_pipe(plan):
    """As if there were two zones, the open pipe gave both together, just, and heads needed nearly all the pressure."""
    first = plan.zones[0]
    half = first.model_copy(update={"flow": first.flow / 2})
    needed = 0.99 * plan.supply.expected.static
    update = {"open_flow": 1.01 * first.flow, "reference_pressure": needed, "measured": ()}
    supply = plan.supply.model_copy(update=update)
    return plan.model_copy(update={"zones": (half, half.model_copy(update={"id": "Z2"})), "supply": supply})


def over_a_mound(plan):
    """As if the laterals crossed a mound between the heads, on sand, which takes the water of any slope."""
    spots = [*plan.yard.spot_heights, SpotHeight(at=plan.pipes[-1].path[0], height=3.0)]
    soil = plan.yard.soil.model_copy(update={"texture": "sand"})
    return plan.model_copy(update={"yard": plan.yard.model_copy(update={"spot_heights": spots, "soil": soil})})


def standing_at(pressure):
    """As if the supply's static pressure may be as high as this [Pa]."""

    def spoil(plan):
        top = plan.supply.curve[0].model_copy(update={"high": pressure})
        return plan.model_copy(update={"supply": plan.supply.model_copy(update={"curve": (top,)})})

    return spoil


def without_in_line_valves(plan):
    valves = plan.yard.valves.model_copy(update={"allowed": ["valve with vacuum breaker"]})
    return plan.model_copy(update={"yard": plan.yard.model_copy(update={"valves": valves})})


def astray(plan):
    proofs = [p.model_copy(update={"value": 0.11}) if p.stage == "feedback" else p for p in plan.proofs]
    return plan.model_copy(update={"proofs": tuple(proofs)})


def regulated(plan, **changes):
    return plan.model_copy(update={"regulation": plan.regulation.model_copy(update=changes)})


def with_main(plan, **changes):
    choice = {"asked": "looped", "laid": "looped", "why": "no second way"} | changes
    return plan.model_copy(update={"main": MainChoice(**choice)})


def starved_when_shut(plan):
    """As if a stretch of a ring, once shut, left a head next to nothing."""
    zone = plan.zones[0]
    shut = ShutStretch(pipe="M1", zone=zone.id, head=zone.heads[0], before=200e3, least=5e3)
    return with_main(plan, asked="cheapest", laid="branched", shut=(shut,))


def behind_a_pump(plan):
    """As if a pump gave nearly all of the pressure: 300 kPa of it at the zone's flow."""
    points = [PumpPoint(flow=0.0, pressure=350e3), PumpPoint(flow=plan.zones[0].flow, pressure=300e3)]
    entry = plan.yard.water_entry.model_copy(update={"booster": BoosterPump(curve=points)})
    return plan.model_copy(update={"yard": plan.yard.model_copy(update={"water_entry": entry})})


def misting(plan):
    first, *rest = plan.regulation.zones
    return regulated(plan, zones=(first.model_copy(update={"after": 1.01 * first.limit}), *rest))


def on_a_well(plan, **times):
    flows = {"flow": 4e-4, "at_cut_in": 9e-4, "at_cut_out": 7e-4, "drawdown": 0.016, "night": 6 * 3600.0}
    return plan.model_copy(update={"cycling": (Cycling(zone=plan.zones[0].id, **flows, **times),)})


def starting_every_minute(plan):
    return on_a_well(plan, runs=40.0, rests=200.0)


def starting_all_night(plan):
    return on_a_well(plan, runs=61.0, rests=10.0)


def tall_water(plan):
    return swap(plan, "drainage", checked=(CheckedHead(head=plan.heads[0].id, column=2.5),))


def throwing_at_the_neighbour(plan):
    """As if one head threw far over the fence, too little to show in its lawn's sum."""
    head = plan.heads[0]
    spill = Spill(head=head.id, on_paving=0.0, off_site=0.2 * head.flow, keep_dry=0.0, share_off_site=0.2)
    return swap(plan, "lawns", spills=(spill,))


def in_a_gale(plan):
    water = WindyWater(speed=5.0, blows_from=270.0, cu=0.6, du=0.4, on_lawn=plan.lawns[0].on_lawn)
    return swap(plan, "lawns", in_wind=water)


def flushed(plan, **changes):
    return plan.model_copy(update={"flushing": plan.flushing.model_copy(update=changes)})


def slow_when_flushed(plan):
    first, *rest = plan.flushing.runs
    return flushed(plan, runs=(first.model_copy(update={"velocity": 0.59}), *rest))


def hurried(plan):
    service, main, *zones = plan.flushing.steps
    return flushed(plan, steps=(service, main.model_copy(update={"flow": 1.1 * main.flow}), *zones))


def with_air(plan):
    pipe = plan.pipes[-1]
    crest = {"rise": 0.4, "volume": 2e-3, "bore": pipe.bore, "slope": 0.05, "velocity": 0.2, "clears": 0.38}
    pocket = AirPocket(line=plan.zones[0].id, pipe=pipe.id, at=pipe.path[0], falls_in=pipe.id, **crest)
    return flushed(plan, pockets=(pocket,))


def behind_a_small_meter(plan):
    entry = plan.yard.water_entry.model_copy(update={"meter": Meter(size="5/8 in")})
    return plan.model_copy(update={"yard": plan.yard.model_copy(update={"water_entry": entry})})


def giving_up_a_pipe(plan):
    given_up = ExistingUse(kind="pipe", id="old main", kept_as=(), moving_cost=40.0)
    return plan.model_copy(update={"existing": (given_up,)})


def deep_down(plan):
    rules = plan.yard.rules.model_copy(update={"trench_depth": 0.8})
    return plan.model_copy(update={"yard": plan.yard.model_copy(update={"rules": rules})})


SPOILT = [
    ("existing-given-up", giving_up_a_pipe),
    ("manifold-depth", deep_down),
    ("too-short-for-fittings", lambda plan: swap(plan, "pipes", number=-1, length=0.02)),
    ("fed-once", in_two_zones),
    ("pipes-continuous", without_first_lateral),
    ("pipes-continuous", without_main),
    ("pipes-continuous", torn_apart),
    ("ring-closed", lambda plan: with_main(plan, laid="looped")),
    ("main-layout", lambda plan: with_main(plan, laid="branched")),
    ("ring-shut", starved_when_shut),
    ("head-on-lawn", lambda plan: swap(plan, "heads", at=(4.5, -1.0))),
    ("trench-clear", lambda plan: swap(plan, "trenches", path=HOUSE)),
    ("zone-over-supply", lambda plan: swap(plan, "zones", flow=1.01 * plan.zones[0].safe_flow)),
    ("stations", on_one_station),
    ("head-pressure-low", lambda plan: swap(plan, "zones", cautious_low=50e3)),
    ("head-pressure-high", lambda plan: swap(plan, "zones", pressure_high=900e3)),
    ("flow-spread", lambda plan: swap(plan, "zones", flow_spread=0.12)),
    ("velocity", lambda plan: swap(plan, "pipes", velocity=1.53)),
    ("pipe-rating", standing_at(110 * PSI)),
    ("surge", lambda plan: swap(plan, "surges", 0, standing=plan.surges[0].allowed)),
    ("surge", lambda plan: swap(plan, "surges", 1, sharp=plan.surges[1].allowed)),
    ("zone-mixed", lambda plan: swap(plan, "heads", hydrozone="shade, turf, level")),
    ("matched-precipitation", lambda plan: swap(plan, "heads", radius=1.25 * plan.heads[0].radius)),
    ("not-settled", astray),
    ("valve-kind", without_in_line_valves),
    ("evenness", lambda plan: uneven(plan, du=0.59)),
    ("water-on-building", lambda plan: swap(plan, "lawns", on_building=0.01 * plan.lawns[0].water)),
    ("overspray", lambda plan: swap(plan, "lawns", on_paving=0.06 * plan.lawns[0].water)),
    ("keep-dry", lambda plan: swap(plan, "lawns", keep_dry=0.0011 * plan.lawns[0].water)),
    ("head-off-site", throwing_at_the_neighbour),
    ("evenness-in-wind", in_a_gale),
    ("overspray-off-site", lambda plan: swap(plan, "lawns", off_site=0.06 * plan.lawns[0].water)),
    ("backflow-height", lambda plan: swap(plan, "places", device_height=0.305)),
    ("backflow-pipe-height", over_a_mound),
    ("backflow-size", narrower_than_its_line),
    ("riser-height", lambda plan: swap(plan, "places", device_height=1.3)),
    ("place-of-zone", lambda plan: swap(plan, "places", zones=())),
    ("place-backflow", lambda plan: swap(plan, "places", backflow="double check")),
    ("supply-assumed", on_guesses),
    ("supply-doubt", with_a_doubt),
    ("zone-unsure", hardly_sure),
    ("water-window", in_a_hurry),
    ("static-pressure", lambda plan: regulated(plan, static=81 * PSI)),
    ("misting", misting),
    ("suction", behind_a_pump),
    ("pump-cycling", starting_every_minute),
    ("pump-cycling", starting_all_night),
    ("low-head-drainage", lambda plan: swap(plan, "drainage", at_wettest=2.1e-3, wettest=plan.heads[0].id)),
    ("check-valve-hold", tall_water),
    ("air-stays", with_air),
    ("flush-velocity", slow_when_flushed),
    ("flush-meter", behind_a_small_meter),
    ("house-use", lambda plan: swap(plan, "zones", pressure_low=1.01 * plan.nozzles[0].lowest_pressure)),
    ("pin-given-up", with_a_lost_pin),
    ("budget", over_budget),
    ("wire-too-thin", lambda plan: wired(plan, enough=False)),
    ("transformer-load", on_a_small_transformer),
    ("wire-cover", lambda plan: wired(plan, cover=0.15)),
    ("wire-lead", with_the_controller_across_the_lawn),
    ("unpriced", lambda plan: swap(plan, "parts", price=0.0, price_source=NO_PRICE)),
    ("intake", lambda plan: swap(plan, "zones", precipitation=60 / 3.6e6)),
]


def test_the_good_plan_breaks_no_rule(good):
    assert good.verdict == "fits"
    assert rules(good) == sorted(ALWAYS)


@pytest.mark.parametrize(("rule", "spoil"), SPOILT, ids=[f"{rule}-{i}" for i, (rule, _) in enumerate(SPOILT)])
def test_a_broken_rule_is_found_and_no_other(good, rule, spoil):
    assert set(rules(spoil(good))) - ALWAYS == {rule}


def test_a_main_over_its_rating_must_change(good):
    """PE of SIDR 15 bears 100 psi (ASTM D2239)."""
    assert {pipe.material for pipe in good.pipes if pipe.role == "main"} == {"PE"}
    for static, severity in ((99, None), (101, "must")):
        rise = 999.1 * 9.80665 * 0.4  # the main lies no more than this under the entry
        found = [
            finding
            for finding in inspect(standing_at(static * PSI - rise)(good), resolve_ground(good.yard), CATALOGUE)
            if finding.rule == "pipe-rating" and finding.what.startswith("main")
        ]
        assert [finding.severity for finding in found[:1]] == ([severity] if severity else [])


def test_the_first_idea_shares_out_what_filled_the_bucket(good):
    """A narrow tap passes less than the pipe would: nobody plans with a flow that he never saw."""
    shared = sharing_the_open_pipe(good)
    flow = sum(zone.flow for zone in shared.zones)

    def found(share):
        fill = MeasuredPoint(
            label="bucket fill 1",
            flow=share * flow,
            flow_error=0.0,
            pressure=0.0,
            pressure_error=0.0,
            formula="",
            inputs={},
        )
        plan = shared.model_copy(update={"supply": shared.supply.model_copy(update={"measured": (fill,)})})
        return [f.what for f in inspect(plan, resolve_ground(plan.yard), CATALOGUE) if f.rule == "first-idea"]

    assert found(0.6) == []
    assert show(1.2 * flow, "flow", good.yard.units) + " that filled the bucket" in found(1.2)[0]


def test_flushed_water_is_no_matter_on_a_level_lawn(good):
    level = [spot.model_copy(update={"height": 0.0}) for spot in good.yard.spot_heights]
    yard = good.yard.model_copy(update={"spot_heights": level})
    ground = resolve_ground(yard)
    found = plan_flushing(good.model_copy(update={"yard": yard}), ground=ground, catalogue=CATALOGUE)
    again = good.model_copy(update={"yard": yard, "flushing": found})
    assert "flush-water" not in {finding.rule for finding in inspect(again, ground, CATALOGUE)}


def test_strips_are_not_told_to_turn_down_nor_to_become_strips(good):
    spilt = swap(good, "lawns", head_class="strip", on_paving=0.06 * good.lawns[0].water)
    found = next(f for f in inspect(spilt, resolve_ground(good.yard), CATALOGUE) if f.rule == "overspray")
    assert "narrower" in found.do


def test_every_check_has_a_plan_that_breaks_it(good):
    fired = set()
    for spoil in (sharing_the_open_pipe, *(spoil for _, spoil in SPOILT)):
        spoilt = spoil(good)
        case = Inspection(spoilt, resolve_ground(spoilt.yard), CATALOGUE)
        fired |= {check.__name__ for check in CHECKS if list(check(case))}
    assert fired == {check.__name__ for check in CHECKS}


@pytest.mark.parametrize(
    ("inspection", "spoil"),
    [
        (plan_inspector.every_head_is_fed_once, in_two_zones),
        (plan_inspector.pipes_are_continuous, without_first_lateral),
        (plan_inspector.pipes_are_continuous, torn_apart),
        (plan_inspector.heads_stand_on_their_lawn, lambda plan: swap(plan, "heads", at=(4.5, -1.0))),
        (plan_inspector.trenches_keep_clear, lambda plan: swap(plan, "trenches", path=HOUSE)),
        (plan_inspector.zones_draw_within_the_supply, lambda plan: swap(plan, "zones", flow=9e-4)),
        (plan_inspector.pressures_add_up, lambda plan: swap(plan, "zones", steps=plan.zones[0].steps[:-1])),
        (plan_inspector.pressures_add_up, lambda plan: swap(plan, "heads", pressure=1.1 * plan.heads[0].pressure)),
        (plan_inspector.water_keeps_to_the_velocity, lambda plan: swap(plan, "pipes", velocity=1.6)),
        (plan_inspector.devices_stand_high_enough, lambda plan: swap(plan, "places", device_height=0.2)),
        (plan_inspector.flushing_adds_up, hurried),
        (plan_inspector.costs_add_up, lambda plan: swap(plan, "parts", quantity=0.5)),
    ],
)
def test_the_inspector_of_these_tests_sees_a_spoilt_plan(good, inspection, spoil):
    inspection(good)
    with pytest.raises(AssertionError):
        inspection(spoil(good))


def test_a_device_narrower_than_its_line_is_told():
    """The well example is fed by 1-1/4 in pipe and needs no breaker as wide; a code may want one all the same."""
    plan = planned_example("well.yard.json")
    assert {place.backflow_size for place in plan.places} == {"1 in"}
    found = next(finding for finding in plan.findings if finding.rule == "backflow-size")
    assert found.severity == "know"
    assert "set backflow.size to '1-1/4 in'" in found.do
