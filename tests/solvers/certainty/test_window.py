"""A week of watering: worked by hand, and what must follow."""

from types import SimpleNamespace

import numpy as np
import pytest

from rillwright.model.site import Watering
from rillwright.solvers.certainty import Turn, band_of, chance_of, window_draws

MM_PER_HOUR = 1e-3 / 3600
WATERING = Watering(peak_need=0.030, peak_need_error=0.1)


def draws(*, need=0.0, landing=1.0, intake=1.0, count=4):
    """What a window looks at in its draws, here all alike."""
    values = {"need": need, "landing": landing, "intake": intake}
    return SimpleNamespace(count=count, **{k: np.full(count, v) for k, v in values.items()})


def turn(zone="Z1", rate=10.0, uniformity=1.0, exposure=1.0, intake=None):
    takes = None if intake is None else intake * MM_PER_HOUR
    return Turn(zone, np.full(4, rate * MM_PER_HOUR), np.full(4, uniformity), exposure, takes)


def hours(turns, **known):
    return window_draws(turns, watering=WATERING, draws=draws(**known)).needed[0] / 3600


def test_run_times_by_hand():
    """Arithmetic: 30 mm at 10 mm/h are 3 h; DU 0.7 makes them 1/0.82 times as long, 8 % lost in the air 1/0.92."""
    assert hours([turn()]) == pytest.approx(3.0)
    assert hours([turn(), turn("Z2", rate=20.0)]) == pytest.approx(4.5)
    assert hours([turn(uniformity=0.7)]) == pytest.approx(3.0 / 0.82)
    assert hours([turn()], landing=0.92) == pytest.approx(3.0 / 0.92)
    assert hours([turn(exposure=0.8)]) == pytest.approx(2.4)
    assert hours([turn()], need=1.0) == pytest.approx(3.3)


def test_pauses_bind_only_where_no_other_zone_fills_them():
    """Arithmetic: soil that takes 2 mm/h spreads 30 mm over 15 h, whatever the nozzles do."""
    assert hours([turn(intake=2.0)]) == pytest.approx(15.0)
    assert hours([turn(intake=20.0)]) == pytest.approx(3.0)
    assert hours([turn(intake=2.0), turn("Z2", rate=2.0)]) == pytest.approx(18.0)  # 3 h + 15 h of running


def test_less_even_water_runs_longer_and_a_dry_zone_never_ends():
    assert hours([turn(uniformity=0.6)]) > hours([turn(uniformity=0.8)])
    assert hours([turn(rate=0.0)]) > 1e3


def test_a_chance_of_one_has_an_error_too():
    sure, even = chance_of(np.full(2048, True)), chance_of(np.arange(2048) % 2 == 0)
    assert sure.value == 1.0
    assert 0 < sure.error < 0.001
    assert even.error == pytest.approx(0.5 / np.sqrt(2048), rel=1e-3)


def test_a_band_holds_nine_in_ten():
    values = np.linspace(0, 1, 1001)
    band = band_of(values)
    assert (band.low, band.median, band.high) == pytest.approx((0.05, 0.5, 0.95))
