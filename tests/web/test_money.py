"""Money in the page: a price typed in place counts at once, is kept with the yard, and can be taken back."""

import re

from playwright.sync_api import expect

from plan_yards import planned, small_yard, two_lawns
from web_plan import add_yard


def test_a_price_typed_in_place_counts_and_is_kept(anywhere, ask, plan_of, grave_faults, keep_picture):
    yard = add_yard(ask, small_yard(name=f"Money {anywhere.size}", budget=900))
    plan = plan_of(yard, planned(small_yard(budget=900)))
    anywhere.goto(f"/#/{yard}/plan")
    anywhere.get_by_role("tab", name="Cost").click()
    bar = anywhere.get_by_role("img", name=re.compile("still to pay"))
    expect(bar).to_have_attribute("aria-label", re.compile("budget 900"))
    before = ask("GET", f"/api/plans/{plan}/money")["total"]
    field = anywhere.get_by_label("Price of one valve box large with extension")
    field.fill("much")
    field.press("Enter")
    expect(anywhere.get_by_text("Write a number, such as 2.50.")).to_be_visible()
    field.fill("100")
    field.press("Enter")
    expect(anywhere.get_by_text(f"{before + 38:.2f}")).to_be_visible()  # 62.00 in the invented list
    document = ask("GET", f"/api/yards/{yard}/revisions/current")["document"]
    assert document["money"] == {"prices": [{"part": "valve box large with extension", "price": 100}]}
    assert grave_faults(anywhere) == []
    assert anywhere.evaluate(
        "document.querySelector('main').scrollHeight <= document.querySelector('main').clientHeight"
    )
    keep_picture(anywhere)
    anywhere.get_by_role("button", name="Undo").click()
    expect(anywhere.get_by_text(f"{before:.2f}")).to_be_visible()


def test_lawns_are_put_in_phases_where_a_split_is_asked_for(anywhere, ask, plan_of, grave_faults):
    """One zone over both lawns: put in two phases, they are told to be planned again; the yard keeps their phases."""
    yard = add_yard(ask, two_lawns() | {"name": f"Phases {anywhere.size}"})
    plan_of(yard, planned(two_lawns()))
    anywhere.goto(f"/#/{yard}/plan")
    anywhere.get_by_role("tab", name="Cost").click()
    anywhere.get_by_text("Which lawn in which phase").click()
    anywhere.get_by_label("Phase of front").select_option("phase 1")
    anywhere.get_by_label("Phase of lawn").select_option("phase 2")
    expect(anywhere.get_by_text("saved", exact=True)).to_be_attached()
    anywhere.get_by_role("button", name="Split into phases").click()
    expect(anywhere.get_by_text("over lawns that the yard now puts in two phases")).to_be_visible()
    areas = ask("GET", f"/api/yards/{yard}/revisions/current")["document"]["areas"]
    assert [area.get("phase") for area in areas] == [1, 2, None, None]
    assert grave_faults(anywhere) == []
