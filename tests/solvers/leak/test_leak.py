"""Leak watches with known truth, invented; the forward model against an independent integration."""

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from rillwright.physics.water import compressibility, density
from rillwright.solvers.leak import RATES, ClosedPipes, Look, Watch, judge_watch, weigh_watch, where_to_look
from rillwright.solvers.leak.verdict import MATTERS
from rillwright.solvers.leak.watch import HOURLY_LITRE, pressures

PE = ClosedPipes(volume=0.020, stretch=1.3e-8, swelling=4.6e-4, creep=0.20)
COPPER = ClosedPipes(volume=0.020, stretch=1.9e-10, swelling=4.6e-5, creep=0.0)
USUAL = np.zeros((1, 6))


def watched(pipes, rate, *, minutes=30, looks=7, warming=0.0, read=True, z=USUAL, noise=None, error=3.5e3):
    """What a gauge would show; warming [K/h]."""
    times = np.linspace(0, 60.0 * minutes, looks)
    water = 285.0 + warming * times / 3600
    blank = tuple(Look(float(t), 4.2e5, float(w)) for t, w in zip(times, water, strict=True))
    watch = Watch(pipes, blank, error, 0.3, 300.0, 285.0)
    shown = pressures(watch, z, np.array([rate]))[0]
    if noise is not None:
        shown = shown + error * noise.standard_normal(looks)
        water = water + 0.2 * noise.standard_normal(looks)
    seen = zip(times, shown, water, strict=True)
    return replace(watch, looks=tuple(Look(float(t), float(p), float(w) if read else None) for t, p, w in seen))


@pytest.mark.parametrize(("pipes", "rate"), [(PE, 2.0), (PE, 40.0), (COPPER, 0.2)])
def test_forecast_agrees_with_an_integration_of_the_rates(pipes, rate):
    """The same balance as rates: dP/dt = (volume that frees itself - leak) / give, by a library's Runge and Kutta."""
    watch = watched(pipes, 0.0, minutes=20, looks=201, warming=1.5)
    air, start, leak = 0.005 * pipes.volume, 4.2e5, rate * HOURLY_LITRE

    def fall(time, pressure):
        kelvin, warming = 285.0 + 1.5 * time / 3600, 1.5 / 3600
        absolute = pressure[0] + 101325.0
        swelling = (density(kelvin - 0.05) / density(kelvin + 0.05) - 1) / 0.1 - pipes.swelling
        creep = pipes.stretch * start * pipes.creep / np.log(10) / (300.0 + time)
        freed = pipes.volume * (swelling * warming - creep)
        freed += air * (start + 101325.0) / absolute * warming / 285.0 - leak * pressure[0] / start
        give = pipes.volume * (compressibility(285.0) + pipes.stretch)
        return [freed / (give + air * (start + 101325.0) / absolute**2 * kelvin / 285.0)]

    apart = solve_ivp(fall, (0, 1200), [start], rtol=1e-8, t_eval=[1200.0]).y[0, -1]
    ours = pressures(watch, USUAL, np.array([leak]))[0, -1]
    assert ours == pytest.approx(apart, abs=0.004 * start)  # steps of a second, backward


def test_tight_pipe_that_stretches_and_warms_is_not_called_leaking():
    found = judge_watch(watched(PE, 0.0, warming=3.0))
    assert found.verdict == "tight"
    assert found.fall > 40e3  # Pa: a fall that many a rule of thumb would fail
    shares = {share.cause: share.fall for share in found.shares}
    assert shares["pipe stretching on"] > 20e3
    assert shares["water temperature"] > 8e3
    assert abs(shares["leakage"]) < 1e3


def test_leak_is_found_with_its_rate_in_the_band():
    found = judge_watch(watched(PE, 2 * HOURLY_LITRE))
    assert found.verdict == "leaking"
    assert found.rate[0] < 2 * HOURLY_LITRE < found.rate[2]


