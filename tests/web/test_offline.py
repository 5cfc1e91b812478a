"""The yard read last, opened again without a connection: plan, workings, water, steps; and the phone's header."""

import re
import uuid
from urllib.parse import quote

import pytest
from playwright.sync_api import expect

from plan_yards import small_yard
from web_drawing import begin, document_of, saved, square
from web_plan import add_yard, put_plan

CONTROLLED = """async () => {
  while (!navigator.serviceWorker.controller) await new Promise((resolve) => setTimeout(resolve, 50));
}"""


def planned(ask, folder):
    """A small yard and its plan in the program that serves a folder."""
    yard = add_yard(ask, small_yard())
    return yard, put_plan(ask, folder, yard)


def water(page):
    return page.locator("canvas").first.evaluate("canvas => canvas.toDataURL()")


def test_a_plan_is_read_with_its_workings_without_a_connection(
    own_program, chromium, phone_options, asker, grave_faults, keep_picture
):
    ask = asker(own_program.address)
    yard, plan = planned(ask, own_program.folder)
    context = chromium.new_context(base_url=own_program.address, **phone_options)
    page = context.new_page()
    page.goto(f"/#/{yard}/work")
    page.evaluate(CONTROLLED)
    kept = page.get_by_text("Kept on this device for a time without a connection")
    expect(kept).to_contain_text(
        re.compile(r"with its workings and the picture of the water; 0\.\d MB of at most 24\.0 MB")
    )
    kept.scroll_into_view_if_needed()
    assert grave_faults(page) == []
    keep_picture(page, "kept")
    other = chromium.new_context(base_url=own_program.address, **phone_options).new_page()
    other.goto(f"/#/{yard}/plan")
    other.get_by_role("button", name="Safe working flow").wait_for()
    seen, told = water(other), ask("GET", f"/api/plans/{plan}/workings/supply.safe-flow")
    other.context.close()
    own_program.stop()

    page.goto(f"/#/{yard}/plan")  # for the first time on this device
    page.get_by_role("button", name="Safe working flow").click()
    panel = page.get_by_role("region", name="Safe working flow")
    expect(panel).to_contain_text(told["formula"])
    expect(panel).to_contain_text(told["printed"])
    panel.locator("button.lead").first.click()
    expect(page.get_by_role("heading", name="Limit on the flow")).to_be_focused()
    keep_picture(page, "working")
    assert water(page) == seen
    page.get_by_role("link", name="Work", exact=True).click()
    expect(page.get_by_text(re.compile(r"0 of \d+ things done"))).to_be_visible()
    context.close()


def test_all_workings_are_those_that_are_told_one_by_one(ask, made):
    _, plan = made
    explained = ask("GET", f"/api/plans/{plan}/explained")
    assert set(explained) == {one["key"] for one in ask("GET", f"/api/plans/{plan}/workings")}
    for key in ("supply.safe-flow", "cost.total"):
        assert explained[key] == ask("GET", f"/api/plans/{plan}/workings/{key}")


def test_a_step_that_two_devices_answer_otherwise_says_so_until_it_is_set_again(phone, ask, site_folder, grave_faults):
    yard, plan = planned(ask, site_folder)
    item = ask("GET", f"/api/plans/{plan}/steps")[0]["items"][0]
    phone.goto(f"/#/{yard}/work")
    box = phone.get_by_role("checkbox", name=item["words"]).first
    box.wait_for()
    elsewhere = {"id": str(uuid.uuid4()), "done": False, "made": "2100-01-01T00:00:00Z"}  # by a clock that is ahead
    ask("PUT", f"/api/yards/{yard}/ticks/{quote(item['key'])}", elsewhere)
    box.focus()
    phone.keyboard.press("Space")
    differs = phone.get_by_text("another said otherwise")
    expect(differs).to_be_visible()
    expect(box).to_be_checked()  # what arrived last counts
    assert grave_faults(phone) == []
    phone.keyboard.press("Space")
    expect(box).not_to_be_checked()
    expect(differs).to_have_count(0)
    assert [tick["done"] for tick in ask("GET", f"/api/yards/{yard}/ticks")] == [False]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_history_and_light_are_reached_in_a_yard_on_a_phone(phone, ask, scheme, grave_faults, keep_picture):
    begin(phone, "On the phone", "metric")
    square(phone, 8)
    saved(phone)
    phone.get_by_role("button", name="More").focus()
    phone.keyboard.press("Enter")
    more = phone.get_by_role("dialog", name="More of this yard")
    more.get_by_label("Light or dark").select_option(scheme)
    expect(phone.locator("html")).to_have_attribute("data-theme", scheme)
    assert grave_faults(phone) == []
    keep_picture(phone)
    more.get_by_role("button", name="Earlier states").focus()
    phone.keyboard.press("Enter")
    states = phone.get_by_role("dialog", name="Earlier states")
    states.get_by_role("row", name="begun").get_by_role("button").click()
    states.wait_for(state="detached")
    assert document_of(phone, ask)["areas"] == []
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390


def test_a_desk_has_room_for_all_in_its_header(desk):
    begin(desk, "At the desk", "metric")
    expect(desk.get_by_role("button", name="Earlier states")).to_be_visible()
    expect(desk.get_by_role("button", name="More")).to_be_hidden()
