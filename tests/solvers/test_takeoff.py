"""The parts list of small plans counted by hand, on paper, from the drawing in each docstring."""

import itertools
import math
from dataclasses import replace

import pytest

from rillwright.model.catalogue import load_catalogue
from rillwright.model.plan import Head, Node, Pipe, Trench, ValvePlace, Zone
from rillwright.model.site import BACKFLOW_KINDS, PIPE_MATERIALS, Yard
from rillwright.solvers.takeoff import cost_of, take_off, unpriced

CATALOGUE = load_catalogue()
WASTE = 1.05
AT = {
    "E": (0, 0), "V1": (10, 0), "V2": (10, 20), "H1": (14, 0), "H2": (18, 0),
    "J1": (10, -5), "H3": (6, -5), "H4": (14, -5), "H5": (16, 24),
}  # fmt: skip
HEIGHT = {"E": 5.0, "V1": 5.0, "V2": 4.0, "H1": 5.0, "H2": 4.9, "J1": 4.5, "H3": 4.4, "H4": 4.6, "H5": 4.2}
MEMBERS = {"Z1": ("H1", "H2"), "Z2": ("H3", "H4"), "Z3": ("H5",)}
PLACES = {"V1": ("Z1", "Z2"), "V2": ("Z3",)}


def yard(**changes):
    facts = {
        "name": "invented",
        "units": "metric",
        "areas": [{"id": "lawn", "kind": "lawn", "outline": [(0, 0), (30, 0), (30, 30)]}],
        "water_entry": {"at": (0, 0), "height": 5.0, "pipe": {"material": "copper L", "size": "1 in", "length": 10}},
        "controller": {"stations": 4, "at": (-3, 4)},
        "backflow": {"allowed": list(BACKFLOW_KINDS)},
    }
    return Yard.model_validate(facts | changes)


def head(name):
    return Head(
        id=name, lawn="lawn", at=AT[name], ground=HEIGHT[name], head_class="rotary",
        nozzle="rotary 20 ft" if name == "H5" else "rotary 15 ft", arc_start=0, arc=180, radius_share=1, radius=4,
        flow=5e-5, pressure=2.8e5, hydrozone="sun",
    )  # fmt: skip


def zone(name, flow):
    place = next(place for place, zones in PLACES.items() if name in zones)
    return Zone.model_construct(id=name, heads=MEMBERS[name], place=place, flow=flow)  # all that the take-off reads


def pipe(name, start, end, material, size, zone=None, by=()):
    path = (AT[start], *by, AT[end])
    length = sum(math.dist(a, b) for a, b in itertools.pairwise(path))
    return Pipe(
        id=name, role="lateral" if zone else "main", zone=zone, start=start, end=end, path=path, length=length,
        material=material, size=size, bore=0.02, flow=1e-4, velocity=0.5, loss=1e3,
    )  # fmt: skip


def runs(main="PVC schedule 40", lateral="PE", small="1/2 in"):
    return (
        pipe("M1", "E", "V1", main, "1 in"),
        pipe("M2", "V1", "V2", main, "1 in"),
        pipe("A1", "V1", "H1", lateral, "1 in", "Z1"),
        pipe("A2", "H1", "H2", lateral, "3/4 in", "Z1"),
        pipe("B1", "V1", "J1", lateral, "3/4 in", "Z2"),
        pipe("B2", "J1", "H3", lateral, "3/4 in", "Z2"),
        pipe("B3", "J1", "H4", lateral, "3/4 in", "Z2"),
        pipe("C1", "V2", "H5", lateral, small, "Z3", by=((10, 24),)),
    )


def trench(name, pipes, *, sleeve, length=2.0, cost=10.0):
    surface = "paving" if sleeve else "lawn"
    return Trench(
        id=name, path=((0, 0), (length, 0)), surface=surface, length=length, pipes=pipes, sleeve=sleeve, cost=cost
    )


TRENCHES = (
    trench("T1", ("M1",), sleeve=False, length=8.0, cost=24.0),
    trench("T2", ("M2", "A1"), sleeve=True, cost=130.0),
)


