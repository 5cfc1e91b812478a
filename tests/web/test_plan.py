"""The plan in the page: made, looked at, changed by hand, explained, compared and printed, as a person does it."""

import io
import json
import unicodedata

import pypdf
import pytest
from playwright.sync_api import expect

from plan_yards import rectangle, small_yard
from web_plan import add_yard, middle_of

TABS = ("Outcome", "Findings", "Zones", "Supply", "Choices", "Valves", "Cost")


def _answered(page, count):
    page.wait_for_function(
        "n => performance.getEntriesByName('rillwright: water follows').length >= n", arg=count, timeout=20_000
    )


def _water(page):
    return page.locator("canvas").first.evaluate("canvas => canvas.toDataURL()")


def _stands(page):
    """Heads that are set otherwise than planned."""
    return json.loads(page.locator("[data-settings]").get_attribute("data-settings"))


def _press_until(page, key, ready, most=60):
    for _ in range(most):
        if page.evaluate(ready):
            return
        page.keyboard.press(key)
    pytest.fail(f"{key} never led to {ready}")


def test_a_yard_is_planned_in_the_background_cancelled_and_planned_again(desk, ask, keep_picture):
    lawns = [{"id": f"lawn {i}", "kind": "lawn", "outline": rectangle(10 * i, 0, 9, 7)} for i in range(3)]
    yard = add_yard(ask, small_yard(name="To be cancelled", areas=lawns))
    desk.goto(f"/#/{yard}/plan")
    desk.get_by_role("button", name="Plan this yard").click()
    job = desk.get_by_role("group", name="Planning")
    job.wait_for()
    expect(job.get_by_role("status")).to_contain_text("Planning:")
    desk.get_by_role("link", name="Ground").click()
    desk.get_by_role("application").wait_for()
    desk.get_by_role("link", name="Plan", exact=True).click()
    keep_picture(desk)
    job.get_by_role("button").click()
    job.wait_for(state="detached", timeout=60_000)
    states = {note["status"] for note in ask("GET", f"/api/yards/{yard}/plans")}
    assert states <= {"cancelled", "stopped early"}
    if states == {"cancelled"}:
        expect(desk.get_by_role("alert")).to_contain_text("cancelled")
        expect(desk.get_by_role("button", name="Plan this yard")).to_be_enabled()


def test_a_yard_that_breaks_rules_is_told_what_to_mend(desk, ask):
    yard = add_yard(ask, small_yard(name="Broken", controller={"stations": 0}))
    desk.goto(f"/#/{yard}/plan")
    expect(desk.get_by_text("cannot be planned as it is drawn")).to_be_visible()
    expect(desk.get_by_text("controller, stations")).to_be_visible()


def test_water_and_evenness_follow_a_head_that_is_dragged(desk, opened, ask, keep_picture, capsys):
    plan = opened(desk)
    before = _water(desk)
    x, y = middle_of(desk, "H2")
    desk.mouse.move(x, y)
    desk.mouse.down()
    for i in range(1, 31):
        desk.mouse.move(x - 3 * i, y + 2 * i)
        desk.wait_for_timeout(16)
    _answered(desk, 3)
    desk.mouse.up()
    desk.wait_for_function("() => !document.querySelector('.drawings[aria-busy=\"true\"]')")
    assert _water(desk) != before
    keep_picture(desk)

    told = desk.locator('[data-lawn="lawn"] [data-figure="du"] .now').inner_text()
    stands = _stands(desk)
    answer = ask("POST", f"/api/plans/{plan}/adjust", {"heads": stands})
    assert told.removeprefix("→ ") == f"{100 * answer['lawns'][0]['evenness']['du']:.1f} %"
    assert [one["head"] for one in stands] == ["H2"]

    desk.get_by_role("button", name="All back").click()
    desk.locator(".now").first.wait_for(state="detached")
    assert _water(desk) == before
    for name in ("rillwright: program answers", "rillwright: water follows"):
        spans = sorted(desk.evaluate("n => performance.getEntriesByName(n).map(m => m.duration)", name))
        with capsys.disabled():
            print(f"\n  {name}: median {spans[len(spans) // 2]:.0f} ms of {len(spans)}, most {spans[-1]:.0f} ms")


