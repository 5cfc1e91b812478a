"""Drawing the yard in the page, as a person at the desk or with a phone does it."""

import base64
import json
import re
from contextlib import contextmanager
from pathlib import Path

import pytest

EXAMPLES = [
    path
    for path in sorted((Path(__file__).parents[2] / "examples").iterdir())
    if path.name.endswith((".yard.json", ".dxf")) and path.name != "bad-supply.yard.json"
]

# Keystroke-level model: Card, Moran and Newell 1980, Communications of the ACM 23(7), 396-410, table 1; from memory.
KEY, POINT, CLICK, HOME, THINK = 0.28, 1.10, 0.20, 0.40, 1.35  # [s] 0.28 is an average typist


class Hand:
    """Does what a person does, and counts it."""

    def __init__(self, page):
        self.page = page
        self.keys = self.clicks = self.thoughts = 0

    def press(self, key):
        self.keys += 1
        self.page.keyboard.press(key)

    def type(self, text):
        self.keys += len(text)
        self.page.keyboard.type(text)

    def click(self, target, **options):
        self.clicks += 1
        target.click(**options)

    def corner(self, length, arrow):
        self.thoughts += 1
        self.type(length)
        self.press(arrow)

    @property
    def seconds(self):
        return self.keys * KEY + self.clicks * (POINT + CLICK + 2 * HOME) + self.thoughts * THINK


def begin(page, name, units="US"):
    page.goto("/")
    page.get_by_label("Name").fill(name)
    if units == "metric":
        page.get_by_label("metres, L/min, kPa").check()
    page.get_by_role("button", name="Begin").click()
    board = page.get_by_role("application")
    board.wait_for()
    return board


def document_of(page, ask):
    saved(page)
    yard = re.search(r"#/([^/]+)/", page.url).group(1)
    return ask("GET", f"/api/yards/{yard}/revisions/current")["document"]


def saved(page):
    page.get_by_role("status").filter(has_text=re.compile("^saved$")).wait_for(state="attached")


def tool(page, name):
    page.get_by_role("toolbar").get_by_role("button", name=name, exact=True).click()


def square(page, side, kind="lawn"):
    tool(page, kind)
    page.get_by_role("application").focus()
    page.keyboard.type("0")
    page.keyboard.press("Tab")
    page.keyboard.type("0")
    page.keyboard.press("Enter")
    for arrow in ("ArrowRight", "ArrowUp", "ArrowLeft"):
        page.keyboard.type(str(side))
        page.keyboard.press(arrow)
    page.keyboard.press("Enter")


LAWN = [("70", "ArrowRight"), ("20", "ArrowUp"), ("10", "ArrowRight"), ("40", "ArrowUp"), ("15", "ArrowLeft"),
        ("12 6", "ArrowUp"), ("35", "ArrowLeft"), ("8", "ArrowDown"), ("20", "ArrowLeft"), ("24 6", "ArrowDown"),
        ("10", "ArrowLeft")]  # fmt: skip
HOUSE = [("30", "ArrowRight"), ("25", "ArrowUp"), ("30", "ArrowLeft")]


def test_a_lawn_of_twelve_corners_with_a_house_takes_under_three_minutes(desk, ask, keep_picture):
    begin(desk, "Twelve corners")
    hand = Hand(desk)
    hand.click(desk.get_by_role("button", name="Draw a lawn"))
    for text, key in (("0", "Tab"), ("0", "Enter")):
        hand.type(text)
        hand.press(key)
    for length, arrow in LAWN:
        hand.corner(length, arrow)
    keep_picture(desk, "drawing")
    hand.press("Enter")
    hand.click(desk.get_by_role("toolbar").get_by_role("button", name="building", exact=True))
    for text, key in (("25", "Tab"), ("20", "Enter")):
        hand.type(text)
        hand.press(key)
    for length, arrow in HOUSE:
        hand.corner(length, arrow)
    hand.press("Enter")
    document = document_of(desk, ask)
    keep_picture(desk)
    lawn, house = document["areas"]
    print(f"{hand.keys} keys, {hand.clicks} clicks, {hand.thoughts} thoughts: {hand.seconds:.0f} s for a person")
    assert len(lawn["outline"]) == 12
    assert lawn["outline"][5:7] == [[65, 60], [65, 72.5]]
    assert house["outline"] == [[25, 20], [55, 20], [55, 45], [25, 45]]
    assert hand.seconds < 180


def test_the_mouse_is_drawn_to_corners_right_angles_and_the_grid(desk, ask):
    board = begin(desk, "Snapping", "metric")
    square(desk, 10)
    desk.get_by_role("button", name="All", exact=True).click()
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


