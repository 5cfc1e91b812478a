"""What the interface serves of a plan, on an invented yard whose plan is made once."""

import base64
import itertools
import json
import time
import uuid
from urllib.parse import quote

import numpy as np
import pytest

from plan_yards import planned, small_yard
from rillwright import __version__
from rillwright.jobs.desk import brief_of
from rillwright.jobs.explained import explained
from rillwright.jobs.move import Workbench

PNG = b"\x89PNG\r\n\x1a\n" + b"0" * 20


@pytest.fixture(scope="module")
def plan(web):
    """The small yard's plan, put into the store as if it had been made there."""
    made = planned(small_yard())
    note = web.post("/api/yards/import", files={"file": ("mine.yard.json", json.dumps(small_yard()).encode())}).json()
    plans = web.app.state.store.plans
    row, _ = plans.start(uuid.UUID(note["id"]), revision=1, seed=0, software=__version__)
    plans.finish(row.id, document=made.model_dump_json(indent=1), brief=brief_of(made), status="done")
    return f"/api/plans/{row.id}"


def test_a_plan_that_is_done_serves_again_and_its_stream_ends(web, plan):
    state = web.get(plan).json()
    again = web.post(f"/api/yards/{state['note']['yard']}/plans", json={}).json()
    assert again["note"]["id"] == state["note"]["id"]
    events = web.get(f"{plan}/events")
    assert events.headers["content-type"].startswith("text/event-stream")
    lines = [line for line in events.text.splitlines() if line]
    assert lines[0] == "event: state"
    assert json.loads(lines[1].removeprefix("data: ")) == state


def test_adjusting_is_what_the_workbench_says_and_is_undone_by_sending_nothing(web, plan):
    document = planned(small_yard())
    head = document.heads[1]
    setting = {"head": head.id, "arc_start": head.arc_start + 15}
    done = web.post(f"{plan}/adjust", json={"heads": [setting]}).json()
    bench = Workbench(document, web.app.state.desk.catalogue)
    full = bench.move(head.id, arc_start=head.arc_start + 15)
    for lawn in done["lawns"]:
        told = next(x for x in full.plan.lawns if x.id == lawn["id"])
        assert lawn["evenness"]["du"] == pytest.approx(told.evenness.du, abs=1e-6)
    assert {f["rule"] for f in done["new"]} == {f.rule for f in full.new}
    picture = done["depths"][0]
    counts = np.frombuffer(base64.b64decode(picture["counts"]), np.uint8)
    assert counts.size == picture["nx"] * picture["ny"]
    assert web.post(f"{plan}/adjust", json={"heads": [setting]}).json() == done
    back = web.post(f"{plan}/adjust", json={"heads": []}).json()
    assert (back["new"], back["gone"]) == ([], [])
    assert web.post(f"{plan}/adjust", json={"heads": [{"head": "H999"}]}).status_code == 422
    assert web.post(f"{plan}/adjust", json={"heads": [{"head": head.id, "at": [-90, 0]}]}).status_code == 422


def test_the_water_of_a_lawn_has_its_mean_at_one(web, plan):
    (picture,) = web.get(f"{plan}/depth").json()
    counts = np.frombuffer(base64.b64decode(picture["counts"]), np.uint8).reshape(picture["ny"], picture["nx"])
    x = picture["x0"] + (np.arange(picture["nx"]) + 0.5) * picture["cell"]
    y = picture["y0"] + (np.arange(picture["ny"]) + 0.5) * picture["cell"]
    inside = np.outer((y > 0.2) & (y < 6.8), (x > 0.2) & (x < 8.8))
    assert (counts * picture["step"])[inside].mean() == pytest.approx(1.0, abs=0.05)


def test_a_section_ends_at_the_pressure_of_its_head(web, plan):
    document = planned(small_yard())
    for head in document.heads:
        found = web.post(f"{plan}/section", json={"heads": [], "to": head.id}).json()
        points = found["points"]
        assert points[-1]["working"] == pytest.approx(head.pressure, abs=100)
        assert points[0]["static"] == pytest.approx(document.supply.expected.static, rel=1e-9)
        assert points[-1]["at"] == pytest.approx(list(head.at))
        grade = [p["working"] + found["weight"] * p["pipe"] for p in points]
        assert all(later <= before + 1e-6 for before, later in itertools.pairwise(grade))
        assert all(
            p["static"] + found["weight"] * p["pipe"]
            == pytest.approx(points[0]["static"] + found["weight"] * points[0]["pipe"])
            for p in points
        )
        taken = sum(mark["loss"] for mark in found["marks"])
        assert grade[0] - grade[-1] == pytest.approx(taken, abs=1)
    assert web.post(f"{plan}/section", json={"heads": [], "to": "H999"}).status_code == 422