def test_short_watch_says_how_long_to_go_on_and_that_is_enough():
    short = watched(PE, 0.0, minutes=0.5, looks=2, error=14e3)
    found = judge_watch(short)
    assert found.verdict == "too short to tell"
    assert found.watch_until is not None
    longer = judge_watch(watched(PE, 0.0, minutes=found.watch_until / 60, looks=5, error=14e3))
    assert longer.verdict == "tight"


def test_untold_temperature_leaves_copper_in_doubt():
    """Without a thermometer a kelvin of drift moves copper by 80 kPa: a small leak hides behind it."""
    told = judge_watch(watched(COPPER, 0.0, minutes=8, warming=-2.0))
    untold = judge_watch(watched(COPPER, 0.0, minutes=8, warming=-2.0, read=False))
    assert untold.rate[2] > told.rate[2]


def test_verdicts_on_random_watches_seldom_err():
    noise, ends, inside = np.random.default_rng(7), Counter(), []
    for _ in range(60):
        rate = 0.0 if noise.random() < 0.5 else HOURLY_LITRE * 10 ** noise.uniform(-1.5, 3)
        watch = watched(
            PE if noise.random() < 0.7 else COPPER,
            rate,
            minutes=float(noise.choice([5, 15, 30])),
            looks=int(noise.integers(4, 8)),
            warming=noise.uniform(-2, 2),
            read=bool(noise.random() < 0.7),
            z=noise.standard_normal((1, 6)),
            noise=noise,
        )
        found = judge_watch(watch)
        ends[found.verdict, rate > MATTERS] += 1
        if rate > MATTERS:
            inside.append(found.rate[0] / 1.1 <= rate <= found.rate[2] * 1.1)  # the set of rates steps by a fifth
    wrong = ends["tight", True] + ends["leaking", False]
    assert wrong <= 4  # 5 % each way is what a verdict claims
    assert ends["tight", False] + ends["leaking", True] >= 40
    assert np.mean(inside) >= 0.8


def test_elimination_finds_the_leaking_branch_and_asks_for_the_half_that_tells_most():
    lengths = {"M1": 10.0, "M2": 10.0, "M3": 10.0, "M4": 10.0}
    leaks, dry = (weigh_watch(watched(PE, rate * HOURLY_LITRE)).log for rate in (3.0, 0.0))
    splits = {"all but M1": ("M2", "M3", "M4"), "M3 and M4": ("M3", "M4"), "M4 alone": ("M4",)}
    first = where_to_look([(set(lengths), leaks)], lengths=lengths, splits=splits)
    assert first.tight < 0.01
    assert first.split == "M3 and M4"
    assert first.told == pytest.approx(1.0, abs=0.02)
    second = where_to_look(
        [(set(lengths), leaks), ({"M3", "M4"}, leaks), ({"M4"}, dry)], lengths=lengths, splits=splits
    )
    assert second.suspects[0].pipes == ("M3",)
    assert second.suspects[0].chance > 0.99
    assert second.split is None


def test_rates_begin_with_none():
    assert RATES[0] == 0
    assert (np.diff(RATES) > 0).all()


def test_two_leaks_in_parts_watched_apart_are_not_put_down_to_one_place():
    lengths = {"M1": 10.0, "M2": 10.0, "M3": 10.0}
    for pipes in (PE, COPPER):
        leaks, dry = (weigh_watch(watched(pipes, rate * HOURLY_LITRE, error=200.0)).log for rate in (30.0, 0.0))
        two = where_to_look([({"M1"}, leaks), ({"M2"}, leaks), ({"M3"}, dry)], lengths=lengths, splits={})
        assert two.apart
        assert two.tight + sum(one.chance for one in two.suspects) == pytest.approx(1.0)
        one = where_to_look([({"M1", "M2"}, leaks), ({"M2"}, leaks), ({"M3"}, dry)], lengths=lengths, splits={})
        assert not one.apart
        assert one.suspects[0].pipes == ("M2",)
        assert not where_to_look([({"M1"}, dry), ({"M2"}, dry)], lengths=lengths, splits={}).apart
