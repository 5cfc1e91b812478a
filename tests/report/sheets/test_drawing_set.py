"""The drawing set as it lies on the table: legible, to scale, whole, and the same every time. Yards are invented."""

import io
import itertools
import re

import numpy as np
import pypdf
import pytest
import segno
import shapely
from defusedxml import ElementTree

from drawing_sets import ADDRESS, SETS, block, drawn_set, letters_of, paper_of, titles, told_of
from drawn_plans import plan_named
from printed import SVG, pages_of, words_of
from rillwright.report.sheet import pdf_of
from rillwright.report.sheets import KINDS, drawing_set, kinds_named

OVERLAP = 0.05  # [mm]


def crossing(boxes):
    """Pairs of boxes that cover one another by more than OVERLAP both ways."""
    shrunk = shapely.box(*(boxes + OVERLAP / 2 * np.array([1, 1, -1, -1])).T)
    first, second = shapely.STRtree(shrunk).query(shrunk, predicate="intersects")
    return [(a, b) for a, b in zip(first.tolist(), second.tolist(), strict=True) if a < b]


@pytest.mark.parametrize("case", SETS)
def test_text_is_seven_points_within_the_margins_and_covers_no_other(case):
    """Every letter of the PDF, read by another program; three that follow one another may be one ligature."""
    for (width, height, found), svg in zip(letters_of(*case), drawn_set(*case), strict=True):
        boxes = np.array([ink for _, ink, _ in found])
        assert min(size for _, _, size in found) >= 7 - 1e-3
        assert boxes.min() > 8
        assert boxes[:, 2].max() < width - 8
        assert boxes[:, 3].max() < height - 8
        clashes = [(a, b) for a, b in crossing(boxes) if b - a > 2]
        shown = ["".join(found[n][0] for n in range(max(a - 8, 0), a + 8)) for pair in clashes for a in pair]
        assert not clashes, (titles(svg), shown)


@pytest.mark.parametrize("case", [SETS[0], SETS[2], SETS[4]])
def test_a_measured_scale_bar_is_as_long_as_it_says(case):
    """Rendered at 300 dots to the inch and measured in dots, to 0.5 mm."""
    dot = 25.4 / 300  # [mm]
    measured = 0
    drawn = zip(pages_of(paper_of(*case)), letters_of(*case), drawn_set(*case), strict=True)
    for page, (width, height, found), svg in drawn:
        scale = re.search(r"1:(\d+) on|1 in = (\d+) ft on", " ".join(block(svg)))
        if not scale or titles(svg)[0].startswith("Manifold"):  # that is full of dimensions
            continue
        ratio = float(scale[1]) if scale[1] else 12.0 * float(scale[2])
        furniture = words_of(svg)
        zero = furniture.index("0")
        number, name = furniture[zero + 2].split()
        said = float(number) * (304.8 if name == "ft" else 1000.0) / ratio  # [mm]
        picture = np.asarray(page.render(scale=300 / 72, grayscale=True).to_pil())
        zeros = [ink for letter, ink, _ in found if letter == "0" and ink[0] > width - 83 and ink[3] < height - 25]
        lowest = max(ink[3] for ink in zeros)
        left, bottom = min((ink[0], ink[3]) for ink in zeros if ink[3] > lowest - 0.5)
        rows = picture[int(bottom / dot) + 4 : int((bottom + 2.6) / dot), int((left - 1) / dot) :] < 128
        longest = max(len(list(run)) for row in rows for dark, run in itertools.groupby(row) if dark)
        assert longest * dot == pytest.approx(said, abs=0.5)
        measured += 1
    assert measured >= 3


@pytest.mark.parametrize("case", SETS)
def test_sheets_are_numbered_through_and_say_what_they_are(case):
    sheets = drawn_set(*case)
    name = plan_named(case[0]).yard.name
    for number, svg in enumerate(sheets, start=1):
        title, told = titles(svg)
        words = block(svg)
        assert told == f"{number} of {len(sheets)}"
        assert "invented yard: no such place exists" in words
        assert name.startswith(words[1].removesuffix("…"))
        assert title
        assert any(words[2].endswith(f"on {paper}") for paper in ("A4", "A3", "letter", "tabloid"))


