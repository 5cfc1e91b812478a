"""The interface, route by route, but for what it serves of a plan."""

import copy
import json
import uuid
from pathlib import Path

import pytest

from plan_yards import EXAMPLES, small_yard
from rillwright import __version__
from rillwright.api.app import openapi_document
from rillwright.exchange.yard_file import yard_schema

PNG = b"\x89PNG\r\n\x1a\n" + b"0" * 20


@pytest.fixture
def yard(web):
    return web.post("/api/yards", json={"name": "New yard", "units": "metric"}).json()


def file_of(document, name="mine.yard.json"):
    return {"file": (name, json.dumps(document).encode())}


def save(web, yard, document, expected, **more):
    return web.post(f"/api/yards/{yard['id']}/revisions", json={"document": document, "expected": expected, **more})


def test_the_description_that_is_checked_in_is_current():
    kept = Path(__file__).parents[2] / "web" / "openapi.json"
    assert json.loads(kept.read_text()) == openapi_document(), "run `make openapi`"


def test_a_new_yard_is_a_draft_and_says_what_it_lacks(web, yard):
    assert yard["draft"] is True
    document = web.get(f"/api/yards/{yard['id']}/revisions/current").json()["document"]
    checked = web.post("/api/board/check", json={"document": document}).json()
    assert checked["valid"] is False
    assert {"/areas", "/water_entry", "/controller", "/backflow"} <= {p["pointer"] for p in checked["problems"]}


def test_the_demo_opens_with_one_call_and_breaks_no_rule(web):
    demo = web.post("/api/yards/demo").json()
    assert demo["draft"] is False
    document = web.get(f"/api/yards/{demo['id']}/revisions/current").json()["document"]
    assert document == json.loads((EXAMPLES / "demo.yard.json").read_text())
    assert web.post("/api/board/check", json={"document": document}).json() == {"valid": True, "problems": []}


def test_two_tabs_get_a_choice(web, yard):
    base = web.get(f"/api/yards/{yard['id']}/revisions/current").json()["document"]
    one, two = copy.deepcopy(base), copy.deepcopy(base)
    one["areas"] = [{"id": "lawn", "kind": "lawn", "outline": [[0, 0], [9, 0], [9, 9]]}]
    one["note"] = "one"
    two["areas"] = [{"id": "bed", "kind": "bed", "outline": [[0, 0], [2, 0], [2, 2]]}]
    two["note"] = "two"
    assert save(web, yard, one, 1).status_code == 201
    stale = save(web, yard, two, 1)
    assert stale.status_code == 409
    assert stale.headers["content-type"] == "application/problem+json"
    choice = stale.json()
    assert [area["id"] for area in choice["merged"]["areas"]] == ["bed", "lawn"]
    (conflict,) = choice["conflicts"]
    assert (conflict["pointer"], conflict["base"]["present"]) == ("/note", False)
    assert (conflict["mine"]["value"], conflict["theirs"]["value"]) == ("two", "one")
    assert {change["label"] for change in choice["theirs"]} == {"areas: lawn", "note"}
    done = save(web, yard, choice["merged"], choice["current"]).json()
    assert done["note"]["what"].startswith("areas: bed")
    assert save(web, yard, two, 1000).status_code == 404


def test_undo_and_redo(web, yard):
    base = web.get(f"/api/yards/{yard['id']}/revisions/current").json()["document"]
    save(web, yard, base | {"note": "x"}, 1)
    back = web.post(f"/api/yards/{yard['id']}/undo", json={"expected": 2}).json()
    assert (back["document"], back["can_undo"], back["can_redo"]) == (base, False, True)
    assert web.post(f"/api/yards/{yard['id']}/undo", json={"expected": 1}).status_code == 409
    assert web.post(f"/api/yards/{yard['id']}/redo", json={"expected": 2}).status_code == 409
    assert web.post(f"/api/yards/{yard['id']}/redo", json={"expected": 1}).json()["document"]["note"] == "x"
    told = web.get(f"/api/yards/{yard['id']}/changes", params={"before": 1, "after": 2}).json()
    assert [change["pointer"] for change in told] == ["/note"]