def test_a_head_cannot_be_dragged_off_its_lawn(desk, opened):
    opened(desk)
    x, y = middle_of(desk, "H1")
    desk.mouse.move(x, y)
    desk.mouse.down()
    desk.mouse.move(x - 400, y + 300, steps=12)
    desk.mouse.up()
    _answered(desk, 1)
    ((_, stands),) = [one.values() for one in _stands(desk)]
    assert -0.001 <= stands[0] <= 9.001
    assert -0.001 <= stands[1] <= 7.001
    assert desk.get_by_role("alert").count() == 0


def test_heads_are_found_and_moved_by_keys_alone(desk, opened):
    opened(desk)
    _press_until(desk, "Tab", "document.activeElement.getAttribute('role') === 'tab'")
    _press_until(desk, "ArrowRight", "document.activeElement.dataset.tab === 'Zones'")
    _press_until(desk, "Tab", "document.activeElement.dataset.id !== undefined")
    desk.keyboard.press("ArrowDown")
    head = desk.evaluate("document.activeElement.dataset.id")
    expect(desk.get_by_role("region", name=f"Head {head}")).to_be_visible()
    desk.keyboard.press("Enter")
    board = desk.get_by_role("application")
    expect(board).to_be_focused()
    assert f"{head} is held" in board.get_attribute("aria-label")
    planned = middle_of(desk, head)
    desk.keyboard.press("ArrowUp")
    desk.keyboard.press("ArrowLeft")
    _answered(desk, 1)
    assert middle_of(desk, head) != planned
    desk.keyboard.press("Escape")
    assert "is held" not in board.get_attribute("aria-label")
    here = middle_of(desk, head)
    desk.keyboard.press("ArrowLeft")
    assert middle_of(desk, head)[0] > here[0] + 20  # now the view moves, not the head


def test_a_number_tells_how_it_came_about_and_leads_on(desk, opened, keep_picture):
    opened(desk)
    number = desk.get_by_role("button", name="Safe working flow")
    number.click()
    heading = desk.get_by_role("heading", name="Safe working flow")
    expect(heading).to_be_focused()
    panel = desk.get_by_role("region", name="Safe working flow")
    expect(panel).to_contain_text("Source:")
    keep_picture(desk)
    panel.locator("button.lead").first.click()
    expect(desk.get_by_role("heading", name="Limit on the flow: curve")).to_be_focused()
    desk.get_by_role("button", name="Back").click()
    expect(heading).to_be_focused()
    desk.keyboard.press("Escape")
    expect(heading).to_have_count(0)
    expect(number).to_be_focused()


def test_every_number_that_is_shown_has_its_working(desk, opened, ask):
    plan = opened(desk)
    known = {one["printed"] for one in ask("GET", f"/api/plans/{plan}/workings")}
    for tab in TABS:
        desk.get_by_role("tab", name=tab).click()
        if tab == "Valves":  # it asks the program first
            desk.locator("#sheet button.figure").first.wait_for()
        shown = desk.locator("#sheet button.figure").all_inner_texts()
        assert {text.removesuffix(" USD") for text in shown} <= known
        assert shown or tab in ("Findings", "Choices")


def test_a_manifold_follows_its_terms(desk, opened, ask, keep_picture):
    """Without a union on the inlet a valve is turned off its thread: the shortest pipes stay, the header grows."""
    plan = opened(desk, "Valves")
    place = ask("GET", f"/api/plans/{plan}/document")["places"][0]["id"]
    views = desk.get_by_role("img", name="Manifold seen from above")
    expect(views).to_be_visible()

    def told(**terms):
        return ask("POST", f"/api/plans/{plan}/manifold", {"place": place, "terms": terms})["told"][1]["value"]

    sheet = desk.locator("#sheet")
    expect(sheet).to_contain_text(told())
    keep_picture(desk)
    desk.get_by_label("Unions of each valve").select_option("outlet")
    expect(sheet).to_contain_text(told(unions="outlet"))
    desk.get_by_label("length").fill("wide")
    desk.get_by_label("width").fill("300")
    expect(sheet).to_contain_text("'wide' is no length")
    desk.get_by_label("length").fill("300")
    expect(sheet).to_contain_text("does not fit")
    desk.get_by_role("button", name="Add a door").click()
    expect(sheet).to_contain_text("Give every measure of the doors and hose taps.")
    for label, value in (("hinge along", "0"), ("hinge across", "0"), ("swing", "600")):
        desk.get_by_label(label).fill(value)
    room = {"length": 0.3, "width": 0.3, "doors": [{"x": 0, "y": 0, "radius": 0.6}]}
    lacks = ask("POST", f"/api/plans/{plan}/manifold", {"place": place, "terms": {"unions": "outlet", "space": room}})
    expect(sheet).to_contain_text(lacks["findings"][0]["what"])
    keep_picture(desk, "door")
    with desk.expect_download() as coming:
        desk.get_by_role("link", name="Cut list, CSV").click()
    assert coming.value.suggested_filename == "cut-list.csv"


