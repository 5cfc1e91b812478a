"""The parts list of small plans counted by hand, on paper, from the drawing in each docstring."""

import csv
from collections import Counter
from dataclasses import replace
from importlib import resources

import pytest

from rillwright.model.site import BACKFLOW_KINDS, PIPE_MATERIALS
from small_takeoff import CATALOGUE, MEMBERS, WASTE, counts, parts, pipe, runs, tally, yard

PIPE_END = {"PE": "barb {} female", "PVC": "slip {} male", "PEX": "crimp {} female", "copper": "solder {} male"}
with resources.files("rillwright.data").joinpath("fittings.csv").open(encoding="utf-8", newline="") as table:
    MOUTHS = {row["part"]: [row[f"end_{n}"] for n in (1, 2, 3) if row[f"end_{n}"]] for row in csv.DictReader(table)}


def test_a_small_plan_counted_by_hand():
    """Main E-V1-V2 of two runs; zones Z1 (V1-H1-H2 in line), Z2 (V1-J1, then H3 and H4), Z3 (V2 round a corner to H5).

    Valves are 3/4 in. Sticks of 20 ft: 10 m takes one coupling, 20 m three.
    """
    assert counts(parts()) == {
        "head rotary": 5,
        "nozzle rotary 15 ft": 4,
        "nozzle rotary 20 ft": 1,
        "swing joint 1/2 in": 5,
        "pipe PVC schedule 40 1 in": 30.48,  # 30 m in 5 sticks of 20 ft
        "pipe PE 1 in": 30.48,  # one coil each
        "pipe PE 3/4 in": 30.48,
        "pipe PE 1/2 in": 30.48,
        "pipe PVC schedule 40 3/4 in": 3.048,  # between tee, union and adapter of each valve
        "coupling PVC 1 in": 4,
        "in-line valve 3/4 in": 3,
        "double check": 1,
        "valve box large with extension": 2,  # header with its shut-off is longer than the medium box
        "bag of gravel": 8,  # two under each box, one round each drain
        "isolating valve 1 in": 3,  # the main, each manifold
        "drain valve": 4,  # main at V2; H2, H3, V2
        "round box": 4,
        "blow-out fitting": 1,
        # house pipe, shut-off, union, double check, union, tee for air, main
        "adapter copper 1 in male": 1,
        "nipple 1 in": 2,
        "union thread 1 in": 2,  # and Z1's
        "union PVC 1 in": 1,
        "tee PVC 1 x 3/4 in thread": 1,
        # the main's first, and both sides of the manifolds' shut-offs
        "adapter PVC 1 in male": 5,
        # a tee for each valve, since the main goes on from V1 and a drain leg ends V2's header; a union before each
        "tee PVC 1 x 3/4 in": 3,
        "elbow PVC 1 x 1/2 in thread": 1,
        "union PVC 3/4 in": 3,
        "adapter PVC 3/4 in male": 3,
        # out of each valve, and either side of its other union; Z3's drain in a tee
        "adapter PE 1 x 3/4 in male": 1,
        "adapter PE 1 in male": 2,
        "adapter PE 3/4 in male": 3,
        "union thread 3/4 in": 1,
        "adapter PE 1/2 x 3/4 in male": 1,
        "adapter PE 1/2 in male": 2,
        "union thread 1/2 in": 1,
        "tee PE 1/2 in": 1,  # round the corner into C1
        "adapter PE 1/2 in female": 1,
        # V1's header lies on from M1, its valves on the right: Z2 leaves straight on, M2 and Z1 turn by a right angle
        "elbow PVC 1 in": 1,
        "elbow PE 1 in": 1,
        # H1 in line, where 1 in goes down to 3/4; H2 and H3 at ends with drains; J1; H4 and H5 at plain ends
        "reducer PE 1 x 3/4 in": 1,
        "tee PE 3/4 x 1/2 in thread": 3,
        "adapter PE 3/4 in female": 2,
        "bushing thread 3/4 x 1/2 in": 2,
        "tee PE 3/4 in": 1,
        "elbow PE 3/4 x 1/2 in thread": 1,
        "elbow PE 1/2 x 1/2 in thread": 1,
        "elbow PE 1/2 in": 1,  # the corner
        "clamp 1 in": 6,  # both ends of A1, and of the pieces before Z1's union and before its elbow
        "clamp 3/4 in": 16,  # four runs; short pieces between tee and reducer or adapter at H1, H2, H3; Z2's
        "clamp 1/2 in": 10,  # C1, its corner, short pieces on both sides of the tee at V2; Z3's
        "primer": 1,
        "glue": 1,
        "solder and flux": 1,
        "thread tape": 2,  # 34 threads
        "wire": round((5 * 10 + 3 * 20 + 7 + 5 * 5) * WASTE, 9),
        "splice": 6,
        "sleeve": round(3 * 2.6 * WASTE, 9),  # main, lateral and wire
    }


