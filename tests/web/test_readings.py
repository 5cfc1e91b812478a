"""With a phone in the yard: forms for every reading, what can hardly be is asked, conclusions and changes are shown."""

import contextlib
import re
import time
import uuid

import pytest
from playwright.sync_api import expect

from plan_yards import small_yard
from web_plan import add_yard

ARRIVED = "Everything has arrived."
NOW = "2027-05-02T09:00:00Z"


@pytest.fixture
def yard(ask):
    return add_yard(ask, small_yard())


def entries(ask, yard):
    return [stored["entry"] for stored in ask("GET", f"/api/yards/{yard}/log")]


def open_work(page, yard, name):
    page.goto(f"/#/{yard}/work")
    expect(page.get_by_text(ARRIVED)).to_be_visible()
    page.get_by_role("navigation", name="Parts of the work").get_by_role("button", name=name).click()


@contextlib.contextmanager
def logged(ask, yard, *readings):
    """Entries in a yard's log while the block runs, withdrawn after it."""
    sure = ["static pressure apart", "open flow apart"]
    made = [{"id": str(uuid.uuid4()), "made": NOW, "what": what, "confirmed": sure} for what in readings]
    receipts = ask("POST", f"/api/yards/{yard}/log", {"entries": made})
    assert [receipt["status"] for receipt in receipts] == ["stored"] * len(made)
    try:
        yield made
    finally:
        gone = [one | {"id": str(uuid.uuid4()), "corrects": one["id"], "withdraws": True} for one in made]
        ask("POST", f"/api/yards/{yard}/log", {"entries": gone})


def test_a_form_by_the_schema_says_what_it_lacks_and_keeps_units(phone, ask, yard, grave_faults, keep_picture):
    open_work(phone, yard, "Measure")
    phone.get_by_label("What").select_option("Leak watch")
    phone.get_by_label("closed in").fill("main")
    first, second = phone.get_by_role("group", name="1"), phone.get_by_role("group", name="2")
    first.get_by_label("after").fill("0")
    first.get_by_label("pressure").fill("400")
    second.get_by_label("after").fill("20 min")
    phone.get_by_role("button", name="Write down").click()
    expect(second.get_by_text("must be given").last).to_be_visible()
    expect(second.get_by_label("pressure")).to_be_focused()
    assert grave_faults(phone) == []
    keep_picture(phone)
    second.get_by_label("pressure").fill("57 psi")
    second.get_by_label("water").fill("15")
    phone.get_by_role("button", name="Write down").click()
    expect(phone.get_by_text("Leak watch: written down.")).to_be_visible()
    expect(phone.get_by_text(ARRIVED)).to_be_visible()
    (entry,) = entries(ask, yard)
    looks = entry["what"]["readings"]
    assert [look["after"] for look in looks] == [0, 1200]
    assert [look["pressure"] for look in looks] == pytest.approx([400_000, 393_001], abs=1)
    assert looks[1]["water"] == pytest.approx(288.15)


def test_what_can_hardly_be_is_asked_and_kept_when_it_is_so(phone, ask, yard, keep_picture):
    """200 L in 15 s are 800 L/min, out of a 1 in pipe."""
    open_work(phone, yard, "Measure")
    phone.get_by_label("What").select_option("Bucket fill")
    phone.get_by_label("Bucket, to its mark").fill("200")
    phone.get_by_label("Time on the clock").fill("15")
    phone.get_by_text("How sure it is, and more").click()
    phone.get_by_label("outlet", exact=True).fill("hose tap")
    phone.get_by_role("button", name="Write down").click()
    expect(phone.get_by_text("Not kept yet, can this be?")).to_be_in_viewport()
    expect(phone.get_by_text("written down.")).to_have_count(0)
    expect(phone.get_by_text("1 in copper L pass at most")).to_be_visible()
    assert entries(ask, yard) == []
    keep_picture(phone)
    phone.get_by_role("button", name="It is so, keep it").click()
    expect(phone.get_by_text(ARRIVED)).to_be_visible()
    (entry,) = entries(ask, yard)
    assert (entry["confirmed"], entry["what"]["outlet"]) == (["flow over pipe"], "hose tap")