def parts(kind="double check", *, of=None, pipes=None, height=None, trenches=TRENCHES, catalogue=CATALOGUE, flow=2e-4):
    places = [
        ValvePlace(
            id=name,
            at=AT[name],
            ground=HEIGHT[name],
            backflow=kind,
            device_height=height,
            highest_outlet=5.1,
            zones=zones,
        )
        for name, zones in PLACES.items()
    ]
    return take_off(
        yard=of or yard(),
        catalogue=catalogue,
        heads=[head(name) for members in MEMBERS.values() for name in members],
        zones=[zone(name, flow[name] if isinstance(flow, dict) else flow) for name in MEMBERS],
        places=places,
        pipes=runs() if pipes is None else pipes,
        trenches=trenches,
        nodes=[Node(id=name, at=at, ground=HEIGHT[name]) for name, at in AT.items()],
        backflow=kind,
    ).lines(catalogue.prices)


def counts(lines):
    return {line.part: round(line.quantity, 9) for line in lines}


def test_a_small_plan_counted_by_hand():
    """Main E-V1-V2 of two runs; zones Z1 (V1-H1-H2 in line), Z2 (V1-J1, then H3 and H4), Z3 (V2 round a corner to H5).

    Valves are 3/4 in. Sticks of 20 ft: 10 m takes one coupling, 20 m three.
    """
    assert counts(parts()) == {
        "head rotary": 5,
        "nozzle rotary 15 ft": 4,
        "nozzle rotary 20 ft": 1,
        "swing joint": 5,
        "pipe PVC schedule 40 1 in": 31.5,  # 30 m
        "pipe PE 1 in": 4.2,
        "pipe PE 3/4 in": round(17 * WASTE, 9),  # 4 + 5 + 4 + 4 m
        "pipe PE 1/2 in": 10.5,
        "coupling PVC schedule 40 1 in": 4,
        "tee PVC schedule 40 1 in": 2,  # V1: two mains and two valves
        "tee PE 1 in": 1,  # H1
        "tee PE 3/4 in": 1,  # J1
        "elbow PE 3/4 in": 3,  # under H2, H3, H4
        "elbow PE 1/2 in": 2,  # the corner, and under H5
        "reducer PE 1 in": 2,  # H1; Z1's valve
        "reducer PE 3/4 in": 1,  # Z3's valve
        "reducer PVC schedule 40 1 in": 3,  # before each valve
        "in-line valve 3/4 in": 3,
        "double check": 1,
        "valve box": 2,
        "isolating valve": 1,
        "drain valve": 4,  # main at V2; H2, H3, V2
        "blow-out fitting": 1,
        "adapter PVC schedule 40 1 in": 8,  # three valves, three at the entry, two at the double check
        "adapter PE 1 in": 1,
        "adapter PE 3/4 in": 1,
        "adapter PE 1/2 in": 1,
        "clamp 1 in": 3,  # run A1 and its adapter
        "clamp 3/4 in": 9,  # four runs and an adapter
        "clamp 1/2 in": 5,  # run C1, its corner and its adapter
        "primer": 1,  # 20 joints: two runs, four couplings, eight adapters
        "glue": 1,
        "thread tape": 1,
        "wire": round((5 * 10 + 3 * 20 + 7 + 5 * 5) * WASTE, 9),
        "splice": 6,
        "sleeve": round(3 * 2.6 * WASTE, 9),  # main, lateral and wire
    }


def test_wire_strands_at_two_places():
    """E-V1 carries three zones, a common and a spare (10 m); V1-V2 one zone and the same two (20 m).

    One metre of each strand for splicing: four at V1, three at V2. The controller is 5 m from the entry: five strands.
    """
    wire = {line.part: line for line in parts()}["wire"]
    assert wire.quantity / WASTE == pytest.approx(50 + 60 + 4 + 3 + 25)
    assert "142.00 m" in wire.why
    without = {line.part: line for line in parts(of=yard(controller={"stations": 4}))}["wire"]
    assert without.quantity / WASTE == pytest.approx(117)
    assert "no controller place given" in without.why


