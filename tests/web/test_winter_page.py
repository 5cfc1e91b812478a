"""Winter in the page: tonight's advice, the card, the working behind a table, the record, at both sizes."""

from playwright.sync_api import expect


def open_winter(page, yard):
    page.goto(f"/#/{yard}/work")
    page.get_by_role("navigation", name="Parts of the work").get_by_role("button", name="Winter").click()
    expect(page.get_by_role("heading", name="Blow out")).to_be_visible()


def test_tonight_card_working_and_record(anywhere, made, grave_faults):
    page = anywhere
    open_winter(page, made[0])
    expect(page.get_by_text("eye protection for everybody")).to_be_visible()
    page.get_by_text("Tonight, weather, compressor").click()
    page.get_by_label("Least temperature tonight").fill("-6 C")
    page.get_by_role("button", name="Reckon").click()
    expect(page.get_by_role("heading", name="Tonight -6 °C: do this")).to_be_visible()
    page.get_by_label("Least temperature tonight").fill("cold")
    page.get_by_role("button", name="Reckon").click()
    expect(page.get_by_text("is not a temperature")).to_be_visible()
    page.get_by_role("region", name="Blow-out by zone").get_by_role("button").first.press("Enter")
    expect(page.get_by_role("dialog")).to_contain_text("choked or subsonic")
    page.get_by_role("button", name="Close").last.click()
    page.get_by_text("Year by year").click()
    expect(page.get_by_text("Nothing by what was read.")).to_be_visible()
    assert page.evaluate("document.querySelector('main').scrollWidth <= document.querySelector('main').clientWidth")
    assert grave_faults(page) == []
    page.faults[:] = [fault for fault in page.faults if "422" not in fault]  # the refusal of 'cold'