def test_conclusions_and_what_an_entry_changed_are_shown(anywhere, ask, made, grave_faults, keep_picture):
    yard, _ = made
    fill = {"kind": "supply test", "measurement": {"kind": "bucket fill", "volume": "20 L", "seconds": [15.9, 16.1]}}
    with logged(ask, yard, fill):
        open_work(anywhere, yard, "Readings")
        bucket = anywhere.get_by_role("article", name="bucket test 1")
        expect(bucket.get_by_text("L/min ran")).to_be_visible()
        bucket.get_by_text("numbers and their working").click()
        bucket.get_by_text("Flow into the bucket").click()
        expect(bucket.get_by_text("volume / (time - start)")).to_be_visible()
        table = anywhere.get_by_role("article", name="all readings").get_by_role("table")
        expect(table.get_by_role("columnheader", name="After")).to_be_visible()
        assert grave_faults(anywhere) == []
        keep_picture(anywhere)
        parts = anywhere.get_by_role("navigation", name="Parts of the work")
        parts.get_by_role("button", name="Log").click()
        anywhere.get_by_role("button", name="What it changed").first.click()
        expect(anywhere.get_by_text("flow left at").first).to_be_visible()


def test_changes_are_looked_for_and_shown(anywhere, ask, made, grave_faults, keep_picture):
    """On an invented supply of under half the pressure a pump is what makes the zone sound again."""
    yard, _ = made
    weak = {"kind": "supply test", "measurement": {"kind": "static gauge", "pressure": "200 kPa"}}
    slow = {"kind": "supply test", "measurement": {"kind": "bucket fill", "volume": "20 L", "seconds": [40, 41]}}
    with logged(ask, yard, weak, slow):
        open_work(anywhere, yard, "Changes")
        anywhere.get_by_label("An hour of your work").fill("30")
        anywhere.get_by_role("button", name="Look for changes").click()
        first = anywhere.get_by_role("article").first
        expect(first.get_by_role("heading", name="1. ")).to_be_visible()
        for words in ("In all", "To pay", "Work", "Thrown away", "Dug up again", "Holds with a chance of"):
            expect(first.get_by_text(words, exact=True)).to_be_visible()
        expect(first.get_by_text(re.compile(r"^\d+\.\d h ± \d+\.\d$"))).to_be_visible()
        expect(anywhere.get_by_text("Finished as drawn:")).to_be_visible()
        first.get_by_text("numbers and their working").click()
        assert grave_faults(anywhere) == []
        keep_picture(anywhere)
        with anywhere.expect_popup() as popup:
            first.get_by_role("link", name="The whole plan").click()
        expect(popup.value.get_by_role("heading").first).to_be_visible()
    anywhere.reload()  # what was found is still there, and the log has changed since
    expect(anywhere.get_by_text("The log has grown since: look again.")).to_be_visible()


FIRST_LOOK_LATE = """
const plain = window.fetch;
window.fetch = async (asked, ...rest) => {
  const answer = await plain(asked, ...rest);
  const first = asked.method === "GET" && asked.url?.endsWith("/changes") && !window.arrive;
  if (first) await new Promise((resolve) => (window.arrive = resolve));
  return answer;
};
"""


