"""Manifolds put together: lengths add up exactly, and nothing hangs in the air."""

import csv
import itertools
import math
from importlib import resources

import pytest

from benches import bench, random_bench, shelf
from rillwright.model.manifold import BenchTerms
from rillwright.physics.units import INCH
from rillwright.solvers.manifold import assemble

RIGHT_ANGLE = ("elbow", "tee")


@pytest.fixture(scope="module")
def table():
    """The packaged fittings read apart from the program: take-offs [mm] by part."""
    with resources.files("rillwright.data").joinpath("fittings.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return {row["part"]: [float(row[f"takeoff_{n}_mm"]) for n in (1, 2, 3) if row[f"takeoff_{n}_mm"]] for row in rows}


@pytest.mark.parametrize("seed", range(60))
def test_cut_lengths_and_take_offs_make_the_size_over_all(seed, table):
    """From the first pipe's end to the last along the header, from table and cut list alone, in whole marks."""
    made = assemble(random_bench(seed))
    mark = 1000 * made.grid.mark
    header = next(run for run in made.runs if run.name == "header")
    total, places = 0, []
    for piece in header.pieces:
        if piece.kind == "pipe":
            lay = piece.lay
        elif piece.kind == "tee":
            lay = 2 * round(table[piece.what][0] / mark)
            places.append(total + lay // 2)
        elif piece.kind in ("elbow", "arm"):
            elbow = piece.what or f"elbow {_family(made)} {made.size}"
            lay = round(table[elbow][0] / mark)
            places += [total + lay] * (piece.kind == "elbow")
        else:
            lay = round(sum(table[piece.what]) / mark)
        assert piece.lay == lay, piece
        assert piece.start == total
        total += lay
    assert header.length == total
    axes = [spot.x - header.start[0] for spot in made.valves]
    assert set(axes) <= set(places)
    assert [two - one for one, two in itertools.pairwise(axes)] == [gap.length for gap in made.gaps]


def _family(made):
    return {"PVC schedule 40": "PVC", "PVC SDR-21": "PVC", "copper L": "copper", "copper M": "copper"}.get(
        made.material, made.material
    )


@pytest.mark.parametrize("seed", range(60))
def test_runs_meet_where_they_join_and_risers_come_back_to_their_depth(seed):
    made = assemble(random_bench(seed))
    runs = {run.name: run for run in made.runs}
    depth = made.heights.header
    for name, run in runs.items():
        for end, begin in ((" up", " over"), (" over", " down")):
            if name.endswith(end) or name == end.strip():
                after = runs[name.removesuffix(end.strip()) + begin.strip()]
                assert run.at(run.length) == after.start
        if name.endswith("down"):
            assert run.at(run.length)[2] == depth
        if name == "header":
            assert run.start[2] == depth
    for spot in made.valves:
        assert runs[spot.zone].start == (spot.x, 0, depth)


@pytest.mark.parametrize("seed", range(60))
def test_every_pipe_is_as_long_as_both_its_sockets_hold(seed):
    """No pipe is shorter than the depths of the two joints that it goes into, or over, and something bare between."""
    one = random_bench(seed)
    for run, piece in assemble(one).cuts:
        material, size = piece.what.removeprefix("pipe ").rsplit(" ", 2)[0], piece.what.rsplit(" ", 2)[-2] + " in"
        assert piece.lay >= one.shelf.stub((material, size)), (run.name, piece)


def test_the_shortest_stub_is_two_sockets_of_the_standard():
    """1 in: socket depth 0.875 in at least (ASTM D2466, from memory), twice, and 3 mm of bare pipe: 1-7/8 in."""
    stub = shelf("US").stub(("PVC schedule 40", "1 in"))
    assert stub == math.ceil((2 * 0.875 + 0.118) * 16)
    assert shelf("US").grid.show(stub) == "1-7/8 in"


def test_two_valves_by_hand():
    """1 in valves of 3.125 in with unions (nut 2.5 in): 3.125 in and 25 mm for a hand, 4.11 in, so 4-1/8 in.

    Tee and elbow of 1 in PVC lie 17.5 mm (11/16 in) from centre to socket: the pipe between is 4-1/8 - 1-3/8 in.
    """
    made = assemble(bench())
    (gap,) = made.gaps
    assert made.grid.show(gap.length) == "4-1/8 in"
    assert made.grid.show(gap.cut) == "2-3/4 in"
    assert made.span == gap.length


def test_a_valve_that_is_screwed_off_needs_its_swing():
    """Without a union on the inlet: 4.25 in to its farthest part, half of 3.125 in, 6 mm: 6.05 in, so 6-1/16 in."""
    made = assemble(bench(terms=BenchTerms(unions="outlet")))
    assert made.grid.show(made.gaps[0].length) == "6-1/16 in"
    assert made.heights.bottom < assemble(bench()).heights.bottom  # it turns under its axis too


@pytest.mark.parametrize("system", ["US", "metric"])
def test_a_spacing_of_ones_own_is_kept_and_judged(system):
    tight = assemble(bench(system, sizes=("1 in",) * 3, terms=BenchTerms(spacing=3.5 * INCH)))
    assert {gap.length for gap in tight.gaps} == {tight.grid.near(3.5 * INCH)}
    assert [finding.rule for finding in tight.findings] == ["manifold-unscrew"]
    assert "Z1" in tight.findings[0].what
    short = assemble(bench(system, sizes=("1 in",) * 3, terms=BenchTerms(spacing=2 * INCH)))
    assert [finding.rule for finding in short.findings] == ["manifold-stub", "manifold-unscrew"]
    wide = assemble(bench(system, sizes=("1 in",) * 3, terms=BenchTerms(spacing=6 * INCH)))
    assert not wide.findings


def test_glued_laterals_without_unions_hold_their_valves_fast():
    glued = [branch.__class__("Z1", "in-line valve", "1 in", ("PVC SDR-21", "1 in")) for branch in bench().branches[:1]]
    made = assemble(bench(branches=tuple(glued), terms=BenchTerms(unions="none")))
    assert [finding.rule for finding in made.findings] == ["manifold-unscrew"]
    clamped = assemble(bench(sizes=("1 in",), terms=BenchTerms(unions="none")))
    assert not clamped.findings  # a clamp opens


def test_both_sides_are_never_longer_than_one():
    for count in range(2, 9):
        one, both = (
            assemble(bench(sizes=("1 in",) * count, terms=BenchTerms(rows=rows))) for rows in ("one side", "both sides")
        )
        assert both.span <= one.span
        assert (both.span < one.span) == (count > 2 or both.gaps[0].stub < one.gaps[0].turns)


@pytest.mark.parametrize("seed", range(60))
def test_breakers_stand_as_high_as_the_plan_asks(seed):
    """To the mark, unless the shortest pipe under a breaker already stands higher."""
    one = random_bench(seed)
    made = assemble(one)
    if one.device_height is None:
        assert made.heights.critical is None
        return
    wanted = one.shelf.grid.up(one.device_height)
    risers = [run for run in made.runs if run.way == (0, 0, 1) and run.name != "blow-out"]
    shortest = {one.shelf.stub(one.header), *(one.shelf.stub(one.branch_pipe(b)) for b in one.branches)}
    if all(max(p.lay for p in run.pieces if p.kind == "pipe") not in shortest for run in risers):
        assert made.heights.critical == wanted
    else:
        assert made.heights.critical >= wanted


def test_a_height_under_the_rule_is_found():
    low = bench(breaker="1 in", device_height=0.2, outlet_height=0.1, needed_height=0.405)
    assert "manifold-height" in [finding.rule for finding in assemble(low).findings]
    enough = bench(breaker="1 in", device_height=0.405, outlet_height=0.1, needed_height=0.405)
    assert "manifold-height" not in [finding.rule for finding in assemble(enough).findings]