def test_a_corner_is_dragged_and_every_step_is_undone_also_after_a_restart(desk, ask):
    board = begin(desk, "Undo", "metric")
    square(desk, 8)
    desk.get_by_role("button", name="All", exact=True).click()
    lawn = desk.locator("path.lawn").bounding_box()
    box = board.bounding_box()
    corner = {"x": lawn["x"] + lawn["width"] - box["x"], "y": lawn["y"] - box["y"]}
    board.drag_to(board, source_position=corner, target_position={"x": corner["x"] + 60, "y": corner["y"] + 40})
    moved = document_of(desk, ask)["areas"][0]["outline"]
    assert moved[:2] == [[0, 0], [8, 0]]
    assert moved[2] != [8, 8]
    board.focus()
    desk.keyboard.press("Delete")  # the corner in hand
    assert len(document_of(desk, ask)["areas"][0]["outline"]) == 3
    desk.reload()
    undo = desk.get_by_role("button", name="Undo")
    undo.click()
    assert document_of(desk, ask)["areas"][0]["outline"] == moved
    undo.click()
    assert document_of(desk, ask)["areas"][0]["outline"][2] == [8, 8]
    undo.click()
    assert document_of(desk, ask)["areas"] == []
    assert undo.is_disabled()
    redo = desk.get_by_role("button", name="Redo")
    redo.click()
    redo.click()
    assert document_of(desk, ask)["areas"][0]["outline"] == moved


def test_any_earlier_step_can_be_taken_back(desk, ask):
    begin(desk, "Steps", "metric")
    square(desk, 10)
    square(desk, 3, "bed")
    desk.keyboard.press("Delete")
    desk.get_by_role("button", name="Steps").click()
    steps = desk.get_by_role("dialog", name="Steps")
    steps.get_by_role("row", name="bed removed").wait_for()
    steps.get_by_role("row", name="bed drawn").get_by_role("button").click()
    steps.wait_for(state="detached")
    assert [area["id"] for area in document_of(desk, ask)["areas"]] == ["lawn", "bed"]
    desk.get_by_role("button", name="Undo").click()
    assert [area["id"] for area in document_of(desk, ask)["areas"]] == ["lawn"]


def test_two_tabs_on_one_yard_do_not_overwrite_each_other(desk, ask, keep_picture):
    begin(desk, "Two tabs", "metric")
    square(desk, 10)
    saved(desk)
    other = desk.context.new_page()
    other.goto(desk.url)
    other.get_by_role("application").wait_for()
    square(other, 3, "bed")
    saved(other)
    desk.get_by_label("id", exact=True).fill("front lawn")
    desk.get_by_label("id", exact=True).press("Enter")
    choice = desk.get_by_role("dialog", name="Changed here and elsewhere")
    choice.wait_for()
    keep_picture(desk)
    desk.faults.clear()  # the browser tells of the 409
    assert "bed" in choice.inner_text()
    choice.get_by_role("button", name="Put together").click()
    choice.wait_for(state="detached")
    assert [area["id"] for area in document_of(desk, ask)["areas"]] == ["front lawn", "bed"]


def test_where_both_changed_the_same_fact_the_user_chooses(desk, ask):
    begin(desk, "Both", "metric")
    square(desk, 10)
    saved(desk)
    other = desk.context.new_page()
    other.goto(desk.url)
    other.get_by_role("button", name="lawn lawn").click()
    other.get_by_label("exposure").select_option("part shade")
    saved(other)
    desk.get_by_label("exposure").select_option("shade")
    choice = desk.get_by_role("dialog", name="Changed here and elsewhere")
    choice.get_by_label("part shade").check()
    desk.faults.clear()  # the browser tells of the 409
    choice.get_by_role("button", name="Put together").click()
    choice.wait_for(state="detached")
    assert document_of(desk, ask)["areas"][0]["exposure"] == "part shade"


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
    desk.keyboard.type("6")
    desk.keyboard.press("Enter")
    panel.get_by_role("button", name="All things").click()
    missing.get_by_role("button", name="water entry, height").click()
    desk.keyboard.type("1 ft 6 in")
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
    tool(desk, "Tape")
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


