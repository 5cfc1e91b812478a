"""Manifolds of plans: every place, their files, and what a reader of the files finds in them."""

import csv
import io
from collections import Counter
from itertools import combinations, pairwise

import pytest
from defusedxml import ElementTree
from ezdxf import recover
from pypdf import PdfReader

from benches import shelf
from drawn_plans import CATALOGUE, crowded_plan, plan_named
from rillwright.errors import InputError
from rillwright.jobs.manifold import MANIFOLD_FILES, make_manifolds, manifold_files
from rillwright.model.bench_parts import load_bodies
from rillwright.model.manifold import BenchTerms
from rillwright.model.placed import AT_DEVICES, BOX, IN_MANIFOLD
from rillwright.model.plan import Node
from rillwright.report.manifold_drawing import draw_views, fitted
from rillwright.report.manifold_list import manifold_cautions, manifold_told
from rillwright.report.manifold_views import cut_list, fittings_of, views_of
from rillwright.report.parts_list import manifold_note
from rillwright.report.scale import SHEETS
from rillwright.report.svg import Svg
from rillwright.report.text import text_width
from rillwright.report.workings.manifold import manifold_workings
from rillwright.solvers.takeoff import take_off_plan


def plan_with(kind, units="metric"):
    """A drawn-up plan of four zones at one place, as one of that backflow kind would be; only the bench reads it."""
    plan = crowded_plan(16, units)
    kept = plan.zones[:4]
    names = [zone.id for zone in kept]
    height = None if CATALOGUE.backflow[kind].above_outlets is None else 0.6
    places = [
        place.model_copy(update={"backflow": kind, "device_height": height, "zones": names}) for place in plan.places
    ]
    return plan.model_copy(update={"backflow": kind, "places": tuple(places), "zones": kept})


@pytest.mark.parametrize("kind", list(CATALOGUE.backflow))
@pytest.mark.parametrize("material", ["PE", "PVC schedule 40", "PEX", "copper L"])
def test_every_kind_and_material_is_put_together(kind, material):
    plan = plan_with(kind)
    made = make_manifolds(plan, CATALOGUE, BenchTerms(material=material))
    assert [one.place for one in made] == [place.id for place in plan.places]
    for one in made:
        assert {spot.zone for spot in one.valves} == {z.id for z in plan.zones if z.place == one.place}
        assert (one.heights.critical is None) == (CATALOGUE.backflow[kind].above_outlets is None)
        assert all(piece.lay > 0 for _, piece in one.cuts)


def test_every_part_is_on_the_shelf_and_its_mouths_fit():
    """Each fitting that is named is a row of the table of fittings, or a device of its own."""
    known = {fitting.part for fitting in shelf("metric").table.fittings}
    devices = {f"{kind} {size}" for kind, size in shelf("metric").bodies.bodies}
    for kind in CATALOGUE.backflow:
        for one in make_manifolds(plan_with(kind), CATALOGUE, BenchTerms(drain=True, blow_out=True)):
            assert set(fittings_of(one)) <= known | devices


def test_a_place_with_sixteen_valves():
    plan = crowded_plan(16, "US")
    (made,) = make_manifolds(plan, CATALOGUE, BenchTerms())
    assert len(made.valves) == len(plan.zones) == 16
    stations = [zone.id for zone in sorted(plan.zones, key=lambda zone: zone.station)]
    assert [spot.zone for spot in made.valves] == stations
    shorter = make_manifolds(plan, CATALOGUE, BenchTerms(rows="both sides", order="shortest"))[0]
    assert shorter.span < made.span


def test_the_cut_list_holds_every_pipe_once():
    for kind in CATALOGUE.backflow:
        (made, *_) = make_manifolds(plan_with(kind), CATALOGUE, BenchTerms())
        cuts = cut_list(made)
        assert sum(len(cut.runs) for cut in cuts) == len(made.cuts)
        assert sum(len(cut.runs) * cut.length for cut in cuts) == sum(piece.lay for _, piece in made.cuts)
        assert len({cut.letter for cut in cuts}) == len(cuts)
        rows = list(csv.DictReader(io.StringIO(manifold_files(made, plan_with(kind))["cut-list.csv"].decode())))
        listed = {(row["mark"], row["cut length"], int(row["number"])) for row in rows if row["mark"]}
        assert listed == {(cut.letter, made.grid.show(cut.length), len(cut.runs)) for cut in cuts}


