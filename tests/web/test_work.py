"""In the yard with a phone: entries without a connection, the stopwatch, where things are, the log at the desk."""

import io
import re

import pytest
from PIL import Image
from playwright.sync_api import expect

from plan_yards import small_yard
from web_plan import add_yard, put_plan

CONTROLLED = """async () => {
  while (!navigator.serviceWorker.controller) await new Promise((resolve) => setTimeout(resolve, 50));
}"""
ARRIVED = "Everything has arrived."


@pytest.fixture
def yard(ask):
    return add_yard(ask, small_yard())


def entries(ask, yard):
    return [stored["entry"] for stored in ask("GET", f"/api/yards/{yard}/log")]


def open_work(page, yard, name="Steps"):
    page.goto(f"/#/{yard}/work")
    expect(page.get_by_text(ARRIVED)).to_be_visible()
    part(page, name)


def part(page, name):
    page.get_by_role("navigation", name="Parts of the work").get_by_role("button", name=name).click()


def write_note(page, words):
    page.get_by_label("What").select_option("Note or photo")
    page.get_by_label("Words").fill(words)
    page.get_by_role("button", name="Write down").click()
    expect(page.get_by_text("Note or photo: written down.")).to_be_visible()
    expect(page.get_by_label("Words")).to_have_value("")


def test_entries_without_a_connection_arrive_once_and_in_order(
    own_program, chromium, phone_options, asker, keep_picture
):
    ask = asker(own_program.address)
    yard = add_yard(ask, small_yard())
    put_plan(ask, own_program.folder, yard)
    context = chromium.new_context(base_url=own_program.address, **phone_options)
    page = context.new_page()
    open_work(page, yard)
    page.evaluate(CONTROLLED)
    page.reload()  # what is read now is kept
    expect(page.get_by_text(ARRIVED)).to_be_visible()
    own_program.stop()

    part(page, "Measure")
    write_note(page, "first")
    write_note(page, "second")
    expect(page.get_by_text("2 kept on this device: no connection")).to_be_visible()
    page.reload()  # the page opens all the same, from the browser's copy
    expect(page.get_by_text("2 kept on this device: no connection")).to_be_visible()
    write_note(page, "third")
    part(page, "Steps")  # the last plan is there too
    page.get_by_text("Buy and check the parts").click()
    page.get_by_role("checkbox", name="Parts in hand").check()
    part(page, "Find")
    expect(page.locator("[data-head]").first).to_be_visible()
    part(page, "Log")
    expect(page.get_by_text("kept here, not sent yet")).to_have_count(3)
    keep_picture(page)

    own_program.start()
    expect(page.get_by_text(ARRIVED)).to_be_visible()
    assert [entry["words"] for entry in entries(ask, yard)] == ["first", "second", "third"]
    assert [(tick["step"], tick["done"]) for tick in ask("GET", f"/api/yards/{yard}/ticks")] == [("parts", True)]
    page.reload()
    expect(page.get_by_text(ARRIVED)).to_be_visible()
    assert len(entries(ask, yard)) == 3
    context.close()


def test_an_answer_that_is_lost_makes_no_second_entry(phone, ask, yard):
    open_work(phone, yard, "Measure")
    phone.evaluate(CONTROLLED)
    lost = []

    def lose(route):
        if route.request.method == "POST" and len(lost) < 2:
            lost.append(route.fetch().status)  # it arrives, and nobody hears
            route.abort()
        else:
            route.continue_()

    phone.route("**/log", lose)
    write_note(phone, "once")
    write_note(phone, "and this after it")
    expect(phone.get_by_text(ARRIVED)).to_be_visible()
    assert lost == [200, 200]
    assert [entry["words"] for entry in entries(ask, yard)] == ["once", "and this after it"]
    phone.faults.clear()  # of the connection


def test_a_bucket_is_timed_and_added_to_the_supply(phone, ask, yard, keep_picture):
    open_work(phone, yard, "Measure")
    phone.get_by_label("What").select_option("Bucket fill")
    phone.get_by_role("button", name="Tap opened").click()
    phone.wait_for_timeout(400)
    phone.get_by_role("button", name="Water has come").click()
    phone.wait_for_timeout(1100)
    phone.get_by_role("button", name="At the mark").click()
    fills = phone.get_by_role("list", name="Fills so far")
    expect(fills.get_by_text(re.compile(r"\d\.\d s, \d\.\d s of it before water came"))).to_be_visible()
    whole, delay = (float(phone.get_by_label(name).input_value()) for name in ("Time on", "Of it before"))
    assert delay >= 0.4
    assert whole - delay >= 1.1
    phone.get_by_label("Time on the clock").fill("16.4, 16.9, 16.2")
    phone.get_by_label("Of it before water came").fill("1.5")
    phone.get_by_label("Bucket, to its mark").fill("lots")
    phone.get_by_role("button", name="Write down").click()
    expect(phone.get_by_label("Bucket, to its mark")).to_be_focused()
    phone.get_by_label("Bucket, to its mark").fill("20")
    phone.get_by_role("button", name="Write down").click()
    part(phone, "Log")
    expect(phone.get_by_text("20.0 L in 16.4 s, 16.9 s, 16.2 s, 1.5 s of it before water came")).to_be_visible()
    phone.get_by_role("button", name="Add to the supply").click()
    expect(phone.get_by_text(re.compile("Added to the supply. Safe flow before .* now .* binds"))).to_be_visible()
    expect(phone.get_by_text("in the supply", exact=True)).to_be_visible()
    keep_picture(phone)
    document = ask("GET", f"/api/yards/{yard}/revisions/current")["document"]
    assert document["supply"][-1]["kind"] == "bucket fill"


