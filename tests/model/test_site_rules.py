import math

import pytest

from rillwright.model.site import Yard
from rillwright.model.site_rules import check_yard, doubts
from rillwright.physics import units

SQUARE = [(0, 0), (20, 0), (20, 10), (0, 10)]


def box(left, low, right, high):
    return [(left, low), (right, low), (right, high), (left, high)]


def area(name, kind, outline, *holes):
    return {"id": name, "kind": kind, "outline": outline, "holes": list(holes)}


def yard(*areas, system="metric", **changes) -> Yard:
    """A sound yard in SI, with changes."""
    facts = {
        "name": "Test",
        "units": system,
        "areas": list(areas) or [area("lawn", "lawn", SQUARE)],
        "spot_heights": [
            {"at": (0, 0), "height": 0},
            {"at": (20, 0), "height": 0},
            {"at": (0, 10), "height": 1},
            {"at": (20, 10), "height": 1},
        ],
        "water_entry": {"at": (0, 5), "height": 0, "pipe": {"material": "copper L", "size": "3/4 in", "length": 20}},
        "supply": [{"kind": "bucket fill", "volume": 0.02, "seconds": [17, 17.4, 17.2]}],
        "controller": {"stations": 4},
        "backflow": {"allowed": ["pressure vacuum breaker"]},
    }
    return Yard.model_validate(facts | changes)


def entry(**changes):
    pipe = {"material": "copper L", "size": "3/4 in", "length": 20}
    return {"at": (0, 5), "height": 0, "pipe": pipe} | changes


def only(the_yard: Yard):
    problems = check_yard(the_yard)
    assert len(problems) == 1, problems
    return problems[0]


def test_a_sound_yard_has_no_problem_and_no_doubt():
    assert check_yard(yard()) == []
    assert doubts(yard()) == []


@pytest.mark.parametrize(
    ("outline", "path", "said"),
    [
        ([(0, 0), (20, 10), (20, 0), (0, 10)], "areas[0].outline", "crosses or touches itself near (10, 5)"),
        ([(0, 0), (10, 0), (20, 0)], "areas[0].outline", ""),
        ([(0, 0), (0, 0), (20, 0), (0, 10)], "areas[0].outline[0]", "same point as areas[0].outline[1]"),
        ([(0, 0), (20, 0), (20, 10), (0, 0)], "areas[0].outline[3]", "repeats the first point"),
        ([(0, 0), (10, 0), (10, 5), (20, 5), (20, 10), (10, 10), (10, 5), (0, 5)], "areas[0].outline", "near (10, 5)"),
    ],
)
def test_outline_that_is_not_simple_says_where(outline, path, said):
    problem = only(yard(area("lawn", "lawn", outline)))
    assert problem.path == path
    assert said in problem.value


def test_crossing_is_told_in_the_units_of_the_file():
    crossing = [(0, 0), (6.096, 3.048), (6.096, 0), (0, 3.048)]
    assert "near (10, 5)" in only(yard(area("lawn", "lawn", crossing), system="US")).value


@pytest.mark.parametrize(
    ("holes", "path", "said"),
    [
        ([box(18, 2, 22, 4)], "areas[0].holes[0]", "reaches outside"),
        ([box(2, 2, 6, 6), box(5, 5, 8, 8)], "areas[0].holes[1]", "overlaps areas[0].holes[0]"),
        ([box(2, 2, 6, 6), box(6, 2, 8, 6)], "areas[0].holes", "touch along a line"),
        ([box(0, 2, 6, 6)], "areas[0].holes", "touch along a line"),
        ([[(2, 2), (6, 6), (6, 2), (2, 6)]], "areas[0].holes[0]", "crosses or touches itself near (4, 4)"),
    ],
)
def test_holes_lie_inside_and_apart(holes, path, said):
    problem = only(yard(area("lawn", "lawn", SQUARE, *holes)))
    assert (problem.path, said in problem.value) == (path, True)


def test_ids_are_used_once_over_areas_and_trees():
    twice = yard(area("a", "lawn", SQUARE), area("b", "bed", box(0, 0, 1, 1)), trees=[{"id": "a", "at": (5, 5)}])
    assert only(twice).path == "trees[0].id"