@pytest.mark.parametrize("units", ["metric", "US"])
def test_the_files_open_and_measure_what_they_say(units):
    """DXF reopened and audited by ezdxf: its dimensions measure the lengths in inches or millimetres."""
    plan = plan_with("pressure vacuum breaker", units)
    (made, *_) = make_manifolds(plan, CATALOGUE, BenchTerms())
    files = manifold_files(made, plan)
    assert tuple(files) == MANIFOLD_FILES
    assert files == manifold_files(made, plan)
    ElementTree.fromstring(files["manifold.svg"].decode())
    assert len(PdfReader(io.BytesIO(files["manifold.pdf"])).pages) == 1
    drawing, audit = recover.read(io.BytesIO(files["manifold.dxf"]))
    assert not audit.has_errors
    assert drawing.units == (4 if units == "metric" else 1)
    unit = 1e-3 if units == "metric" else 0.0254
    dimensions = list(drawing.modelspace().query("DIMENSION"))
    wanted = sorted(round(made.grid.metres(d.length) / unit, 6) for view in views_of(made) for d in view.dimensions)
    assert sorted(round(dimension.get_measurement(), 6) for dimension in dimensions) == wanted
    valves = [shape for shape in drawing.modelspace().query("LWPOLYLINE") if shape.dxf.layer == "valve"]
    assert len(valves) >= 3 * len(made.valves)


def test_a_chain_of_dimensions_adds_up_to_the_size_over_all():
    for kind in CATALOGUE.backflow:
        (made, *_) = make_manifolds(plan_with(kind), CATALOGUE, BenchTerms())
        for view in views_of(made):
            for along in "uv":
                chain = [d for d in view.dimensions if d.along == along and d.row == 1]
                whole = [d for d in view.dimensions if d.along == along and d.row == 2]
                if view.name == "from above" and along == "u":
                    assert sum(d.length for d in chain) == whole[0].length


@pytest.mark.parametrize("kind", list(CATALOGUE.backflow))
@pytest.mark.parametrize("rows", ["one side", "both sides"])
@pytest.mark.parametrize("order", ["stations", "shortest"])
def test_no_two_valves_fill_one_place(kind, rows, order):
    """Valves over the ground stand on the header's own line, whichever side their laterals leave by."""
    (made, *_) = make_manifolds(plan_with(kind), CATALOGUE, BenchTerms(rows=rows, order=order))
    bodies = [run.box(piece) for run in made.runs for piece in run.pieces if piece.kind == "valve"]
    assert len(bodies) == len(made.valves) == 4
    for (low, high), (others_low, others_high) in combinations(bodies, 2):
        assert any(low[axis] >= others_high[axis] or others_low[axis] >= high[axis] for axis in range(3))
    assert len({spot.side for spot in made.valves}) == (2 if rows == "both sides" else 1)


def test_valves_over_the_ground_set_too_close_are_told():
    plan = plan_with("atmospheric vacuum breaker")
    (made, *_) = make_manifolds(plan, CATALOGUE, BenchTerms(rows="both sides", spacing=0.08))
    assert made.valves[0].width > 80
    assert "manifold-unscrew" in {finding.rule for finding in made.findings}


@pytest.mark.parametrize(
    ("material", "glued", "soldered"), [("PVC schedule 40", True, False), ("copper L", False, True)]
)
def test_cautions_are_those_of_the_joints_made(material, glued, soldered):
    plan = plan_with("double check")
    piped = [pipe.model_copy(update={"material": material}) for pipe in plan.pipes]
    made, *_ = make_manifolds(plan.model_copy(update={"pipes": piped}), CATALOGUE, BenchTerms())
    cautions = " ".join(manifold_cautions(made))
    assert ("cement" in cautions, "Soldering" in cautions) == (glued, soldered)
    assert "drinking water" in cautions