def test_what_was_found_before_one_asked_is_not_taken_for_the_answer(desk, ask, made):
    """On a slow line the page's first look arrives after the search that was asked for meanwhile."""
    yard, _ = made
    desk.add_init_script(FIRST_LOOK_LATE)
    with logged(ask, yard, {"kind": "supply test", "measurement": {"kind": "static gauge", "pressure": "300 kPa"}}):
        open_work(desk, yard, "Changes")
        desk.evaluate("(async () => { while (!window.arrive) await new Promise(requestAnimationFrame); })()")
        desk.get_by_role("button", name="Look for changes").click()
        standing = desk.get_by_role("region", name="How the job stands")
        expect(standing).to_be_visible()
        desk.evaluate("arrive(); new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
        expect(standing).to_be_visible(timeout=1)
        expect(desk.get_by_role("button", name="Look for changes")).to_be_enabled(timeout=1)


def test_terms_that_are_read_back_do_not_come_between_what_is_being_typed(desk, ask, made):
    """On a slow line they arrive when the hour was gone to, to be written over, and no figure of it was typed yet."""
    yard, plan = made
    with logged(ask, yard, {"kind": "supply test", "measurement": {"kind": "static gauge", "pressure": "310 kPa"}}):
        ask("POST", f"/api/plans/{plan}/changes", {"hour": 45})
        while ask("GET", f"/api/plans/{plan}/changes")["state"]["status"] in ("waiting", "running"):
            time.sleep(0.2)
        desk.add_init_script(FIRST_LOOK_LATE)
        open_work(desk, yard, "Changes")
        desk.evaluate("(async () => { while (!window.arrive) await new Promise(requestAnimationFrame); })()")
        hour = desk.get_by_label("An hour of your work")
        hour.select_text()
        desk.evaluate("arrive(); new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
        expect(desk.get_by_role("region", name="How the job stands")).to_be_visible()
        desk.keyboard.insert_text("30")
        expect(hour).to_have_value("30")


def test_a_change_is_made_the_plan_and_undone_and_a_height_is_put_into_the_yard(
    phone, ask, plan_of, grave_faults, keep_picture
):
    yard = add_yard(ask, small_yard())
    plan = plan_of(yard)
    weak = {"kind": "supply test", "measurement": {"kind": "static gauge", "pressure": "200 kPa"}}
    slow = {"kind": "supply test", "measurement": {"kind": "bucket fill", "volume": "20 L", "seconds": [40, 41]}}
    with logged(ask, yard, weak, slow):
        open_work(phone, yard, "Changes")
        phone.get_by_label("A change must hold with a chance of").fill("90")
        phone.get_by_role("button", name="Look for changes").click()
        expect(phone.get_by_text("with a chance of 90.0 % or more")).to_be_visible()
        phone.reload()  # terms and changes are read back
        expect(phone.get_by_label("A change must hold with a chance of")).to_have_value("90")
        phone.get_by_role("button", name="Make this the plan").first.click()
        dialog = phone.get_by_role("dialog", name=re.compile("Make this the plan: booster pump"))
        expect(dialog.get_by_text("What the log says was bought, dug and buried stays so.")).to_be_visible()
        assert grave_faults(phone) == []
        keep_picture(phone)
        dialog.get_by_role("button", name="Make it the plan").click()
        expect(phone.get_by_text("Taken up: booster pump.")).to_be_visible()
        notes = ask("GET", f"/api/yards/{yard}/plans")
        (current,) = [note["id"] for note in notes if note["current"]]
        assert current != plan
        now = ask("GET", f"/api/yards/{yard}/revisions/current")
        assert now["document"]["water_entry"]["booster"]
        phone.get_by_role("button", name="Undo").click()
        expect(phone.locator(".saved")).to_have_text("saved")
        expect(phone.get_by_role("heading", name="1. booster pump")).to_be_visible()  # those of the plan before
        assert [note["id"] for note in ask("GET", f"/api/yards/{yard}/plans") if note["current"]] == [plan]
    with logged(ask, yard, {"kind": "spot height", "place": [4.5, 3.5], "height": "0.4 m"}):
        phone.get_by_role("navigation", name="Parts of the work").get_by_role("button", name="Readings").click()
        phone.get_by_role("button", name="Put 1 height of the log into the yard").click()
        expect(phone.get_by_text("In the yard: 1 height of the log.")).to_be_visible()
        assert grave_faults(phone) == []
        expect(phone.locator(".saved")).to_have_text("saved")
        now = ask("GET", f"/api/yards/{yard}/revisions/current")
        assert now["document"]["spot_heights"] == [*small_yard()["spot_heights"], {"at": [4.5, 3.5], "height": 0.4}]
