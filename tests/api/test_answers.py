"""Conclusions, what an entry changed, and changes of a job over the interface; entries that can hardly be."""

import time
import uuid

import pytest
from fastapi.testclient import TestClient

from plan_yards import planned, small_yard
from rillwright.api.app import create_app
from rillwright.exchange.log_file import load_log
from rillwright.exchange.yard_file import validated
from rillwright.model.plan import Plan
from rillwright.solvers.guide.keys import ends
from served_plans import served

NOW = "2027-05-02T09:00:00+02:00"
FILL = {"kind": "supply test", "measurement": {"kind": "bucket fill", "volume": "20 L", "seconds": [15.9, 16.1]}}


@pytest.fixture(scope="module")
def web(tmp_path_factory):
    with served(tmp_path_factory.mktemp("data"), workers=1) as client:
        yield client


def entry(what, **more):
    return {"id": str(uuid.uuid4()), "made": NOW, "what": what} | more


def sent(web, *entries):
    answer = web.post(f"{web.yard}/log", json={"entries": entries})
    assert answer.status_code == 200, answer.text
    return answer.json()


def until_ended(web, what):
    while True:
        found = web.get(f"{web.plan}/{what}").json()
        if found["state"]["status"] not in ("waiting", "running"):
            return found
        time.sleep(0.05)


def test_what_can_hardly_be_is_kept_once_it_is_confirmed(web):
    much = FILL | {"measurement": FILL["measurement"] | {"volume": "200 L"}}
    odd, fine = entry(much), entry({"kind": "note"}, words="rain")
    first, second = sent(web, odd, fine)
    assert (first["status"], first["asked"], second["status"]) == ("asked", ["flow over pipe"], "stored")
    assert "L/min" in first["why"]
    assert odd["id"] not in [stored["entry"]["id"] for stored in web.get(f"{web.yard}/log").json()]
    sure = odd | {"confirmed": ["flow over pipe"]}
    assert [r["status"] for r in sent(web, sure, sure)] == ["stored", "already stored"]
    kept = web.get(f"{web.yard}/log").json()[-1]["entry"]
    assert kept["confirmed"] == ["flow over pipe"]
    gone = entry(much, corrects=odd["id"], withdraws=True)
    assert sent(web, gone)[0]["status"] == "stored"


def test_ticks_and_log_are_one_truth(web, tmp_path):
    key = "parts"
    tick = entry({"kind": "tick", "item": key, "done": True})
    assert [r["status"] for r in sent(web, tick, tick)] == ["stored", "already stored"]
    assert [t["done"] for t in web.get(f"{web.yard}/ticks").json() if t["step"] == key] == [True]
    trench = planned(small_yard()).trenches[0].id
    sent(web, entry({"kind": "trench", "trenches": [trench], "state": "closed"}), entry({"kind": "note"}, words="dug"))
    done = web.get(f"{web.plan}/done").json()
    assert key in done
    assert any(name.startswith("filled:") for name in done)
    file = web.get(f"{web.yard}/log/file")
    (tmp_path / "log.jsonl").write_bytes(file.content)
    kinds = [one.what.kind for one in load_log(tmp_path / "log.jsonl")]
    assert {"tick", "trench", "note"} <= set(kinds)


def test_conclusions_come_in_the_background_and_grow_stale_with_the_log(web):
    assert web.get(f"{web.plan}/answers").json()["state"]["status"] == "not begun"
    test = entry(FILL)
    sent(web, test)
    assert web.post(f"{web.plan}/answers").status_code == 202
    found = until_ended(web, "answers")
    assert found["state"]["status"] == "done"
    assert not found["state"]["stale"]
    answer = next(one for one in found["answers"] if one["entries"] == [test["id"]])
    assert answer["subject"].startswith("bucket test")
    working = answer["workings"][0]
    assert working["formula"] == "volume / (time - start)"
    assert working["printed"].endswith("L/min")
    assert web.post(f"{web.plan}/answers").json()["status"] == "done"  # nothing new
    effect = web.get(f"{web.plan}/entries/{test['id']}/effect").json()
    assert any(move["title"].startswith("flow left") for move in effect["moves"])
    note = entry({"kind": "note"}, words="later")
    sent(web, note)
    assert web.get(f"{web.plan}/answers").json()["state"]["stale"]
    effect = web.get(f"{web.plan}/entries/{note['id']}/effect").json()
    assert effect == {"moves": [], "says": [], "ticks": []}
    mended = entry({"kind": "repair", "done": "screen cleaned", "of": planned(small_yard()).heads[0].id})
    sent(web, mended)
    effect = web.get(f"{web.plan}/entries/{mended['id']}/effect").json()
    assert effect["says"] == ["The yearly record counts it."]
    assert web.get(f"{web.plan}/entries/{uuid.uuid4()}/effect").status_code == 422
    sent(web, entry({"kind": "spot height", "place": [4.5, 3.5], "height": "0.4 m"}))
    web.post(f"{web.plan}/answers")
    (put,) = [one["put"] for one in until_ended(web, "answers")["answers"] if one["put"]]
    assert put["heights"] == [{"at": [4.5, 3.5], "height": 0.4}]
    assert (put["words"], put["replaced"], put["texture"]) == ("1 height of the log", [], "")