def circle(points):
    turn = 2 * math.pi / points
    return [(10 + 9 * math.cos(turn * k), 5 + 4 * math.sin(turn * k)) for k in range(points)]


def test_ten_thousand_points_are_allowed_and_one_more_is_not():
    rings = [area("lawn", "lawn", circle(5000)), area("bed", "bed", [(x, y / 9) for x, y in circle(4997)])]
    assert check_yard(yard(*rings, area("b", "bed", box(0, 0, 1, 1)[:3]))) == []
    problem = only(yard(*rings, area("b", "bed", box(0, 0, 1, 1))))
    assert problem.path == "areas"
    assert "10001 points" in problem.value
    assert "Simplify" in problem.allowed


def test_no_lawn_and_an_empty_lawn_are_problems():
    assert only(yard(area("house", "building", SQUARE))).path == "areas"
    covered = yard(
        area("lawn", "lawn", SQUARE), area("patch", "lawn", box(0, 0, 5, 5)), area("house", "building", SQUARE)
    )
    assert [p.path for p in check_yard(covered)] == ["areas[0]", "areas[1]"]
    assert "once 'house' lie over it" in check_yard(covered)[1].value


def test_a_lawn_may_lie_inside_another_but_not_half_over_it():
    patch = area("patch", "lawn", box(2, 2, 6, 6))
    assert check_yard(yard(area("lawn", "lawn", SQUARE), patch)) == []
    assert check_yard(yard(area("lawn", "lawn", SQUARE), area("next", "lawn", box(20, 0, 30, 10)))) == []
    problem = only(yard(area("lawn", "lawn", SQUARE), area("next", "lawn", box(15, 0, 30, 10))))
    assert problem.path == "areas[1]"
    assert "50.0 m² of lawn 'lawn'" in problem.value


def test_degrees_in_a_file_of_metres_are_recognised():
    degrees = [(-30.0 + x / 80_000, 45.0 + y / 110_000) for x, y in SQUARE]
    problem = only(yard(area("lawn", "lawn", degrees)))
    assert "longitude and latitude" in problem.allowed
    assert "Write lengths in m" in only(yard(area("lawn", "lawn", box(0, 0, 0.02, 0.01)))).allowed


def test_hectares_of_lawn_are_a_wrong_unit():
    assert "check the unit" in only(yard(area("lawn", "lawn", box(0, 0, 20_000, 100)))).allowed


@pytest.mark.parametrize(
    ("changes", "path"),
    [
        ({"water_entry": entry(at=(-3.1, 5))}, "water_entry.at"),
        ({"controller": {"stations": 1, "at": (24, 5)}}, "controller.at"),
        ({"trees": [{"id": "far", "at": (22, 5), "root_radius": 1.9}]}, "trees[0].at"),
        ({"spot_heights": [{"at": (90, 5), "height": 0}]}, "spot_heights[0].at"),
        ({"water_entry": entry(height=20)}, "water_entry.height"),
    ],
)
def test_things_far_off_the_ground_are_problems(changes, path):
    assert only(yard(**changes)).path == path


def test_things_just_off_the_ground_are_not():
    near = {"water_entry": entry(at=(-2.9, 5)), "trees": [{"id": "near", "at": (22, 5), "root_radius": 2.1}]}
    assert check_yard(yard(**near)) == []


def spots(*rows):
    return {"spot_heights": [{"at": (x, y), "height": h} for x, y, h in rows]}


def test_two_heights_at_one_place_and_a_wild_height_are_problems():
    problem = only(yard(**spots((0, 0, 0), (5, 5, 1), (0.001, 0, 0.3))))
    assert problem.path == "spot_heights[2].height"
    assert "spot_heights[0] says 0.00 m" in problem.value
    assert check_yard(yard(**spots((0, 0, 0), (5, 5, 1), (0, 0, 0)))) == []
    assert only(yard(**spots((0, 0, 0), (5, 5, 1), (9, 0, 104)))).path == "spot_heights[2].height"


def test_a_pipe_that_no_table_holds_needs_its_bore():
    pipe = {"material": "PVC SDR-21", "size": "1/2 in", "length": 5}
    problem = only(yard(water_entry=entry(pipe=pipe)))
    assert problem.path == "water_entry.pipe.size"
    assert "3/4 in, 1 in" in problem.allowed
    assert check_yard(yard(water_entry=entry(pipe=pipe | {"bore": 0.018}))) == []


