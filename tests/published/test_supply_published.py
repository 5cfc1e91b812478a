"""The supply against printed relations and a general-purpose fluids library."""

import fluids
import pytest

from rillwright.model.catalogue import load_catalogue
from rillwright.physics.supply import flow_kept, residual_pressure, service_line_loss
from rillwright.physics.units import FOOT, GPM, INCH, PSI
from rillwright.physics.water import STANDARD_TEMPERATURE, density, dynamic_viscosity

OPEN_FILL = {"static": 60 * PSI, "open_flow": 31.58 * GPM}


def test_open_pipe_fill_under_pressure():
    """Hazen-Williams exponent 1.852, level ground, outlet loss inside, 60 psi static, 31.58 gpm open (arithmetic)."""
    assert residual_pressure(27 * GPM, **OPEN_FILL) / PSI == pytest.approx(15.1, abs=0.05)
    assert flow_kept(45 * PSI, **OPEN_FILL) / GPM == pytest.approx(14.9, abs=0.05)
    assert flow_kept(30 * PSI, **OPEN_FILL) / GPM == pytest.approx(21.7, abs=0.05)


def test_open_flow_has_no_pressure():
    assert residual_pressure(31.58 * GPM, **OPEN_FILL) == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("residual", [20.0, 35.0, 50.0])
def test_fire_flow_relation(residual):
    """Flow at another pressure from one flow test: Q2 = Q1 · ((Ps - P2) / (Ps - P1))^0.54.

    Source: NFPA 291 / AWWA M17, from memory. Its 0.54 is 1/1.852 to two digits, hence 0.2 %.
    """
    tested = residual_pressure(15 * GPM, **OPEN_FILL)
    printed = 15 * ((60 * PSI - residual * PSI) / (60 * PSI - tested)) ** 0.54
    assert flow_kept(residual * PSI, **OPEN_FILL) / GPM == pytest.approx(printed, rel=2e-3)


@pytest.mark.parametrize("flow_gpm", [5.0, 12.0, 25.0])
@pytest.mark.parametrize("bore_in", [0.785, 1.049])
def test_service_line_agrees_with_fluids(flow_gpm, bore_in):
    """Oracle: the library fluids (Colebrook friction and K of fittings), same water; 0.1 % for its root finder."""
    flow, bore, length, roughness = flow_gpm * GPM, bore_in * INCH, 60 * FOOT, 1.5e-6
    rho, mu = density(STANDARD_TEMPERATURE), dynamic_viscosity(STANDARD_TEMPERATURE)
    speed = flow / (3.141592653589793 / 4 * bore**2)
    friction = fluids.friction_factor(Re=fluids.Reynolds(V=speed, D=bore, rho=rho, mu=mu), eD=roughness / bore)
    expected = fluids.dP_from_K(fluids.K_from_f(fd=friction, L=length, D=bore) + 10, rho=rho, V=speed)
    ours = service_line_loss(flow, length=length, bore=bore, roughness=roughness, fittings=10.0)
    assert ours == pytest.approx(expected, rel=1e-3)


def test_meter_loss_scales_with_the_square():
    """AWWA C700 table 1 (from memory): 5/8 in meter, 15 psi at 20 gpm; in proportion to flow² 3.75 psi at 10 gpm."""
    factor = load_catalogue().meters["5/8 in"].loss.factor
    ours = service_line_loss(10 * GPM, length=0.0, bore=0.02, roughness=1.5e-6, meter_factor=factor)
    assert ours / PSI == pytest.approx(3.75, rel=1e-9)
