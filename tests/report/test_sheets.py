"""The drawings as a reader gets them: nothing covers anything, nothing is too small, and they are to scale."""

import io
import re

import pypdf
import pytest
from defusedxml import ElementTree

from drawn_plans import NAMES, plan_named, sheets_of
from printed import POINT, SVG, texts
from rillwright.report.sheet import pdf_of


def layer(svg, name):
    return next(g for g in ElementTree.fromstring(svg).iter(f"{SVG}g") if g.get("id") == name)


@pytest.mark.parametrize("name", NAMES)
def test_no_text_covers_another(name):
    for svg in sheets_of(name):
        found = list(texts(svg))
        assert len(found) > 10
        for i, (words, _, a) in enumerate(found):
            for other, _, b in found[i + 1 :]:
                apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
                assert apart, f"{words!r} at {a} covers {other!r} at {b}"


@pytest.mark.parametrize("name", NAMES)
def test_text_is_at_least_seven_points_and_stays_on_the_sheet(name):
    for svg in sheets_of(name):
        root = ElementTree.fromstring(svg)
        width, height = (float(root.get(side).removesuffix("mm")) for side in ("width", "height"))
        for words, size, (left, top, right, bottom) in texts(svg):
            assert size >= 7 * POINT, words
            assert left > 3, words
            assert top > 3, words
            assert right < width - 3, words
            assert bottom < height - 3, words


@pytest.mark.parametrize("name", NAMES)
def test_every_head_and_place_is_named(name):
    plan = plan_named(name)
    for svg in sheets_of(name):
        printed = {words for words, _, _ in texts(svg)}
        assert {head.id for head in plan.heads} <= printed
    first = {words for words, _, _ in texts(sheets_of(name)[0])}
    for place in plan.places:
        assert any(words.startswith(f"{place.id}:") for words in first)


@pytest.mark.parametrize("name", ["demo", "crowded"])
def test_labels_keep_off_the_marks_of_heads(name):
    svg = sheets_of(name)[0]
    marks = [tuple(map(float, m)) for m in _mark_boxes(layer(svg, "plan-heads"))]
    assert len(marks) == len(plan_named(name).heads)
    for words, _, (left, top, right, bottom) in texts(svg):
        for x0, y0, x1, y1 in marks:
            assert right <= x0 or x1 <= left or bottom <= y0 or y1 <= top, words


def _mark_boxes(group):
    for element in group:
        tag = element.tag.removeprefix(SVG)
        if tag == "polygon":
            points = [tuple(map(float, p.split(","))) for p in element.get("points").split()]
            xs, ys = zip(*points, strict=True)
            yield min(xs), min(ys), max(xs), max(ys)
        elif tag == "rect":
            x, y, w, h = (float(element.get(k)) for k in ("x", "y", "width", "height"))
            yield x, y, x + w, y + h
        elif tag == "circle":
            x, y, r = (float(element.get(k)) for k in ("cx", "cy", "r"))
            yield x - r, y - r, x + r, y + r


def _printed_ratio(svg):
    title = ElementTree.fromstring(svg).find(f"{SVG}title").text
    metric, feet = re.search(r"1:(\d+)$", title), re.search(r"1 in = (\d+) ft$", title)
    return float(metric[1]) if metric else float(feet[1]) * 12


@pytest.mark.parametrize(("name", "long"), [("demo", 16.5), ("small", 9.0)])
def test_a_known_length_measures_what_the_scale_says(name, long):
    """The demo's house is 16.5 m long, the small yard's 9 m."""
    svg = sheets_of(name)[0]
    house = [p for p in layer(svg, "plan-ground") if p.get("fill") == "#c9ced3"]
    xs = [float(pair.split()[0]) for pair in re.findall(r"[ML]([-\d.]+ [-\d.]+)", house[0].get("d"))]
    assert max(xs) - min(xs) == pytest.approx(1000 * long / _printed_ratio(svg), abs=0.002)


@pytest.mark.parametrize("name", ["demo", "small"])
def test_the_scale_bar_is_as_long_as_it_says(name):
    svg = sheets_of(name)[0]
    words = next(words for words, _, _ in texts(svg) if re.fullmatch(r"[\d.]+ (ft|m)", words))
    number, unit = words.split()
    metres = float(number) * (0.3048 if unit == "ft" else 1.0)
    bar = [e for e in layer(svg, "plan-column").iter(f"{SVG}rect") if e.get("height") == "1.4"]
    long = sum(float(e.get("width")) for e in bar)
    assert long == pytest.approx(1000 * metres / _printed_ratio(svg), abs=0.01)


def test_the_pdf_has_the_sheets_size_and_its_text_in_place():
    sheets = sheets_of("demo")
    pdf = pypdf.PdfReader(io.BytesIO(pdf_of(sheets)))
    assert len(pdf.pages) == 2
    for page, svg in zip(pdf.pages, sheets, strict=True):
        root = ElementTree.fromstring(svg)
        width, height = (float(root.get(side).removesuffix("mm")) for side in ("width", "height"))
        assert float(page.mediabox.width) == pytest.approx(width / POINT, abs=0.01)
        assert float(page.mediabox.height) == pytest.approx(height / POINT, abs=0.01)
        words = page.extract_text()
        assert "Corner lot with a terrace" in words
        for head in plan_named("demo").heads:
            assert re.search(rf"{head.id}(?!\d)", words), head.id


def test_the_sheets_can_stand_in_one_page_without_sharing_an_id():
    ids = [e.get("id") for svg in sheets_of("demo") for e in ElementTree.fromstring(svg).iter() if e.get("id")]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("name", NAMES)
def test_the_legend_names_what_is_drawn_and_nothing_else(name):
    plan = plan_named(name)
    words = " | ".join(t for t, _, _ in texts(sheets_of(name)[0]))
    drawn = {
        "sleeve": any(trench.sleeve for trench in plan.trenches),
        "controller": plan.yard.controller.at is not None,
        "valve place": bool(plan.places),
        "tree and": bool(plan.yard.trees),
        "main": any(pipe.role == "main" for pipe in plan.pipes),
        "head: rotary": any(head.head_class == "rotary" for head in plan.heads),
        "head: spray": any(head.head_class == "spray" for head in plan.heads),
    }
    assert {word for word in drawn if word in words} == {word for word, there in drawn.items() if there}
