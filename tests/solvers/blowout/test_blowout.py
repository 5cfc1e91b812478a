"""Blowing out: one pipe against an integration of its own, mass balance, limits that must be monotone, steady air."""

import math
from dataclasses import replace

import fluids
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from rillwright.model.winter import CLEAR_SHARE, POP_UP, Compressor
from rillwright.physics.closed_pipe import ATMOSPHERE
from rillwright.physics.compressed_air import nozzle_air, nozzle_area
from rillwright.physics.pipes import area
from rillwright.physics.two_phase import BRIDGE, left_behind
from rillwright.physics.units import FOOT, GALLON, INCH, PSI
from rillwright.physics.water import density, viscosity
from rillwright.solvers.blowout import (
    AirSource,
    BlowLine,
    Run,
    Vent,
    air_needed,
    all_blowing,
    blow_out,
    held,
    seconds_to_warm,
)

COEFFICIENT = 1.9e-4 / 276e3**0.5  # 3 gpm at 40 psi
HOLE = nozzle_area(1.9e-4, pressure=276e3, density=1000.0)


def line_of(heads=4, *, rise=0.1, spacing=5.0, bore=0.0266, hole=HOLE):
    """A main and a lateral with a head every few metres, as a zone's line."""
    runs, vents, before = [Run("main", "fitting", "valve", 15.0, 0.0266, 1.5e-6, 1.0, 0.3)], [], "valve"
    for n in range(heads):
        runs.append(Run(f"p{n}", before, f"n{n}", spacing, bore, 1.5e-6, 0.5, rise, 0.0 if n else 3e10))
        runs.append(Run(f"r{n}", f"n{n}", f"h{n}", 0.45, 0.0158, 1.5e-6, 3.0, 0.3))
        vents.append(Vent(f"h{n}", COEFFICIENT, 0.5, hole))
        before = f"n{n}"
    return BlowLine.of("fitting", runs, vents)


def source_of(tank=20.0, cfm=5.0, *, psi=50.0, bore=0.375):
    compressor = Compressor(
        name="test",
        tank=tank * GALLON,
        air=cfm * FOOT**3 / 60,
        air_at=90 * PSI,
        cut_out=135 * PSI,
        cut_in=105 * PSI,
        hose_length=50 * FOOT,
        hose_bore=bore * INCH,
        source="test",
    )
    return AirSource.of(compressor, regulator=psi * PSI)


def test_one_pipe_against_its_own_integration():
    """A level pipe with one outlet, air of one pressure: front by an adaptive Runge-Kutta, friction by fluids."""
    length, bore, pressure = 40.0, 0.0266, 200e3
    vent = Vent("b", COEFFICIENT, 0.5, HOLE)
    line = BlowLine.of("a", [Run("p", "a", "b", length, bore, 1.5e-6, 0.0, 0.0)], [vent])
    huge = replace(source_of(1e6, 1e4, bore=4.0), regulator=pressure)
    ours = blow_out(line, huge, most_dry=1.0)
    rho, nu = density(283.15), viscosity(283.15)

    def speed(left):
        def miss(v):
            friction = fluids.friction_factor(Re=v * bore / nu, eD=1.5e-6 / bore) * left / bore * rho * v * v / 2
            return friction + (v * area(bore) / COEFFICIENT) ** 2 - pressure

        return brentq(miss, 1e-6, 50.0)

    def front(_time, x):
        v = speed(max(length - x[0], 1e-6))
        return [min(1.2 * v + 0.54 * math.sqrt(9.80665 * bore), 2 * v)]

    def arrived(_time, x):
        return x[0] - length

    arrived.terminal = True
    found = solve_ivp(front, (0, 1e4), [0.0], events=arrived, rtol=1e-8, max_step=0.5)
    took = found.t_events[0][0]
    assert ours.air_at["b"] == pytest.approx(took, rel=0.03)  # air takes a moment to rise to its pressure
    speeds = np.array([speed(max(length - x, 1e-6)) for x in found.y[0]])
    film = np.trapezoid(left_behind(speeds, bore=bore), found.y[0]) * area(bore)
    assert ours.pushed == pytest.approx(area(bore) * length - film, rel=0.02)