def test_a_correction_at_the_desk_keeps_the_first_value(phone, desk, ask, yard, grave_faults, keep_picture):
    open_work(phone, yard, "Measure")
    phone.get_by_label("What").select_option("Pressure, nothing running")
    phone.get_by_label("Pressure (kPa)").fill("54 psi")
    phone.get_by_role("button", name="Write down").click()
    expect(phone.get_by_text("Pressure, nothing running: written down.")).to_be_visible()
    expect(phone.get_by_text(ARRIVED)).to_be_visible()

    open_work(desk, yard, "Log")
    desk.get_by_role("button", name="Correct").click()
    form = desk.get_by_role("dialog")
    expect(form.get_by_label("Pressure (kPa)")).to_have_value("372.32")
    form.get_by_label("Pressure (kPa)").fill("62 psi")
    keep_picture(desk, "dialog")
    assert grave_faults(desk) == []
    form.get_by_role("button", name="Correct it").click()
    expect(desk.get_by_text("427 kPa, nothing running")).to_be_visible()
    expect(desk.get_by_text("first written: 372 kPa, nothing running")).to_be_visible()
    keep_picture(desk)
    first, second = entries(ask, yard)
    assert second["corrects"] == first["id"]


def test_two_distances_tell_where_one_stands(phone, ask, yard, keep_picture):
    """The house's wall runs from (0, 0) to (9, 0); (4, 3) is √(4² + 3²) and √(5² + 3²) away (Pythagoras)."""
    open_work(phone, yard, "Find")
    phone.get_by_label("First point, A").select_option("house, corner 4")
    phone.get_by_label("Second point, B").select_option("house, corner 3")
    phone.get_by_label("From A").fill("5")
    phone.get_by_label("From B").fill("5.831")
    expect(phone.get_by_text("Place 1, on the left when looking from A to B")).to_be_visible()
    expect(phone.get_by_text("Place 2, on the right")).to_be_visible()
    phone.get_by_role("button", name="I am here").first.click()
    expect(phone.get_by_text("Entries are written down at 4.00 m across, 3.00 m up.")).to_be_visible()
    keep_picture(phone)
    phone.get_by_label("From B").fill("2")
    expect(phone.get_by_text("These two distances do not meet: 2.00 m are missing.")).to_be_visible()
    part(phone, "Measure")
    write_note(phone, "wet here")
    expect(phone.get_by_text(ARRIVED)).to_be_visible()
    (entry,) = entries(ask, yard)
    assert entry["at"] == pytest.approx([4, 3], abs=1e-3)


def test_cups_and_a_photo_are_written_down(phone, ask, yard, keep_picture):
    """Four cups of 6, 10, 12 and 12: the driest quarter has 60 % of the mean, by USDA NRCS NEH 623, chapter 11."""
    open_work(phone, yard, "Measure")
    phone.get_by_label("What").select_option("Catch cups")
    phone.get_by_label("Zone that ran").fill("Z1")
    phone.get_by_label("The zone ran for").fill("15 min")
    phone.get_by_role("application").tap(position={"x": 180, "y": 120})
    for up in ("2", "3", "4"):
        phone.get_by_label("Across").fill("3")
        phone.get_by_label("Up", exact=True).fill(up)
        phone.get_by_role("button", name="Set a cup there").click()
    for number, depth in enumerate(("12", "6", "10", "12"), 1):
        phone.get_by_label(f"Depth in cup {number}").fill(depth)
    expect(phone.get_by_text("Mean 10.0 mm; the driest quarter has 60% of it.")).to_be_visible()
    phone.get_by_text("How sure it is, and more").click()
    phone.get_by_label("Depth error").fill("1")
    phone.get_by_label("Photo", exact=True).set_input_files(
        {"name": "a.png", "mimeType": "image/png", "buffer": picture(2400, 600)}
    )
    expect(phone.get_by_alt_text("Photo 1 of this entry")).to_be_visible()
    keep_picture(phone)
    late = []
    phone.route("**/photos/*", lambda one: late.append(one) if one.request.method == "PUT" else one.continue_())
    with phone.expect_request("**/photos/*"):
        phone.get_by_role("button", name="Write down").click()
    part(phone, "Log")
    photo = phone.get_by_alt_text(re.compile("Photo 1 of catch cups"))
    expect(photo).to_be_visible()
    photo.evaluate("async (img) => img.decode()")  # what waits to be sent is seen too
    late[0].continue_()
    expect(phone.get_by_text(ARRIVED)).to_be_visible()
    (entry,) = entries(ask, yard)
    assert [cup["depth"] for cup in entry["what"]["cups"]] == pytest.approx([0.012, 0.006, 0.01, 0.012])
    assert entry["what"]["cups"][3]["at"] == [3, 4]
    assert entry["what"]["ran"] == 900
    assert entry["what"]["depth_error"] == pytest.approx(1e-3)
    kept = phone.request.get(f"/api/yards/{yard}/photos/{entry['photos'][0]}")
    assert Image.open(io.BytesIO(kept.body())).size == (1600, 400)


