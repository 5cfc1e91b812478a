import csv
import io

import pytest

from drawn_plans import plan_named
from rillwright.report.parts_list import parts_csv


def rows(name):
    return list(csv.DictReader(io.StringIO(parts_csv(plan_named(name)))))


@pytest.mark.parametrize("name", ["demo", "crowded", "crowded US"])
def test_the_lines_add_up_to_the_cost(name):
    *lines, total = rows(name)
    plan = plan_named(name)
    cost = f"cost ({plan.yard.currency})"
    assert sum(float(line[cost]) for line in lines) == pytest.approx(plan.cost.parts, abs=0.005 * len(lines) + 0.01)
    assert float(total[cost]) == pytest.approx(plan.cost.parts, abs=0.005)


@pytest.mark.parametrize(("name", "unit"), [("crowded", "m"), ("crowded US", "ft")])
def test_pipe_is_counted_and_priced_in_the_yards_unit(name, unit):
    pipe = rows(name)[1]
    assert pipe["unit"] == unit
    each, cost = float(pipe["price each (USD)"]), float(pipe["cost (USD)"])
    assert float(pipe["quantity"]) * each == pytest.approx(cost, rel=2e-4)
    metres = float(pipe["quantity"]) * (0.3048 if unit == "ft" else 1.0)  # NIST SP 811: 1 ft is 0.3048 m exactly
    assert metres == pytest.approx(plan_named(name).parts[1].quantity, abs=0.005)


def test_what_is_bought_already_costs_nothing():
    head = rows("crowded")[0]
    assert float(head["cost (USD)"]) == (float(head["quantity"]) - float(head["already bought"])) * 5.0


def test_spares_have_a_column_of_their_own():
    plan = plan_named("demo")
    *lines, _ = rows("demo")
    listed = {line["part"]: line["of it spares"] for line in lines}
    assert listed == {line.part: "" if line.unit == "m" else f"{line.spare:g}" for line in plan.parts}
    assert any(line.spare > 0 for line in plan.parts)