@pytest.mark.parametrize("kind", BACKFLOW_KINDS)
@pytest.mark.parametrize("material", PIPE_MATERIALS)
def test_every_mouth_finds_its_mate(kind, material):
    """The bill counted again from the table as it stands on disk: for each kind of joint as many males as females.

    Over fittings, devices, pieces of pipe and the end of the house pipe.
    """
    small = "3/4 in" if material == "PVC SDR-21" else "1/2 in"
    height = 0.5 if "vacuum breaker" in kind else None
    for main in (material, "PVC schedule 40"):
        counted = tally(kind, pipes=runs(main=main, lateral=material, small=small), height=height)
        assert counted.open == counted.short == []
        ends = Counter()
        for line in counted.lines(CATALOGUE.prices, stock=CATALOGUE.stock):
            for mouth in MOUTHS.get(line.part, ()):
                ends[mouth] += int(line.quantity)
            if line.part in BACKFLOW_KINDS:
                size = "3/4 in" if line.part == "atmospheric vacuum breaker" else "1 in"
                ends[f"thread {size} female"] += 2 * int(line.quantity)
        for part in counted.pipes:
            of, size = next(
                (m, part.removeprefix(f"pipe {m} ")) for m in PIPE_MATERIALS if part.startswith(f"pipe {m} ")
            )
            ends[f"{PIPE_END[of.split()[0]].format(size)}"] += 2 * len(counted.pieces_of(part))
        ends["solder 1 in male"] += 1  # of the house pipe
        for mouth, number in ends.items():
            join, size, gender = mouth.split(" ")[0], " ".join(mouth.split(" ")[1:3]), mouth.split(" ")[3]
            other = "female" if gender == "male" else "male"
            assert ends[f"{join} {size} {other}"] == number, mouth
            assert counted.joints[join, size] == number


def test_every_head_has_one_swing_joint_and_every_net_one_drain():
    found = counts(parts())
    assert sum(number for part, number in found.items() if part.startswith("swing joint")) == len(MEMBERS["Z1"]) + 3
    assert found["drain valve"] == 1 + len(MEMBERS)


def test_pieces_are_as_long_as_the_runs_less_what_fittings_take():
    """No piece of a run is longer than drawn, and all that is missing lies between the joints of its fittings."""
    counted = tally()
    for part in counted.pipes:
        drawn = sum(length for placed, length in counted.laid() if placed.part == part)
        pieces = sum(piece for piece, _ in counted.pieces_of(part)) / 1e3
        assert drawn - 0.6 < pieces < drawn + 0.01
        plan = counted.cutting_plan(part, CATALOGUE.stock)
        assert plan.bought / 1e3 >= pieces
        assert sorted(p for cut in plan.cuts for p in cut.pieces) == sorted(p for p, _ in counted.pieces_of(part))