@pytest.mark.parametrize("kind", BACKFLOW_KINDS)
@pytest.mark.parametrize("material", PIPE_MATERIALS)
def test_lengths_add_up_and_every_part_is_priced(kind, material):
    """Pipe bought is the runs' length, the risers' and 5 %, in any material; the packaged prices hold every part."""
    small = "3/4 in" if material == "PVC SDR-21" else "1/2 in"
    pipes = runs(main=material, lateral=material, small=small)
    height = 0.5 if kind in ("atmospheric vacuum breaker", "pressure vacuum breaker") else None
    found = parts(kind, pipes=pipes, height=height)
    bought = sum(line.quantity for line in found if line.part.startswith("pipe "))
    risers = {"atmospheric vacuum breaker": 3 * 1.6, "pressure vacuum breaker": 2 * 1.6}.get(kind, 0.0)
    if kind == "reduced pressure zone":
        risers = 2 * (12 * 0.0254 + 0.3)
    assert bought == pytest.approx((sum(p.length for p in pipes) + risers) * WASTE)
    assert unpriced(found) == ()
    assert all(line.price > 0 and line.why and line.quantity > 0 for line in found)
    assert len({line.part for line in found}) == len(found) == len({line.id for line in found})
    assert {line.unit for line in found if line.part.split()[0] in ("pipe", "wire", "sleeve")} == {"m"}


@pytest.mark.parametrize("pipe_size", CATALOGUE.pipes, ids=lambda p: f"{p.material} {p.trade_size}")
def test_every_pipe_size_has_prices_for_all_its_fittings(pipe_size):
    priced = CATALOGUE.prices
    for fitting in ("pipe", "tee", "elbow", "coupling", "reducer", "adapter"):
        assert f"{fitting} {pipe_size.material} {pipe_size.trade_size}" in priced


def test_backflow_devices_stand_where_their_kind_belongs():
    """Atmospheric: one for each zone, in one piece with the valve where allowed; pressure: one at each place."""
    combined = counts(parts("atmospheric vacuum breaker", height=0.5))
    assert combined["valve with vacuum breaker 3/4 in"] == 3
    assert "atmospheric vacuum breaker" not in combined
    apart = counts(parts("atmospheric vacuum breaker", height=0.5, of=yard(valves={"allowed": ["in-line valve"]})))
    assert apart["atmospheric vacuum breaker"] == 3
    assert apart["in-line valve 3/4 in"] == 3
    pressure = counts(parts("pressure vacuum breaker", height=0.5))
    assert pressure["pressure vacuum breaker"] == 2
    assert pressure["blow-out fitting"] == 2  # after each device: none is blown through


def test_risers_have_stiff_pipe_and_glue_though_all_pipe_is_polyethylene():
    """Three zones, 0.5 m over the ground and 0.3 m of cover, up and down: 4.8 m, nine elbows, six adapters."""
    found = counts(parts("atmospheric vacuum breaker", height=0.5, pipes=runs(main="PE")))
    assert found["pipe PVC schedule 40 3/4 in"] == pytest.approx(4.8 * WASTE)
    assert found["elbow PVC schedule 40 3/4 in"] == 9
    assert found["adapter PVC schedule 40 3/4 in"] == 6
    assert found["glue"] == found["primer"] == 1
    assert "glue" not in counts(parts(pipes=runs(main="PE")))


def test_rigid_pipe_needs_elbows_that_coiled_pipe_does_not():
    """The way to H5 turns by 53 degrees over (13, 24): coil sweeps round. By 13 degrees: rigid pipe springs round."""
    corner = {53: (13.0, 24.0), 13: (13.0, 22.5)}
    for material, degrees, bends in (("PE", 53, 0), ("PEX", 53, 0), ("copper M", 53, 1), ("copper M", 13, 0)):
        bent = pipe("C1", "V2", "H5", material, "1/2 in", "Z3", by=(corner[degrees],))
        found = counts(parts(pipes=(*runs(lateral=material)[:-1], bent)))
        assert found[f"elbow {material} 1/2 in"] == 1 + bends  # one under H5


def test_a_line_that_turns_under_a_head_takes_an_elbow_beside_the_tee():
    at_h1 = pipe("A2", "H1", "H4", "copper M", "3/4 in", "Z1")  # H4's place as a stand-in for a corner at H1
    straight = counts(parts(pipes=runs(lateral="copper M")))
    turned = counts(parts(pipes=tuple(at_h1 if run.id == "A2" else run for run in runs(lateral="copper M"))))
    assert turned["tee copper M 1 in"] == straight["tee copper M 1 in"] == 1
    assert turned["elbow copper M 1 in"] == 1
    assert "elbow copper M 1 in" not in straight


