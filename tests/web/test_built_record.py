"""What goes under ground, on a phone: every part by its place, a form that is left and found again, the record read."""

import re

import pytest
from playwright.sync_api import expect

from plan_yards import small_yard
from web_plan import add_yard, put_plan

ARRIVED = "Everything has arrived."


@pytest.fixture
def yard(ask, site_folder):
    made = add_yard(ask, small_yard())
    put_plan(ask, site_folder, made)
    return made


def entries(ask, yard):
    return [stored["entry"]["what"] for stored in ask("GET", f"/api/yards/{yard}/log")]


def turn(page, name):
    page.get_by_role("navigation", name="Parts of the work").get_by_role("button", name=name).click()


def test_a_tee_is_written_down_put_right_and_found_in_the_record(phone, ask, yard, grave_faults, keep_picture):
    phone.goto(f"/#/{yard}/work")
    expect(phone.get_by_text(ARRIVED)).to_be_visible()
    turn(phone, "Measure")
    phone.get_by_label("What").select_option("part fitted")
    phone.locator("form").get_by_label("Part").first.select_option("tee")
    phone.get_by_label("Under the ground").fill("1 ft 2 in")
    phone.get_by_role("button", name="Write down").click()
    expect(phone.get_by_text("Choose what it belongs to")).to_be_visible()
    expect(phone.get_by_text("The record needs its place")).to_be_visible()
    turn(phone, "Steps")
    turn(phone, "Measure")  # what was typed is still there
    expect(phone.get_by_label("Under the ground")).to_have_value("1 ft 2 in")
    phone.get_by_label("Of or at").select_option("Z1.1")
    across, up = (phone.get_by_role("group", name=re.compile("place")).get_by_role("textbox").nth(n) for n in (0, 1))
    across.fill("2.5")
    up.fill("300 cm")
    assert grave_faults(phone) == []
    phone.get_by_role("button", name="Write down").click()
    expect(phone.get_by_text(re.compile("drain or other part.*written down"))).to_be_visible()
    expect(phone.get_by_text(ARRIVED)).to_be_visible()
    (tee,) = entries(ask, yard)
    assert (tee["part"], tee["name"], tee["place"]) == ("tee", "Z1.1", [2.5, 3.0])
    assert tee["depth"] == pytest.approx(0.3556)
    turn(phone, "Log")
    phone.get_by_role("button", name="Correct").click()
    dialog = phone.get_by_role("dialog")
    dialog.get_by_role("group", name=re.compile("place")).get_by_role("textbox").nth(0).fill("2.8")
    dialog.get_by_role("button", name="Correct it").click()
    expect(phone.get_by_text("first written").first).to_be_visible()
    expect(phone.get_by_text(ARRIVED)).to_be_visible()
    expect(dialog).to_be_hidden()
    assert [what["place"] for what in entries(ask, yard)] == [[2.5, 3.0], [2.8, 3.0]]
    turn(phone, "Steps")
    phone.get_by_text("As-built record").click()
    item = phone.get_by_role("listitem").filter(has_text="tee at Z1.1")
    expect(item).to_contain_text(re.compile(r"\d\.\d\d m from [A-Z] and \d\.\d\d m from [A-Z]"))
    expect(item).to_contain_text("standard error")
    item.get_by_role("button").click()
    assert phone.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert grave_faults(phone) == []
    keep_picture(phone)


def test_what_an_entry_may_not_hold_is_told_by_its_field(phone, ask, yard):
    phone.goto(f"/#/{yard}/work")
    expect(phone.get_by_text(ARRIVED)).to_be_visible()
    turn(phone, "Measure")
    phone.get_by_label("What").select_option("valve setting")
    form = phone.locator("form")
    form.get_by_label("zone").select_option("Z1")
    form.get_by_label(re.compile("^turns")).first.fill("300")
    form.get_by_label(re.compile("^flow")).first.fill("20")
    phone.get_by_role("button", name="Write down").click()
    expect(phone.get_by_role("alert")).to_contain_text("Not taken: turns: Must be at most 60")
    phone.get_by_role("button", name="Set aside").click()
    assert entries(ask, yard) == []
    phone.faults.clear()  # the browser tells of the 422
