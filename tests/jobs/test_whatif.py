"""What another mowing height, soil or evenness would change in a season's water."""

import pytest

from plan_yards import CATALOGUE
from rillwright.exchange.weather import load_weather
from rillwright.jobs.watering.whatif import what_ifs
from watered_plans import TERMS, seattle_file, small_plan


def with_old_names(plan):
    """The plan with its heads named as an owner names heads that are in the ground."""
    names = {head.id: f"old head {number}" for number, head in enumerate(plan.heads, start=1)}
    return plan.model_copy(
        update={
            "heads": tuple(head.model_copy(update={"id": names[head.id]}) for head in plan.heads),
            "zones": tuple(z.model_copy(update={"heads": tuple(names[h] for h in z.heads)}) for z in plan.zones),
        }
    )


def test_each_change_by_itself(tmp_path):
    weather = load_weather(seattle_file(tmp_path))
    plan = with_old_names(small_plan())
    here, even, higher, capped = what_ifs(plan, weather, CATALOGUE, TERMS)
    assert here.saved == 0
    assert even.what.startswith("heads old head ")
    assert 0 <= even.saved < here.water
    assert even.nights == higher.nights == here.nights  # what a change saves is its own, and not that of other nights
    assert higher.saved > 0
    assert higher.holds == pytest.approx(here.holds * ((0.075 + 0.025) / 0.075) ** 0.5)  # one soil: as its roots
    assert capped.holds == pytest.approx(here.holds - 0.05 * ((0.25 - 0.12) - (0.12 - 0.045)))  # loam under sand
    for one in (even, higher, capped):
        assert one.saved == pytest.approx(here.water - one.water)
