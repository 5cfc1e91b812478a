"""What each kind of reading says, alone and with others that agree or not."""

import numpy as np
import pytest

from rillwright.physics.units import GPM, INCH, PSI
from rillwright.solvers.supply.posterior import best_point
from rillwright.solvers.supply.readings import joint_log_likelihood
from supply_measured import (
    BUCKET,
    NEEDED,
    WEIGHT,
    bucket,
    fitted,
    flowing,
    measured_next,
    metered,
    reported,
    static,
    width,
)


@pytest.mark.parametrize(
    ("supply", "basis"),
    [
        ((), "assumed"),
        ((static(60 * PSI),), "static measured only"),
        ((BUCKET,), "flow measured, static assumed"),
        ((flowing(45 * PSI, 15 * GPM),), "flow measured, static assumed"),
        ((metered(30 * GPM),), "flow measured, static assumed"),
        ((metered(15 * GPM, pressure=45 * PSI),), "flow measured, static assumed"),
        ((static(60 * PSI), metered(30 * GPM)), "static and flow measured"),
    ],
)
@pytest.mark.parametrize("units", ["US", "metric"])
def test_each_kind_alone_is_answered(supply, basis, units):
    report = reported(*supply, units=units)
    assert report.basis == basis
    assert 0 <= report.flow_low <= report.flow_median <= report.flow_high
    assert report.safe_flow <= report.flow_median
    assert len(report.measured) == sum(
        len(item.get("seconds", [0])) if "seconds" in item and isinstance(item["seconds"], list) else 1
        for item in supply
    )
    assert ("Nobody has measured the static pressure" in " ".join(report.cannot_say)) == ("assumed" in basis)
    assert ("No flow has been measured" in " ".join(report.cannot_say)) == (
        basis in ("assumed", "static measured only")
    )
    wrong = ("kPa", "L/min") if units == "US" else ("psi", "gpm")
    further = measured_next(*supply, units=units)
    words = " ".join((*report.says, *report.cannot_say, *(f"{n.what} {n.moves}" for n in further)))
    assert not any(unit in words for unit in wrong)


def test_a_gauge_and_a_metered_flow_say_the_same():
    gauge = fitted(static(60 * PSI), flowing(45 * PSI, 15 * GPM, flow_error=0.015))
    meter = fitted(static(60 * PSI), metered(15 * GPM, pressure=45 * PSI))
    assert np.quantile(meter.flows(30 * PSI), 0.5) == pytest.approx(np.quantile(gauge.flows(30 * PSI), 0.5), rel=0.01)


@pytest.mark.parametrize("kind", ["static", "flowing", "bucket", "meter"])
def test_heights_shift_pressures_to_the_entry(kind):
    """A gauge or outlet 7 m over the entry shows 7 m of water less; told so, the fit comes out the same."""
    rise, left = 7.0, 60 * PSI - 7.0 * WEIGHT
    level = {"static": static(60 * PSI), "flowing": flowing(60 * PSI, 10 * GPM)}
    raised = {"static": static(left, height=3 + rise), "flowing": flowing(left, 10 * GPM, height=3 + rise)}
    if kind in level:
        one, two = fitted(level[kind]), fitted(raised[kind])
        assert np.median(two.static) == pytest.approx(np.median(one.static), rel=1e-3)
    else:
        make = (lambda **k: bucket(9.5, **k)) if kind == "bucket" else (lambda **k: metered(31 * GPM, **k))
        key = "outlet_height" if kind == "bucket" else "height"
        low, high = (fitted(static(60 * PSI), make(**{key: 3 + h})) for h in (0.0, rise))
        assert np.median(high.flows(0.0)) > 1.05 * np.median(low.flows(0.0))


def test_a_throttling_outlet_hides_part_of_the_supply():
    """The same fill out of a half-inch tap means a better supply than out of the whole pipe."""
    pipe, tap = (fitted(static(60 * PSI), bucket(15.0, outlet_bore=bore * INCH)) for bore in (1.049, 0.5))
    assert np.median(tap.flows(NEEDED)) > 1.05 * np.median(pipe.flows(NEEDED))
    assert width(tap) > width(pipe)


def test_bucket_alone_gives_a_table_by_static_pressure():
    report = reported(BUCKET)
    table = next(text for text in report.says if "hangs on the static pressure" in text)
    assert "40 psi: none" in table
    flows = [float(part.split(": ")[1].split(" gpm")[0]) for part in table.split("; ") if "gpm" in part]
    assert len(flows) >= 3
    assert flows == sorted(flows)
    assert report.safe_flow < 5 * GPM


