"""What to measure next at the supply."""

import numpy as np
import pytest

from rillwright.physics.units import GPM, LPM, PSI
from rillwright.solvers.supply import (
    next_measurements,
)
from supply_measured import BUCKET, NEEDED, fitted, measured_next, static, width, yard_with


def test_a_bucket_alone_wants_a_gauge_next():
    first, *rest = measured_next(BUCKET)
    assert first.what.startswith("Static gauge")
    assert first.band_after < 0.4 * first.band_before
    fills = next(item for item in rest if "fills of a bucket" in item.what)
    assert fills.band_after > 0.9 * fills.band_before  # the mark, not the stopwatch, is what the bucket lacks


def test_a_static_gauge_alone_wants_a_flow_next():
    ranked = measured_next(static(60 * PSI))
    assert ranked[-1].what.startswith("Static reading with another gauge")
    assert ranked[-1].band_after > 0.9 * ranked[-1].band_before
    assert [item.band_after for item in ranked] == sorted(item.band_after for item in ranked)


@pytest.mark.parametrize("units", ["US", "metric"])
def test_next_measurements_name_a_flow_that_a_person_can_set(units):
    ranked = measured_next(static(60 * PSI), BUCKET, units=units)
    gauge = next(item.what for item in ranked if "running (" in item.what)
    number, unit = gauge.removeprefix("Gauge reading with ").split(" ")[:2]
    flow = float(number) * (GPM if units == "US" else LPM)
    assert unit == ("gpm" if units == "US" else "L/min")
    assert flow == pytest.approx(16 * GPM, rel=0.12)


def test_the_foretold_band_comes_true_on_average():
    """Taking the foretold static gauge on simulated supplies gives the foretold mean width."""
    fit = fitted(BUCKET)
    yard = yard_with(BUCKET)
    foretold = next(
        item for item in next_measurements(fit, pressure=NEEDED, yard=yard) if item.what.startswith("Static")
    )
    rng = np.random.default_rng(2)
    order = np.argsort(fit.flows(NEEDED))
    truths = fit.static[order[((np.arange(60) + 0.5) / 60 * len(order)).astype(int)]]
    widths = [width(fitted(BUCKET, static(p + 14e3 * rng.standard_normal()))) for p in truths]
    assert np.mean(widths) == pytest.approx(foretold.band_after, rel=0.15)
