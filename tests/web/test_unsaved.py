"""Changes that were not saved when their tab was closed: found again, and taken up with the yard as it is by then."""

import re

from playwright.sync_api import expect

from web_drawing import begin, document_of, saved, square


def drawn_and_closed(page, ask, size=8):
    """Draw without a connection and close the tab; give the next tab and the yard's address."""
    begin(page, "Unsaved", "metric")
    saved(page)
    address = page.url
    page.context.set_offline(True)
    square(page, size)
    expect(page.get_by_text("not saved: no answer, trying again")).to_be_visible()
    yard = re.search(r"#/([^/]+)/", address).group(1)
    assert ask("GET", f"/api/yards/{yard}/revisions/current")["document"]["areas"] == []
    page.close()
    page.faults.clear()  # of the connection, tried until the end
    after = page.context.new_page()
    page.context.set_offline(False)
    return after, address


def names(ask, page):
    return [area["id"] for area in document_of(page, ask)["areas"]]


def test_a_closed_tab_loses_nothing_by_keys(phone, ask, grave_faults, keep_picture):
    page, address = drawn_and_closed(phone, ask)
    page.goto(address)
    dialog = page.get_by_role("dialog", name="Changes that were not saved")
    expect(dialog.get_by_text("lawn drawn")).to_be_visible()
    assert grave_faults(page) == []
    keep_picture(page)
    dialog.get_by_role("button", name="Take up").focus()
    page.keyboard.press("Enter")
    expect(dialog).to_have_count(0)
    assert names(ask, page) == ["lawn"]
    page.get_by_role("button", name="Undo").click()
    assert names(ask, page) == []
    page.reload()
    page.get_by_role("application").wait_for()
    page.wait_for_timeout(600)  # longer than other pages are asked
    expect(page.get_by_role("dialog")).to_have_count(0)


def test_what_was_left_is_put_together_with_a_change_elsewhere(phone, ask):
    page, address = drawn_and_closed(phone, ask)
    yard = re.search(r"#/([^/]+)/", address).group(1)
    now = ask("GET", f"/api/yards/{yard}/revisions/current")
    changed = now["document"] | {"name": "Renamed at the desk"}
    ask("POST", f"/api/yards/{yard}/revisions", {"document": changed, "expected": now["current"]})
    page.goto(address)
    dialog = page.get_by_role("dialog", name="Changes that were not saved")
    expect(dialog.get_by_text("The yard was changed since")).to_be_visible()
    dialog.get_by_role("button", name="Take up").click()
    choice = page.get_by_role("dialog", name="Changed here and elsewhere")
    choice.get_by_role("button", name="Put together").click()
    expect(choice).to_have_count(0)
    document = document_of(page, ask)
    assert [area["id"] for area in document["areas"]] == ["lawn"]
    assert document["name"] == "Renamed at the desk"


def test_what_was_left_waits_until_it_is_deleted(phone, ask):
    page, address = drawn_and_closed(phone, ask)
    page.goto(address)
    page.get_by_role("dialog").get_by_role("button", name="Later").click()
    page.reload()
    page.get_by_role("dialog").get_by_role("button", name="Delete").click()
    expect(page.get_by_role("dialog")).to_have_count(0)
    page.reload()
    page.get_by_role("application").wait_for()
    page.wait_for_timeout(600)  # longer than other pages are asked
    expect(page.get_by_role("dialog")).to_have_count(0)
    assert names(ask, page) == []


def test_a_tab_that_is_open_keeps_its_own(phone, ask):
    begin(phone, "Two", "metric")
    saved(phone)
    phone.context.set_offline(True)
    square(phone, 8)
    other = phone.context.new_page()
    phone.context.set_offline(False)
    phone.route("**/revisions", lambda route: route.abort())
    other.goto(phone.url)
    other.get_by_role("application").wait_for()
    other.wait_for_timeout(600)  # longer than other pages are asked
    expect(other.get_by_role("dialog")).to_have_count(0)
    phone.unroute("**/revisions")
    assert names(ask, phone) == ["lawn"]
    phone.faults.clear()  # of the connection