@pytest.mark.parametrize(
    ("supply", "blamed"),
    [
        ((static(60 * PSI), static(61 * PSI), static(59 * PSI), static(85 * PSI)), "Static gauge 4"),
        ((static(60 * PSI), flowing(78 * PSI, 12 * GPM), BUCKET), "Gauge at a flow 1"),
        (
            (static(60 * PSI), BUCKET, metered(31 * GPM), flowing(45 * PSI, 15.5 * GPM), bucket(5.0, volume=0.02)),
            "Bucket fill 2",
        ),
    ],
)
def test_the_reading_that_disagrees_is_named_and_the_band_widens(supply, blamed):
    report = reported(*supply)
    sentence = next(text for text in report.says if "disagrees" in text)
    assert sentence.startswith(blamed)
    assert "times as wide" in sentence
    label = blamed[0].lower() + blamed[1:]
    kind, number = label.rsplit(" ", 1)
    index = [i for i, item in enumerate(supply) if item["kind"] == kind][int(number) - 1]
    calm = fitted(*(item for i, item in enumerate(supply) if i != index))
    assert fitted(*supply).strain.widening > 1
    assert width(fitted(*supply)) > width(calm)


def test_two_readings_at_odds_are_both_suspects():
    report = reported(static(60 * PSI), flowing(75 * PSI, 15 * GPM))
    sentence = next(text for text in report.says if "disagrees" in text)
    assert sentence.startswith("Gauge at a flow 1")
    assert "It may as well be static gauge 1 that is at fault." in sentence


def test_agreeing_readings_are_not_accused():
    report = reported(static(60 * PSI), BUCKET, flowing(45 * PSI, 15 * GPM))
    assert not any("disagrees" in text or "times the pressure loss" in text for text in report.says)


def test_a_half_closed_stop_is_suspected():
    report = reported(static(60 * PSI), bucket(40.0), flowing(25 * PSI, 5.5 * GPM), meter=None)
    text = " ".join(report.says)
    assert "half-closed stop" in text
    assert report.flow_high < 6 * GPM


@pytest.mark.parametrize("seconds", [12.0, 15.0, 20.0, 30.0])
def test_a_slow_bucket_is_believed_whether_pipe_or_outlet_holds_it_back(seconds):
    """A dense grid over lone causes finds no likelier point, and less runs under pressure than from the open pipe."""
    fit = fitted(
        static(400e3),
        bucket(seconds, seconds + 0.3, seconds - 0.2, volume=0.01, outlet_bore=0.015),
        units="metric",
        length=15.0,
        meter="3/4 in",
    )

    def log_density(z):
        return fit.prior.log_density(z) + joint_log_likelihood(fit.readings, fit.prior.supplies(z))

    z = best_point(log_density, size=fit.prior.size, seed=0)
    pipe, outlet = np.meshgrid(np.linspace(-1.0, 9.0, 401), np.linspace(-1.0, 7.0, 321))
    grid = np.column_stack([np.full(pipe.size, z[0]), pipe.ravel(), np.full(pipe.size, z[2]), outlet.ravel()])
    assert log_density(z[None])[0] >= log_density(grid).max() - 1e-6
    assert fit.strain.widening == 1.0
    assert np.quantile(fit.flows(300e3), 0.5) < 0.01 / seconds


@pytest.mark.parametrize("pressure", [20 * PSI, 130 * PSI])
def test_a_gauge_is_believed_where_towns_give_less_or_more(pressure):
    """Lone readings far from the usual were called at odds with it, and set aside for it."""
    fit = fitted(static(pressure))
    assert fit.strain.widening == 1.0
    assert np.median(fit.static) == pytest.approx(pressure, abs=14e3)  # the gauge's own standard error


def test_a_wrong_street_pressure_gives_way_to_the_gauge():
    supply = (static(60 * PSI), BUCKET, flowing(45 * PSI, 15 * GPM))
    report = reported(*supply, street_pressure=105 * PSI)
    assert any("stated street pressure" in text for text in report.says)
    near = reported(*supply, street_pressure=62 * PSI)
    assert not any("stated street pressure" in text for text in near.says)


def test_a_stated_street_pressure_helps_a_bucket():
    assert width(fitted(BUCKET, street_pressure=60 * PSI)) < 0.6 * width(fitted(BUCKET))
