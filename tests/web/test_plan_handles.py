"""The throw of a head set by its handles on the drawing, by keys and by numbers. The yard is invented."""

import json
import math

import pytest
from playwright.sync_api import expect

from plan_yards import planned, small_yard
from web_plan import add_yard

ANSWER_LATE = """
const plain = window.fetch;
window.arrived = async () => {
  while (!window.arrive) await new Promise(requestAnimationFrame);
  arrive();
  arrive = null;
  await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
};
window.fetch = async (asked, ...rest) => {
  const answer = await plain(asked, ...rest);
  if (asked.url?.endsWith("/adjust")) await new Promise((resolve) => (window.arrive = resolve));
  return answer;
};
"""


@pytest.fixture(scope="module")
def handled(ask, plan_of):
    sprays = small_yard(name="Throws to be set", heads={"allowed": ["spray"]})  # whose handles are all in sight
    yard = add_yard(ask, sprays)
    return yard, ask("GET", f"/api/plans/{plan_of(yard, planned(sprays))}/document")


def opened(page, yard, head):
    page.goto(f"/#/{yard}/plan")
    page.locator("[data-head]").first.wait_for()
    page.get_by_role("tab", name="Zones").click()
    page.locator(f'[data-id="{head}"]').first.click()
    page.locator('[data-handle="start"]').wait_for(state="attached")


def settled(page):
    page.wait_for_function("() => !document.querySelector('.drawings[aria-busy=\"true\"]')")
    return {one["head"]: one for one in json.loads(page.locator("[data-settings]").get_attribute("data-settings"))}


def centre(page, handle):
    box = page.locator(f'[data-handle="{handle}"]').bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def drag(page, handle, dx, dy):
    x, y = centre(page, handle)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + dx, y + dy, steps=6)
    page.mouse.up()


def turn(page, handle, head, by):
    """Drag a handle at right angles to its ray."""
    x, y = centre(page, handle)
    middle = page.locator(f'[data-head="{head}"]').bounding_box()
    along = (x - middle["x"] - middle["width"] / 2, y - middle["y"] - middle["height"] / 2)
    far = math.hypot(*along)
    drag(page, handle, -by * along[1] / far, by * along[0] / far)


def test_handles_turn_widen_and_shorten_a_head(anywhere, handled, keep_picture, grave_faults):
    yard, plan = handled
    head = next(h for h in plan["heads"] if 0 < h["arc"] < 200)
    opened(anywhere, yard, head["id"])
    anywhere.get_by_role("button", name="Whole yard").first.click()
    keep_picture(anywhere, "before")
    turn(anywhere, "start", head["id"], 17)
    stands = settled(anywhere)[head["id"]]
    assert stands["arc_start"] != pytest.approx(head["arc_start"], abs=0.5)
    turn(anywhere, "end", head["id"], 60)
    stands = settled(anywhere)[head["id"]]
    nozzle = next(n for n in plan["nozzles"] if n["id"] == head["nozzle"])
    assert stands["arc"] in nozzle["arcs"] or nozzle["arc_low"] <= stands["arc"] <= nozzle["arc_high"]
    if nozzle["shorten"] > 0:
        x, y = centre(anywhere, "radius")
        middle = anywhere.locator(f'[data-head="{head["id"]}"]').bounding_box()
        inward = (middle["x"] + middle["width"] / 2 - x, middle["y"] + middle["height"] / 2 - y)
        drag(anywhere, "radius", 0.1 * inward[0], 0.1 * inward[1])
        share = settled(anywhere)[head["id"]]["radius_share"]
        assert 1 - nozzle["shorten"] - 1e-9 <= share < head["radius_share"] or share == 1 - nozzle["shorten"]
    assert anywhere.get_by_role("alert").count() == 0
    assert grave_faults(anywhere) == []
    keep_picture(anywhere, "after")


def test_keys_and_numbers_do_what_the_handles_do(anywhere, handled):
    yard, plan = handled
    head = next(h for h in plan["heads"] if 0 < h["arc"] < 200)
    opened(anywhere, yard, head["id"])
    anywhere.get_by_role("application").focus()
    anywhere.keyboard.press(",")
    turned = settled(anywhere)[head["id"]]["arc_start"]
    assert (turned - head["arc_start"]) % 360 == pytest.approx(5)
    anywhere.keyboard.press("]")
    assert settled(anywhere)[head["id"]]["arc"] > head["arc"]
    field = anywhere.get_by_label("throws [")
    if field.count():
        full = head["radius"] / head["radius_share"]
        field.fill(f"{0.9 * full:.2f}")
        field.press("Enter")
        expect(field).to_have_value(f"{0.9 * full:.1f}")
        expect(anywhere.get_by_text(f"throws {0.9 * full:.2f} m; moved")).to_be_visible()


def test_an_answer_that_comes_while_a_number_is_typed_leaves_it_alone(desk, handled):
    """On a slow line what a key did is answered when the throw was gone to, and again when it is half written."""
    yard, plan = handled
    head = next(h for h in plan["heads"] if 0 < h["arc"] < 200)
    desk.add_init_script(ANSWER_LATE)
    opened(desk, yard, head["id"])
    desk.get_by_role("application").focus()
    desk.keyboard.press("]")
    field, shown = desk.get_by_label("arc ["), str(round(head["arc"]))
    expect(field).not_to_have_value(shown)
    field.select_text()
    widened = field.input_value()
    desk.get_by_role("button", name="Put back").dispatch_event("click")
    desk.evaluate("arrived()")
    desk.keyboard.insert_text(shown[:1])
    desk.evaluate("arrived()")
    assert field.input_value() == shown[:1]
    desk.keyboard.insert_text(shown[1:])
    field.press("Enter")
    desk.evaluate("arrived()")
    assert widened != shown
    expect(field).to_have_value(shown)
    field.select_text()
    desk.keyboard.insert_text(widened)
    field.press("Enter")
    field.select_text()
    desk.keyboard.insert_text("11")
    desk.evaluate("arrived()")
    assert field.input_value() == "11"