def test_a_plan_goes_on_from_another_and_is_kept_apart_from_one_made_from_nothing(web, plan):
    note = web.get(plan).json()["note"]
    head = planned(small_yard()).heads[0]
    way = f"/api/yards/{note['yard']}/plans"
    asked = {"start": note["id"], "heads": [{"head": head.id, "arc_start": head.arc_start}]}
    on = web.post(way, json=asked).json()["note"]
    assert on["id"] != note["id"]
    while web.get(f"/api/plans/{on['id']}").json()["note"]["status"] in ("waiting", "running"):
        time.sleep(0.1)
    document = web.get(f"/api/plans/{on['id']}/document").json()
    assert {h["id"]: h["at"] for h in document["heads"]} == {h.id: list(h.at) for h in planned(small_yard()).heads}
    assert document["start"]["backflow"] == document["backflow"]
    assert web.post(way, json=asked).json()["note"]["id"] == on["id"]
    assert web.post(way, json={}).json()["note"]["id"] == note["id"]
    assert web.post(way, json={"start": str(uuid.uuid4())}).status_code == 404
    web.delete(f"/api/plans/{on['id']}")


def test_a_section_does_not_hang_on_what_another_tab_asked(web, plan):
    """One tab drags a head a metre while the other asks for the plan as it was made."""
    head = planned(small_yard()).heads[0]
    middle = [head.at[0] + (1 if head.at[0] < 4 else -1), head.at[1]]
    planned_way = {"heads": [], "to": head.id}
    moved_way = {"heads": [{"head": head.id, "at": middle}], "to": head.id}
    first = web.post(f"{plan}/section", json=planned_way).json()
    other = web.post(f"{plan}/section", json=moved_way).json()
    assert other["points"][-1]["at"] == pytest.approx(middle)
    assert web.post(f"{plan}/section", json=planned_way).json()["points"][-1]["at"] == first["points"][-1]["at"]
    web.post(f"{plan}/adjust", json={"heads": moved_way["heads"]})
    assert web.post(f"{plan}/section", json=planned_way).json()["points"][-1]["at"] == pytest.approx(list(head.at))


def test_every_number_can_be_asked_for_its_working(web, plan):
    document = planned(small_yard())
    keys = [note["key"] for note in web.get(f"{plan}/workings").json()]
    assert keys == list(explained(document))
    for key in keys[::7]:
        found = web.get(f"{plan}/workings/{quote(key, safe='')}").json()
        assert found["key"] == key
        assert found["formula"]
    wrong = web.get(f"{plan}/workings/zone.Z1.flaw")
    assert wrong.status_code == 404
    assert "zone.Z1.flow" in wrong.json()["detail"]


def test_files_are_those_of_the_command_line_and_can_run_nothing(web, plan):
    for name, start in (
        ("plan.pdf", b"%pdf"),
        ("report.html", b"<!doctype html"),
        ("parts.csv", b"part,"),
        ("plan.svg", b"<svg "),
    ):
        answer = web.get(f"{plan}/files/{name}")
        assert answer.status_code == 200
        assert answer.content.lower().startswith(start)
        assert "sandbox" in answer.headers["content-security-policy"]
    assert web.get(f"{plan}/files/plan.json").text == planned(small_yard()).model_dump_json(indent=1)
    for name in ("../../errors.py", "..%2f..%2ferrors.py", "other.txt"):
        assert web.get(f"{plan}/files/{name}").status_code in (404, 422)


def test_a_plan_compared_with_itself_changes_nothing(web, plan):
    found = web.get(f"{plan}/compare/{plan.rpartition('/')[2]}").json()
    assert {change["kind"] for change in found["heads"]} == {"same"}
    assert (found["parts"], found["new"], found["gone"]) == ([], [], [])
    assert all(figure["before"] == figure["after"] for figure in found["figures"])


def test_planning_runs_beside_the_page_and_can_be_cancelled(web):
    note = web.post("/api/yards/demo").json()
    state = web.post(f"/api/yards/{note['id']}/plans", json={}).json()
    path = f"/api/plans/{state['note']['id']}"
    assert state["note"]["status"] in ("waiting", "running")
    assert web.delete(path).status_code == 409
    assert web.get(f"{path}/document").status_code == 409
    web.post(f"{path}/cancel")
    for _ in range(600):
        state = web.get(path).json()
        if state["note"]["ended"]:
            break
        time.sleep(0.1)
    assert state["note"]["status"] == "cancelled"
    assert web.delete(path).status_code == 204
