"""Watering in the page: what is lacking, a programme by a weather file, its week, workings and files, at both sizes."""

import json
from datetime import date

import numpy as np
import pytest
from playwright.sync_api import expect

from plan_yards import EXAMPLES, planned_example
from watered_plans import seattle_file
from web_plan import add_yard


def open_water(page, yard):
    page.goto(f"/#/{yard}/work")
    page.get_by_role("navigation", name="Parts of the work").get_by_role("button", name="Water").click()


def reckon(page):
    page.get_by_role("button", name="Reckon", exact=True).click()
    expect(page.get_by_role("button", name="Reckon", exact=True)).to_be_enabled()


def give_weather(page, file):
    """The file of days; answered before the next thing is done (what is kept has been asked for before it)."""
    with page.expect_response(lambda one: one.url.endswith("/weather") and one.request.method == "PUT"):
        page.locator(".kept input[type=file]").set_input_files(file)


def test_programme_by_a_weather_file(anywhere, made, tmp_path, grave_faults, keep_picture):
    page = anywhere
    open_water(page, made[0])
    expect(page.get_by_text("No weather is known: give a weather file")).to_be_visible()
    asked = []
    page.on("request", lambda request: asked.append(request.url) if request.url.endswith("/water") else None)
    page.get_by_label("Latitude").press_sequentially("north")
    give_weather(page, seattle_file(tmp_path))
    expect(page.get_by_text("Weather kept with this yard: seattle.csv, 2012-01-01 to 2015-12-31.")).to_be_visible()
    assert asked == []  # what is typed is taken when it is sent
    reckon(page)
    alert = page.get_by_role("alert")
    expect(alert).to_contain_text("latitude")
    page.get_by_label("Latitude").fill("47.6")
    reckon(page)
    expect(alert).to_have_count(0)
    expect(page.get_by_text("The weather holds 4 seasons")).to_be_visible()
    table = page.get_by_role("region", name="Minutes of program A")
    table.get_by_role("button").first.press("Enter")
    expect(page.get_by_role("dialog")).to_contain_text("min")
    page.get_by_role("button", name="Close").last.click()
    with page.expect_download() as got:
        page.get_by_role("button", name="The sheet for the controller's door").click()
    assert got.value.suggested_filename == "door.pdf"
    nights = page.get_by_role("listitem").filter(has_text="min")
    expect(nights.first).to_contain_text("Z1")
    give_weather(page, {"name": "none.csv", "mimeType": "text/csv", "buffer": b""})
    expect(alert.first).to_contain_text("holds no rows")
    expect(page.get_by_text("Weather kept with this yard: seattle.csv")).to_be_visible()  # the last one stays
    expect(nights.first).to_be_visible()
    year = date.today().year  # that the page asks for
    days = np.arange(f"{year}-03-01", f"{year}-06-21", dtype="datetime64[D]")
    text = "date,tmax_c,tmin_c,rain_mm\n" + "\n".join(f"{day},26,12,0" for day in days)  # invented: dry
    recent = {"name": "this-season.csv", "mimeType": "text/csv", "buffer": text.encode()}
    page.get_by_text("This season's days").locator("input").set_input_files(recent)
    expect(page.get_by_text(f"Days kept: {year}-03-01 to {year}-06-20.")).to_be_visible()
    expect(page.get_by_text("The night that ends on")).to_be_visible()
    page.get_by_text("of the month's minutes").get_by_role("button").click()
    expect(page.get_by_role("dialog")).to_contain_text("would pass the limit by")
    page.get_by_role("button", name="Close").last.click()
    page.get_by_label("Day of sowing").fill("2027-08-25")
    page.get_by_role("button", name="Reckon the new lawn").click()
    stages = page.get_by_role("region", name="Stages of the new lawn")
    stages.get_by_role("button").nth(1).click()
    expect(page.get_by_role("dialog")).to_contain_text("until it sprouts: Z1, a run")
    page.get_by_role("button", name="Close").last.click()
    expect(page.get_by_role("img", name="Soil water")).to_be_visible()
    assert page.evaluate("document.querySelector('main').scrollWidth <= document.querySelector('main').clientWidth")
    assert grave_faults(page) == []
    keep_picture(page)
    page.get_by_role("button", name="Leave them out").click()
    expect(page.get_by_text("Days kept:")).to_have_count(0)
    expect(page.get_by_text("The night that ends on")).to_have_count(0)
    page.get_by_role("button", name="Leave it out").click()
    expect(page.get_by_text("Weather kept with this yard")).to_have_count(0)
    page.reload()
    expect(page.get_by_label("Latitude")).to_have_value("47.6")
    expect(page.get_by_text("No weather is known: give a weather file")).to_be_visible()  # what it asked by itself
    page.faults[:] = [fault for fault in page.faults if "422" not in fault]  # refusals that were asked for