def test_what_is_owned_is_listed_and_not_charged():
    of = yard(valves={"owned": 2}, backflow={"allowed": list(BACKFLOW_KINDS), "owned": "double check"})
    lines = parts(of=of)
    by_part = {line.part: line for line in lines}
    assert by_part["in-line valve 3/4 in"].owned == 2
    assert by_part["in-line valve 3/4 in"].quantity == 3
    assert by_part["double check"].owned == 1
    saved = cost_of(parts(), TRENCHES, yard()).total - cost_of(lines, TRENCHES, of).total
    assert saved == pytest.approx(2 * by_part["in-line valve 3/4 in"].price + by_part["double check"].price)
    more = {line.part: line for line in parts(of=yard(valves={"owned": 9}))}
    assert more["in-line valve 3/4 in"].owned == 3
    other = parts(of=yard(backflow={"allowed": list(BACKFLOW_KINDS), "owned": "reduced pressure zone"}))
    assert all(line.owned == 0 for line in other)


def test_owned_valves_are_used_up_over_the_sizes():
    """Z1 needs a larger valve than Z2 and Z3: of two owned, each is charged off once."""
    of = yard(valves={"owned": 2})
    found = {line.part: line for line in parts(of=of, flow={"Z1": 9e-4, "Z2": 2e-4, "Z3": 2e-4})}
    assert (found["in-line valve 1 in"].quantity, found["in-line valve 1 in"].owned) == (1, 1)
    assert (found["in-line valve 3/4 in"].quantity, found["in-line valve 3/4 in"].owned) == (2, 1)


def test_owned_valves_are_of_the_first_kind_allowed():
    """Owned in-line valves do not pay for valves with a breaker."""
    found = {line.part: line for line in parts("atmospheric vacuum breaker", height=0.5, of=yard(valves={"owned": 2}))}
    assert found["valve with vacuum breaker 3/4 in"].owned == 0


def test_cost_adds_parts_and_trenches():
    lines = parts()
    cost = cost_of(lines, TRENCHES, yard(budget=5000))
    assert cost.trenches == 154.0
    assert cost.parts == pytest.approx(sum(line.quantity * line.price for line in lines))
    assert cost.total == cost.parts + cost.trenches
    assert cost.budget == 5000


def test_a_part_without_a_price_is_kept_and_found():
    prices = {name: price for name, price in CATALOGUE.prices.items() if name != "wire"}
    lines = parts(catalogue=replace(CATALOGUE, prices=prices))
    (line,) = unpriced(lines)
    assert line.part == "wire"
    assert line.price == 0
    assert line.quantity > 0
    assert "price file" in line.price_source


def test_larger_flow_takes_a_larger_valve():
    found = counts(parts(flow=9e-4))
    assert found["in-line valve 1 in"] == 3
    assert "reducer PVC schedule 40 1 in" not in found


def test_lines_say_where_parts_go():
    by_part = {line.part: line.why for line in parts()}
    assert by_part["tee PE 1 in"] == "1 at branches of laterals: H1"
    assert by_part["tee PVC schedule 40 1 in"] == "2 in manifolds, where valves stand together: V1"
    assert by_part["nozzle rotary 20 ft"] == "1 in heads: H5"
    drains = "1 at the lowest point of the main: V2; 3 at the lowest point of a zone's laterals: H2, H3, V2"
    assert by_part["drain valve"] == drains
    assert "flame" in by_part["glue"]
    assert "eye protection" in by_part["blow-out fitting"]
    assert "30.00 m of main in 2 runs" in by_part["pipe PVC schedule 40 1 in"]
    assert "T2" in by_part["sleeve"]


def test_a_ring_takes_a_tee_more_valves_and_no_more_wire():
    """V2 joined to the entry as well: the ring's ends cost a tee each, its runs two valves each; wire goes by M1."""
    closing = pipe("M3", "E", "V2", "PVC schedule 40", "1 in", by=((0, 40),))
    before = {line.part: line for line in parts()}
    after = {line.part: line for line in parts(pipes=(*runs(), closing))}
    assert after["tee PVC schedule 40 1 in"].quantity - before["tee PVC schedule 40 1 in"].quantity == 2
    assert after["isolating valve"].quantity - before["isolating valve"].quantity == 6
    assert "M3" in after["isolating valve"].why
    assert after["wire"].quantity == before["wire"].quantity
