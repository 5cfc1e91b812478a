"""A site on parts that join: nothing is lost between them, and all are to one scale."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point, box

from drawing_sets import told_of
from rillwright.errors import InputError
from rillwright.report.sheets import PAPERS, paper_named, scale_named
from rillwright.report.sheets.book import Book
from rillwright.report.sheets.map_page import map_pages
from rillwright.report.sheets.tiles import LEAST_SCALE, MOST_PARTS, tiles_of

SIDE = st.floats(4, 160)


@settings(max_examples=60)
@given(SIDE, SIDE, st.sampled_from(sorted(PAPERS)), st.sampled_from(["US", "metric"]), st.floats(0, 1), st.floats(0, 1))
def test_every_place_lies_on_a_part_within_its_window(wide, high, paper, system, across, up):
    extent = (-3.0, 5.0, wide - 3.0, high + 5.0)
    tiles = tiles_of(extent, PAPERS[paper], system=system, drawn=box(*extent), scale=None)
    at = (-3.0 + across * wide, 5.0 + up * high)
    on = [tile for tile in tiles if box(*tile.site).buffer(1e-9).covers(Point(at))]
    assert on
    for tile in on:
        x, y = tile.view.xy(*at)
        left, top, right, bottom = tile.window
        assert left - 1e-6 <= x <= right + 1e-6
        assert top - 1e-6 <= y <= bottom + 1e-6
    assert len({tile.view.ratio for tile in tiles}) == 1
    assert tiles[0].view.ratio <= LEAST_SCALE
    assert sum(box(*tile.site).area for tile in tiles) == pytest.approx(wide * high)


@settings(max_examples=30)
@given(st.floats(30, 160), st.floats(30, 160), st.sampled_from(sorted(PAPERS)))
def test_parts_beside_one_another_name_one_another_along_one_line(wide, high, paper):
    extent = (0.0, 0.0, wide, high)
    tiles = tiles_of(extent, PAPERS[paper], system="metric", drawn=box(*extent), scale=(100.0, "1:100"))
    numbered = {tile.number: tile for tile in tiles}
    facing = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}
    edge = {"left": 0, "bottom": 1, "right": 2, "top": 3}
    for tile in tiles:
        for side, number in tile.beside.items():
            other = numbered[number]
            assert other.beside[facing[side]] == tile.number
            assert other.site[edge[facing[side]]] == pytest.approx(tile.site[edge[side]])


def test_no_fewer_parts_would_do():
    """Each way, one part less at this scale would not hold the site: counted by hand from the paper."""
    extent = (0.0, 0.0, 62.0, 40.0)
    tiles = tiles_of(extent, paper_named("a4"), system="metric", drawn=box(*extent), scale=(100.0, "1:100"))
    left, top, right, bottom = tiles[0].view.sheet.field
    room = ((right - left - 14) / 10, (bottom - top - 14) / 10)  # [m] at 1:100
    columns = 1 + max(tile.number for tile in tiles if "top" not in tile.beside) - 1
    rows = len(tiles) // columns
    assert columns * room[0] >= 62 > (columns - 1) * room[0]
    assert rows * room[1] >= 40 > (rows - 1) * room[1]


def test_parts_with_nothing_on_them_are_left_out():
    ell = box(0, 0, 60, 10).union(box(0, 0, 10, 60))
    tiles = tiles_of((0, 0, 60, 60), paper_named("a4"), system="metric", drawn=ell, scale=(100.0, "1:100"))
    assert all(box(*tile.site).intersects(ell) for tile in tiles)
    whole = tiles_of(
        (0, 0, 60, 60), paper_named("a4"), system="metric", drawn=box(0, 0, 60, 60), scale=(100.0, "1:100")
    )
    assert len(tiles) < len(whole)
    assert [tile.number for tile in tiles] == list(range(1, len(tiles) + 1))


def test_a_pipe_over_a_match_line_ends_at_it_on_both_parts():
    told = told_of("crowded US", "letter", "1 in = 5 ft")
    book = Book(told)
    pages = map_pages(book, "Zones and pipes", ("pipes",))
    assert len(pages) > 1
    crossed = 0
    paths = {pipe.id: pipe.path for pipe in told.plan.pipes}
    for page in pages:
        view, window = page.tile.view, page.tile.window
        shown = page.inside({name: [view.xy(*at) for at in path] for name, path in paths.items()})
        for side, number in page.tile.beside.items():
            other = next(each for each in pages if each.tile.number == number)
            there = other.inside({name: [other.tile.view.xy(*at) for at in path] for name, path in paths.items()})
            axis, place = {"left": (0, 0), "top": (1, 1), "right": (0, 2), "bottom": (1, 3)}[side]
            for name in shown.keys() & there.keys():
                ends = [at for at in (shown[name][0], shown[name][-1]) if abs(at[axis] - window[place]) < 1e-6]
                crossed += len(ends)
    assert crossed > 0


def test_too_large_a_scale_is_refused_with_what_to_do():
    with pytest.raises(InputError, match=r"At 1:5 on A4 the yard takes \d+ sheets: choose a smaller scale or larger"):
        tiles_of((0, 0, 90, 90), paper_named("a4"), system="metric", drawn=box(0, 0, 90, 90), scale=(5.0, "1:5"))
    assert MOST_PARTS >= 10


@pytest.mark.parametrize("text", ["100", "1:0", "1:100000", "2:100", "1 in = 0 ft", "1 in = ten ft", ""])
def test_what_is_no_scale_is_refused(text):
    with pytest.raises(InputError, match="write a scale such as 1:100, or 1 in = 10 ft"):
        scale_named(text)


def test_scales_and_papers_are_read_as_typed():
    assert scale_named(" 1 : 125 ") == (125.0, "1:125")
    assert scale_named("1 in=8 ft") == (96.0, "1 in = 8 ft")
    assert paper_named("A3").name == "A3"
    with pytest.raises(InputError, match="--paper b5: write one of a4, a3, letter, tabloid"):
        paper_named("b5")
