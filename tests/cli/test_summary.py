"""What the terminal shows, at the 80 columns that every terminal has."""

import pytest

from drawn_plans import plan_named
from rillwright.cli.summary import print_keys, print_summary, print_supply, print_working
from rillwright.model.findings import WayOut
from rillwright.report.workings import all_workings, working_of


@pytest.fixture(autouse=True)
def _narrow(monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")


@pytest.mark.parametrize("name", ["small", "crowded", "crowded US", "too little water"])
def test_the_verdict_comes_first_and_no_line_is_too_long(name, capsys):
    plan = plan_named(name)
    print_summary(plan)
    lines = capsys.readouterr().out.splitlines()
    assert next(line for line in lines if line).startswith(plan.verdict.capitalize() + ".")
    assert max(map(len, lines)) <= 80
    assert "…" not in "\n".join(lines)


def test_figures_stand_under_their_units_unbroken(capsys):
    plan = plan_named("crowded US")
    print_summary(plan)
    lines = capsys.readouterr().out.splitlines()
    heads = next(i for i, line in enumerate(lines) if line.startswith("zone "))
    assert lines[heads].split()[3:] == ["gpm", "gpm", "in/h", "psi", "control", "open"]
    for zone, line in zip(plan.zones, lines[heads + 1 :], strict=False):
        assert line.startswith(f"{zone.id} ")
        assert len(line.split()) == 9


def test_the_budget_and_what_is_invented_are_said(capsys):
    plan = plan_named("crowded")
    print_summary(plan.model_copy(update={"cost": plan.cost.model_copy(update={"budget": 900.0})}))
    out = capsys.readouterr().out
    assert "budget 900" in out
    assert "2 of its prices are invented" in out


def test_many_findings_are_cut_and_counted(capsys):
    plan = plan_named("too little water")
    print_summary(plan.model_copy(update={"findings": plan.findings[:1] * 20}))
    out = capsys.readouterr().out
    assert "and 8 more in the report" in out


def test_ways_out_that_do_not_help_are_one_line(capsys):
    ways = [
        WayOut(change="Booster pump", fits=True, zones=4, cost=1234.0, extra=300.0, note="ask the supplier"),
        WayOut(change="More stations alone", fits=False, zones=None, cost=None, extra=None, note="as dry as before"),
        WayOut(change="A larger meter", fits=False, zones=None, cost=None, extra=None, note="as dry as before"),
    ]
    print_summary(plan_named("small").model_copy(update={"ways_out": tuple(ways)}))
    out = " ".join(capsys.readouterr().out.split())
    assert "Booster pump 4 1234 ask the supplier" in out
    assert "still does not fit: More stations alone; A larger meter." in out
    assert "as dry as before" not in out


def test_the_supply_alone_says_what_it_cannot_say(capsys):
    plan = plan_named("small")
    print_supply(plan.supply, "metric")
    out = " ".join(capsys.readouterr().out.split())
    for words in (*plan.supply.says, *plan.supply.cannot_say):
        assert words in out


def test_a_working_names_the_workings_it_leans_on(capsys):
    plan = plan_named("crowded")
    print_working(plan, working_of(plan, "zone.Z3.precipitation"))
    out = capsys.readouterr().out
    assert "formula  flow / area" in out
    assert "[zone.Z3.flow]" in out
    assert "[zone.Z3.area]" in out


def test_all_numbers_are_listed_by_name(capsys):
    plan = plan_named("small")
    workings = all_workings(plan)
    print_keys(plan, workings)
    assert "supply.safe-flow" in capsys.readouterr().out
