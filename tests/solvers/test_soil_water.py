"""Balance of soil water: closed, like one store where roots keep their depth, and layers that hold what they must."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rillwright.errors import InputError
from rillwright.model.growing import TEXTURES, Soil, SoilLayer
from rillwright.model.soils import soil_kinds
from rillwright.physics.soil import depletion_share, runoff
from rillwright.solvers.season import Points, Season, tried
from rillwright.solvers.soil_water import intake_of, profile_of, water_balance

LOAM = Soil(texture="loam")
CAPPED = Soil(texture="loam", over_it=[SoilLayer(thickness=0.05, texture="sand")])
TABLE = {
    (texture, "0-5 %"): rate * 0.0254 / 3600 for texture, rate in zip(TEXTURES, (2, 1.75, 1, 1, 0.2, 0.2), strict=True)
}


def years(days, seed=0):
    dice = np.random.default_rng(seed)
    day = np.arange(days)
    need = (3e-3 + 2.5e-3 * np.sin(2 * np.pi * day / 365)) * dice.uniform(0.5, 1.3, days)
    rain = np.where(dice.random(days) < 0.28, dice.exponential(7e-3, days), 0.0)
    water = np.where(day % 3 == 0, 6e-3, 0.0)[:, None] * np.array([0.4, 0.8, 1.0, 1.6])
    return need, rain, water


def test_every_day_of_ten_years_closes():
    """To 0.01 mm a day, with runoff, rise from below and roots that grow and die back."""
    need, rain, water = years(3650)
    roots = 0.12 + 0.10 * np.sin(2 * np.pi * np.arange(3650) / 365) ** 2
    kept = water_balance(
        profile_of(CAPPED, depth=0.3),
        demand=need,
        rain=rain,
        water=water,
        roots=roots,
        depletion=0.4,
        runoff=runoff(rain, curve_number=80),
        rise=0.2e-3,
    )
    assert kept.error < 1e-5
    total = (rain - kept.runoff).sum() + water.sum(axis=0) + kept.rise.sum(axis=0) - kept.use.sum(axis=0)
    assert kept.first + total - kept.deep.sum(axis=0) == pytest.approx(kept.stored[-1])
    assert (kept.runoff.sum(), kept.deep.sum(), kept.rise.sum()) > (0.1, 0.1, 0.1)
    assert kept.stress.min() < 0.2


def test_with_roots_of_one_depth_layers_are_one_store():
    """Against FAO-56 equation 85, kept apart by `tried`, which takes the full need: so without stress."""
    need, rain, water = years(400)
    need *= 0.3
    profile = profile_of(CAPPED, depth=0.2)
    kept = water_balance(
        profile, demand=need, rain=rain, water=water[:, 3:] * 3, roots=np.full(400, 0.2), depletion=0.4
    )
    assert kept.stress.min() == 1
    limit = profile.available(0.2) * depletion_share(0.4, use=need)
    season = Season(need[None], rain[None], limit[None], np.where(np.arange(400) % 3 == 0, 0, -1)[None])
    one = tried(season, Points(np.array([[6e-3 * 1.6 * 3]]), np.ones(1)), np.array([[1.0]]))
    assert kept.depletion[:, 0] == pytest.approx(one.depletion[0, :, 0], abs=1e-12)
    assert kept.limit == pytest.approx(limit)


def test_water_of_a_few_days_by_hand():
    """A store of 13 mm that may lose 40 %: 3 mm used, then 10 mm of rain: 3 fill it, 3 are used, 4 go deep."""
    profile = profile_of(LOAM, depth=0.1)
    assert profile.available(0.1) == pytest.approx(0.013)
    kept = water_balance(
        profile,
        demand=np.array([3e-3, 3e-3]),
        rain=np.array([0.0, 10e-3]),
        water=np.zeros((2, 1)),
        roots=np.full(2, 0.1),
        depletion=0.4,
    )
    assert kept.depletion[:, 0] * 1e3 == pytest.approx([3.0, 0.0])
    assert kept.deep[:, 0] * 1e3 == pytest.approx([0.0, 4.0])


def test_a_sand_cap_holds_less_than_the_loam_it_lies_on():
    """0.05 m of sand at 0.075 and 0.15 m of loam at 0.13 of the volume, FAO-56 table 19 middles."""
    assert profile_of(LOAM, depth=0.2).available(0.2) == pytest.approx(0.2 * 0.13)
    assert profile_of(CAPPED, depth=0.2).available(0.2) == pytest.approx(0.05 * 0.075 + 0.15 * 0.13)


def test_own_values_go_before_those_of_the_texture():
    own = Soil(texture="loam", field_capacity=0.30, wilting_point=0.10)
    assert profile_of(own, depth=0.1).available(0.1) == pytest.approx(0.02)
    with pytest.raises(ValueError, match="give both"):
        Soil(field_capacity=0.2)
    with pytest.raises(InputError, match="root_depth"):
        profile_of(LOAM, depth=0.0)


@pytest.mark.parametrize("kind", soil_kinds().values())
def test_soils_hold_more_at_field_capacity_than_wilted_and_have_room_above(kind):
    assert kind.wilting_point < kind.field_capacity < kind.pores


SOILS = st.builds(
    Soil,
    texture=st.sampled_from(TEXTURES),
    over_it=st.lists(
        st.builds(SoilLayer, thickness=st.floats(0.01, 0.1), texture=st.sampled_from(TEXTURES)), max_size=2
    ),
)


@settings(max_examples=60)
@given(SOILS, st.floats(1e-6, 3e-5), st.floats(0.05, 0.3), st.floats(0.1, 1.0))
def test_cycles_never_put_on_more_than_the_soil_takes(soil, rate, roots, part):
    """Water above the last intake goes into a store of its own, and leaves it at that intake: it never runs over."""
    takes = intake_of(soil, rate, slope="0-5 %", table=TABLE, roots=roots, share=0.4)
    if takes.longest_run == math.inf:
        assert rate <= takes.last
        return
    run = part * takes.longest_run
    rest = takes.soak_after(run)
    held = most = 0.0
    for _ in range(30):
        held += (rate - takes.last) * run
        most = max(most, held)
        held = max(held - takes.last * rest, 0.0)
    assert most <= takes.store * (1 + 1e-9)


def test_a_tight_layer_below_the_cap_sets_the_intake():
    clay = Soil(texture="clay", over_it=[SoilLayer(thickness=0.05, texture="sand")])
    bare, capped = (
        intake_of(s, 1e-5, slope="0-5 %", table=TABLE, roots=0.15, share=0.4) for s in (Soil(texture="clay"), clay)
    )
    assert bare.last == capped.last == TABLE["clay", "0-5 %"]
    filling = 0.05 * (0.437 - 0.12) / (1e-5 - bare.last)
    assert capped.longest_run == pytest.approx(bare.longest_run + filling)