def test_changes_are_looked_for_told_and_opened(web):
    """On an invented supply of under half the pressure a pump is what makes the zone sound again."""
    assert web.get(f"{web.plan}/changes/1/files/plan.json").status_code == 409
    weak = {"kind": "supply test", "measurement": {"kind": "static gauge", "pressure": "200 kPa"}}
    slow = FILL | {"measurement": FILL["measurement"] | {"seconds": [40, 41]}}
    logged = [entry(weak, confirmed=["static pressure apart"]), entry(slow)]
    sent(web, *logged)
    assert web.post(f"{web.plan}/changes", json={"hour": 25}).status_code == 202
    found = until_ended(web, "changes")
    assert found["state"]["status"] == "done"
    change = found["changes"][0]
    assert change["kinds"] == ["booster pump"]
    assert change["total"] == pytest.approx(change["money"] + 25 * change["hours"] + change["lost"], abs=0.01)
    assert 0 <= change["holds"] <= 1
    assert any(working["key"] == "change.total" for working in change["workings"])
    made = planned(small_yard())
    assert found["standing"]["trench"] == pytest.approx(sum(t.length for t in made.trenches))
    assert web.get(f"{web.plan}/changes/1/files/plan.svg").content.startswith(b"<svg")
    assert web.get(f"{web.plan}/changes/{len(found['changes']) + 1}/files/plan.svg").status_code == 404
    sent(web, *(entry(one["what"], corrects=one["id"], withdraws=True) for one in logged))
    assert web.get(f"{web.plan}/changes").json()["state"]["stale"]
    assert web.post(f"{web.plan}/changes/1/take-up", json={"expected": 1}).status_code == 409  # found on another log
    assert web.post(f"{web.plan}/changes/cancel").json()["status"] == "done"  # it had ended


def test_a_search_that_fails_says_why_and_a_plan_that_is_not_there(web):
    sent(web, entry({"kind": "trench", "trenches": ["T999"], "state": "open"}, confirmed=["no trench"]))
    assert web.post(f"{web.plan}/changes", json={}).status_code == 202
    found = until_ended(web, "changes")
    assert found["state"]["status"] == "failed"
    assert "T999" in found["state"]["message"]
    other = f"/api/plans/{uuid.uuid4()}"
    for path in ("answers", "changes", f"entries/{uuid.uuid4()}/effect", "done"):
        assert web.get(f"{other}/{path}").status_code == 404
    assert web.post(f"{other}/answers").status_code == 404
    assert web.post(f"{web.plan}/changes", json={"hour": -1}).status_code == 422


def test_a_change_is_taken_up_as_a_revision_that_undo_takes_back(tmp_path):
    """On an invented supply of under half the pressure; the wish for sureness and what was found outlive a restart."""
    made = planned(small_yard())
    trench = made.trenches[0]
    weak = {"kind": "supply test", "measurement": {"kind": "static gauge", "pressure": "200 kPa"}}
    slow = FILL | {"measurement": FILL["measurement"] | {"seconds": [40, 41]}}
    with served(tmp_path, workers=1) as web:
        facts = (
            entry({"kind": "parts bought", "whole_list": True}),
            entry({"kind": "trench", "trenches": [trench.id], "state": "closed"}),
        )
        sent(web, *facts, entry(weak, confirmed=["static pressure apart"]), entry(slow))
        web.post(f"{web.plan}/changes", json={"hour": 25, "sure": 0.9})
        found = until_ended(web, "changes")
        assert found["terms"] == {"hour": 25, "second_supply": None, "sure": 0.9}
        assert "with a chance of 90" in found["how_sure"]
        assert not found["how_sure"].startswith("None")
        sent(web, entry({"kind": "note"}, words="rain"))
        web.post(f"{web.plan}/answers")
        concluded = until_ended(web, "answers")
    with TestClient(create_app(tmp_path), base_url="http://127.0.0.1") as again:
        assert again.get(f"{web.plan}/answers").json() == concluded
        assert again.get(f"{web.plan}/changes").json() == found
        assert again.post(f"{web.plan}/changes", json={"hour": 25, "sure": 0.9}).json()["status"] == "done"
        number = next(n for n, one in enumerate(found["changes"], 1) if one["kinds"] == ["booster pump"])
        taken = f"{web.plan}/changes/{number}/take-up"
        assert again.post(taken, json={"expected": 7}).status_code == 409
        answer = again.post(taken, json={"expected": 1})
        assert answer.status_code == 201, answer.text
        note = answer.json()
        assert (note["revision"], note["status"], note["current"]) == (2, "done", True)
        now = again.get(f"{web.yard}/revisions/current").json()
        assert now["document"]["water_entry"]["booster"]
        assert now["document"]["water_entry"]["pipe"] == small_yard()["water_entry"]["pipe"]
        assert now["can_undo"]
        plan = f"/api/plans/{note['id']}"
        changed = Plan.model_validate(again.get(f"{plan}/document").json())
        assert changed.yard.supply == validated(now["document"], source="the yard").supply
        done = again.get(f"{plan}/done").json()
        assert f"filled:{ends(trench.path)}" in done
        spent = again.get(f"{plan}/money").json()["paid"]
        assert spent == again.get(f"{web.plan}/money").json()["paid"] > 0
        assert again.post(f"{web.yard}/undo", json={"expected": 2}).json()["current"] == 1
        current = {one["id"]: one["current"] for one in again.get(f"{web.yard}/plans").json()}
        assert current == {note["id"]: False, web.plan.rsplit("/", 1)[1]: True}
