"""What the plan sheet shows of the throws lies where the water lands."""

import math

import numpy as np
import pytest
import shapely
from defusedxml import ElementTree

from plan_yards import CATALOGUE, planned, planned_example, rectangle, small_yard
from rillwright.model.ground import resolve_ground
from rillwright.model.plan import Head
from rillwright.model.site import Existing
from rillwright.model.throws import strip_outline
from rillwright.report.plan_drawing import draw_plan
from rillwright.solvers.coverage.depth import water_rate
from rillwright.solvers.coverage.grid import Grid

SVG = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize("kind", ["centre strip 4x30 ft", "end strip 4x15 ft", "side strip 4x30 ft"])
@pytest.mark.parametrize("turned", [0.0, 90.0, 215.0])
def test_a_strip_is_drawn_where_its_water_lands(kind, turned):
    strip = Head(
        id="H1",
        lawn="lawn",
        at=(2.0, -1.0),
        ground=0.0,
        head_class="strip",
        nozzle=kind,
        arc_start=turned,
        arc=0.0,
        radius_share=1.0,
        radius=9.0,
        flow=1e-4,
        pressure=200e3,
        hydrozone="turf",
    )
    grid = Grid(-10.0, -13.0, 0.1, 240, 240)
    rate = water_rate([strip], catalogue=CATALOGUE, grid=grid)
    x, y = grid.centres()
    drawn = shapely.contains_xy(strip_outline(strip, CATALOGUE.nozzles[kind]).buffer(0.15), np.ravel(x), np.ravel(y))
    assert rate.ravel()[drawn].sum() == pytest.approx(rate.sum(), rel=1e-3)
    assert strip_outline(strip, CATALOGUE.nozzles[kind]).area == pytest.approx(9.0 * 4 * 0.3048, rel=1e-3)


def test_every_head_shows_its_throw_whether_the_plan_fits_or_not():
    lawn = {"id": "lawn", "kind": "lawn", "outline": rectangle(0, 0, 16, 1.6), "head_classes": ["strip"]}
    house = {"id": "house", "kind": "building", "outline": rectangle(0, -4, 16, 4)}
    for stands in ([{"kind": "static gauge", "pressure": 450}], [{"kind": "static gauge", "pressure": 60}]):
        plan = planned(small_yard(areas=[lawn, house], supply=stands))
        assert plan.heads
        svg = ElementTree.fromstring(draw_plan(plan, resolve_ground(plan.yard)))
        throws = next(group for group in svg.iter(f"{SVG}g") if group.get("id") == "plan-throws")
        assert len(throws) == len(plan.heads)
        assert all(math.isclose(head.arc, 0.0) for head in plan.heads)


def test_what_is_in_the_ground_is_drawn_and_explained():
    plan = planned_example("part-built.yard.json")
    sheet = draw_plan(plan, resolve_ground(plan.yard))
    assert "head in the ground already" in sheet
    bare = plan.model_copy(update={"yard": plan.yard.model_copy(update={"existing": Existing()})})
    assert "in the ground already" not in draw_plan(bare, resolve_ground(bare.yard))