def test_a_run_shorter_than_its_fittings_is_told():
    pipes = tuple(run for run in runs() if run.id not in ("A1", "A2"))
    near = pipe("A1", "V1", "H1", "PE", "1 in", "Z1").model_copy(update={"path": ((10, 0), (10.02, 0)), "length": 0.02})
    on = pipe("A2", "H1", "H2", "PE", "3/4 in", "Z1")
    assert [run for run, _ in tally(pipes=(*pipes, near, on)).short] == ["A1"]


def test_what_no_fitting_joins_is_open():
    """A shelf without a single tee joins no branch."""
    bare = [fitting for fitting in CATALOGUE.fittings.fittings if fitting.body not in ("tee", "saddle")]
    shelf = replace(CATALOGUE.fittings, fittings=tuple(bare), key="no tees")
    found = tally(catalogue=replace(CATALOGUE, fittings=shelf)).open
    assert {where for where, _ in found} == {"water entry", "V1", "V2", "H1", "H2", "H3", "J1"}
    assert ("J1", "pipe PE 3/4 in, pipe PE 3/4 in and pipe PE 3/4 in") in found


def test_a_saddle_leaves_the_pipe_whole():
    """Where tees cost the earth, H1 sits on a saddle: A1 and A2 are one piece of 8 m less H2's fittings."""
    one = (pipe("A1", "V1", "H1", "PE", "1 in", "Z1"), pipe("A2", "H1", "H2", "PE", "1 in", "Z1"))
    pipes = tuple(run for run in runs() if run.id not in ("A1", "A2")) + one
    prices = {f.part: 99.0 for f in CATALOGUE.fittings.fittings if f.body == "tee"}
    known = {part: price.price for part, price in CATALOGUE.prices.items()} | prices
    dear = CATALOGUE.fittings.priced(known, [(p.material, p.trade_size) for p in CATALOGUE.pipes])
    counted = tally(pipes=pipes, catalogue=replace(CATALOGUE, fittings=dear))
    assert "saddle PE 1 x 1/2 in thread" in counts(counted.needs(CATALOGUE.prices))
    longest, where = max(piece for piece in counted.pieces_of("pipe PE 1 in"))
    assert where == "A1, A2"
    assert 7900 < longest < 8000


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
    """Three zones, breakers 0.5 m over the ground, 0.3 m of cover, up and down: six long pieces of stiff pipe.

    The header's axis is 0.3 m and half its 33.4 mm down; the critical level 4.5 in over the inlet. From there 703 mm
    less tee, union and adapter. Valve and breaker in one piece are entered and left from below: one elbow each, at the
    foot. Others: the drain leg of V2, M2 and A1 where they leave V1, the corner of C1, H4 and H5.
    """
    made = tally("atmospheric vacuum breaker", height=0.5, pipes=runs(main="PE"))
    found = counts(made.needs(CATALOGUE.prices))
    assert sorted(piece for piece, _ in made.pieces_of("pipe PVC schedule 40 3/4 in"))[-6:] == [611] * 3 + [615] * 3
    elbows = [line.why for line in made.needs(CATALOGUE.prices) if line.part.startswith("elbow ")]
    standing = [int(why.split()[0]) for told in elbows for why in told.split("; ") if "in the manifold" in why]
    assert sum(standing) == 3 + 1
    assert sum(number for part, number in found.items() if part.startswith("elbow ")) == 3 + 1 + 2 + 3
    assert found["glue"] == found["primer"] == 1
    assert "glue" not in counts(parts(pipes=runs(main="PE")))


def test_rigid_pipe_needs_elbows_that_coiled_pipe_does_not():
    """The way to H5 turns by 53 degrees over (13, 24): coil sweeps round. By 13 degrees: rigid pipe springs round."""
    corner = {53: (13.0, 24.0), 13: (13.0, 22.5)}
    for material, degrees, bends in (("PE", 53, 0), ("PEX", 53, 0), ("copper M", 53, 1), ("copper M", 13, 0)):
        bent = pipe("C1", "V2", "H5", material, "1/2 in", "Z3", by=(corner[degrees],))
        lines = parts(pipes=(*runs(lateral=material)[:-1], bent))
        told = [why for line in lines if line.part.startswith("elbow 45 ") for why in line.why.split("; ")]
        assert sum(int(why.split()[0]) for why in told if "at bends along runs" in why) == bends