def test_a_finding_leads_to_its_place(desk, opened, ask):
    plan = opened(desk, "Findings")
    document = ask("GET", f"/api/plans/{plan}/document")
    heads = {head["id"] for head in document["heads"]}
    desk.locator("#sheet li").first.wait_for()
    assert desk.locator("#sheet li").count() == len(document["findings"])
    desk.get_by_role("tab", name="Zones").click()
    desk.get_by_role("button", name="Z1", exact=True).click()
    expect(desk.locator(".ring").first).to_be_visible()
    ringed = {mark.get_attribute("data-head") for mark in desk.locator("[data-head]:has(.ring)").all()}
    assert ringed == set(document["zones"][0]["heads"]) <= heads
    pipe = next(pipe for pipe in document["pipes"] if pipe["zone"])
    desk.locator("#sheet summary").first.press("Enter")
    desk.get_by_role("button", name=f"{pipe['id']} {pipe['size']}").press("Enter")
    expect(desk.get_by_role("region", name=f"Pipe {pipe['id']}")).to_contain_text(f"{pipe['length']:.2f} m")


def test_an_arc_that_the_nozzle_cannot_throw_is_told_and_not_taken(desk, opened):
    opened(desk)
    x, y = middle_of(desk, "H1")
    desk.mouse.click(x, y)
    arc = desk.get_by_label("arc [°]")
    arc.fill("3")
    arc.press("Enter")
    said = desk.get_by_role("alert")
    expect(said).to_contain_text("cannot throw 3°")
    assert not any("arc" in one for one in _stands(desk))
    expect(arc).not_to_have_value("3")
    desk.faults.clear()  # the browser notes the refusal


def test_a_long_section_reads_as_the_program_says(desk, opened, ask, keep_picture):
    plan = opened(desk)
    x, y = middle_of(desk, "H3")
    desk.mouse.click(x, y)
    desk.get_by_role("button", name="Long section").click()
    section = desk.get_by_role("region", name="Long section to H3")
    section.get_by_role("img").wait_for()
    told = ask("POST", f"/api/plans/{plan}/section", {"heads": [], "to": "H3"})
    reading = section.get_by_role("status")
    expect(reading).to_contain_text(f"working {told['points'][-1]['working'] / 1000:.0f} kPa")
    section.get_by_role("slider").fill("0")
    begins = [point for point in told["points"] if point["distance"] == 0][-1]
    expect(reading).to_contain_text(f"static {begins['static'] / 1000:.0f} kPa")
    assert section.locator("tbody tr").count() == sum(mark["loss"] != 0 for mark in told["marks"])
    keep_picture(desk)


def test_a_moved_head_is_pinned_the_rest_planned_and_both_laid_side_by_side(desk, ask, plan_of, keep_picture):
    yard = add_yard(ask, small_yard(name="To be pinned"))
    first = plan_of(yard)
    desk.goto(f"/#/{yard}/plan")
    x, y = middle_of(desk, "H1")
    desk.mouse.move(x, y)
    desk.mouse.down()
    desk.mouse.move(x + 60, y - 40, steps=8)
    desk.mouse.up()
    _answered(desk, 1)
    (stands,) = _stands(desk)
    desk.get_by_role("button", name="Pin, plan the rest").click()
    desk.get_by_role("group", name="Planning").wait_for()
    desk.get_by_role("group", name="Planning").wait_for(state="detached", timeout=120_000)
    second = next(note["id"] for note in ask("GET", f"/api/yards/{yard}/plans") if note["id"] != first)
    expect(desk.get_by_label("Plan that is shown")).to_have_value(second, timeout=20_000)
    after, before = (ask("GET", f"/api/plans/{plan}/document") for plan in (second, first))
    (held,) = [head for head in after["heads"] if head["pin"]]
    assert held["at"] == pytest.approx(stands["at"], abs=0.002)
    places = {head["id"]: head["at"] for head in before["heads"]}
    others = [head for head in after["heads"] if head["id"] != held["id"]]
    assert all(head["at"] == places.get(head["id"], head["at"]) for head in others), "what was not moved stays, or goes"

    desk.get_by_role("tab", name="Choices").click()
    desk.get_by_label("Plan to lay beside this one").select_option(first)
    expect(desk.get_by_role("application")).to_have_count(2)
    desk.get_by_role("heading", name="Heads", exact=True).wait_for()
    told = ask("GET", f"/api/plans/{second}/compare/{first}")
    for figure in told["figures"]:
        expect(desk.get_by_role("cell", name=figure["name"], exact=True)).to_be_visible()
    changed = [head for head in told["heads"] if head["kind"] != "same"]
    assert desk.locator("ul.heads li").count() == len(changed) > 0
    assert desk.locator(".tint").count() == sum((h["before"] is not None) + (h["after"] is not None) for h in changed)
    keep_picture(desk)
    boards = desk.get_by_role("application")
    boards.first.focus()
    desk.keyboard.press("+")
    scales = [board.locator("g[transform*=scale]").first.get_attribute("transform") for board in boards.all()]
    assert scales[0] == scales[1]


