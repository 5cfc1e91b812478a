"""Drawing the yard in the page, as a person at the desk or with a phone does it."""

import json

import pytest

from web_drawing import begin, document_of, square, tool, type_into_field


def test_the_mouse_is_drawn_to_corners_right_angles_and_the_grid(desk, ask):
    board = begin(desk, "Snapping", "metric")
    square(desk, 10)
    desk.get_by_role("button", name="Whole yard").click()
    tool(desk, "bed")
    desk.get_by_role("group", name="Tape").wait_for()
    box = board.bounding_box()
    at = lambda x, y: {"x": x - box["x"], "y": y - box["y"]}  # noqa: E731
    corner = desk.locator("path.lawn").bounding_box()
    left, top, size = corner["x"], corner["y"], corner["width"]
    low = top + corner["height"]
    board.click(position=at(left + 5, low - 4))  # near the lower left corner
    board.click(position=at(left + size * 0.4, low - 5))  # near the lower edge
    board.click(position=at(left + size * 0.4 + 4, low - size * 0.3))  # nearly square to it
    board.dblclick(position=at(left + 5, low - size * 0.3 + 3))  # level with the last and over the first; that ends
    bed = document_of(desk, ask)["areas"][1]["outline"]
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = bed
    assert (x0, y0) == (0, 0)
    assert y1 == 0
    assert x2 == pytest.approx(x1, abs=1e-9)
    assert (x3, y3) == (0, pytest.approx(y2, abs=1e-9))


def test_a_draft_is_led_from_problem_to_place_until_it_can_be_planned(desk, ask, keep_picture):
    begin(desk, "From nothing")
    square(desk, 60)
    panel = desk.get_by_role("complementary", name="Facts")
    panel.get_by_role("button", name="All things").click()
    desk.keyboard.press("Escape")
    for name, place in (("water entry", ("5", "0")), ("controller", ("5", "5"))):
        tool(desk, name)
        desk.get_by_role("application").focus()
        desk.keyboard.press("ArrowRight")
        desk.keyboard.press(" ")
        for axis, value in zip("xy", place, strict=True):
            panel.get_by_label(axis, exact=True).fill(value)
            panel.get_by_label(axis, exact=True).press("Tab")
    panel.get_by_role("button", name="All things").click()
    missing = desk.get_by_role("region", name="Before it can be planned")
    missing.get_by_role("button", name="controller, stations").click()
    type_into_field(desk, "6")
    desk.keyboard.press("Enter")
    panel.get_by_role("button", name="All things").click()
    missing.get_by_role("button", name="water entry, height").click()
    type_into_field(desk, "1 ft 6 in")
    panel.get_by_label("material").select_option("copper L")
    panel.get_by_label("size").first.fill("3/4 in")
    panel.get_by_label("length").fill("45")
    panel.get_by_label("length").press("Enter")
    panel.get_by_role("button", name="All things").click()
    keep_picture(desk)
    missing.get_by_role("button", name="backflow").click()
    desk.locator("[data-pointer='/backflow']").get_by_label("pressure vacuum breaker").first.check()
    desk.get_by_role("heading", name="Ready to be planned").wait_for()
    document = document_of(desk, ask)
    assert document["water_entry"]["height"] == "1 ft 6 in"
    assert document["controller"] == {"at": [5, 5], "stations": 6}
    assert ask("POST", "/api/board/check", {"document": document})["valid"]


def test_every_change_of_an_outline_has_its_keys(desk, ask):
    begin(desk, "Keys only", "metric")
    square(desk, 10)
    press = desk.keyboard.press
    press("]")  # the first corner
    press("ArrowDown")
    press("ArrowDown")
    outline = document_of(desk, ask)["areas"][0]["outline"]
    assert outline[0] == [0, -0.5]
    press("Insert")  # a corner in the middle of the edge after it, then in hand
    press("Shift+ArrowDown")
    outline = document_of(desk, ask)["areas"][0]["outline"]
    assert outline[:3] == [[0, -0.5], [5, -2.75], [10, 0]]
    press("Delete")
    press("Escape")  # nothing is in hand any more
    press("Control+z")
    press("Control+z")
    press("Control+z")
    assert document_of(desk, ask)["areas"][0]["outline"] == [[0, -0.5], [10, 0], [10, 10], [0, 10]]


def test_a_hole_is_cut_and_filled_again(desk, ask):
    begin(desk, "Hole", "metric")
    square(desk, 10)
    desk.get_by_role("button", name="Cut a hole").click()
    desk.keyboard.type("2")
    desk.keyboard.press("Tab")
    desk.keyboard.type("2")
    desk.keyboard.press("Enter")
    for arrow in ("ArrowRight", "ArrowUp", "ArrowLeft"):
        desk.keyboard.type("3")
        desk.keyboard.press(arrow)
    desk.keyboard.press("Enter")
    assert document_of(desk, ask)["areas"][0]["holes"] == [[[2, 2], [5, 2], [5, 5], [2, 5]]]
    desk.get_by_role("button", name="Hole 1").click()
    desk.get_by_role("button", name="Remove hole").click()
    assert "holes" not in document_of(desk, ask)["areas"][0]