def test_a_line_that_turns_under_a_head_takes_an_elbow_beside_the_tee():
    at_h1 = pipe("A2", "H1", "H4", "copper M", "3/4 in", "Z1")  # H4's place as a stand-in for a corner at H1
    straight = {line.part: line.why for line in parts(pipes=runs(lateral="copper M"))}
    pipes = tuple(at_h1 if run.id == "A2" else run for run in runs(lateral="copper M"))
    turned = {line.part: line.why for line in parts(pipes=pipes)}
    assert "1 under heads: H1" in turned["elbow copper 3/4 in"]
    assert not any("H1" in why for part, why in straight.items() if part.startswith("elbow"))


def test_larger_flow_takes_a_larger_valve():
    found = counts(parts(flow=9e-4))
    assert found["in-line valve 1 in"] == 3
    assert found["adapter PVC 1 in male"] == 5 + 3  # as before, and each valve's inlet
    assert "bushing thread 1 x 3/4 in" not in found


def test_lines_say_where_parts_go():
    by_part = {line.part: line.why for line in parts()}
    assert by_part["tee PE 3/4 in"] == "1 at branches of laterals: J1"
    assert by_part["tee PVC 1 x 3/4 in"] == "3 in the manifold of the valve place: V1, V2"
    assert by_part["nozzle rotary 20 ft"] == "1 in heads: H5"
    drains = "1 at the lowest point of the main: V2; 3 at the lowest point of a zone's laterals: H2, H3, V2"
    assert by_part["drain valve"] == drains
    assert "flame" in by_part["glue"]
    assert "eye protection" in by_part["blow-out fitting"]
    assert "30.00 m of main in 2 runs" in by_part["pipe PVC schedule 40 1 in"]
    assert "cut from 5 sticks of 6.10 m" in by_part["pipe PVC schedule 40 1 in"]
    assert "T2" in by_part["sleeve"]


def test_a_ring_takes_more_valves_and_no_more_wire():
    """V2 joined to the entry as well: the ring's runs take two valves each, a fitting on both sides; wire by M1."""
    closing = pipe("M3", "E", "V2", "PVC schedule 40", "1 in", by=((0, 40),))
    before = {line.part: line for line in parts()}
    after = {line.part: line for line in parts(pipes=(*runs(), closing))}
    assert after["isolating valve 1 in"].quantity - before["isolating valve 1 in"].quantity == 6
    assert after["adapter PVC 1 in male"].quantity - before["adapter PVC 1 in male"].quantity >= 12
    assert "M3" in after["isolating valve 1 in"].why
    assert after["wire"].quantity == before["wire"].quantity


def test_far_valves_of_much_current_get_thicker_wire():
    """2 A over 30 m of main and 500 m of lead: 18 AWG would lose 2 · 2 A · 531 m · 22.6 mΩ/m, 48 V; so 10 AWG."""
    far = parts(of=yard(controller={"stations": 4, "at": (-500, 0)}, valves={"inrush": 2.0}))
    wires = {line.part for line in far if line.part.startswith("wire")}
    assert wires == {"wire 10 AWG"}
    line = next(line for line in far if line.part == "wire 10 AWG")
    assert line.price == CATALOGUE.prices["wire 10 AWG"].price
    splices = next(line for line in far if line.part == "splice")
    assert splices.quantity == 2 * 3 + 3 * 3  # each strand of 511 to 531 m takes three joints of 152.4 m reels


def test_where_local_code_asks_a_surge_ground_is_bought():
    assert "surge ground" not in counts(parts())
    asked = parts(of=yard(controller={"stations": 4, "at": (-3, 4), "surge_ground": True}))
    assert counts(asked)["surge ground"] == 1