def test_a_yard_is_renamed_binned_restored_and_erased(web, yard):
    path = f"/api/yards/{yard['id']}"
    assert web.patch(path, json={"name": "Back yard", "expected": 1}).json()["name"] == "Back yard"
    assert web.get(f"{path}/revisions/current").json()["document"]["name"] == "Back yard"
    assert web.delete(path, params={"forever": True}).status_code == 409
    assert web.delete(path).status_code == 204
    assert yard["id"] in {note["id"] for note in web.get("/api/yards", params={"binned": True}).json()}
    assert web.post(f"{path}/restore").json()["binned"] is None
    web.delete(path)
    assert web.delete(path, params={"forever": True}).status_code == 204
    assert web.get(path).status_code == 404


@pytest.mark.parametrize(
    "name", ["demo.yard.json", "part-built.yard.json", "l-shape.yard.json", "bad-supply.yard.json"]
)
def test_a_yard_file_goes_in_and_comes_out_without_loss(web, name):
    text = (EXAMPLES / name).read_text()
    note = web.post("/api/yards/import", files={"file": (name, text.encode())}).json()
    out = web.get(f"/api/yards/{note['id']}/file")
    assert out.json() == json.loads(text)
    assert "attachment" in out.headers["content-disposition"]


def test_a_broken_yard_file_is_kept_as_a_draft(web):
    broken = small_yard() | {"unheard-of": [1, "72 ft 6 in"], "controller": {"stations": "many"}}
    note = web.post("/api/yards/import", files=file_of(broken)).json()
    assert note["draft"] is True
    assert web.get(f"/api/yards/{note['id']}/file").json() == broken


def test_drawings_come_in(web):
    facts = ("shed.facts.json", (EXAMPLES / "shed.facts.json").read_bytes())
    drawing = ("shed.dxf", (EXAMPLES / "shed.dxf").read_bytes())
    assert web.post("/api/yards/import", files={"file": drawing, "facts": facts}).json()["draft"] is False
    geo = ("wgs84.geojson", (EXAMPLES / "wgs84.geojson").read_bytes())
    note = web.post("/api/yards/import", files={"file": geo}).json()
    assert note["draft"] is False
    assert web.get(f"/api/yards/{note['id']}/file", params={"format": "geojson"}).json()["type"] == "FeatureCollection"


@pytest.mark.parametrize("name", ["shed.dxf", "wgs84.geojson"])
def test_a_drawing_dropped_on_a_draft_gives_its_pieces(web, yard, name):
    draft = web.get(f"/api/yards/{yard['id']}/revisions/current").json()["document"]
    files = {"file": (name, (EXAMPLES / name).read_bytes())}
    pieces = web.post("/api/board/drawing", files=files, data={"document": json.dumps(draft)}).json()
    assert pieces["areas"]
    assert {area["kind"] for area in pieces["areas"]} >= {"lawn"}
    problems = web.post("/api/board/check", json={"document": draft | pieces}).json()["problems"]
    assert not [p for p in problems if p["pointer"].startswith("/areas")]


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("x.exe", b"MZ"),
        ("x.json", b"[1]"),
        ("x.json", b'{"a": NaN}'),
        ("x.json", b"\xff"),
        ("x.dxf", b"0"),
        ("", b"{"),
        ("x.json", b'{"a":"\\ud800"}'),
    ],
)
def test_what_cannot_be_read_is_told_without_a_trace_of_this_machine(web, name, data):
    answer = web.post("/api/yards/import", files={"file": (name or "n", data)})
    assert answer.status_code == 422
    assert "rillwright-" not in answer.text
    assert answer.json()["detail"]


@pytest.mark.parametrize(
    "text",
    [
        '{"document": {"a": NaN}}',
        '{"document": {"a": 1e999}}',
        '{"document": {"a": "\\ud800"}}',
        '{"document": {"\\udfff": 1}}',
        '{"document": {"a": 123456789012345678901234567890}}',
        '{"document": ' + '{"a":' * 60 + "1" + "}" * 61,
        '{"document": ' + "[" * 100000,
    ],
)
def test_what_json_cannot_hold_is_no_document(web, yard, text):
    for path in ("/api/board/check", f"/api/yards/{yard['id']}/revisions"):
        answer = web.post(
            path,
            content=text.replace('{"document"', '{"expected": 1, "document"'),
            headers={"content-type": "application/json"},
        )
        assert answer.status_code in (400, 422)
        assert answer.headers["content-type"] == "application/problem+json"