def test_a_picture_gets_its_scale_by_two_points(desk, ask, tmp_path, keep_picture):
    from PIL import Image

    Image.new("RGB", (400, 300), "white").save(tmp_path / "survey.png")
    board = begin(desk, "Survey", "metric")
    desk.get_by_label("Lay a picture under it").set_input_files(tmp_path / "survey.png")
    image = desk.locator("svg image")
    image.wait_for()
    box, whole = image.bounding_box(), board.bounding_box()
    desk.get_by_role("button", name="Set its scale by two points").click()
    low = box["y"] + box["height"] - whole["y"]
    for x in (box["x"], box["x"] + box["width"]):
        board.click(position={"x": x - whole["x"], "y": low}, modifiers=["Alt"])
    dialog = desk.get_by_role("dialog", name="Scale of the picture")
    dialog.get_by_label("True length between them").fill("20")
    dialog.get_by_label("Direction").fill("90")
    dialog.get_by_label("x of the first point").fill("3")
    dialog.get_by_label("y of the first point").fill("4")
    keep_picture(desk)
    dialog.get_by_role("button", name="Lay it so").click()
    yard = re.search(r"#/([^/]+)/", desk.url).group(1)
    desk.wait_for_function("() => !document.querySelector('dialog')")
    with polled() as tries:
        for placement in tries(lambda: ask("GET", f"/api/yards/{yard}/images")[0]["placement"]):
            if placement["turn"]:
                break
    # The picture's lower edge is 400 pixels long; the taps hit its ends to about half a pixel of the screen.
    assert placement["metres_per_pixel"] == pytest.approx(20 / 400, rel=0.004)
    assert placement["turn"] == pytest.approx(90, abs=0.2)
    assert placement["at"] == pytest.approx([3, 4], abs=0.05)


@contextmanager
def polled():
    def tries(ask):
        for _ in range(50):
            yield ask()

    yield tries


def test_a_map_is_read_into_the_draft(desk, ask, tmp_path):
    ring = [[0, 0], [9, 0], [9, 7], [0, 7], [0, 0]]
    pond = [[1, 1], [2, 1], [2, 2], [1, 1]]
    features = [
        {
            "type": "Feature",
            "properties": {"kind": kind, "id": name},
            "geometry": {"type": "Polygon", "coordinates": [outline]},
        }
        for kind, name, outline in (("lawn", "lawn", ring), ("water", "pond", pond))
    ]
    head = {"coordinates": "local metres", "format": "rillwright-yard", "version": 1}
    path = tmp_path / "plot.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "rillwright": head, "features": features}))
    begin(desk, "From a map", "metric")
    square(desk, 5)
    desk.get_by_role("button", name="All things").click()
    desk.get_by_label("Read a map or drawing").set_input_files(path)
    desk.locator("path.water").wait_for(state="attached")
    assert [area["id"] for area in document_of(desk, ask)["areas"]] == ["lawn", "lawn 2", "pond"]


def drop(page, target, *paths):
    """Drop files on something, as from the desktop."""
    files = [[path.name, base64.b64encode(path.read_bytes()).decode()] for path in paths]
    transfer = page.evaluate_handle(
        """files => {
            const transfer = new DataTransfer();
            for (const [name, text] of files) {
                const bytes = Uint8Array.from(atob(text), letter => letter.charCodeAt(0));
                transfer.items.add(new File([bytes], name));
            }
            return transfer;
        }""",
        files,
    )
    target.dispatch_event("drop", {"dataTransfer": transfer})


def test_a_drawing_is_dropped_on_the_board_and_its_unknown_layers_are_asked_about(desk, ask, tmp_path):
    import ezdxf

    drawing = ezdxf.new(units=ezdxf.units.M)
    for layer, side in (("GRASS", 12), ("NOTES", 3)):
        ring = [(0, 0), (side, 0), (side, side), (0, side)]
        drawing.modelspace().add_lwpolyline(ring, close=True, dxfattribs={"layer": layer})
    drawing.saveas(tmp_path / "plot.dxf")
    board = begin(desk, "From a drawing", "metric")
    drop(desk, board, tmp_path / "plot.dxf")
    question = desk.get_by_role("dialog", name="plot.dxf cannot be read yet")
    question.wait_for()
    assert "GRASS" in question.inner_text()
    desk.faults.clear()  # the browser tells of the 422
    question.get_by_label("What other layers hold").fill("GRASS=lawn\nNOTES=ignore")
    question.get_by_role("button", name="Read again").click()
    desk.locator("path.lawn").wait_for(state="attached")
    (area,) = document_of(desk, ask)["areas"]
    assert (area["kind"], sorted(area["outline"])) == ("lawn", [[0, 0], [0, 12], [12, 0], [12, 12]])


def test_files_dropped_on_the_list_become_yards(desk, ask):
    names = [path.name for path in EXAMPLES]
    assert len(names) > 5
    for path in EXAMPLES:
        desk.goto("/")
        heading = desk.get_by_role("heading", name="Yards")
        heading.wait_for()
        files = [path, path.with_name("shed.facts.json")] if path.suffix == ".dxf" else [path]
        drop(desk, heading, *files)
        desk.get_by_role("application").wait_for()
        document = document_of(desk, ask)
        desk.wait_for_function(
            "many => document.querySelectorAll('.ground > path').length >= many", arg=len(document["areas"])
        )
        desk.goto("about:blank")  # the next yard begins on a fresh page


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
    desk.get_by_role("button", name="All", exact=True).click()
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
