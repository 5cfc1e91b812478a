"""Compressed air against printed tables and a general library; limits of plug and film."""

import math

import fluids
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillwright.errors import InputError
from rillwright.physics import compressed_air as air
from rillwright.physics.closed_pipe import ATMOSPHERE
from rillwright.physics.two_phase import BRIDGE, film_speed, front_speed, left_behind, sweep_speed
from rillwright.physics.units import FOOT, INCH, PSI

CFM = FOOT**3 / 60
T = 294.3  # 70 °F


@pytest.mark.parametrize(("inches", "printed"), [(1 / 16, 6.49), (1 / 8, 26.0), (1 / 4, 104.0)])
def test_air_through_a_hole_at_100_psi(inches, printed):
    """Table of air through a rounded orifice at 100 psi gauge, cfm of free air: Compressed Air and Gas Handbook (m)."""
    hole = math.pi / 4 * (inches * INCH) ** 2
    mass = float(air.nozzle_air(100 * PSI + ATMOSPHERE, area=hole, temperature=T))
    assert mass / air.FREE_AIR / CFM == pytest.approx(printed, rel=0.01)


def test_choking_against_the_library_fluids():
    assert pytest.approx(fluids.P_critical_flow(1.0, 1.4), rel=1e-9) == air.CHOKED_RATIO
    over = ATMOSPHERE / air.CHOKED_RATIO
    flows = [float(air.nozzle_air(over * f, area=1e-5, temperature=T)) for f in (0.999999, 1.000001)]
    assert flows[1] == pytest.approx(flows[0], rel=1e-5)  # both laws meet
    assert float(air.nozzle_air(2 * over, area=1e-5, temperature=T)) == pytest.approx(2 * flows[0], rel=1e-5)
    assert float(air.nozzle_air(ATMOSPHERE, area=1e-5, temperature=T)) == 0.0


def test_air_along_a_hose_against_the_library_fluids():
    """fluids' isothermal flow keeps the change of speed, ours leaves it out: 2 % apart in a long hose."""
    bore, length, p1, p2 = 0.0127, 30.0, 700e3, 600e3
    theirs = fluids.isothermal_gas(rho=p1 / (287.05 * 288), fd=0.02, P1=p1, P2=p2, L=length, D=bore)
    ours = air.pipe_air(
        p1,
        p2,
        resistance=air.lead_through(length=length, bore=bore),
        temperature=288,
        area=math.pi / 4 * bore**2,
    )
    assert ours == pytest.approx(theirs, rel=0.02)
    assert ours > theirs


def test_pieces_in_a_row_add_up():
    one = air.lead_through(length=10, bore=0.02, fittings=1.5)
    assert 2 * one == pytest.approx(air.lead_through(length=20, bore=0.02, fittings=3.0))
    assert air.pipe_air(2e5, 3e5, resistance=one, temperature=288, area=1.0) == 0.0


def test_holes_for_water():
    assert air.nozzle_area(1e-4, pressure=2e5, density=1000.0) == pytest.approx(1e-4 / 20.0)
    with pytest.raises(InputError):
        air.nozzle_area(0.0, pressure=2e5, density=1000.0)


@given(st.floats(0.001, 10), st.floats(0.01, 0.1))
def test_the_front_outruns_the_water_and_leaves_a_sixth_to_a_half(speed, bore):
    front = float(front_speed(speed, bore=bore))
    assert speed < front <= 2 * speed + 1e-9
    share = float(left_behind(speed, bore=bore))
    assert 1 / 6 - 1e-9 <= share <= BRIDGE + 1e-9
    assert front * (1 - share) == pytest.approx(speed)  # what the air gains is what the water flows


def test_nicklin_at_speed():
    """Nicklin's law, from memory: v = 1.2 of the mean and 0.54 sqrt(g D) of drift in a level pipe (Bendiksen)."""
    assert float(front_speed(2.0, bore=0.025)) == pytest.approx(2.4 + 0.54 * math.sqrt(9.80665 * 0.025))
    assert np.asarray(left_behind(np.array([0.0, 1.0]), bore=0.025))[0] == BRIDGE


def test_air_sweeps_sooner_when_it_is_dense_and_level():
    slow = sweep_speed(bore=0.0266, air=6.0, water=999.0, rises=False)
    assert slow < sweep_speed(bore=0.0266, air=3.0, water=999.0, rises=False)
    assert sweep_speed(bore=0.0266, air=6.0, water=999.0, rises=True) == pytest.approx(2 * slow)
    assert film_speed(10.0, air=4.0, water=1000.0) == pytest.approx(10 * math.sqrt(0.004))