def test_the_tape_measures_and_changes_nothing(desk, ask):
    begin(desk, "Tape")
    square(desk, 10)
    before = document_of(desk, ask)
    tool(desk, "measure")
    for text, key in (("0", "Tab"), ("0", "Enter"), ("30", "Tab"), ("l90", "Enter")):
        desk.keyboard.type(text)
        desk.keyboard.press(key)
    desk.get_by_text("30′ 0″").first.wait_for()
    desk.keyboard.press("Enter")
    assert document_of(desk, ask) == before


def test_a_wrong_fact_is_kept_and_told_at_its_place(desk, ask):
    begin(desk, "Wrong")
    square(desk, 20)
    field = desk.get_by_label("exposure")
    field.select_option("shade")
    desk.get_by_label("id", exact=True).fill("no / slash")
    desk.get_by_label("id", exact=True).press("Enter")
    desk.locator("[data-pointer='/areas/0/id'] .wrong").wait_for()
    area = document_of(desk, ask)["areas"][0]
    assert (area["id"], area["exposure"]) == ("no / slash", "shade")


def test_all_facts_can_be_edited_as_text(desk, ask):
    begin(desk, "As text")
    square(desk, 20)
    desk.get_by_text("All facts as text").click()
    text = desk.get_by_label("Facts in JSON")
    area = json.loads(text.input_value())
    text.fill("{")
    desk.get_by_role("button", name="Take it over").click()
    desk.get_by_text("This is not JSON yet").wait_for()
    text.fill(json.dumps({**area, "planting": "clover", "holes": [[[1, 1], [2, 1], [2, 2]]]}))
    desk.get_by_role("button", name="Take it over").click()
    assert document_of(desk, ask)["areas"][0]["planting"] == "clover"


def test_other_units_leave_the_yard_as_it_is(desk, ask):
    begin(desk, "Units")
    square(desk, 100)
    before = desk.locator("path.lawn").get_attribute("d")
    desk.get_by_role("button", name="All things").click()
    desk.get_by_label("metres, L/min, kPa").check()
    document = document_of(desk, ask)
    assert (document["units"], document["areas"][0]["outline"][2]) == ("metric", [30.48, 30.48])
    assert desk.locator("path.lawn").get_attribute("d") == before


def test_spot_heights_make_contours(desk):
    board = begin(desk, "Contours")
    square(desk, 80)
    desk.get_by_role("button", name="Whole yard").click()
    tool(desk, "spot height")
    box = desk.locator("path.lawn").bounding_box()
    whole = board.bounding_box()
    tape = desk.get_by_role("group", name="Tape")
    for share, height in (((0.1, 0.1), "0"), ((0.9, 0.1), "4"), ((0.5, 0.9), "8")):
        tape.get_by_label("height").fill(height)
        x, y = (box["x"] + box["width"] * share[0], box["y"] + box["height"] * share[1])
        board.click(position={"x": x - whole["x"], "y": y - whole["y"]})
    desk.get_by_role("application").locator("image").wait_for()
    assert desk.get_by_text("8.0 ft").count() == 1


def test_a_thumb_draws_on_a_phone(phone, ask, keep_picture):
    board = begin(phone, "Thumb", "metric")
    phone.get_by_role("button", name="Draw a lawn").tap()
    for x, y in ((80, 300), (300, 300), (300, 120), (80, 120)):
        board.tap(position={"x": x, "y": y})
    keep_picture(phone, "drawing")
    phone.get_by_role("button", name="Close", exact=True).tap()
    outline = document_of(phone, ask)["areas"][0]["outline"]
    keep_picture(phone)
    xs, ys = {x for x, _ in outline}, {y for _, y in outline}
    assert (len(outline), len(xs), len(ys)) == (4, 2, 2)


def test_nothing_grave_is_found_on_the_ground(anywhere, grave_faults, keep_picture):
    for theme in ("light", "dark"):
        anywhere.emulate_media(color_scheme=theme)
        anywhere.goto("/")
        anywhere.get_by_role("button", name="Open the demo yard").first.click()
        anywhere.get_by_role("application").wait_for()
        anywhere.locator("path.building").wait_for(state="attached")
        assert grave_faults(anywhere) == []
        if anywhere.size == "phone":
            anywhere.locator(".pull").tap()
        anywhere.get_by_role("button", name="front lawn").click()
        if anywhere.size == "desk":
            tool(anywhere, "bed")
        keep_picture(anywhere, theme)
        assert grave_faults(anywhere) == []
        anywhere.goto("/#/")
        anywhere.get_by_role("heading", name="Yards").wait_for()
        assert grave_faults(anywhere) == []
