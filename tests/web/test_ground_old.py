"""What is in the ground already, and curved edges, drawn in the page at both sizes. The yard is invented."""

import math

import pytest

from web_drawing import begin, document_of, square, tool


def typed(page, *points):
    """Put points by typed lengths and directions, as x and y first."""
    page.get_by_role("application").focus()
    for one, two in points:
        page.keyboard.type(str(one))
        page.keyboard.press("Tab")
        page.keyboard.type(str(two))
        page.keyboard.press("Enter")


def test_old_heads_pipes_and_places_are_drawn_moved_and_told(anywhere, ask, keep_picture, grave_faults):
    begin(anywhere, f"Part-built on the {anywhere.size}", "metric")
    square(anywhere, 10)
    tool(anywhere, "old pipe")
    typed(anywhere, (1, 1), (6, 0), (3, 90))
    anywhere.get_by_role("button", name="End", exact=True).click()
    (pipe,) = document_of(anywhere, ask)["existing"]["pipes"]
    assert pipe["role"] == "lateral"
    assert [tuple(round(value, 6) for value in point) for point in pipe["path"]] == [(1, 1), (7, 1), (7, 4)]
    anywhere.get_by_role("application").focus()
    anywhere.keyboard.press("ArrowUp")
    (pipe,) = document_of(anywhere, ask)["existing"]["pipes"]
    assert pipe["path"][0][1] == pytest.approx(1.25)
    for name, kind in (("old head", "heads"), ("old valve place", "places")):
        tool(anywhere, name)
        anywhere.get_by_role("application").focus()
        anywhere.keyboard.press("ArrowRight")
        anywhere.keyboard.press(" ")
        (item,) = document_of(anywhere, ask)["existing"][kind]
        assert len(item["at"]) == 2
        anywhere.keyboard.press("Escape")
    assert grave_faults(anywhere) == []
    keep_picture(anywhere)
    document = document_of(anywhere, ask)
    told = [p["path"] for p in ask("POST", "/api/board/check", {"document": document})["problems"] if "path" in p]
    assert not [path for path in told if "existing" in path]


def test_a_curve_becomes_short_edges_close_to_the_arc(anywhere, ask, keep_picture):
    """Half a circle of 5 m by way of (10, 5), with chords 2 cm off it at most: its area is pi r² / 2 less 1 %."""
    begin(anywhere, f"Curved on the {anywhere.size}", "metric")
    tool(anywhere, "lawn")
    typed(anywhere, (5, 0))
    curve = anywhere.get_by_role("button", name="Curve")
    curve.focus()
    anywhere.keyboard.press("Enter")
    typed(anywhere, (math.hypot(5, 5), 45), (math.hypot(0, 10), 90))
    anywhere.get_by_role("button", name="Close", exact=True).click()
    (lawn,) = document_of(anywhere, ask)["areas"]
    outline = lawn["outline"]
    assert len(outline) == 19
    assert all(math.hypot(x - 5, y - 5) == pytest.approx(5, abs=2e-3) for x, y in outline)
    around = zip(outline, [*outline[1:], outline[0]], strict=True)
    area = abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in around)) / 2
    assert area == pytest.approx(math.pi * 25 / 2, rel=0.01)
    keep_picture(anywhere)


def test_typed_figures_keep_their_order_however_late_the_screen_is_drawn(anywhere, keep_picture):
    """A slow phone draws long after the keys: the caret must stand behind the first figure before the second comes."""
    begin(anywhere, f"Typed fast on the {anywhere.size}", "metric")
    tool(anywhere, "buried line")
    anywhere.evaluate("() => { window.requestAnimationFrame = (draw) => setTimeout(draw, 200); }")
    typed(anywhere, (1, 1))
    board = anywhere.get_by_role("application")
    board.focus()
    anywhere.keyboard.type("123456789.25", delay=40)
    assert anywhere.get_by_role("textbox", name="length", exact=True).input_value() == "123456789.25"
    anywhere.keyboard.press("Tab")
    anywhere.keyboard.type("90")
    told = anywhere.get_by_role("group", name="Tape").get_by_text("farther off than 20 km")
    told.wait_for()
    anywhere.keyboard.press("Enter")
    assert anywhere.get_by_role("button", name="End", exact=True).is_disabled()  # no corner was put there
    keep_picture(anywhere)
