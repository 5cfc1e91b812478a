"""How manifolds lie in the yard: the elbows that a count apart finds are those of the parts list. All invented."""

import itertools
import math
import random

import pytest

from rillwright.solvers.takeoff.facing import face
from small_takeoff import AT, MEMBERS, pipe, runs, tally, zone

ZONES = [zone(name, 2e-4) for name in MEMBERS]
TURNED = ("where the main comes in at the manifold", "where the main goes on from the manifold", "after valves")


def toward(start, degrees, length=4.0):
    """A place so far from a node."""
    turn = math.radians(degrees)
    return (AT[start][0] + length * math.cos(turn), AT[start][1] + length * math.sin(turn))


def led(lateral, rigid, *, first, second, on):
    """The small plan with its two laterals and the main on at V1 led off by their bearings, each to its old end."""
    small = {run.id: run for run in runs(main="PVC schedule 40" if rigid else "PE", lateral=lateral)}
    for name, degrees in (("A1", first), ("B1", second), ("M2", on)):
        old = small[name]
        by = toward("V1", degrees)
        small[name] = pipe(old.id, old.start, old.end, old.material, old.size, old.zone, by=(by,))
    return tuple(small.values())


def turned_by(degrees, *, rigid):
    """Elbows that turn a way by an angle, from the rule as it is told in docs/theory/parts.md."""
    degrees = abs((degrees + 180) % 360 - 180)
    if not rigid:
        return int(degrees >= 75)
    if degrees < 15:
        return 0
    return 1 if abs(degrees - 45) < 15 or abs(degrees - 90) < 15 else 2


def counted(pipes, *, rigid):
    """The fewest elbows at V1 over every way that its manifold may lie: the main comes in eastward."""
    ways = {run.id: math.degrees(math.atan2(run.path[1][1], run.path[1][0] - 10)) for run in pipes[1:] if run.id in LED}
    best = []
    for header, side in itertools.product((0, 90, -90), (90, -90)):
        leaves = {"M1": 0, "M2": header, "A1": header + side, "B1": header + side}
        ends = {"M1": header, **ways}
        best.append(sum(turned_by(ends[name] - leaves[name], rigid=rigid) for name in leaves))
    return min(best)


LED = ("M2", "A1", "B1")


@pytest.mark.parametrize("rigid", [True, False])
def test_the_elbows_at_a_manifold_are_the_fewest_and_in_the_list(rigid):
    """Laterals and main led off at random: the fewest elbows, counted from angles alone, are those that are bought."""
    dice = random.Random(1)
    for _ in range(40):
        first, second, on = (dice.uniform(-180, 180) for _ in range(3))
        lateral = "copper M" if rigid else "PE"
        pipes = led(lateral, rigid, first=first, second=second, on=on)
        made = tally(pipes=pipes)
        at = [one for one in made.placed() if one.where in ("V1", "Z1", "Z2") and one.why in TURNED]
        bought = sum(one.number for one in at if one.part.startswith("elbow"))
        assert bought == counted(pipes, rigid=rigid)


def test_a_main_straight_on_and_laterals_square_to_it_take_no_elbow():
    pipes = led("copper M", True, first=90, second=90, on=0)
    assert face("V1", ZONES, pipes).quarters == 0
    assert face("V1", ZONES, pipes).side == 1
    mirrored = led("copper M", True, first=-90, second=-90, on=0)
    assert face("V1", ZONES, mirrored).side == -1
    for one in (pipes, mirrored):
        assert counted(one, rigid=True) == 0


def test_a_header_turns_where_that_saves_elbows():
    """All go on eastward, as the main came: one elbow of the main turns the header, and the laterals leave straight."""
    pipes = led("copper M", True, first=0, second=0, on=90)
    found = face("V1", ZONES, pipes)
    assert (found.quarters, found.side) == (1, -1)
    assert found.header == pytest.approx(math.pi / 2)
    lines = {one.part: one for one in tally(pipes=pipes).placed() if one.why in TURNED and one.where == "V1"}
    assert lines["elbow PVC 1 in"].number == 1
