"""Money over the interface: by the log and the yard as they are now."""

import json
import uuid

import pytest

from plan_yards import planned, small_yard, two_lawns
from rillwright import __version__
from rillwright.jobs.desk import brief_of


@pytest.fixture
def kept(web):
    """A yard and its plan, as if it had been made there: the yard's address and the plan's."""
    made = planned(small_yard())
    file = ("mine.yard.json", json.dumps(small_yard()).encode())
    note = web.post("/api/yards/import", files={"file": file}).json()
    plans = web.app.state.store.plans
    row, _ = plans.start(uuid.UUID(note["id"]), revision=1, seed=0, software=__version__)
    plans.finish(row.id, document=made.model_dump_json(indent=1), brief=brief_of(made), status="done")
    return f"/api/yards/{note['id']}", f"/api/plans/{row.id}"


def say(web, yard, **facts):
    now = web.get(f"{yard}/revisions/current").json()
    body = {"document": now["document"] | facts, "expected": now["note"]["number"]}
    assert web.post(f"{yard}/revisions", json=body).status_code in (200, 201)


def test_receipts_and_prices_of_today_count(web, kept):
    yard, plan = kept
    before = web.get(f"{plan}/money").json()
    assert before["paid"] == 0
    price = {"part": "valve box large with extension", "price": 40.0, "source": "the shop"}
    say(web, yard, budget=900, money={"prices": [price], "tax": 0.1})
    what = {"kind": "money paid", "of": "permit", "amount": 30}
    entry = {"id": str(uuid.uuid4()), "made": "2027-05-01T09:00:00Z", "what": what}
    web.post(f"{yard}/log", json={"entries": [entry]})
    after = web.get(f"{plan}/money").json()
    box = next(one for one in after["parts"] if one["part"] == "valve box large with extension")
    assert (box["price"], box["price_from"], after["paid"], after["budget"]) == (40.0, "owner", 30.0, 900.0)
    told = web.get(f"{plan}/workings/money.part.{box['id']}.due").json()
    assert (told["value"], told["source"]) == (box["due"], "the shop")
    assert web.get(f"{plan}/workings/money.total").json()["value"] == pytest.approx(after["total"])
    assert web.get(f"{plan}/workings/money.moon").status_code == 404


def test_money_facts_that_break_a_rule_leave_those_of_the_plan(web, kept):
    yard, plan = kept
    before = web.get(f"{plan}/money").json()
    say(web, yard, money={"tax": 7})
    after = web.get(f"{plan}/money").json()
    assert after["total"] == before["total"]
    assert "break a rule" in after["doubts"][0]


def test_phases_are_split_within_their_terms(web, kept):
    _, plan = kept
    found = web.get(f"{plan}/money/phases", params={"phases": 2, "split": "zones"}).json()
    assert found["best"]["status"] == "optimal"
    assert found["best"]["total"] >= found["at_once"]["total"] - 0.01
    short = web.get(f"{plan}/money/phases", params={"yearly": 1}).json()
    assert short["best"] is None
    assert web.get(f"{plan}/money/phases", params={"phases": 9}).status_code == 422
    assert web.get(f"/api/plans/{uuid.uuid4()}/money").status_code == 404


def test_lawns_put_in_phases_split_the_plan_or_say_which_zones_tie_them(web):
    """A plan over both lawns is tied when the yard puts them in two phases; one made since is split as it says."""
    file = ("mine.yard.json", json.dumps(two_lawns()).encode())
    note = web.post("/api/yards/import", files={"file": file}).json()
    yard, plans = f"/api/yards/{note['id']}", web.app.state.store.plans
    say(web, yard, areas=two_lawns(front=1, back=2)["areas"])
    found = []
    for revision, made in ((1, planned(two_lawns())), (2, planned(two_lawns(front=1, back=2)))):
        row, _ = plans.start(uuid.UUID(note["id"]), revision=revision, seed=0, software=__version__)
        plans.finish(row.id, document=made.model_dump_json(indent=1), brief=brief_of(made), status="done")
        found.append(web.get(f"/api/plans/{row.id}/money/phases").json())
    mixed, apart = found
    assert mixed["tied"]
    assert mixed["given"] is None
    assert apart["tied"] == []
    assert [len(phase["zones"]) for phase in apart["given"]["phases"]] == [1, 1]
