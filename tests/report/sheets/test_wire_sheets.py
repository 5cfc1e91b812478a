"""The wire's sheets: strands are told where their run is seen, on no other part. The yard is invented."""

import math
from dataclasses import replace

import shapely
from defusedxml import ElementTree

from drawing_sets import told_of
from printed import SVG
from rillwright.report.sheets import drawing_set, kinds_named
from rillwright.report.sheets.tiles import tiles_of

SCALE = "1:20"


def across(at=None):
    """The small yard on many parts, its controller in the corner farthest from the entry, strands straight between."""
    told = told_of("small", "a4", SCALE)
    plan, entry = told.plan, told.plan.yard.water_entry.at
    x0, y0, x1, y1 = told.ground.extent
    far = at or max(((x, y) for x in (x0, x1) for y in (y0, y1)), key=lambda at: math.dist(at, entry))
    run = plan.wire.runs[0].model_copy(update={"start": "controller", "end": "entry"})
    yard = plan.yard.model_copy(update={"controller": plan.yard.controller.model_copy(update={"at": far})})
    changes = {"yard": yard, "wire": plan.wire.model_copy(update={"runs": (run,)})}
    return replace(told, plan=plan.model_copy(update=changes))


def parts_drawn():
    """Of each part of the site: its window, the runs drawn on it, and the words beside them."""
    found = []
    for text in drawing_set(across(), kinds_named(["wire"])):
        root = ElementTree.fromstring(text)
        clip = next(root.iter(f"{SVG}clipPath"), None)
        if clip is None:
            continue  # the schedule
        x, y, wide, high = (float(clip[0].get(name)) for name in ("x", "y", "width", "height"))
        groups = {group.get("id"): group for group in root.iter(f"{SVG}g") if group.get("id")}
        wires = next(group for name, group in groups.items() if name.endswith("wires"))
        runs = [
            shapely.LineString([tuple(map(float, pair.split(","))) for pair in line.get("points").split()])
            for line in wires.iter(f"{SVG}polyline")
        ]
        words = [element.text for element in root.iter(f"{SVG}text") if (element.text or "").endswith(" strands")]
        found.append((shapely.box(x, y, x + wide, y + high), runs, words))
    return found


def test_strands_are_told_where_their_run_is_seen():
    """One run over several parts: told once on each, there where that part shows it; parts without it have no sheet."""
    drawn = parts_drawn()
    assert len(drawn) > 1
    for window, runs, words in drawn:
        assert sum(window.intersection(run).length > 0 for run in runs) == 1
        assert len(words) == 1


def test_what_stands_on_a_match_line_is_drawn():
    """The controller just where two parts join, and a hair to either side: on one of their sheets at least."""
    told = told_of("small", "a4", SCALE)
    x0, y0, x1, y1 = told.ground.extent
    tiles = tiles_of((x0, y0, x1, y1), told.paper, system="metric", drawn=told.ground.site, scale=told.scale)
    joined = next(tile for tile in tiles if "right" in tile.beside)
    for hair in (-0.004, 0.0, 0.004):
        at = (joined.site[2] + hair, (joined.site[1] + joined.site[3]) / 2)
        sheets = drawing_set(across(at), kinds_named(["wire"]))
        marks = [sum(e.text == "C" for e in ElementTree.fromstring(text).iter(f"{SVG}text")) for text in sheets]
        assert max(marks) == 2, hair  # in the legend, and where it stands