@pytest.mark.parametrize(
    ("measured", "path"),
    [
        ({"kind": "gauge at a flow", "pressure": 3e5, "flow": 0}, "supply[0].flow"),
        ({"kind": "static gauge", "pressure": 0}, "supply[0].pressure"),
        ({"kind": "static gauge", "pressure": 3e5, "pressure_error": 0}, "supply[0].pressure_error"),
        ({"kind": "meter reading", "volume": 0.1, "seconds": 0}, "supply[0].seconds"),
        ({"kind": "bucket fill", "volume": 0.02, "seconds": [17, 0]}, "supply[0].seconds[1]"),
        ({"kind": "bucket fill", "volume": 0.02, "seconds": [17, 18], "start_delay": 17}, "supply[0].seconds[0]"),
    ],
)
def test_measurements_that_cannot_be(measured, path):
    assert only(yard(supply=[measured])).path == path


def test_a_street_pressure_of_nothing_is_a_problem():
    assert only(yard(water_entry=entry(street_pressure=0))).path == "water_entry.street_pressure"


def test_open_pipe_faster_than_pipes_run_is_doubted():
    """A 20 L mark read as 60 L: 3.5 L/s in a bore of 19.9 mm (3/4 in copper L, ASTM B88: 0.785 in) is 11 m/s."""
    found = doubts(yard(supply=[{"kind": "bucket fill", "volume": 0.06, "seconds": [17.2]}]))
    assert [(f.rule, f.where) for f in found] == [("open-pipe-velocity", "supply[0]")]
    speed = 0.06 / 17.2 / (math.pi / 4 * (0.785 * units.INCH) ** 2)
    assert units.show(speed, "velocity", "metric") in found[0].what
    wide = {"kind": "bucket fill", "volume": 0.06, "seconds": [17.2], "outlet_bore": 0.05}
    assert doubts(yard(supply=[wide])) == []


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ({"supply": []}, "supply-unmeasured"),
        ({"supply": [{"kind": "bucket fill", "volume": 0.02, "seconds": [15, 22]}]}, "fills-disagree"),
        (
            {
                "supply": [
                    {"kind": "static gauge", "pressure": 3e5},
                    {"kind": "gauge at a flow", "pressure": 4e5, "flow": 1e-3},
                ]
            },
            "gauge-order",
        ),
        ({"supply": [{"kind": "static gauge", "pressure": 3.5}]}, "static-unusual"),
        ({"supply": [{"kind": "static gauge", "pressure": "20 bar"}]}, "static-unusual"),
        (spots((0, 0, 0)), "spot-heights"),
        (spots((0, 0, 0), (1, 0, 0), (0, 1, 0)), "spot-heights"),
    ],
)
def test_each_doubt_fires(changes, rule):
    assert [f.rule for f in doubts(yard(**changes))] == [rule]


def test_three_fills_of_one_bucket_are_doubted_once():
    fills = {"kind": "bucket fill", "volume": 0.06, "seconds": [17.2, 17.4, 17.0]}
    assert [f.rule for f in doubts(yard(supply=[fills]))] == ["open-pipe-velocity"]


def test_gauges_at_two_heights_are_compared_at_the_entry():
    """4 m of water stand for 39 kPa: 300 kPa upstairs with nothing running is more than 330 kPa below."""
    still, running = (
        {"kind": "static gauge", "pressure": 3e5},
        {"kind": "gauge at a flow", "pressure": 3.3e5, "flow": 1e-4},
    )
    level = entry()["height"]
    assert [f.rule for f in doubts(yard(supply=[still, running]))] == ["gauge-order"]
    assert doubts(yard(supply=[still | {"height": level + 4}, running])) == []


def test_ground_without_spot_heights_is_said_to_lie_with_the_entry():
    found = doubts(yard(**spots(), water_entry=entry(height=-2.5)))
    assert "level with the water entry, at -2.50 m" in found[0].what


def test_a_device_already_bought_that_the_code_bars_is_told():
    found = doubts(yard(backflow={"allowed": ["reduced pressure zone"], "owned": "double check"}))
    assert [finding.rule for finding in found] == ["owned-not-allowed"]
    assert doubts(yard(backflow={"allowed": ["double check"], "owned": "double check"})) == []
