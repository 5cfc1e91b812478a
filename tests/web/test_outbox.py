"""What was written in the yard, seen and sent from every screen; what is not taken, mended or laid aside."""

import re

import pytest
from playwright.sync_api import expect

from plan_yards import small_yard

ARRIVED = "Everything has arrived."


def add_yard(ask):
    document = small_yard()
    yard = ask("POST", "/api/yards", {"name": document["name"], "units": document["units"]})
    ask("POST", f"/api/yards/{yard['id']}/revisions", {"document": document, "expected": yard["revision"]})
    return yard["id"]


@pytest.fixture
def yard(ask):
    return add_yard(ask)


def words(ask, yard):
    return [stored["entry"]["words"] for stored in ask("GET", f"/api/yards/{yard}/log")]


def open_measure(page, yard, kind):
    page.goto(f"/#/{yard}/work")
    expect(page.get_by_text(ARRIVED)).to_be_visible()
    page.get_by_role("navigation", name="Parts of the work").get_by_role("button", name="Measure").click()
    page.get_by_label("What").select_option(kind)


def write_down(page, *, told="written down", **fields):
    for name, value in fields.items():
        page.get_by_label(name).fill(value)
    page.get_by_role("button", name="Write down").click()
    expect(page.get_by_text(told)).to_be_visible()


def in_header(page):
    return page.get_by_role("button", name=re.compile("Kept on this device"))


@pytest.mark.parametrize("place", ["ground", "supply", "plan", "yards"])
def test_it_is_sent_from_any_screen(phone, ask, yard, place, grave_faults, keep_picture):
    open_measure(phone, yard, "Note or photo")
    phone.context.set_offline(True)
    for text in ("first", "second"):
        write_down(phone, Words=text)
        expect(phone.get_by_label("Words")).to_have_value("")
    expect(in_header(phone)).to_have_text(re.compile("2 waiting"))
    if place == "yards":
        phone.get_by_role("link", name="Yards").click()
        expect(phone.get_by_role("heading", name="Yards")).to_be_visible()
    else:
        phone.evaluate(f"location.hash = '#/{yard}/{place}'")
        expect(phone.get_by_role("link", name=place.title(), exact=True)).to_have_attribute("aria-current", "page")
    expect(in_header(phone)).to_be_visible()
    if place == "ground":
        in_header(phone).focus()
        phone.keyboard.press("Enter")
        dialog = phone.get_by_role("dialog")
        expect(dialog.get_by_text("2 kept on this device: no connection")).to_be_visible()
        dialog.locator("summary").click()
        expect(dialog.get_by_text("second", exact=True)).to_be_visible()
        assert grave_faults(phone) == []
        keep_picture(phone)
        phone.keyboard.press("Escape")
    phone.context.set_offline(False)
    expect(in_header(phone)).to_have_count(0)
    assert words(ask, yard) == ["first", "second"]
    phone.faults.clear()  # of the connection


def test_what_is_refused_is_mended_by_keys_and_arrives(phone, ask, yard, grave_faults, keep_picture):
    open_measure(phone, yard, "Pressure, nothing running")
    write_down(phone, told="Not taken:", **{"Pressure (kPa)": "52000", "Words": "at the tap"})
    expect(in_header(phone)).to_have_text(re.compile("1 not taken"))
    assert grave_faults(phone) == []
    keep_picture(phone)
    phone.get_by_role("button", name="Mend").focus()
    phone.keyboard.press("Enter")
    form = phone.get_by_role("dialog")
    expect(form.get_by_label("Words")).to_have_value("at the tap")
    expect(form.get_by_label("Pressure (kPa)")).to_have_value(re.compile("52000"))
    assert grave_faults(phone) == []
    keep_picture(phone, "mend")
    form.get_by_label("Pressure (kPa)").fill("520")
    phone.keyboard.press("Enter")
    expect(phone.get_by_text(ARRIVED)).to_be_visible()
    expect(in_header(phone)).to_have_count(0)
    (stored,) = ask("GET", f"/api/yards/{yard}/log")
    assert stored["entry"]["what"]["measurement"]["pressure"] == pytest.approx(520_000)
    assert stored["entry"]["words"] == "at the tap"
    phone.faults.clear()  # the refusal


def test_what_is_set_aside_keeps_its_words_over_a_reload(phone, ask, yard, grave_faults, keep_picture):
    open_measure(phone, yard, "Pressure, nothing running")
    write_down(phone, told="Not taken:", **{"Pressure (kPa)": "52000", "Words": "at the tap, twice"})
    phone.get_by_role("button", name="Set aside", exact=True).click()
    expect(phone.get_by_text("1 set aside on this device")).to_be_visible()
    phone.reload()
    phone.get_by_text("1 set aside on this device").click()
    expect(phone.get_by_text("at the tap, twice")).to_be_visible()
    assert grave_faults(phone) == []
    keep_picture(phone)
    phone.get_by_role("button", name="Send again").click()
    expect(phone.get_by_text("Not taken:")).to_be_visible()
    phone.get_by_role("button", name="Set aside", exact=True).click()
    phone.get_by_text("1 set aside on this device").click()
    phone.get_by_role("button", name="Delete for good").click()
    expect(phone.get_by_text(ARRIVED)).to_be_visible()
    assert words(ask, yard) == []
    phone.faults.clear()  # the refusals


def test_two_tabs_send_one_after_the_other(phone, ask, yard):
    open_measure(phone, yard, "Note or photo")
    other = phone.context.new_page()
    other.goto(f"/#/{yard}/work")
    expect(other.get_by_text(ARRIVED)).to_be_visible()
    phone.context.set_offline(True)
    write_down(phone, Words="from one tab")
    expect(in_header(other)).to_have_text(re.compile("1 waiting"))
    phone.context.set_offline(False)
    expect(in_header(other)).to_have_count(0)
    expect(in_header(phone)).to_have_count(0)
    assert words(ask, yard) == ["from one tab"]
    phone.faults.clear()  # of the connection