@pytest.mark.parametrize("kind", list(CATALOGUE.backflow))
@pytest.mark.parametrize("unions", ["both sides", "outlet", "none"])
def test_the_parts_list_holds_just_what_the_bench_puts_together(kind, unions):
    """Counted from both ends: fittings and pipes of the manifolds in the take-off, and pieces of the bench's runs."""
    plan = plan_with(kind)
    valves = plan.yard.valves.model_copy(update={"unions": unions, "isolating": unions != "none"})
    ends = {end: at for pipe in plan.pipes for end, at in ((pipe.start, pipe.path[0]), (pipe.end, pipe.path[-1]))}
    nodes = [Node(id=end, at=at, ground=0.7) for end, at in ends.items()]
    plan = plan.model_copy(update={"yard": plan.yard.model_copy(update={"valves": valves}), "nodes": nodes})
    tally = take_off_plan(plan, CATALOGUE)
    placed = [one for one in tally.placed() if one.why in (IN_MANIFOLD, AT_DEVICES) and one.where != "water entry"]
    listed, built, cut = Counter(), Counter(), Counter()
    for one in placed:
        listed[one.part] += one.number
    made = make_manifolds(plan, CATALOGUE)
    for piece in (piece for one in made for run in one.runs for piece in run.pieces):
        if piece.kind == "pipe":
            cut[piece.what, piece.lay] += 1
        elif piece.kind not in ("valve", "device", "drain valve", "blow-out fitting", "arm"):
            built[piece.what] += 1
    assert listed == built
    pieces, metres = Counter(), Counter()
    for one, length in tally.laid():
        if one.why in (IN_MANIFOLD, AT_DEVICES) and one.where != "water entry":
            pieces[one.part] += one.number
            metres[one.part] += round(1000 * length)
    for part in dict.fromkeys(part for part, _ in cut):
        own = {length: number for (name, length), number in cut.items() if name == part}
        assert pieces.pop(part) == sum(own.values())
        assert metres[part] == sum(length * number for length, number in own.items())
        assert Counter(own) <= Counter(length for length, _ in tally.pieces_of(part))
    assert not pieces
    assert sum(part.startswith("union") for part in built.elements()) >= len(plan.zones) * (
        ("none", "outlet", "both sides").index(unions)
    )
    parts = {line.part: line for line in tally.lines(CATALOGUE.prices, stock=CATALOGUE.stock)}
    assert all(parts[part].quantity >= number and parts[part].price > 0 for part, number in built.items())


def test_other_terms_are_told_as_changes_of_the_parts_list():
    plan = plan_named("small")
    (made, *_) = make_manifolds(plan, CATALOGUE)
    assert dict(manifold_told(made, plan))["to buy"] == "all of it is in the plan's parts list"
    (bare, *_) = make_manifolds(plan, CATALOGUE, BenchTerms(unions="none"))
    told = dict(manifold_told(bare, plan))
    known = {fitting.part for fitting in shelf("metric").table.fittings}
    counted = Counter({part: number for part, number in fittings_of(made).items() if part in known})
    for name, sign in (("beyond the parts list", 1), ("in the parts list only", -1)):
        for words in filter(None, told.get(name, "").split(", ")):
            number, _, part = words.partition(" x ") if words[:1].isdigit() else ("1", "", words)
            counted[part] += sign * int(number)
    assert "union" in told["in the parts list only"]
    box = {line.part for line in plan.parts if line.part.startswith(BOX)}
    assert box == {f"{BOX}{made.fit.cover}"}
    counted.update(box)
    own = {part: number for part, number in fittings_of(bare).items() if part in known} | {f"{BOX}{bare.fit.cover}": 1}
    assert {part: number for part, number in counted.items() if number} == own
    assert made.place in manifold_note(plan)


@pytest.mark.parametrize("kind", list(CATALOGUE.backflow))
@pytest.mark.parametrize("units", ["metric", "US"])
def test_the_views_fill_their_paper_and_no_more(kind, units):
    """Every line and outline lies in the field; at the next larger scale, on this paper, they would not."""
    plan = plan_with(kind, units)
    (made, *_) = make_manifolds(plan, CATALOGUE, BenchTerms())
    sheet, (ratio, _) = fitted(made, SHEETS[units])

    def drawn(ratio):
        svg = Svg(sheet.width, sheet.height, name="views", title="views")
        draw_views(svg, made, plan, sheet, ratio)
        found = []
        for shape in ElementTree.fromstring(svg.render()).iter():
            if shape.tag.endswith("rect"):
                x, y, wide, high = (float(shape.get(name)) for name in ("x", "y", "width", "height"))
                found += [(x, y), (x + wide, y + high)]
            if shape.tag.endswith("polyline"):
                found += [tuple(map(float, pair.split(","))) for pair in shape.get("points").split()]
        return found

    left, top, right, bottom = sheet.field
    assert len(drawn(ratio)) > 50
    assert all(left <= x <= right and top <= y <= bottom for x, y in drawn(ratio))
    assert any(x > right or y > bottom for x, y in drawn(ratio / 2))


