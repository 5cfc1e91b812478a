"""A head set otherwise in a finished plan: the quick answer is the one a full count would give."""

import pytest

from plan_yards import CATALOGUE, planned, planned_example, small_yard
from rillwright.errors import InputError
from rillwright.jobs.checks import inspect
from rillwright.jobs.move import Workbench
from rillwright.model.catalogue import radius_at
from rillwright.model.ground import resolve_ground
from rillwright.solvers.coverage import evaluate_layout


@pytest.fixture
def bench():
    return Workbench(planned(small_yard()), CATALOGUE)


def inner_place(plan, head, step):
    """A little way from a head towards the middle of its lawn."""
    middle = resolve_ground(plan.yard).lawns[head.lawn].centroid
    return head.at[0] + step * (middle.x - head.at[0]), head.at[1] + step * (middle.y - head.at[1])


def test_a_head_set_as_it_stands_changes_next_to_nothing(bench):
    """The plan solved its flow control to 10 Pa, and lays its water once more at the solved pressures."""
    before, head = bench.plan, bench.plan.heads[0]
    after = bench.move(head.id, at=head.at).plan
    for old, new in zip(before.zones, after.zones, strict=True):
        assert new.flow == pytest.approx(old.flow, rel=1e-4)
        assert new.pressure_low == pytest.approx(old.pressure_low, abs=50)
        assert new.cautious_low == pytest.approx(old.cautious_low, abs=50)
        assert new.after_valve == pytest.approx(old.after_valve, abs=50)
    for old, new in zip(before.lawns, after.lawns, strict=True):
        assert new.evenness.du == pytest.approx(old.evenness.du, abs=2e-3)
        assert new.on_lawn == pytest.approx(old.on_lawn, rel=1e-3)


@pytest.mark.parametrize("step", [0.1, 0.3])
def test_water_and_findings_are_those_of_a_full_count(bench, step):
    head = bench.plan.heads[1]
    bench.move(head.id, arc_start=head.arc_start + 20)
    moved = bench.move(head.id, at=inner_place(bench.plan, head, step))
    plan = moved.plan
    ground = resolve_ground(plan.yard)
    for lawn in plan.lawns:
        own = [h for h in plan.heads if h.lawn == lawn.id]
        full = evaluate_layout(own, lawn_id=lawn.id, ground=ground, yard=plan.yard, catalogue=CATALOGUE).lawn
        assert lawn.evenness.du == pytest.approx(full.evenness.du, abs=2e-3)
        assert lawn.evenness.cu == pytest.approx(full.evenness.cu, abs=2e-3)
        for part in ("on_lawn", "on_paving", "on_building", "off_site", "elsewhere"):
            assert getattr(lawn, part) == pytest.approx(getattr(full, part), rel=2e-3, abs=1e-7)
    assert set(moved.new) <= set(inspect(plan, ground, CATALOGUE))
    assert not set(moved.gone) & set(inspect(plan, ground, CATALOGUE))


def test_the_lateral_follows_its_head(bench):
    head = bench.plan.heads[2]
    place = inner_place(bench.plan, head, 0.2)
    plan = bench.move(head.id, at=place).plan
    last = next(pipe for pipe in plan.pipes if pipe.end == head.id)
    assert last.path[-1] == place
    assert next(node for node in plan.nodes if node.id == head.id).at == place


def test_a_wider_arc_draws_more_water_and_lowers_its_zone():
    bench = Workbench(planned(small_yard(heads={"allowed": ["rotary"]})), CATALOGUE)
    head = min(bench.plan.heads, key=lambda h: h.arc)
    before = next(z for z in bench.plan.zones if head.id in z.heads)
    after = bench.move(head.id, arc=min(360.0, 2 * head.arc)).plan
    zone = next(z for z in after.zones if z.id == before.id)
    assert zone.flow > before.flow
    assert zone.pressure_low < before.pressure_low


def test_other_zones_and_lawns_stay():
    bench = Workbench(planned_example("narrow-strips.yard.json"), CATALOGUE)
    before, head = bench.plan, bench.plan.heads[0]
    after = bench.move(head.id, at=inner_place(before, head, 0.05)).plan
    others = [(old, new) for old, new in zip(before.zones, after.zones, strict=True) if head.id not in old.heads]
    assert others
    assert all(old == new for old, new in others)


def test_heads_off_their_lawn_arcs_that_no_nozzle_has_and_unknown_heads_are_refused(bench):
    with pytest.raises(InputError, match="off lawn"):
        bench.move("H1", at=(500.0, 0.0))
    with pytest.raises(InputError, match="cannot throw 400°"):
        bench.move("H1", arc=400.0)
    with pytest.raises(InputError, match="no head 'H99'"):
        bench.move("H99", arc=90.0)


def test_a_finding_that_a_move_brings_is_told_as_new(bench):
    """A head turned to the house wets it."""
    head = min(bench.plan.heads, key=lambda h: h.at[1])
    moved = bench.move(head.id, arc_start=180.0, arc=180.0)
    assert any(finding.rule == "water-on-building" for finding in moved.new)


def test_a_head_turned_down_throws_and_gives_less_as_its_chart_says(bench):
    """Flow of a nozzle whose flow follows its radius falls with the share; no nozzle goes below what it can."""
    head = next(h for h in bench.plan.heads if CATALOGUE.nozzles[h.nozzle].shorten > 0)
    nozzle = CATALOGUE.nozzles[head.nozzle]
    share = 1 - nozzle.shorten / 2
    after = next(h for h in bench.move(head.id, radius_share=share).plan.heads if h.id == head.id)
    assert after.radius_share == share
    assert after.radius / radius_at(nozzle, after.pressure) == pytest.approx(share)
    with pytest.raises(InputError, match="cannot throw"):
        bench.move(head.id, radius_share=0.99 * (1 - nozzle.shorten))