def test_cups_poured_into_a_measure_need_their_mouth(phone, ask, yard):
    """45 mL over a mouth of 75 mm is 10.2 mm: 45e-6 m³ / (pi / 4 (0.075 m)²)."""
    open_work(phone, yard, "Measure")
    phone.get_by_label("What").select_option("Catch cups")
    phone.get_by_label("Zone that ran").fill("Z1")
    phone.get_by_label("The zone ran for").fill("15 min")
    phone.get_by_label("Across").fill("3")
    phone.get_by_label("Up", exact=True).fill("2")
    phone.get_by_role("button", name="Set a cup there").click()
    phone.get_by_label("Depth in cup 1").fill("45")
    phone.get_by_label("Cups are read in").select_option("mL")
    expect(phone.get_by_label("Volume in cup 1, mL")).to_have_value("45")
    phone.get_by_role("button", name="Write down").click()
    expect(phone.get_by_text("Cups read by volume need the width of their mouth.")).to_be_in_viewport()
    phone.get_by_label("mouth").fill("75")
    phone.get_by_role("button", name="Write down").click()
    expect(phone.get_by_text("Not kept yet, can this be?").or_(phone.get_by_text(ARRIVED)).first).to_be_visible()
    part(phone, "Log")
    expect(phone.get_by_text("Z1, ran 900.0 s: 45 mL")).to_be_visible()
    expect(phone.get_by_text(ARRIVED)).to_be_visible()
    (entry,) = entries(ask, yard)
    assert entry["what"]["cups"] == [{"at": [3, 2], "depth": None, "volume": pytest.approx(45e-6)}]
    assert entry["what"]["mouth"] == pytest.approx(0.075)


def picture(width, height):
    file = io.BytesIO()
    Image.new("RGB", (width, height), "#446622").save(file, "png")
    return file.getvalue()


def test_the_work_is_done_by_keys_alone(desk, ask, yard):
    desk.goto(f"/#/{yard}/work")
    expect(desk.get_by_text(ARRIVED)).to_be_visible()
    by_tab(desk, "Measure")
    desk.keyboard.press("Enter")
    by_tab(desk, "What")
    for _ in range(20):
        if desk.get_by_label("What").input_value() == "head pressure":
            break
        desk.keyboard.press("ArrowDown")
    by_tab(desk, "At head")
    desk.keyboard.type("H1")
    by_tab(desk, "Pressure")
    desk.keyboard.type("2.8 bar")
    desk.keyboard.press("Enter")
    expect(desk.get_by_text("Pressure at a head: written down.")).to_be_visible()
    by_tab(desk, "Log")
    desk.keyboard.press("Enter")
    by_tab(desk, "Withdraw")
    desk.keyboard.press("Enter")
    expect(desk.get_by_text("withdrawn", exact=True)).to_be_visible()
    expect(desk.get_by_text(ARRIVED)).to_be_visible()
    first, second = entries(ask, yard)
    assert (first["what"]["head"], first["what"]["pressure"]) == ("H1", pytest.approx(280_000))
    assert (second["corrects"], second["withdraws"]) == (first["id"], True)


def by_tab(page, name):
    """Go on by the tabulator until what is named has the focus."""
    said = """() => {
      const one = document.activeElement;
      return (one.labels?.[0]?.textContent || one.textContent || '').trim();
    }"""
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate(said).startswith(name):
            return
    pytest.fail(f"the tabulator never came to {name}")


@pytest.mark.parametrize("sun", [False, True], ids=["", "sun"])
def test_every_part_of_the_work_is_accessible(anywhere, yard, sun, grave_faults, keep_picture):
    open_work(anywhere, yard)
    if sun:
        anywhere.get_by_label("High contrast for bright sun").check()
    for name in ("Steps", "Measure", "Find", "Log", "Winter"):
        part(anywhere, name)
        assert grave_faults(anywhere) == []
        keep_picture(anywhere, name)
