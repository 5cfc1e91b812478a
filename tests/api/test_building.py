"""Building a stored plan over the interface: steps, guide by what is ticked and logged, as-built record."""

import uuid

import pytest

from plan_yards import planned, small_yard
from served_plans import served

NOW = "2027-05-02T09:00:00+02:00"
TERMS = {"start": "2027-05-08", "days": ["Fri", "Sat"], "crew": 2}


@pytest.fixture(scope="module")
def web(tmp_path_factory):
    with served(tmp_path_factory.mktemp("data")) as client:
        yield client


def tick(web, key, *, done=True):
    body = {"id": str(uuid.uuid4()), "done": done, "made": NOW, "over": None}
    answer = web.put(f"{web.yard}/ticks/{key}", json=body)
    assert answer.status_code == 200, answer.text


def test_steps_come_without_dates_and_ticks_of_their_keys_count(web):
    steps = web.get(f"{web.plan}/steps").json()
    assert [step["kind"] for step in steps][:3] == ["permit", "layout", "locate"]
    before = web.get(f"{web.plan}/guide", params=TERMS).json()
    tick(web, steps[0]["items"][0]["key"])
    after = web.get(f"{web.plan}/guide", params=TERMS).json()
    assert [time["step"] for time in after["times"] if time["done"]] == ["permit"]
    assert sum(time["left"] for time in after["times"]) < sum(time["left"] for time in before["times"])
    assert {step["id"] for step in after["steps"]} == {step["id"] for step in steps}


def test_by_hand_there_is_no_machine(web):
    kinds = {step["kind"] for step in web.get(f"{web.plan}/steps", params={"digging": "hand"}).json()}
    assert "dig by hand" in kinds
    assert "fetch" not in kinds


def test_the_log_is_the_record(web):
    plan = planned(small_yard())
    pipe = plan.pipes[0].id
    entries = [
        {"kind": "pipe buried", "pipe": pipe, "depth": "12 in"},
        {"kind": "part fitted", "part": "valve", "name": "Z1", "place": ["2 m", 1.0], "depth": "200 mm"},
    ]
    sent = [{"id": str(uuid.uuid4()), "made": NOW, "what": what} for what in entries]
    receipts = web.post(f"{web.yard}/log", json={"entries": sent}).json()
    assert [receipt["status"] for receipt in receipts] == ["stored", "stored"]
    record = web.get(f"{web.plan}/as-built").json()
    assert next(p["depth"] for p in record["pipes"] if p["id"] == pipe) == pytest.approx(0.3048)
    valve = next(mark for mark in record["marks"] if mark["what"] == "valve of Z1")
    assert (valve["at"], valve["depth"], len(valve["offsets"])) == ([2.0, 1.0], 0.2, 2)
    guide = web.get(f"{web.plan}/guide", params=TERMS).json()
    step = "main" if plan.pipes[0].zone is None else f"lay:{plan.pipes[0].zone}"
    assert next(time["share_done"] for time in guide["times"] if time["step"] == step) > 0


@pytest.mark.parametrize(
    ("name", "start"),
    [("guide/guide.pdf", b"%PDF"), ("guide/guide.html", b"<!doctype"), ("as-built/as-built.svg", b"<svg")],
)
def test_files_can_run_nothing(web, name, start):
    answer = web.get(f"{web.plan}/{name}", params=TERMS if "guide" in name else {})
    assert answer.status_code == 200
    assert answer.content.lstrip().startswith(start)
    assert "sandbox" in answer.headers["content-security-policy"]


@pytest.mark.parametrize(
    "wrong",
    [
        {"start": "soon"},
        {"start": "1066-10-14"},
        {"days": ["Caturday"]},
        {"hours": 0},
        {"crew": 99},
        {"digging": "spoon"},
        {"latitude": 90},
        {"latitude": "nan"},
        {"lost_days": 1},
        {"hours": 1, "days": ["Sat"], "crew": 1, "lost_days": 0.9},
    ],
)
def test_terms_that_cannot_be_are_a_problem_that_says_so(web, wrong):
    answer = web.get(f"{web.plan}/guide", params=TERMS | wrong)
    assert answer.status_code == 422
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json()["detail"]


def test_a_plan_that_is_not_there(web):
    for what in ("steps", "guide", "as-built", "guide/guide.pdf", "as-built/as-built.pdf"):
        assert web.get(f"/api/plans/{uuid.uuid4()}/{what}").status_code == 404
