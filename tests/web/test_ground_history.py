"""Going back, and two who change one yard, in the page."""

from playwright.sync_api import expect

from web_drawing import begin, document_of, saved, square


def test_a_corner_is_dragged_and_every_step_is_undone_also_after_a_restart(desk, ask):
    board = begin(desk, "Undo", "metric")
    square(desk, 8)
    desk.get_by_role("button", name="Whole yard").click()
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


def test_any_earlier_state_can_be_taken_back(desk, ask):
    begin(desk, "Earlier", "metric")
    square(desk, 10)
    square(desk, 3, "bed")
    desk.keyboard.press("Delete")
    desk.get_by_role("button", name="Earlier states").click()
    states = desk.get_by_role("dialog", name="Earlier states")
    states.get_by_role("row", name="bed removed").wait_for()
    states.get_by_role("row", name="bed drawn").get_by_role("button").click()
    states.wait_for(state="detached")
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
    expect(choice.get_by_role("group", name="lawn, exposure")).to_be_visible()
    choice.get_by_label("elsewhere: part shade").check()
    desk.faults.clear()  # the browser tells of the 409
    choice.get_by_role("button", name="Put together").click()
    choice.wait_for(state="detached")
    assert document_of(desk, ask)["areas"][0]["exposure"] == "part shade"
