"""What the water gives, entered and read in the page."""

import json
import re
from pathlib import Path

import pytest
from playwright.sync_api import expect

from web_drawing import type_into_field

DEMO = Path(__file__).parents[2] / "examples" / "demo.yard.json"


def opened(page, ask, document, place="supply"):
    """Open a yard with a document, made through the interface."""
    yard = ask("POST", "/api/yards", {"name": "Supply", "units": document["units"]})
    ask("POST", f"/api/yards/{yard['id']}/revisions", {"expected": 1, "document": document})
    page.goto(f"/#/{yard['id']}/{place}")
    page.get_by_role("heading", name="Readings", exact=True).wait_for()
    return yard["id"]


def current(page, ask, yard):
    page.get_by_role("status").filter(has_text=re.compile("^saved$")).wait_for(state="attached")
    return ask("GET", f"/api/yards/{yard}/revisions/current")["document"]


def test_a_test_of_the_supply_is_entered_and_gives_a_safe_flow(desk, ask, keep_picture):
    document = json.loads(DEMO.read_text(encoding="utf-8"))
    readings = document.pop("supply")
    yard = opened(desk, ask, document)
    desk.get_by_role("button", name="Add static gauge").click()
    type_into_field(desk, "393")
    desk.keyboard.press("Tab")
    desk.keyboard.type("1.2")
    desk.keyboard.press("Tab")
    desk.get_by_role("button", name="Add bucket fill").click()
    for words, value in (
        ("volume", "20"),
        ("seconds", "18.2, 18.6, 18.3"),
        ("start delay", "1.2"),
        ("outlet height", "1.6"),
    ):
        field = desk.locator("tr", has_text="The open pipe fills").get_by_label(words).first
        field.fill(value)
        field.press("Tab")
    assert current(desk, ask, yard)["supply"] == readings
    flow = desk.locator(".safe strong")
    flow.wait_for()
    desk.locator(".chart svg").wait_for()
    desk.wait_for_function("() => document.querySelectorAll('.gives table')[1]?.rows.length === 5")
    keep_picture(desk)
    answer = ask("POST", "/api/board/supply", {"document": {**document, "supply": readings}, "pressure": 310_000})
    shown = float(flow.inner_text().split()[0])
    assert shown == pytest.approx(answer["report"]["safe_flow"] * 60_000, abs=0.05)
    assert desk.get_by_text("What to measure next").count() == 1
    desk.faults.clear()  # the browser tells of the 422 where the reading was asked about half told


def test_what_a_reading_lacks_leads_to_its_field(desk, ask):
    document = json.loads(DEMO.read_text(encoding="utf-8"))
    document["supply"] = [{"kind": "bucket fill", "volume": "20 L"}]
    yard = opened(desk, ask, document)
    desk.get_by_role("button", name="seconds").click()
    type_into_field(desk, "18.2")
    desk.keyboard.press("Tab")
    assert current(desk, ask, yard)["supply"] == [{"kind": "bucket fill", "volume": "20 L", "seconds": [18.2]}]
    desk.faults.clear()  # the browser tells of the 422 while the reading was half told


def test_the_service_can_be_told_before_anything_is_drawn(desk, ask):
    late = []
    desk.route("**/api/schema/yard", lambda one: late.append(one))
    yard = opened(desk, ask, {"format": "rillwright-yard", "version": 1, "name": "New", "units": "US", "areas": []})
    fact = desk.get_by_role("button", name="water entry")
    expect(fact).to_be_disabled()  # its field is not there yet
    late[0].continue_()
    fact.click()  # leads to its first fact
    type_into_field(desk, "2")
    desk.keyboard.press("Tab")
    desk.get_by_label("material").select_option("PEX")
    for words, value in (("size", "1 in"), ("length", "40")):
        desk.get_by_label(words).first.fill(value)
        desk.get_by_label(words).first.press("Tab")
    desk.get_by_role("button", name="Add static gauge").click()
    type_into_field(desk, "4.1 bar")
    desk.keyboard.press("Tab")
    document = current(desk, ask, yard)
    assert document["supply"] == [{"kind": "static gauge", "pressure": "4.1 bar"}]
    assert document["water_entry"] == {"height": 2, "pipe": {"material": "PEX", "size": "1 in", "length": 40}}
    desk.locator(".safe strong").wait_for()
    desk.faults.clear()  # the browser tells of the 422 while the pipe was half told


def test_more_pressure_leaves_less_flow_and_the_working_is_told(desk, ask):
    opened(desk, ask, json.loads(DEMO.read_text(encoding="utf-8")))
    flow = desk.locator(".safe strong")
    flow.wait_for()
    before = float(flow.inner_text().split()[0])
    slider = desk.get_by_label("Pressure to keep at the entry")
    slider.focus()
    for _ in range(6):
        desk.keyboard.press("ArrowRight")
    desk.wait_for_function(
        "before => parseFloat(document.querySelector('.safe strong').innerText) < before", arg=before
    )
    desk.get_by_text("share · safe maximum flow of the meter").click()
    desk.get_by_text("AWWA C700").first.wait_for()


def test_a_reading_that_cannot_be_is_kept_and_told(desk, ask):
    document = json.loads(DEMO.read_text(encoding="utf-8"))
    yard = opened(desk, ask, document)
    desk.get_by_role("row", name=re.compile("bucket fill")).get_by_role("button", name="Change").click()
    desk.get_by_label("seconds").first.fill("0.5")
    desk.get_by_label("seconds").first.press("Tab")
    desk.locator("[data-pointer='/supply/1/seconds'] .wrong").wait_for()
    desk.get_by_text("The curve comes when these are known").wait_for()
    desk.faults.clear()  # the browser tells of the 422
    assert current(desk, ask, yard)["supply"][1]["seconds"] == [0.5]


def test_nothing_grave_is_found_on_the_supply(anywhere, ask, grave_faults, keep_picture):
    for theme in ("light", "dark"):
        anywhere.emulate_media(color_scheme=theme)
        opened(anywhere, ask, json.loads(DEMO.read_text(encoding="utf-8")))
        anywhere.locator(".chart svg").wait_for()
        anywhere.get_by_role("button", name="Change").first.click()
        keep_picture(anywhere, theme)
        assert grave_faults(anywhere) == []
