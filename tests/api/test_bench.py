"""Manifolds and wire over the interface: as the command line has them, on any terms, and refused in words."""

import json

import pytest
from fastapi.testclient import TestClient

from drawn_plans import CATALOGUE, crowded_plan
from plan_yards import small_yard
from rillwright import __version__
from rillwright.api.app import create_app
from rillwright.jobs.desk import brief_of
from rillwright.jobs.manifold import make_manifolds, manifold_files
from rillwright.jobs.wire import wire_of
from rillwright.model.bench_parts import load_bodies
from rillwright.model.manifold import BenchTerms
from rillwright.report.manifold_list import manifold_told

PLAN = crowded_plan(16, "US")


@pytest.fixture(scope="module")
def web(tmp_path_factory):
    app = create_app(tmp_path_factory.mktemp("data"), workers=0)
    with TestClient(app, base_url="http://127.0.0.1") as client:
        store = app.state.store
        yard = store.yards.create(small_yard(), what="made", draft=False).id
        plan = store.plans.start(yard, revision=1, seed=0, software=__version__)[0].id
        store.plans.finish(plan, document=PLAN.model_dump_json(), brief=brief_of(PLAN), status="done")
        client.plan = f"/api/plans/{plan}"
        yield client


def test_a_manifold_on_chosen_terms(web):
    terms = {"unions": "outlet", "rows": "both sides", "spacing": 0.2, "space": {"length": 6, "width": 1, "depth": 0.8}}
    answer = web.post(f"{web.plan}/manifold", json={"place": "V1", "terms": terms})
    assert answer.status_code == 200, answer.text
    (made,) = make_manifolds(PLAN, CATALOGUE, BenchTerms.model_validate(terms))
    found = answer.json()
    assert [view["name"] for view in found["views"]] == ["from above", "from the front", "from the side"]
    assert sum(len(cut["runs"]) for cut in found["cuts"]) == len(made.cuts)
    assert [finding["rule"] for finding in found["findings"]] == [finding.rule for finding in made.findings]


def test_bodies_of_ones_own_move_the_cut_list(web):
    """A valve 40 mm wider stands that much further from its neighbour; a table that is none is told by its line."""
    sizes = ("length", "reach", "rise", "width", "above", "below", "swing", "critical")
    body = load_bodies().of("in-line valve", "3/4 in")
    figures = [1000 * (getattr(body, size) + 0.04 * (size == "width")) for size in sizes]
    header = ["body", "trade_size", *(f"{size}_mm" for size in sizes), "source"]
    table = "\n".join(",".join(map(str, row)) for row in (header, ["in-line valve", "3/4 in", *figures, "calliper"]))
    asked = {"place": "V1", "bodies": table}
    plain, wider = (web.post(f"{web.plan}/manifold", json=body).json() for body in ({"place": "V1"}, asked))
    assert plain["told"] != wider["told"]
    (made,) = make_manifolds(PLAN, CATALOGUE, place="V1")
    assert plain["told"][1]["value"] == manifold_told(made, PLAN)[1][1]
    answer = web.get(f"{web.plan}/manifold/V1/cut-list.csv", params={"bodies": table})
    assert wider["told"][1]["value"] in answer.text
    wrong = web.post(f"{web.plan}/manifold", json={"place": "V1", "bodies": "body\nvalve\n"})
    assert wrong.status_code == 422
    assert "bodies.csv, line 1" in wrong.json()["detail"]


@pytest.mark.parametrize("name", ["manifold.svg", "manifold.pdf", "manifold.dxf", "cut-list.csv"])
def test_its_files_are_those_of_the_command(web, name):
    terms = {"unions": "none", "drain": True}
    answer = web.get(f"{web.plan}/manifold/V1/{name}", params={"terms": json.dumps(terms), "download": True})
    (made,) = make_manifolds(PLAN, CATALOGUE, BenchTerms.model_validate(terms))
    assert answer.content == manifold_files(made, PLAN)[name]
    assert answer.headers["content-disposition"] == f'attachment; filename="{name}"'


def test_wire_on_the_yard_s_terms_and_on_others(web):
    plain = web.post(f"{web.plan}/wire", json={}).json()
    assert plain["wire"] == json.loads(wire_of(PLAN, CATALOGUE).model_dump_json())
    other = web.post(f"{web.plan}/wire", json={"at_once": 2, "transformer": 12}).json()
    assert [finding["rule"] for finding in other["findings"]] == ["transformer-load"]


@pytest.mark.parametrize(
    ("path", "body", "told"),
    [
        ("manifold", {"place": "V9"}, "no valve place 'V9'"),
        ("manifold", {"place": "V1", "terms": {"spacing": 0.01}}, "the fittings leave nothing"),
        ("manifold", {"place": "V1", "terms": {"unions": "some"}}, "both sides"),
        ("wire", {"at_once": 7}, "4"),
    ],
)
def test_wrong_terms_are_refused(web, path, body, told):
    answer = web.post(f"{web.plan}/{path}", json=body)
    assert answer.status_code == 422
    assert told in answer.text


@pytest.mark.parametrize("terms", ["{", '{"rows": 3}', "[]"])
def test_terms_of_a_file_that_cannot_be_read_are_refused(web, terms):
    answer = web.get(f"{web.plan}/manifold/V1/manifold.svg", params={"terms": terms})
    assert answer.status_code == 422
    assert "terms" in answer.text
