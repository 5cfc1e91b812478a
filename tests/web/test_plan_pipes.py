"""Pipes in the page: pinned and sized, and long sections along any of them. The yard is invented."""

import pytest
from playwright.sync_api import expect

from plan_yards import small_yard
from web_plan import add_yard


@pytest.fixture(scope="module")
def pipes_yard(ask, plan_of):
    """A yard with its plan."""
    yard = add_yard(ask, small_yard(name="Pipes to be pinned"))
    return yard, plan_of(yard)


def opened(page, yard, tab="Zones"):
    page.goto(f"/#/{yard}/plan")
    page.locator("[data-head]").first.wait_for()
    page.get_by_role("tab", name=tab).click()


def choose(page, name):
    """A pipe by its button in the list, by keys alone."""
    button = page.locator(f'#sheet details button:text-is("{name}")')
    summary = page.locator("#sheet details").filter(has=page.locator(f'button:text-is("{name}")')).locator("summary")
    summary.focus()
    if not button.is_visible():
        page.keyboard.press("Enter")
    button.focus()
    page.keyboard.press("Enter")
    page.get_by_role("region", name=f"Pipe {name}").wait_for()


def press(page, name):
    button = page.get_by_role("button", name=name, exact=True)
    button.focus()
    page.keyboard.press("Enter")


def test_a_pipe_is_pinned_sized_and_planned_round_by_keys(anywhere, ask, plan_of, keep_picture, grave_faults):
    yard = add_yard(ask, small_yard(name=f"A pipe pinned on the {anywhere.size}"))
    before = ask("GET", f"/api/plans/{plan_of(yard)}/document")
    pipe = max((p for p in before["pipes"] if p["role"] == "lateral"), key=lambda p: p["length"])
    opened(anywhere, yard)
    choose(anywhere, pipe["id"])
    press(anywhere, "Pin here")
    held = anywhere.get_by_role("combobox", name="size held")
    held.select_option(f"at least {pipe['size']}")
    expect(anywhere.get_by_text("the next plan lays it here")).to_be_visible()
    assert grave_faults(anywhere) == []
    keep_picture(anywhere)
    press(anywhere, "Plan on")
    expect(anywhere.get_by_role("button", name="Plan again")).to_be_enabled(timeout=90_000)
    anywhere.locator("path.casing.pinned").first.wait_for(state="attached", timeout=60_000)
    notes = ask("GET", f"/api/yards/{yard}/plans")
    after = ask("GET", f"/api/plans/{notes[0]['id']}/document")
    (pin,) = after["yard"]["pins"]["pipes"]
    assert (pin["role"], pin["least_size"]) == ("lateral", pipe["size"])
    own = [p for p in after["pipes"] if p["pin"] == pin["id"]]
    assert sum(p["length"] for p in own) == pytest.approx(pipe["length"], abs=0.1)
    anywhere.get_by_role("tab", name="Choices").click()
    expect(anywhere.get_by_text("0 heads, 1 pipe")).to_be_visible()
    press(anywhere, "Let all go")
    expect(anywhere.get_by_text("Nothing is pinned")).to_be_visible()


def test_a_section_leads_through_any_pipe_and_between_two_places(anywhere, pipes_yard, ask, keep_picture, grave_faults):
    yard, plan = pipes_yard
    pipes = ask("GET", f"/api/plans/{plan}/document")["pipes"]
    main = next(p for p in pipes if p["role"] == "main")
    lateral = next(p for p in pipes if p["role"] == "lateral" and p["start"].startswith("J"))
    opened(anywhere, yard)
    choose(anywhere, main["id"])
    press(anywhere, "Long section")
    told = ask("POST", f"/api/plans/{plan}/section", {"heads": [], "to": main["id"]})
    section = anywhere.get_by_role("region", name=f"Long section to {main['id']}")
    section.get_by_role("img").wait_for()
    expect(section.get_by_role("heading")).to_contain_text(f"on to {told['end']}")
    expect(section.get_by_role("status")).to_contain_text(f"working {told['points'][-1]['working'] / 1000:.0f} kPa")
    keep_picture(anywhere, "through")
    choose(anywhere, lateral["id"])
    press(anywhere, "Section from here")
    expect(anywhere.get_by_text("Choose where it ends")).to_be_visible()
    choose(anywhere, main["id"])
    back = ask("POST", f"/api/plans/{plan}/section", {"heads": [], "to": main["id"], "start": lateral["id"]})
    section = anywhere.get_by_role("region", name=f"Long section from {lateral['id']} to {main['id']}")
    expect(section.get_by_role("status")).to_contain_text(f"working {back['points'][-1]['working'] / 1000:.0f} kPa")
    assert grave_faults(anywhere) == []
    keep_picture(anywhere, "between")
    section.get_by_role("button", name="From the entry").click()
    anywhere.get_by_role("region", name=f"Long section to {main['id']}", exact=True).get_by_role("img").wait_for()


def test_a_press_on_the_drawing_chooses_the_pipe_for_a_section(desk, pipes_yard):
    yard, _ = pipes_yard
    opened(desk, yard)
    line = desk.locator("path.casing").last
    at = line.evaluate(
        "path => { const p = path.getPointAtLength(path.getTotalLength() / 2).matrixTransform(path.getScreenCTM());"
        " return [p.x, p.y]; }"
    )
    desk.mouse.click(*at)
    desk.get_by_role("region", name="Pipe").get_by_role("button", name="Long section").click()
    desk.get_by_role("region", name="Long section to").get_by_role("img").wait_for()
