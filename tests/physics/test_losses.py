"""Friction and fitting losses against the reference library `fluids`, and their properties."""

import fluids
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillwright.errors import InputError
from rillwright.physics import losses
from rillwright.physics.units import INCH


@pytest.mark.parametrize("rough", [0.0, 1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 0.05])
def test_turbulent_friction_against_fluids(rough):
    """fluids.Colebrook with tol=-1 solves the same equation by other means (Clamond's iteration)."""
    for reynolds in np.geomspace(4000, 1e8, 40):
        assert losses.friction_factor(float(reynolds), rough) == pytest.approx(
            fluids.friction.Colebrook(float(reynolds), rough, tol=-1), rel=1e-12
        )


@pytest.mark.parametrize("reynolds", [1e-3, 1.0, 100.0, 1999.0])
def test_laminar_friction_against_fluids(reynolds):
    assert losses.friction_factor(reynolds, 0.01) == pytest.approx(fluids.friction_factor(reynolds, 0.01), rel=1e-12)


def test_friction_solves_colebrook_white():
    reynolds, rough = np.geomspace(4e3, 1e9, 50)[:, None], np.array([0.0, 1e-5, 0.1])
    root = losses.friction_factor(reynolds, rough) ** -0.5
    assert np.abs(root + 2 * np.log10(rough / 3.7 + 2.51 * root / reynolds)).max() < 1e-13


def test_slope_is_the_derivative():
    reynolds = np.geomspace(100, 1e7, 200)
    rough, step = np.full(200, 1e-3), 1e-6
    _, slope = losses.friction_factor_and_slope(reynolds, rough)
    above, below = (losses.friction_factor(reynolds * (1 + s), rough) for s in (step, -step))
    inside = (np.abs(reynolds - 2000) > 1) & (np.abs(reynolds - 4000) > 1)
    assert np.allclose(slope[inside], ((above - below) / (2 * step * reynolds))[inside], rtol=1e-5, atol=0)


@given(st.floats(0, 0.05), st.floats(1.0, 1e6))
def test_loss_never_falls_as_flow_rises(rough, reynolds):
    low, high = losses.friction_factor(np.array([reynolds, reynolds * 1.01]), rough)
    assert high * 1.01**2 > low


def test_friction_is_continuous_at_both_joints():
    for joint in (2000.0, 4000.0):
        below, above = losses.friction_factor(np.array([joint * (1 - 1e-9), joint * (1 + 1e-9)]), 1e-4)
        assert above == pytest.approx(below, rel=1e-7)


@given(st.floats(1e-6, 0.01), st.floats(0.01, 0.1), st.floats(0.1, 500))
def test_two_half_lengths_lose_as_much_as_the_whole(flow, bore, length):
    whole = losses.darcy_pressure_loss(flow, inside_diameter=bore, length=length, roughness=1.5e-6)
    half = losses.darcy_pressure_loss(flow, inside_diameter=bore, length=length / 2, roughness=1.5e-6)
    assert 2 * half == pytest.approx(whole, rel=1e-12)
    back = losses.darcy_pressure_loss(-flow, inside_diameter=bore, length=length, roughness=1.5e-6)
    assert back == -whole


@pytest.mark.parametrize("flow", [1e-5, 3e-4, 6e-4, 2e-3])
@pytest.mark.parametrize("bore", [0.0158, 0.0266, 0.0525])
def test_pressure_loss_against_fluids(flow, bore):
    """fluids.one_phase_dP with the same water; none of these flows falls in the transition."""
    theirs = fluids.one_phase_dP(
        m=flow * losses.DENSITY,
        rho=losses.DENSITY,
        mu=losses.VISCOSITY * losses.DENSITY,
        D=bore,
        roughness=1.5e-6,
        L=30.0,
        Method="Colebrook",
    )
    assert losses.darcy_pressure_loss(flow, inside_diameter=bore, length=30.0, roughness=1.5e-6) == pytest.approx(
        theirs, rel=1e-3
    )


@pytest.mark.parametrize("coefficient", [0.3, 1.32, 7.5])
def test_fitting_loss_against_fluids(coefficient):
    speed = 6e-4 / (np.pi / 4 * 0.0266**2)
    theirs = fluids.dP_from_K(coefficient, rho=losses.DENSITY, V=speed)
    ours = losses.fitting_pressure_loss(6e-4, inside_diameter=0.0266, coefficient=coefficient)
    assert ours == pytest.approx(theirs, rel=1e-12)
    assert losses.fitting_pressure_loss(-6e-4, inside_diameter=0.0266, coefficient=coefficient) == -ours


@pytest.mark.parametrize("inches", [0.622, 0.824, 1.049, 1.380, 1.610, 2.067])
def test_turbulent_factor_against_fluids(inches):
    """At full turbulence with clean steel; and the curve that fluids draws through Crane's three printed decimals."""
    ours = losses.turbulent_friction_factor(inches * INCH)
    assert ours == pytest.approx(fluids.friction_factor(Re=1e12, eD=0.0018 / inches), rel=1e-3)
    assert ours == pytest.approx(fluids.fittings.ft_Crane(inches * INCH), abs=5e-4)


def test_arrays_and_zero_flow():
    flows = np.array([-1e-3, 0.0, 1e-3])
    lost = losses.darcy_pressure_loss(flows, inside_diameter=0.03, length=1.0, roughness=0.0)
    assert lost.shape == (3,)
    assert lost[1] == 0
    assert lost[0] == -lost[2]
    assert losses.darcy_pressure_loss(0.0, inside_diameter=0.03, length=1.0, roughness=0.0) == 0.0


@pytest.mark.parametrize(
    ("reynolds", "rough", "message"),
    [
        (0.0, 0.0, "positive"),
        (-1.0, 0.0, "positive"),
        (float("inf"), 0.0, "finite"),
        (1e5, -0.1, "0 to 0.1"),
        (1e5, 0.2, "0 to 0.1"),
    ],
)
def test_friction_refuses_nonsense(reynolds, rough, message):
    with pytest.raises(InputError, match=message):
        losses.friction_factor(reynolds, rough)


def test_bore_and_outlet_number_must_be_positive():
    with pytest.raises(InputError, match="inside diameter"):
        losses.darcy_pressure_loss(1e-3, inside_diameter=0.0, length=1.0, roughness=0.0)
    for factor in (
        losses.multiple_outlet_factor,
        losses.half_spacing_outlet_factor,
        losses.exact_multiple_outlet_factor,
    ):
        with pytest.raises(InputError, match="at least one outlet"):
            factor(0)