def test_the_ground_of_a_draft_is_drawn_from_what_can_be_read(web, yard):
    draft = web.get(f"/api/yards/{yard['id']}/revisions/current").json()["document"]
    assert web.post("/api/board/terrain", json={"document": draft}).status_code == 422
    draft["spot_heights"] = [{"at": [x, y], "height": 0.1 * x} for x in (0, 10) for y in (0, 10)] + [{"at": "here"}]
    ground = web.post("/api/board/terrain", json={"document": draft}).json()
    assert (ground["low"], ground["high"]) == pytest.approx((0.0, 1.0))
    assert ground["steepest"] == pytest.approx(0.1)
    for line in ground["contours"]:
        assert {round(0.1 * x, 6) for x, _ in line["path"]} == {round(line["height"], 6)}


def test_the_supply_of_a_draft_needs_no_more_than_the_supply(web):
    whole = small_yard()
    draft = {key: whole[key] for key in ("format", "version", "name", "units", "water_entry", "supply")}
    found = web.post("/api/board/supply", json={"document": draft, "pressure": 300e3}).json()
    assert found["report"]["reference_pressure"] == 300e3
    assert len(found["report"]["measured"]) == 5
    assert found["report"]["flow_low"] < found["report"]["flow_median"] < found["report"]["flow_high"]
    assert found["next"]
    del draft["water_entry"]["pipe"]
    problem = web.post("/api/board/supply", json={"document": draft}).json()
    assert problem["problems"][0]["pointer"] == "/water_entry/pipe"


def test_a_draft_is_not_planned(web, yard):
    answer = web.post(f"/api/yards/{yard['id']}/plans", json={})
    assert answer.status_code == 422
    assert answer.json()["problems"]


def test_field_entries_survive_a_bad_connection(web, yard):
    entries = [
        {"id": str(uuid.uuid4()), "made": f"2026-05-01T09:0{n}:00+02:00", "what": what}
        for n, what in enumerate(
            (
                {"kind": "note"},
                {
                    "kind": "supply test",
                    "measurement": {"kind": "bucket fill", "volume": "5 gal", "seconds": [22.5, 23]},
                },
                {"kind": "head pressure", "head": "H4", "pressure": "45 psi"},
                {
                    "kind": "catch cups",
                    "zone": "Z1",
                    "ran": 900,
                    "cups": [{"at": [1, 2], "depth": 0.004}, {"at": [2, 2], "depth": 0}],
                },
            )
        )
    ]
    path = f"/api/yards/{yard['id']}/log"
    web.post(path, json={"entries": entries[:3]})
    receipts = web.post(path, json={"entries": entries}).json()
    assert [r["status"] for r in receipts] == ["already stored"] * 3 + ["stored"]
    kept = web.get(path).json()
    assert [item["entry"]["id"] for item in kept] == [entry["id"] for entry in entries]
    assert kept[2]["entry"]["what"]["pressure"] == pytest.approx(310264, abs=1)


def test_pictures_go_in_and_out(web, yard):
    path = f"/api/yards/{yard['id']}"
    photo = f"{path}/photos/{uuid.uuid4()}"
    assert web.put(photo, files={"file": ("p.png", PNG)}).json()["media"] == "image/png"
    assert web.get(photo).content == PNG
    assert web.put(photo, files={"file": ("p.svg", b"<svg/>")}).status_code == 422
    image = web.post(f"{path}/images", files={"file": ("survey.png", PNG)}).json()
    placed = web.put(f"{path}/images/{image['id']}/placement", json={"at": [1, 2], "metres_per_pixel": 0.03}).json()
    assert placed["placement"]["at"] == [1, 2]
    assert web.delete(f"{path}/images/{image['id']}").status_code == 204
    given = {"id": str(uuid.uuid4()), "done": True, "made": "2026-05-01T09:00:00Z"}
    tick = web.put(f"{path}/ticks/trench T1/2", json=given).json()
    assert web.get(f"{path}/ticks").json() == [tick]


def test_units_and_schema_are_the_programs_own(web):
    assert web.get("/api/schema/yard").json() == yard_schema()
    assert web.get("/api/units").json()["pressure"]["us"]["name"] == "psi"
    assert web.get("/api/health").json() == {"status": "ok", "version": __version__}


def test_unknown_things_are_problems_too(web):
    for path in ("/api/yards/none", f"/api/yards/{uuid.uuid4()}", "/api/none", f"/api/plans/{uuid.uuid4()}/document"):
        answer = web.get(path)
        assert answer.status_code in (404, 422)
        assert answer.headers["content-type"] == "application/problem+json"
