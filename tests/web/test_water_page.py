"""Watering in the page: what is lacking, a programme by a weather file, its week, workings and files, at both sizes."""

from playwright.sync_api import expect

from watered_plans import seattle_file


def open_water(page, yard):
    page.goto(f"/#/{yard}/work")
    page.get_by_role("navigation", name="Parts of the work").get_by_role("button", name="Water").click()


def reckon(page):
    page.get_by_role("button", name="Reckon", exact=True).click()
    expect(page.get_by_role("button", name="Reckon", exact=True)).to_be_enabled()


def test_programme_by_a_weather_file(anywhere, made, tmp_path, grave_faults, keep_picture):
    page = anywhere
    open_water(page, made[0])
    expect(page.get_by_text("No weather is known: give a weather file")).to_be_visible()
    asked = []
    page.on("request", lambda request: asked.append(request.url) if request.url.endswith("/water") else None)
    page.get_by_label("Latitude").press_sequentially("north")
    page.set_input_files("input[type=file]", seattle_file(tmp_path))
    page.wait_for_timeout(200)
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
    page.set_input_files("input[type=file]", {"name": "none.csv", "mimeType": "text/csv", "buffer": b""})
    reckon(page)
    expect(alert.first).to_contain_text("holds no rows")
    expect(nights.first).to_be_visible()  # the last programme stays
    page.set_input_files("input[type=file]", seattle_file(tmp_path))
    reckon(page)
    expect(page.get_by_role("img", name="Soil water")).to_be_visible()
    assert page.evaluate("document.querySelector('main').scrollWidth <= document.querySelector('main').clientWidth")
    assert grave_faults(page) == []
    keep_picture(page)
    page.faults[:] = [fault for fault in page.faults if "422" not in fault]  # refusals that were asked for
