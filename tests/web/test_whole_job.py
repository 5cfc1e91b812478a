"""The whole job, as one person does it from an empty page to a plan on paper and the first step in the yard."""

import io
import re

import pypdf
from playwright.sync_api import expect

from web_drawing import saved, tool, type_into_field

LONG = 180_000  # [ms] for a plan on a busy machine


def rectangle(page, kind, corner, width, height):
    """Draw by typed lengths."""
    tool(page, kind)
    page.get_by_role("application").focus()
    for text, key in ((corner[0], "Tab"), (corner[1], "Enter")):
        page.keyboard.type(text)
        page.keyboard.press(key)
    for length, arrow in ((width, "ArrowRight"), (height, "ArrowUp"), (width, "ArrowLeft")):
        page.keyboard.type(length)
        page.keyboard.press(arrow)
    page.keyboard.press("Enter")


def facts(page, *, up):
    """Give the facts, on a phone drawn up over the board or let down again."""
    panel = page.get_by_role("complementary", name="Facts")
    pull = panel.locator(".pull")
    if pull.is_visible() and (pull.get_attribute("aria-expanded") == "true") != up:
        pull.click()
    return panel


def set_down(page, name, x, y):
    facts(page, up=False)
    tool(page, name)
    page.get_by_role("application").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press(" ")
    panel = facts(page, up=True)
    for axis, value in (("x", x), ("y", y)):
        panel.get_by_label(axis, exact=True).fill(value)
        panel.get_by_label(axis, exact=True).press("Tab")


def draw(page):
    page.goto("/")
    page.get_by_label("Name").fill("Whole job")
    page.get_by_label("metres, L/min, kPa").check()
    page.get_by_role("button", name="Begin").click()
    page.get_by_role("application").wait_for()
    rectangle(page, "lawn", ("0", "4"), "9", "7")
    rectangle(page, "building", ("0", "0"), "9", "4")
    page.keyboard.press("Escape")
    set_down(page, "water entry", "2", "4")
    set_down(page, "controller", "3", "4")
    panel = facts(page, up=True)
    panel.get_by_role("button", name="All things").click()
    missing = page.get_by_role("region", name="Before it can be planned")
    missing.get_by_role("button", name="controller, stations").click()
    type_into_field(page, "6")
    page.keyboard.press("Enter")
    panel.get_by_role("button", name="All things").click()
    missing.get_by_role("button", name="water entry, height").click()
    type_into_field(page, "0")
    panel.get_by_label("material").select_option("copper L")
    panel.get_by_label("size").first.fill("1 in")
    panel.get_by_label("length").fill("45")
    panel.get_by_label("length").press("Enter")
    panel.get_by_role("button", name="All things").click()
    missing.get_by_role("button", name="backflow").click()
    page.locator("[data-pointer='/backflow']").get_by_label("pressure vacuum breaker").first.check()
    page.get_by_role("heading", name="Ready to be planned").wait_for()
    saved(page)


def measure(page):
    page.get_by_role("link", name="Supply", exact=True).click()
    page.get_by_role("button", name="Add static gauge").click()
    type_into_field(page, "450")
    page.keyboard.press("Tab")
    page.get_by_role("button", name="Add bucket fill").click()
    row = page.locator("tr", has_text="The open pipe fills")
    for words, value in (("volume", "20"), ("seconds", "15.1, 15.0, 15.3")):
        field = row.get_by_label(words).first
        field.fill(value)
        field.press("Tab")
    page.locator(".safe strong").wait_for()
    saved(page)


def water_and_evenness(page):
    return page.locator("canvas").first.evaluate("canvas => canvas.toDataURL()"), page.locator(
        '[data-figure="du"]'
    ).first.inner_text()


def move(page, head):
    """Drag a head with the mouse; with a thumb, tap it and push it on by its buttons."""
    box = page.locator(f'[data-head="{head}"] path.head').bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    if page.viewport_size["width"] < 720:
        page.touchscreen.tap(x, y)
        for _ in range(3):
            page.get_by_role("region", name=f"Head {head}").get_by_role("button", name="Move up").tap()
        page.get_by_role("region", name=f"Head {head}").get_by_role("button", name="Done").tap()
        return
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 40, y - 30, steps=10)
    page.mouse.up()


def test_from_an_empty_page_to_the_first_step_in_the_yard(anywhere, ask, grave_faults, keep_picture):
    page = anywhere

    def look(name):
        assert grave_faults(page) == [], name
        keep_picture(page, name)

    page.goto("/")
    look("0-yards")
    draw(page)
    look("1-ground")
    measure(page)
    look("2-supply")

    page.get_by_role("link", name="Plan", exact=True).click()
    page.get_by_role("button", name="Plan this yard").click()
    page.locator("[data-head]").first.wait_for(timeout=LONG)
    look("3-plan")
    first = water_and_evenness(page)
    move(page, "H2")
    page.locator('[data-figure="du"] .now').first.wait_for()
    assert water_and_evenness(page)[0] != first[0]
    assert water_and_evenness(page)[1] != first[1]

    page.get_by_role("button", name="Pin, plan the rest").click()
    page.get_by_role("group", name="Planning").wait_for()
    page.get_by_role("group", name="Planning").wait_for(state="detached", timeout=LONG)
    expect(page.get_by_role("button", name="Pin, plan the rest")).to_have_count(0)  # the new plan is shown
    page.locator("[data-head]").first.wait_for()
    page.get_by_role("tab", name="Outcome").click()
    page.get_by_role("button", name="Safe working flow").click()
    expect(page.get_by_role("region", name="Safe working flow")).to_contain_text("Source:")
    look("4-working")
    page.keyboard.press("Escape")

    page.get_by_role("tab", name="Choices").click()
    page.get_by_label("Plan to lay beside this one").select_option(index=1)
    expect(page.get_by_role("application")).to_have_count(2)
    expect(page.get_by_role("heading", name="Heads", exact=True)).to_be_visible()
    look("5-beside")
    page.get_by_label("Plan to lay beside this one").select_option(index=0)

    paper = pypdf.PdfReader(io.BytesIO(page.pdf(format="Letter"))).pages
    text = " ".join(" ".join(sheet.extract_text() for sheet in paper).split())
    assert "Whole job" in text
    assert "call the utility-location service" in text

    page.get_by_role("link", name="Work", exact=True).click()
    expect(page.get_by_text("Everything has arrived.")).to_be_visible()  # what is read moves no step from then on
    page.get_by_text("Have buried services located").first.click()
    page.get_by_role("checkbox", name="Buried services located and marked").check()
    expect(page.get_by_text("1 of ")).to_be_visible()
    expect(page.get_by_text("Everything has arrived.")).to_be_visible()
    look("6-work")
    yard = re.search(r"#/([^/]+)/", page.url).group(1)
    assert [(tick["step"], tick["done"]) for tick in ask("GET", f"/api/yards/{yard}/ticks")] == [("located", True)]
    page.reload()
    expect(page.get_by_text("Everything has arrived.")).to_be_visible()  # what is read moves no step from then on
    page.get_by_text("Have buried services located").first.click()
    expect(page.get_by_role("checkbox", name="Buried services located and marked")).to_be_checked()
