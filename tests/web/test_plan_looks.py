"""How the Plan screen is laid out: the drawing stays in sight, what is shown is picked, words cover nothing."""

from playwright.sync_api import expect

from plan_yards import small_yard
from web_plan import add_yard, middle_of

SEEN_WHOLE = """() => {
  const [yard, board] = ["g.ground", "svg[role=application]"].map((name) =>
    document.querySelector(name).getBoundingClientRect(),
  );
  return Math.max(yard.width / board.width, yard.height / board.height) > 0.75;
}"""


def test_on_a_phone_the_sheet_folds_and_the_drawing_takes_its_room(phone, opened):
    opened(phone)
    board = phone.get_by_role("application")
    half = board.bounding_box()["height"]
    assert half > 220
    phone.get_by_role("button", name="Fold").tap()
    assert phone.get_by_role("tabpanel").count() == 0
    folded = board.bounding_box()["height"]
    assert folded > half + 200
    phone.wait_for_function(SEEN_WHOLE)  # in the new room
    x, y = middle_of(phone, "H2")
    phone.touchscreen.tap(x, y)  # what was chosen is told of
    phone.get_by_role("region", name="Head H2").wait_for()
    phone.get_by_role("button", name="Taller").tap()
    assert 100 < board.bounding_box()["height"] < half


def test_what_is_shown_is_picked_over_the_drawing(anywhere, opened):
    opened(anywhere)
    if anywhere.size == "phone":
        anywhere.get_by_role("button", name="Show", exact=True).tap()
    anywhere.get_by_label("throws").uncheck()
    assert anywhere.locator("path.throw").count() == 0
    anywhere.get_by_label("throws").check()
    assert anywhere.locator("path.throw").count() > 0
    anywhere.get_by_label("water", exact=True).uncheck()
    assert anywhere.locator("canvas").count() == 0


OVERLAPS = """() => {
  const middle = (box, high) => {
    const y = box.y + box.height / 2;
    return [box.x, y - high / 2, box.right, y + high / 2];
  };
  const words = [...document.querySelectorAll("svg[role=application] .words text")].map((one) => [
    one.textContent,
    middle(one.getBoundingClientRect(), 10),
  ]);
  const marks = [...document.querySelectorAll("path.head, path.place")].map((one) => {
    const box = one.getBoundingClientRect();
    return [one.getAttribute("class"), [box.x + 1, box.y + 1, box.right - 1, box.bottom - 1]];
  });
  const meet = (a, b) => a[0] < b[2] && a[2] > b[0] && a[1] < b[3] && a[3] > b[1];
  const found = [];
  words.forEach(([text, box], i) => {
    for (const [other, its] of [...words.slice(i + 1), ...marks]) if (meet(box, its)) found.push(`${text} on ${other}`);
  });
  return [words.length, found];
}"""


def test_no_words_on_the_drawing_cover_others_or_a_mark(anywhere, opened_demo):
    opened_demo(anywhere)
    counts = []
    for _ in range(4):
        count, overlaps = anywhere.evaluate(OVERLAPS)
        assert overlaps == []
        counts.append(count)
        anywhere.get_by_role("button", name="Nearer").click()
        anywhere.get_by_role("button", name="Nearer").click()
        anywhere.wait_for_timeout(100)
    assert counts[-1] > counts[0] > 15  # more find room when the view is nearer


def test_a_plan_from_another_start_lies_beside_the_first_and_is_told_either_way_round(desk, ask, plan_of, keep_picture):
    yard = add_yard(ask, small_yard(name="Another start"))
    first = plan_of(yard)
    desk.goto(f"/#/{yard}/plan")
    desk.get_by_role("tab", name="Choices").click()
    desk.get_by_role("button", name="Look again from another start").click()
    desk.get_by_role("heading", name="Heads", exact=True).wait_for(timeout=120_000)
    notes = {note["id"]: note for note in ask("GET", f"/api/yards/{yard}/plans")}
    (second,) = set(notes) - {first}
    assert (notes[first]["seed"], notes[second]["seed"]) == (0, 1)
    expect(desk.get_by_label("Plan that is shown")).to_have_value(second)
    expect(desk.get_by_label("Plan to lay beside this one")).to_have_value(first)
    names = desk.get_by_label("Plan that is shown").locator("option").all_inner_texts()
    assert [name.split(":")[0] for name in names] == ["Plan 2", "Plan 1"]
    for name, note in zip(names, (notes[second], notes[first]), strict=True):
        assert f"balanced, {note['heads']} heads, {note['cost']:.0f} USD" in name
    expect(desk.get_by_text("Plan 2 instead of Plan 1:")).to_be_visible()
    told = {figure["name"]: figure for figure in ask("GET", f"/api/plans/{first}/compare/{second}")["figures"]}
    row = desk.get_by_role("row").filter(has=desk.get_by_role("cell", name="pipe length", exact=True))
    change = told["pipe length"]["after"] - told["pipe length"]["before"]
    words = f"{abs(change):.2f} m "
    expect(row.get_by_role("cell").last).to_have_text(
        "same" if abs(change) < 0.005 else words + ("more" if change > 0 else "less")
    )
    keep_picture(desk)
    desk.get_by_role("button", name="The other way round").click()
    expect(desk.get_by_text("Plan 1 instead of Plan 2:")).to_be_visible()
    expect(row.get_by_role("cell").last).to_have_text(
        "same" if abs(change) < 0.005 else words + ("less" if change > 0 else "more")
    )
