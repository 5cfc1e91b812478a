"""The wire of a plan: its checks, its workings, its command."""

import csv
import io

import pytest
from typer.testing import CliRunner

from drawn_plans import CATALOGUE, crowded_plan
from rillwright.cli.main import app
from rillwright.errors import InputError
from rillwright.jobs.wire import wire_findings, wire_of
from rillwright.model.wire import WireTerms
from rillwright.physics.units import INCH
from rillwright.report.wire_list import wire_csv
from rillwright.report.workings import all_workings
from rillwright.solvers.wire import wire_terms


@pytest.fixture(scope="module")
def plan():
    bare = crowded_plan(16, "metric")
    return bare.model_copy(update={"wire": wire_of(bare, CATALOGUE)})


def rules(plan, **terms):
    made = wire_of(plan, CATALOGUE, wire_terms(plan.yard).model_copy(update=terms))
    return {finding.rule: finding for finding in wire_findings(plan, made, CATALOGUE)}


def test_usual_wire_is_sound(plan):
    assert plan.wire.enough
    assert not wire_findings(plan, plan.wire, CATALOGUE)
    assert {zone.zone for zone in plan.wire.zones} == {zone.id for zone in plan.zones}


def test_wire_too_thin_is_found_where_it_is_worst(plan):
    found = rules(plan, least=24.0)["wire-too-thin"]
    assert found.severity == "must"
    worst = min(plan.wire.zones, key=lambda zone: zone.opening)
    assert found.where == worst.zone
    assert "10 AWG" in found.what


def test_a_transformer_is_weighed(plan):
    """Two at once: 6 VA held and 10.8 VA as the second opens, 12 VA after that."""
    assert "transformer-load" not in rules(plan, at_once=2, transformer=16.8)
    small = rules(plan, at_once=2, transformer=16.0)["transformer-load"]
    assert (small.severity, small.where) == ("should", "controller")
    assert "16.8 VA" in small.what
    assert rules(plan, at_once=2, transformer=11.0)["transformer-load"].severity == "must"


def test_shallow_wire_is_found(plan):
    shallow = plan.wire.model_copy(update={"cover": 5 * INCH})
    assert [finding.rule for finding in wire_findings(plan, shallow, CATALOGUE)] == ["wire-cover"]


def test_every_number_has_a_working_that_comes_out_again(plan):
    found = {key: w for key, w in all_workings(plan).items() if key.startswith("wire.")}
    assert {f"wire.{zone.id}.opening" for zone in plan.zones} < set(found)
    again = [w for w in found.values() if w.again is not None]
    assert len(again) == 2 * len(plan.zones) + 4
    for working in again:
        assert working.again == pytest.approx(working.value, rel=1e-9), working.key
    for working in found.values():
        assert all(given.key in found for given in working.inputs if given.key)


def test_the_list_adds_up(plan):
    rows = list(csv.reader(io.StringIO(wire_csv(plan.wire, "metric"))))
    runs = [row for row in rows[1:] if len(row) == 5][: len(plan.wire.runs)]
    metres = sum(float(row[2].split()[0]) * int(row[3]) for row in runs)
    strands = plan.wire.station_metres + plan.wire.common_metres
    loops = len(plan.zones) + 2 * len(plan.places)
    assert metres + loops == pytest.approx(strands, abs=0.01 * sum(int(row[3]) for row in runs))


def test_the_command_tells_it_and_takes_other_terms(plan, tmp_path):
    path = tmp_path / "plan.json"
    path.write_text(plan.model_dump_json())

    def run(*words):
        return CliRunner().invoke(app, ["wire", str(path), *words])

    said = run("--at-once", "2", "--transformer", "12", "--out", str(tmp_path / "w"))
    assert said.exit_code == 0, said.output
    assert said.output.startswith("should: 16.8 VA are drawn as the last of 2 valves opens")
    assert "licensed person" in said.output
    assert (tmp_path / "w" / "wire.csv").exists()
    for words, told in (
        (("--gauge", "13"), "--gauge 13"),
        (("--at-once", "9"), "--at-once 9"),
        (("--temperature", "hot"), "hot"),
    ):
        refused = run(*words)
        assert isinstance(refused.exception, InputError)
        assert told in str(refused.exception)


def test_what_a_yard_says_of_its_wire_is_kept(plan):
    controller = plan.yard.controller.model_copy(update={"transformer": 30.0, "valves_at_once": 2})
    valves = plan.yard.valves.model_copy(update={"inrush": 0.4, "holding": 0.2})
    yard = plan.yard.model_copy(update={"controller": controller, "valves": valves})
    assert wire_terms(yard) == WireTerms(transformer=30.0, at_once=2, inrush=0.4, holding=0.2)
