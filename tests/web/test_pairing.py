"""Letting a phone in over the network: encrypted by the machine's own authority, or plain where that is wanted."""

import re

import pytest
from playwright.sync_api import Error, expect

CONTROLLED = """async () => {
  while (!navigator.serviceWorker.controller) await new Promise((resolve) => setTimeout(resolve, 50));
}"""


def test_over_a_plain_address_a_phone_is_let_in_by_its_code_and_writes(
    plain_program, chromium, phone_options, asker, grave_faults, keep_picture
):
    ask = asker(plain_program.address)
    told = ask("GET", "/api/share")
    context = chromium.new_context(base_url=told["address"], **phone_options)
    page = context.new_page()
    page.goto("/")
    page.get_by_role("heading", name="Let this device in").wait_for()
    assert grave_faults(page) == []
    keep_picture(page, "code")
    page.get_by_label("Code").fill("WRNG-CDEX")
    page.get_by_role("button", name="Let it in").click()
    expect(page.get_by_role("alert")).to_contain_text("not the code")

    page.goto("about:blank")
    page.goto(f"/#pair={told['code']}")  # as the camera reads it
    expect(page.get_by_label("Code")).to_have_value(told["code"])
    page.get_by_label("Name of this device").fill("red phone")
    page.get_by_role("button", name="Let it in").click()
    page.get_by_role("heading", name="Begin a yard").wait_for()

    page.get_by_label("Name").fill("Over the network")
    page.get_by_role("button", name="Begin").click()
    page.get_by_role("application").wait_for()
    page.get_by_role("link", name="Work", exact=True).click()
    assert page.evaluate("window.isSecureContext") is False
    page.get_by_role("button", name="Measure").click()
    page.get_by_label("What").select_option("Note or photo")
    page.get_by_label("Words").fill("from the phone")
    page.get_by_role("button", name="Write down").click()
    expect(page.get_by_text("Note or photo: written down.")).to_be_visible()
    expect(page.get_by_text("Everything has arrived.")).to_be_visible()
    expect(page.get_by_text("This address is not encrypted")).to_be_visible()
    yard = re.search(r"#/([^/]+)/", page.url).group(1)
    assert [one["entry"]["words"] for one in ask("GET", f"/api/yards/{yard}/log")] == ["from the phone"]
    assert ask("GET", "/api/share")["code"] != told["code"]
    context.close()


def let_in(browser, ask, options, name="red phone"):
    """A phone's tab, let in by the code of now."""
    told = ask("GET", "/api/share")
    context = browser.new_context(base_url=told["address"], **options)
    page = context.new_page()
    page.goto(f"/#pair={told['code']}")
    page.get_by_label("Name of this device").fill(name)
    page.get_by_role("button", name="Let it in").click()
    page.get_by_role("heading", name="Begin a yard").wait_for()
    return page


def test_the_page_is_encrypted_and_opens_again_without_a_connection(
    shared_program, trusting, phone_options, asker, keep_picture
):
    ask = asker(shared_program.address)
    page = let_in(trusting, ask, phone_options)
    assert page.evaluate("window.isSecureContext") is True
    (cookie,) = page.context.cookies()
    assert (cookie["name"], cookie["secure"], cookie["httpOnly"]) == ("__Host-rillwright-session", True, True)
    page.get_by_label("Name").fill("Over the network")
    page.get_by_role("button", name="Begin", exact=True).click()
    page.get_by_role("application").wait_for()
    page.evaluate(CONTROLLED)
    page.get_by_role("link", name="Work", exact=True).click()
    expect(page.get_by_text("Everything has arrived.")).to_be_visible()
    page.reload()  # what is read now is kept
    expect(page.get_by_text("Everything has arrived.")).to_be_visible()
    shared_program.stop()
    page.reload()
    page.get_by_role("button", name="Measure").click()
    page.get_by_label("What").select_option("Note or photo")
    page.get_by_label("Words").fill("from the phone")
    page.get_by_role("button", name="Write down").click()
    expect(page.get_by_text("1 kept on this device: no connection")).to_be_visible()
    keep_picture(page)
    shared_program.start()  # and the device is let in still
    expect(page.get_by_text("Everything has arrived.")).to_be_visible()
    yard = re.search(r"#/([^/]+)/", page.url).group(1)
    assert [one["entry"]["words"] for one in ask("GET", f"/api/yards/{yard}/log")] == ["from the phone"]
    page.context.close()


def test_a_phone_that_does_not_trust_the_certificate_gets_nothing(shared_program, chromium, asker):
    told = asker(shared_program.address)("GET", "/api/share")
    page = chromium.new_page()
    with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
        page.goto(told["address"])
    with pytest.raises(Error, match=r"ERR_EMPTY_RESPONSE|ERR_CONNECTION"):
        page.goto(told["address"].replace("https", "http"))
    page.close()


def test_the_page_about_the_certificate_is_readable(
    shared_program, chromium, phone_options, asker, grave_faults, keep_picture
):
    trust = asker(shared_program.address)("GET", "/api/share")["trust"]
    for scheme in ("light", "dark"):
        context = chromium.new_context(**phone_options, color_scheme=scheme, bypass_csp=True)  # so that axe may run
        page = context.new_page()
        page.goto(trust["address"])
        expect(page.get_by_text(trust["fingerprint"])).to_be_visible()
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        assert grave_faults(page) == []
        keep_picture(page, scheme)
        page.keyboard.press("Tab")
        expect(page.get_by_role("link", name="Fetch the certificate")).to_be_focused()
        with page.expect_download() as fetched:
            page.keyboard.press("Enter")
        assert fetched.value.suggested_filename == "authority.crt"
        context.close()


def test_the_desk_shows_what_the_camera_reads(shared_program, chromium, asker, grave_faults, keep_picture):
    ask = asker(shared_program.address)
    yard = ask("POST", "/api/yards", {"name": "At the desk", "units": "US"})["id"]
    page = chromium.new_page(base_url=shared_program.address)
    page.goto(f"/#/{yard}/work")
    page.get_by_text("Open this page on the phone").click()
    expect(page.get_by_text(ask("GET", "/api/share")["code"])).to_be_visible()
    told = ask("GET", "/api/share")
    expect(page.get_by_text(told["trust"]["fingerprint"])).to_be_visible()
    expect(page.get_by_alt_text(re.compile("Code to be read by a camera"))).to_be_visible()
    assert grave_faults(page) == []
    page.get_by_text("One device for each code").scroll_into_view_if_needed()
    keep_picture(page)
    page.close()


def test_a_device_is_turned_out_at_the_desk_by_keys(
    shared_program, chromium, trusting, phone_options, asker, grave_faults
):
    ask = asker(shared_program.address)
    yard = ask("POST", "/api/yards", {"name": "At the desk", "units": "US"})["id"]
    page = let_in(trusting, ask, phone_options)
    desk = chromium.new_page(base_url=shared_program.address)
    desk.goto(f"/#/{yard}/work")
    desk.get_by_text("Open this page on the phone").focus()
    desk.keyboard.press("Enter")
    desk.get_by_role("button", name="Turn out red phone").wait_for()
    assert grave_faults(desk) == []
    desk.get_by_role("button", name="Turn out red phone").focus()
    desk.keyboard.press("Enter")
    expect(desk.get_by_text("Turned out: red phone.")).to_be_visible()
    assert ask("GET", "/api/devices") == []
    page.reload()
    page.get_by_role("heading", name="Let this device in").wait_for()
    desk.close()
    page.context.close()