@pytest.mark.parametrize("part", ["Water", "Winter"])
def test_nothing_is_reckoned_while_a_weather_file_is_on_its_way(desk, made, tmp_path, part):
    """Pressed at once on a slow line, it would say that no weather is known."""
    held = []
    desk.route("**/weather", lambda one: held.append(one) if one.request.method == "PUT" else one.continue_())
    open_water(desk, made[0])
    desk.get_by_role("navigation", name="Parts of the work").get_by_role("button", name=part).click()
    if part == "Winter":
        desk.get_by_text("Tonight, weather, compressor").click()
    button = desk.get_by_role("button", name="Reckon", exact=True)
    expect(button).to_be_enabled()
    with desk.expect_request(lambda one: one.url.endswith("/weather") and one.method == "PUT"):
        desk.locator(".kept input[type=file]").set_input_files(seattle_file(tmp_path))
    expect(button).to_be_disabled()
    held[0].continue_()
    expect(desk.get_by_text("Weather kept with this yard: seattle.csv")).to_be_visible()
    expect(button).to_be_enabled()
    desk.get_by_role("button", name="Leave it out").click()
    expect(desk.get_by_text("Weather kept with this yard")).to_have_count(0)
    desk.faults[:] = [fault for fault in desk.faults if "422" not in fault]  # asked before weather was given


@pytest.mark.parametrize(
    ("example", "area", "depth", "volume"),
    [  # metres and feet: a unit's name, how much of SI it is, its decimals
        ("courtyard.yard.json", ("m²", 1.0, ".1f"), ("mm", 1e-3, ".1f"), ("m³", 1.0, ".1f")),
        ("l-shape.yard.json", ("ft²", 0.3048**2, ",.0f"), ("in", 0.0254, ".2f"), ("gal", 3.785411784e-3, ".0f")),
    ],
)
def test_the_public_allowance_stands_beside_the_programme(
    desk, ask, plan_of, tmp_path, keep_picture, example, area, depth, volume
):
    """By the interface's own figures, in the yard's units, each with its working."""
    yard = add_yard(ask, json.loads((EXAMPLES / example).read_text(encoding="utf-8")))
    plan_of(yard, planned_example(example))
    open_water(desk, yard)
    expect(desk.get_by_text("No weather is known: give a weather file")).to_be_visible()  # answered unasked
    give_weather(desk, seattle_file(tmp_path))
    desk.get_by_label("Latitude").fill("47.6")
    with desk.expect_response("**/water") as got:
        reckon(desk)
    told = got.value.json()["programme"]["allowance"]

    def words(value, unit):
        name, of_si, form = unit
        return f"{value / of_si:{form}} {name}"

    section = desk.locator("section").filter(has=desk.get_by_role("heading", name="Beside a public allowance"))
    expect(section).to_contain_text(words(told["area"], area))
    expect(section).to_contain_text(words(told["reference"], depth))
    expect(section).to_contain_text(words(told["programme"], volume))
    expect(section).to_contain_text(f"{told['programme'] / (0.7 * told['reference'] * told['area']):.0%} of that")
    section.get_by_role("button", name=words(told["allowance"], volume)).click()
    dialog = desk.get_by_role("dialog")
    expect(dialog).to_contain_text("0.70 · reference ET of the month · area")
    desk.get_by_role("button", name="Close").last.click()
    section.get_by_role("button", name="%").click()
    expect(dialog).to_contain_text("water of the programme in that month / allowance")
    keep_picture(desk)
    desk.faults[:] = [fault for fault in desk.faults if "422" not in fault]  # asked before weather was given


def test_water_prints_dark_or_light_over_all_its_pages(chromium, site, ask, plan_of, tmp_path):
    """On paper: the whole height, no places, no buttons, dark ink, and no chart under a table."""
    from pypdf import PdfReader

    yard = add_yard(ask, json.loads((EXAMPLES / "courtyard.yard.json").read_text(encoding="utf-8")))
    plan_of(yard, planned_example("courtyard.yard.json"))
    context = chromium.new_context(base_url=site, viewport={"width": 1440, "height": 900}, color_scheme="dark")
    page = context.new_page()
    open_water(page, yard)
    give_weather(page, seattle_file(tmp_path))
    page.get_by_label("Latitude").fill("47.6")
    reckon(page)
    expect(page.get_by_role("heading", name="Beside a public allowance")).to_be_visible()
    (tmp_path / "water.pdf").write_bytes(page.pdf(format="A4"))
    texts = [one.extract_text() for one in PdfReader(tmp_path / "water.pdf").pages]
    assert len(texts) > 1
    whole = "\n".join(texts)
    assert "Beside a public allowance" in whole
    assert all(word not in whole for word in ("Earlier states", "Reckon what would", "Other weather"))
    page.emulate_media(media="print")
    ink = page.evaluate("getComputedStyle(document.body).color")
    assert max(int(part) for part in ink.strip("rgb()").split(",")) < 80
    context.close()