@settings(max_examples=12)
@given(st.integers(1, 6), st.floats(-0.3, 0.3), st.floats(5, 80), st.floats(2, 150), st.sampled_from([0.0209, 0.0266]))
def test_what_stood_there_came_out_or_stays(heads, rise, tank, cfm, bore):
    line = line_of(heads, rise=rise, bore=bore)
    blown = blow_out(line, source_of(tank, cfm), most_dry=20.0)
    assert blown.volume == pytest.approx(float(line.volume.sum()), rel=1e-12)
    assert blown.pushed + blown.swept + blown.left == pytest.approx(blown.volume, rel=1e-9)
    assert (blown.film >= -1e-12).all()
    assert (blown.film <= line.volume * (1 + 1e-9)).all()
    assert blown.left <= blown.volume
    tanks = [sample.tank for sample in blown.samples]
    assert max(tanks) <= 135 * PSI + 1.0
    assert max(sample.line for sample in blown.samples) <= 50 * PSI + 1.0
    if blown.status == "cleared":
        assert blown.left <= CLEAR_SHARE * blown.volume + 1e-12
        assert (blown.film <= (BRIDGE + 1e-5) * line.volume).all()


def test_air_balances_over_a_whole_run():
    """Air of the tank, what was delivered, what the line holds and what left by the heads: one sum, by the samples."""
    line, source = line_of(3), source_of(60, 0.001)
    blown = blow_out(line, source, most_dry=5.0)
    lost = (source.full - blown.samples[-1].tank) * source.tank / (287.05 * source.temperature)
    times = np.array([0.0, *(sample.time for sample in blown.samples)])
    pressures = np.array([sample.line for sample in blown.samples])
    blowing = [sum(at <= sample.time for at in blown.air_at.values()) for sample in blown.samples]
    out = float(
        (nozzle_air(pressures + ATMOSPHERE, area=HOLE, temperature=source.temperature) * blowing * np.diff(times)).sum()
    )
    room = source.hose + blown.volume - blown.left
    held_now = ((pressures[-1] + ATMOSPHERE) * room - ATMOSPHERE * source.hose) / (287.05 * source.temperature)
    assert len(blown.runs) == 1
    assert lost == pytest.approx(out + held_now, rel=0.05)  # the heads' number changes within a step


def test_a_tank_is_filled_between_cycles():
    """By hand, ideal gas: from so much air to cut-out at the delivery; a cycle then starts full."""
    source = source_of(6, 2.6)
    blown = blow_out(line_of(5), source, most_dry=20.0)
    assert len(blown.runs) > 1
    begins = [0.0, *np.cumsum(blown.runs)[:-1]]
    for begun in begins:
        first = next(sample for sample in blown.samples if sample.time > begun + 1e-9)
        assert first.tank > 0.9 * source.full
    ends = [max((s for s in blown.samples if s.time <= t + 1e-9), key=lambda s: s.time) for t in np.cumsum(blown.runs)]
    wanted = [(source.full - s.tank) * source.tank / (287.05 * source.temperature) / source.delivery for s in ends[:-1]]
    assert blown.rests == pytest.approx(sum(wanted), rel=1e-6)
    assert source.mass(source.full + ATMOSPHERE) - source.mass(ATMOSPHERE) == pytest.approx(
        source.tank * source.full / (287.05 * source.temperature)
    )


def test_more_compressor_is_never_slower():
    line = line_of(5)
    totals, lefts = [], []
    for tank, cfm in ((0.3, 0.2), (6, 2.6), (20, 5), (60, 14), (200, 185)):
        blown = blow_out(line, source_of(tank, cfm), most_dry=30.0)
        totals.append(sum(blown.runs) + blown.rests)
        lefts.append(blown.left)
    cleared = [left <= CLEAR_SHARE * float(line.volume.sum()) for left in lefts]
    assert cleared == sorted(cleared)  # once one clears it, every larger one does
    done = [total for total, clear in zip(totals, cleared, strict=True) if clear]
    assert done == sorted(done, reverse=True)
    assert cleared[-1]
    assert not cleared[0]


