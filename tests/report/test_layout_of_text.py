"""Labels, wrapping, paper and the chart's names."""

import itertools

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from rillwright.report.charts import spread_out
from rillwright.report.labels import LabelBoard
from rillwright.report.scale import fit_view
from rillwright.report.text import ASCENT, shorten, text_width, wrap

point = st.tuples(st.floats(5, 95), st.floats(5, 95))


@settings(max_examples=40)
@given(st.lists(point, min_size=2, max_size=40))
def test_labels_never_cover_one_another_or_a_mark(points):
    board = LabelBoard((0, 0, 100, 100))
    marks = [(x - 1, y - 1, x + 1, y + 1) for x, y in points]
    board.block(marks)
    boxes = []
    for x, y in points:
        spot = board.place(x, y, ["H12"], 2.5)
        if spot:
            top = spot[1] - ASCENT * 2.5
            boxes.append((spot[0], top, spot[0] + text_width("H12", 2.5), top + 2.5))
    for a, b in itertools.chain(itertools.combinations(boxes, 2), itertools.product(boxes, marks)):
        assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
    assert all(a[0] >= 0 and a[2] <= 100 and a[1] >= 0 and a[3] <= 100 for a in boxes)


def test_a_label_goes_round_a_line_when_it_can_and_over_it_when_it_must():
    line = shapely.LineString([(52, 0), (52, 100)])
    free, hemmed = LabelBoard((0, 0, 100, 100)), LabelBoard((50.5, 40, 70, 60))
    free.avoid({"a": line})
    hemmed.avoid({"a": line, "b": shapely.LineString([(60, 0), (60, 100)])})
    left = free.place(51, 50, ["H12"], 2.5)[0]
    assert left + text_width("H12", 2.5) < 52 or left > 52
    assert hemmed.place(51, 50, ["a rather long label"], 1.8) is not None


def test_a_size_may_lie_on_its_own_pipe_but_on_no_other():
    board = LabelBoard((0, 0, 100, 100))
    board.avoid({"mine": shapely.LineString([(0, 50), (100, 50)]), "other": shapely.LineString([(0, 20), (100, 20)])})
    assert board.claim(50, 20, "1 in", 2.5, own="mine") is None
    assert board.claim(50, 50, "1 in", 2.5, own="mine") is not None


@given(st.text(alphabet="abc mW-", min_size=1, max_size=120), st.floats(12, 60))
@settings(max_examples=40)
def test_wrapped_lines_keep_to_the_measure(words, wide):
    for line in wrap(words, 2.6, wide):
        assert text_width(line, 2.6) <= wide


def test_a_text_that_fits_is_not_shortened():
    assert shorten("front lawn", 2.6, 40) == "front lawn"
    assert shorten("front lawn", 2.6, 10).endswith("…")


def test_bold_is_wider():
    assert text_width("V1: Z1 to Z5", 2.6, bold=True) > text_width("V1: Z1 to Z5", 2.6)


@pytest.mark.parametrize(
    ("size", "system", "paper", "scale"),
    [
        ((12.0, 8.0), "metric", "A4", "1:75"),
        ((4.0, 25.0), "metric", "A4 portrait", "1:100"),
        ((40.0, 25.0), "metric", "A3", "1:150"),
        ((20.0, 45.0), "metric", "A3 portrait", "1:125"),
        ((40.0, 25.0), "US", "tabloid", "1 in = 15 ft"),
    ],
)
def test_paper_is_turned_and_chosen_for_the_largest_customary_scale(size, system, paper, scale):
    view = fit_view((0, 0, *size), system=system)
    assert (view.sheet.name, view.name) == (paper, scale)


@given(st.floats(1, 400), st.floats(1, 400), st.sampled_from(["US", "metric"]))
def test_the_whole_site_lies_in_the_drawing_field(wide, high, system):
    view = fit_view((-3, 7, wide - 3, high + 7), system=system)
    left, top, right, bottom = view.sheet.field
    for x, y in ((-3, 7), (wide - 3, high + 7)):
        px, py = view.xy(x, y)
        assert left <= px <= right
        assert top <= py <= bottom


@given(st.lists(st.floats(0, 100), min_size=1, max_size=30))
def test_names_on_the_chart_are_spread_out(places):
    out = spread_out(sorted(places), gap=4, low=2, high=98)
    gap = min(4, 96 / max(1, len(places) - 1))
    assert all(b - a >= gap - 1e-9 for a, b in itertools.pairwise(out))
    assert out[0] >= 2 - 1e-9
    assert out[-1] <= 98 + 1e-9
