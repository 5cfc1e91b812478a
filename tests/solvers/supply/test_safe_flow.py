"""The flow that is safe: chance, meter, velocity, house, booster; curves and report."""

import numpy as np
import pytest

from rillwright.model.site import BoosterPump, PumpPoint
from rillwright.physics.supply import service_line_loss
from rillwright.physics.units import GPM, PSI
from rillwright.solvers.capacity import PressureNeed, curve_capacity
from rillwright.solvers.supply import (
    boosted,
    cautious_curve,
    expected_curve,
    fit_supply,
    safe_flow,
)
from rillwright.solvers.supply.limits import quantile_curve
from supply_measured import (
    BUCKET,
    CATALOGUE,
    NEEDED,
    fitted,
    flowing,
    reported,
    static,
    yard_with,
)


def test_safe_flow_holds_with_the_stated_chance():
    yard = yard_with(static(60 * PSI), BUCKET, rules={"supply_certainty": 0.8})
    fit = fit_supply(yard, CATALOGUE)
    safe = safe_flow(fit, pressure=NEEDED, yard=yard, catalogue=CATALOGUE)
    assert np.mean(fit.flows(NEEDED) >= safe.flow) == pytest.approx(0.8, abs=0.005)


def test_small_meter_binds():
    """AWWA C700 (from memory): 5/8 in meter 20 gpm safe maximum, three quarters of it is 15 gpm."""
    supply = (static(95 * PSI), flowing(90 * PSI, 15 * GPM))
    yard = yard_with(*supply, meter="5/8 in")
    safe = safe_flow(fit_supply(yard, CATALOGUE), pressure=40 * PSI, yard=yard, catalogue=CATALOGUE)
    assert safe.binds == "meter"
    assert safe.flow / GPM == pytest.approx(15.0, rel=1e-6)


def test_velocity_in_the_service_pipe_binds():
    """NFPA 13 form (from memory): ft/s = 0.4085 gpm / in²; 7.5 ft/s in 0.824 in is 12.47 gpm."""
    yard = yard_with(static(95 * PSI), flowing(90 * PSI, 15 * GPM), size="3/4 in", meter=None)
    safe = safe_flow(fit_supply(yard, CATALOGUE), pressure=40 * PSI, yard=yard, catalogue=CATALOGUE)
    assert safe.binds == "service velocity"
    assert safe.flow / GPM == pytest.approx(7.5 * 0.824**2 / 0.4085, rel=1e-3)
    assert {limit.name for limit in safe.limits} == {"curve", "service velocity"}


def test_water_for_the_house_is_held_back():
    def safe(reserve):
        yard = yard_with(static(60 * PSI), BUCKET, rules={"house_reserve": reserve})
        return safe_flow(fit_supply(yard, CATALOGUE), pressure=NEEDED, yard=yard, catalogue=CATALOGUE).flow

    assert safe(0.0) - safe(3 * GPM) == pytest.approx(3 * GPM)
    assert safe(40 * GPM) == 0


def test_a_booster_adds_its_curve_to_every_supply():
    """Energy balance: what stands behind the pump is the street's pressure and the pump's gain at the same flow."""
    points = [(0.0, 300e3), (6e-4, 260e3), (1.2e-3, 150e3)]
    pump = BoosterPump(curve=[PumpPoint(flow=q, pressure=p) for q, p in points])
    fit = fit_supply(yard_with(static(40 * PSI), flowing(30 * PSI, 10 * GPM)), CATALOGUE)
    after = boosted(fit, pump=pump)
    for flow, gain in (*points, (9e-4, np.interp(9e-4, *zip(*points, strict=True)))):
        added = np.median(after.pressures(flow)) - np.median(fit.pressures(flow))
        assert added == pytest.approx(gain, abs=16e3)
    assert np.median(after.pressures(0.0) - fit.pressures(0.0)) == pytest.approx(300e3, rel=0.01)


def test_a_shower_is_held_back_and_counted_at_the_entry():
    """US Energy Policy Act of 1992: a shower passes 2.5 gpm at the most (from memory)."""
    yard = yard_with(static(60 * PSI), BUCKET, rules={"house_use": "a shower", "house_reserve": 1 * GPM})
    fit = fit_supply(yard, CATALOGUE)
    free = yard_with(static(60 * PSI), BUCKET)
    flows = [safe_flow(fit, pressure=NEEDED, yard=y, catalogue=CATALOGUE).flow for y in (free, yard)]
    assert flows[0] - flows[1] == pytest.approx(3.5 * GPM)
    need = PressureNeed(head_pressure=NEEDED, lift=0.0, devices=(), pipes=0.0)
    cautious = cautious_curve(fit, 0.95)
    left = curve_capacity(need, supply=cautious, house=3.5 * GPM)
    assert cautious.pressure(left + 3.5 * GPM) == pytest.approx(NEEDED, rel=1e-6)


def test_cold_water_loses_more_in_the_service_pipe():
    """Blasius: smooth friction goes with viscosity^0.25; 1.567 and 0.797 mm²/s about at 4 and 30 °C (from memory)."""
    facts = {"length": 200.0, "bore": 0.02, "roughness": 0.0}
    cold, warm = (service_line_loss(0.0005, temperature=273.15 + c, **facts) for c in (4.0, 30.0))
    assert cold / warm == pytest.approx((1.567 / 0.801) ** 0.25, rel=0.03)


def test_static_below_the_need_leaves_nothing():
    report = reported(static(40 * PSI), BUCKET, pressure=50 * PSI)
    assert report.safe_flow == 0
    assert report.binds == "curve"
    assert "does not reach" in report.says[0]


def test_safe_flow_never_rises_with_pressure():
    yard = yard_with(static(60 * PSI), BUCKET)
    fit = fit_supply(yard, CATALOGUE)
    flows = [safe_flow(fit, pressure=p * PSI, yard=yard, catalogue=CATALOGUE).flow for p in range(0, 80, 5)]
    assert flows == sorted(flows, reverse=True)
    assert flows[-1] == 0


@pytest.mark.parametrize("supply", [(), (BUCKET,), (static(60 * PSI),), (static(60 * PSI), BUCKET)])
def test_single_curves_stay_near_their_quantiles(supply):
    """A power law cannot follow every quantile; the misfit is stated and stays within 1.5 psi over the whole curve."""
    fit = fitted(*supply)
    cautious, expected = cautious_curve(fit, 0.95), expected_curve(fit)
    for curve, quantile in ((cautious, 0.05), (expected, 0.5)):
        stated = quantile_curve(fit, quantile).misfit
        end = np.quantile(fit.flows(0.0), quantile)
        gaps = [curve.pressure(q) - np.quantile(fit.pressures(q), quantile) for q in np.linspace(0, end, 41)]
        assert np.abs(gaps).max() == pytest.approx(stated, rel=1e-6)
        assert stated < 1.5 * PSI
    assert all(cautious.pressure(q) < expected.pressure(q) for q in np.linspace(0, 30 * GPM, 7))


def test_report_curve_falls_and_its_band_is_in_order():
    report = reported(static(60 * PSI), BUCKET)
    assert [p.median for p in report.curve] == sorted((p.median for p in report.curve), reverse=True)
    assert all(p.low < p.median < p.high for p in report.curve)
    assert report.curve[0].flow == 0
    assert report.curve[-1].flow == pytest.approx(report.open_flow)