def test_plan_and_parts_go_on_paper_and_files_along(desk, opened, ask):
    plan = opened(desk, "Cost")
    document = ask("GET", f"/api/plans/{plan}/document")
    text = " ".join(unicodedata.normalize("NFKC", "\n".join(page.extract_text() for page in _printed(desk))).split())
    assert "call the utility-location service" in text
    for line in document["parts"]:
        assert line["part"] in text
    for head in document["heads"]:
        assert head["id"] in text
    assert "Undo" not in text
    with desk.expect_download() as coming:
        desk.get_by_role("link", name="Parts list, CSV").click()
    assert coming.value.suggested_filename == "parts.csv"


def test_a_drawing_set_is_made_for_the_paper_that_is_chosen(anywhere, opened, grave_faults, keep_picture):
    opened(anywhere, "Cost")
    anywhere.get_by_text("Drawing set", exact=True).click()
    anywhere.get_by_label("Paper").select_option("a3")
    anywhere.get_by_role("checkbox", name="build steps").uncheck()
    assert grave_faults(anywhere) == []
    with anywhere.expect_download() as coming:
        anywhere.get_by_role("button", name="Make the PDF").click()
    assert coming.value.suggested_filename == "sheets.pdf"
    pages = pypdf.PdfReader(coming.value.path()).pages
    assert {round(float(side) * 25.4 / 72) for page in pages for side in page.mediabox[2:]} == {297, 420}
    text = " ".join(page.extract_text() for page in pages)
    assert "Verdict:" in text
    assert "Build steps" not in text
    expect(anywhere.get_by_text("The set is among your downloads.")).to_be_visible()
    keep_picture(anywhere)


def _printed(page):
    return pypdf.PdfReader(io.BytesIO(page.pdf(format="Letter"))).pages


def test_all_parts_of_the_screen_are_open_to_everyone(anywhere, opened, grave_faults, keep_picture):
    opened(anywhere)
    for tab in TABS:
        anywhere.get_by_role("tab", name=tab).click()
        anywhere.wait_for_timeout(300)
        assert grave_faults(anywhere) == []
    for scheme in ("light", "dark"):
        anywhere.emulate_media(color_scheme=scheme)
        anywhere.get_by_role("tab", name="Outcome").click()
        assert grave_faults(anywhere) == []
        keep_picture(anywhere, scheme)


def test_with_one_thumb_a_head_is_chosen_moved_and_put_back(phone, opened, keep_picture):
    opened(phone)
    x, y = middle_of(phone, "H2")
    phone.touchscreen.tap(x, y)
    card = phone.get_by_role("region", name="Head H2")
    card.get_by_role("button", name="Move up").tap()
    _answered(phone, 1)
    assert middle_of(phone, "H2")[1] < y
    keep_picture(phone)
    for button in card.get_by_role("button").all():
        if "figure" not in (button.get_attribute("class") or ""):
            box = button.bounding_box()
            assert min(box["width"], box["height"]) >= 44
    card.get_by_role("button", name="Put back").tap()
    phone.locator(".now").first.wait_for(state="detached")
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390


def test_a_transformer_that_is_no_number_is_not_taken_for_an_unknown_one(desk, opened):
    opened(desk, "Valves")
    field = desk.get_by_label("Transformer, VA")
    field.fill("big")
    expect(desk.get_by_text("Write what the transformer gives in VA")).to_be_visible()
    field.fill("20")
    expect(desk.get_by_text("Write what the transformer gives in VA")).to_have_count(0)
