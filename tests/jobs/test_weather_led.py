"""Minutes led by the weather, by hand."""

from types import SimpleNamespace

import numpy as np
import pytest

from rillwright.jobs.watering.methods import raised
from rillwright.jobs.watering.weather_led import weather_led
from rillwright.solvers.season import Season, tried
from rillwright.solvers.season.points import Points

MM = 1e-3


def test_each_night_gives_back_what_was_used_less_the_rain_that_stayed():
    """Two years of six days, nights before the first, third and sixth day; rain of the second year fills the soil."""
    need = np.full((2, 6), 4 * MM)
    rain = np.zeros((2, 6))
    rain[1, 2] = 20 * MM
    slot = np.full((2, 6), -1)
    slot[:, [0, 2, 5]] = 0
    season = Season(need, rain, np.full((2, 6), 30 * MM), slot)
    zones = (
        SimpleNamespace(need=1.0, multiplier=1.0, net_rate=10 * MM / 3600),
        SimpleNamespace(need=0.5, multiplier=1.2, net_rate=6 * MM / 3600),
    )
    led, seconds = weather_led(season, SimpleNamespace(zones=zones))
    runs = seconds[led.slot[:, [0, 2, 5]]] / 3600 * 10 * MM
    sunny = [[0, 8, 12], [0, 8, 8]]  # mm: days before the night, less the rain that fell on ground that was dry by 4
    assert runs[:, :, 0] == pytest.approx(np.array(sunny) * MM)
    assert seconds[led.slot[0, 2], 1] == pytest.approx(3600 * 0.5 * 8 / 6 * 1.2)


def test_ground_that_gets_the_mean_is_full_after_every_night():
    """Random weather: at the mean rate and multiplier 1 nothing lacks after a night, and nothing runs over."""
    dice = np.random.default_rng(5)
    need, rain = dice.uniform(2, 7, (3, 60)) * MM, np.where(dice.random((3, 60)) < 0.2, 9 * MM, 0.0)
    slot = np.where(dice.random((3, 60)) < 0.4, 0, -1)
    season = Season(need, rain, np.full((3, 60), 1.0), slot)
    zone = SimpleNamespace(need=1.0, multiplier=1.0, net_rate=10 * MM / 3600)
    led, seconds = weather_led(season, SimpleNamespace(zones=(zone,)))
    trial = tried(led, Points(np.array([[10 * MM / 3600]]), np.ones(1)), seconds)
    after = trial.depletion[:, :, 0][slot == 0]
    assert after == pytest.approx(np.maximum(need - rain, 0)[slot == 0])


def test_what_no_factor_keeps_is_raised_no_further_than_helps():
    """Five dry days of 5 mm between two nights pass a limit of 20 mm by 5, whatever the night before them gave."""
    need = np.full((1, 10), 5 * MM)
    slot = np.full((1, 10), -1)
    slot[0, [1, 2, 3, 9]] = 0
    point = Points(np.array([[10 * MM / 3600]]), np.ones(1))
    for limit, kept in ((20 * MM, False), (30 * MM, True)):
        season = Season(need, np.zeros((1, 10)), np.full((1, 10), limit), slot)
        factor, keeps = raised(season, point, np.array([[3600.0]]))
        assert keeps is kept
        assert factor < 1.01  # 10 mm a night: two nights fill what three days used