@pytest.mark.parametrize("units", ["metric", "US"])
def test_words_of_dimensions_on_one_line_never_overlap(units):
    """Valves of several sizes by turns, so that steps differ: words on a line stand apart, and none is left out."""
    plan = crowded_plan(16, units)
    flows = [zone.model_copy(update={"flow": (2e-4, 9e-4, 2e-3)[n * n % 3]}) for n, zone in enumerate(plan.zones)]
    plan = plan.model_copy(update={"zones": tuple(flows)})
    (made, *_) = make_manifolds(plan, CATALOGUE, BenchTerms(unions="outlet"))
    sheet, (ratio, _) = fitted(made, SHEETS[units])
    svg = Svg(sheet.width, sheet.height, name="views", title="views")
    draw_views(svg, made, plan, sheet, ratio)
    lines, told = {}, set()
    for text in ElementTree.fromstring(svg.render()).iter("{http://www.w3.org/2000/svg}text"):
        told.add(text.text)
        upright = text.get("transform") is not None
        x, y = float(text.get("x")), float(text.get("y"))
        if text.get("text-anchor") == "middle" and text.get("font-weight") is None:
            wide = text_width(text.text, float(text.get("font-size")))
            along, line = (-y, x) if upright else (x, y)
            lines.setdefault((upright, round(line, 2)), []).append((along - wide / 2, along + wide / 2))
    assert lines
    for spans in lines.values():
        spans.sort()
        assert all(one[1] <= two[0] for one, two in pairwise(spans))
    assert {one.words for view in views_of(made) for one in view.dimensions} <= told


def test_wrong_terms_are_refused_in_words():
    plan = plan_with("double check")
    with pytest.raises(InputError, match="no valve place 'V9'"):
        make_manifolds(plan, CATALOGUE, BenchTerms(), place="V9")
    with pytest.raises(InputError, match="no valve places"):
        make_manifolds(plan.model_copy(update={"places": ()}), CATALOGUE, BenchTerms())
    with pytest.raises(InputError, match="the fittings leave"):
        make_manifolds(plan, CATALOGUE, BenchTerms(spacing=0.02))


def test_a_valve_that_was_measured_moves_the_cut_list(tmp_path):
    """A valve 10 mm wider stands 10 mm further from the next; one 12 mm longer reaches 12 mm further."""
    plan = plan_with("reduced pressure zone")
    (before,) = make_manifolds(plan, CATALOGUE, BenchTerms())
    size = before.valves[0]
    kind, trade = "in-line valve", next(p.what for r in before.runs for p in r.pieces if p.kind == "valve")[-6:]
    body = shelf("metric").body(kind, trade)
    table = shelf("metric").table
    length = sum(table.of(f"{kind} {trade}").takeoffs) + 2 * table.joints["thread", trade].depth
    row = [kind, trade, 1000 * length + 12, "", "", 1000 * body.width + 10, 100, 30, 100, "", "calliper"]
    names = ["length", "reach", "rise", "width", "above", "below", "swing", "critical"]
    header = ["body", "trade_size", *(f"{name}_mm" for name in names), "source"]
    path = tmp_path / "mine.csv"
    path.write_text(",".join(header) + "\n" + ",".join(map(str, row)) + "\n", encoding="utf-8")
    (after,) = make_manifolds(plan, CATALOGUE, BenchTerms(), bodies=load_bodies(path))
    assert after.gaps[0].length - before.gaps[0].length == 10
    assert size.width + 10 == after.valves[0].width
    lengths = [[run.length for run in made.runs if run.name == size.zone] for made in (before, after)]
    assert lengths[1][0] - lengths[0][0] == 12


@pytest.mark.parametrize("kind", list(CATALOGUE.backflow))
def test_workings_come_out_again(kind):
    for one in make_manifolds(plan_with(kind), CATALOGUE, BenchTerms()):
        found = {working.key: working for working in manifold_workings(one)}
        again = [working for working in found.values() if working.again is not None]
        assert len(again) == 2 * len(one.gaps) + len(one.runs)
        for working in again:
            assert working.again == pytest.approx(working.value, abs=1e-12), working.key