def test_higher_pressure_pushes_sooner():
    arrivals = [
        max(blow_out(line_of(3), source_of(1e3, 1e3, psi=p), most_dry=5.0).air_at.values()) for p in (30, 50, 80)
    ]
    assert arrivals == sorted(arrivals, reverse=True)


def test_a_head_too_high_for_the_air_stays_full():
    """Water stands 10.2 m high for each 100 kPa: 40 m over the fitting no 50 psi lifts it."""
    line = line_of(2, rise=40.0)
    blown = blow_out(line, source_of(), most_dry=10.0)
    assert blown.status == "stalled"
    assert blown.air_at == {}
    assert blown.left > 0.5 * blown.volume


def test_what_one_zone_cleared_the_next_need_not():
    line = line_of(3)
    first = blow_out(line, source_of(60, 14), most_dry=20.0)
    film = {run: volume for run, volume in first.passed(line).items() if run == "main"}
    again = blow_out(replace(line, film=film), source_of(60, 14), most_dry=20.0)
    assert again.volume == pytest.approx(first.volume - float(line.volume[0]) + film["main"])
    assert max(again.air_at.values()) < max(first.air_at.values())


def test_the_order_of_the_runs_does_not_matter():
    line = line_of(4)
    shuffled = BlowLine.of("fitting", line.runs[::-1], line.vents[::-1])
    one, two = (blow_out(x, source_of(60, 14), most_dry=20.0) for x in (line, shuffled))
    assert one.left == pytest.approx(two.left, rel=1e-6)
    assert one.air_at == pytest.approx(two.air_at)


def test_runs_that_lead_nowhere_take_no_part():
    line = line_of(2)
    stub = Run("stub", "n0", "nowhere", 5.0, 0.0266, 1.5e-6, 0.0, 0.0)
    assert BlowLine.of("fitting", [*line.runs, stub], line.vents).runs == line.runs


def test_steady_air_without_loss_is_that_of_its_nozzles():
    line = line_of(4, bore=0.5)
    wide = replace(line, runs=tuple(replace(run, bore=0.5, minor=0.0, device=0.0) for run in line.runs))
    state = all_blowing(wide, 200e3)
    each = float(nozzle_air(200e3 + ATMOSPHERE, area=HOLE, temperature=283.15))
    assert state.air == pytest.approx(4 * each, rel=1e-4)
    assert state.least == pytest.approx(200e3, rel=1e-4)


def test_steady_air_along_one_pipe_against_brent():
    """One pipe and one nozzle: the pressure between them by Brent's method on the isothermal law."""
    run = Run("p", "a", "b", 30.0, 0.0209, 1.5e-6, 2.0, 0.0)
    line = BlowLine.of("a", [run], [Vent("b", COEFFICIENT, 0.5, 6 * HOLE)])
    resist = (0.02 * 30.0 / 0.0209 + 2.0) / area(0.0209) ** 2 * 287.05 * 283.15
    top = 300e3 + ATMOSPHERE

    def miss(end):
        return (top**2 - end**2) - resist * float(nozzle_air(end, area=6 * HOLE, temperature=283.15)) ** 2

    end = brentq(miss, ATMOSPHERE, top)
    assert all_blowing(line, 300e3).least + ATMOSPHERE == pytest.approx(end, abs=20.0)


def test_the_air_wanted_leaves_the_far_head_just_up():
    line = line_of(6)
    state = air_needed(line)
    assert state.least == pytest.approx(POP_UP, abs=200.0)
    assert state.far == "h5"
    assert state.fitting > POP_UP
    assert held(line, delivery=state.air).fitting == pytest.approx(state.fitting, abs=300.0)
    assert air_needed(line_of(8)).air > state.air


def test_warming_by_hand():
    """Air of 80 °C in a copper tube: slower with a thicker wall, never where the air is cool."""
    figures = {"flow": 0.02, "bore": 0.026, "density": 8900.0, "specific": 385.0, "start": 283.15}
    thin, thick = (seconds_to_warm(air=353.15, wall=wall, **figures) for wall in (0.001, 0.002))
    assert 0 < thin < thick
    assert seconds_to_warm(air=300.0, wall=0.001, **figures) == math.inf