def test_a_yard_that_is_not_invented_is_not_called_so():
    told = told_of("crowded", "a4", None)
    real = told.plan.model_copy(update={"yard": told.plan.yard.model_copy(update={"note": "behind the mill"})})
    sheets = drawing_set(told.__class__(plan=real, ground=told.ground, paper=told.paper))
    assert not any("nvented yard" in words for svg in sheets for words in words_of(svg))
    assert all(words != "2027-05-08" for svg in sheets for words in words_of(svg))


@pytest.mark.parametrize("case", SETS)
def test_every_head_trench_and_pipe_is_on_its_sheets_by_name(case):
    plan = plan_named(case[0])
    printed = {}
    for svg in drawn_set(*case):
        kind = titles(svg)[0].split(", part ")[0]
        printed.setdefault(kind, set()).update(words_of(svg))
    heads = {head.id for head in plan.heads}
    assert heads <= printed.get("Site and heads", set())
    assert heads <= printed.get("Schedules", set())
    assert heads <= printed.get("Commissioning form", set()) or not plan.zones
    assert {pipe.id for pipe in plan.pipes} <= printed.get("Schedules", set())
    assert {trench.id for trench in plan.trenches} <= printed.get("Schedules", set())
    assert {line.id for line in plan.parts} <= printed.get("Parts", set())
    assert {placed.where for placed in plan.placed} <= printed.get("Parts by place", set())
    cuts = {f"{cut.form} {n}" for cutting in plan.cutting for n, cut in enumerate(cutting.cuts, start=1)}
    assert cuts <= printed.get("Cutting plan", set())
    assert any(words.startswith("Verdict:") for words in printed["Cover"])
    assert any("Have buried services located" in words for words in printed["Cover"])


def test_a_plan_without_zones_still_has_its_cover_and_its_site():
    kinds = [titles(svg)[0] for svg in drawn_set(*SETS[5])]
    assert kinds[0] == "Cover"
    assert "Site and heads" in kinds
    bare = plan_named("too little water")
    empty = dict.fromkeys(("heads", "lawns", "zones", "places", "nodes", "pipes", "trenches", "parts", "nozzles"), ())
    told = told_of("too little water", "a4", None)
    plan = bare.model_copy(update=empty | {"cost": None})
    sheets = drawing_set(told.__class__(plan=plan, ground=told.ground, paper=told.paper))
    assert [titles(svg)[0] for svg in sheets] == ["Cover", "Site and heads"]


def test_the_code_holds_the_address_of_the_plan():
    """Dark modules as drawn against those of the code, ISO/IEC 18004 as the library has it; what else reads them?"""
    svg = drawn_set(*SETS[1])[0]
    group = next(g for g in ElementTree.fromstring(svg).iter(f"{SVG}g") if g.get("id") == "cover1-code")
    rects = [[float(rect.get(side)) for side in ("x", "y", "width", "height")] for rect in group]
    module = min(rect[3] for rect in rects)
    assert module >= 0.4
    dark = [list(row) for row in segno.make(ADDRESS, micro=False, error="m").matrix]
    x0, y0 = min(r[0] for r in rects), min(r[1] for r in rects)
    drawn = [[0] * len(dark) for _ in dark]
    for x, y, wide, _ in rects:
        for n in range(round(wide / module)):
            drawn[round((y - y0) / module)][round((x - x0) / module) + n] = 1
    assert drawn == dark


def test_the_same_plan_gives_the_same_bytes_and_no_clock():
    sheets = drawn_set(*SETS[1])
    again = drawing_set(told_of(*SETS[1]))
    assert sheets == again
    data = paper_of(*SETS[1])
    assert data == pdf_of(again)
    assert len(pypdf.PdfReader(io.BytesIO(data)).pages) == len(sheets)
    assert not re.search(rb"D:20\d\d", data)


def test_some_sheets_alone_keep_the_order_of_the_set():
    told = told_of("crowded", "a3", None)
    sheets = drawing_set(told, kinds_named(["pipes", "heads"]))
    assert [titles(svg) for svg in sheets] == [("Site and heads", "1 of 2"), ("Zones and pipes", "2 of 2")]
    assert kinds_named([]) == KINDS
