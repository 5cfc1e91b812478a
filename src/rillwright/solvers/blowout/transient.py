"""One zone blown out: a plug of water driven by air, then the film that it left, swept by what follows.

Statement. Air of one pressure p fills the runs that it has passed, of volume V less the film in them; a tank of
pressure p_t feeds it through regulator and hose. In time:

    tank       d m_t/dt = delivery (from cut-in until cut-out) - m_in(p_t, p)
    line       d m/dt = m_in(p_t, p) - sum over heads that blow air of m_out(p),   p V = m R T
    water      q in every run ahead of a front from the network of pipes, levels and nozzles at the pressure p
    fronts     dx/dt = min(1.2 v + 0.54 sqrt(g D), 2 v), v = q/A: faster than the water, which stays as a film
    film       of a run that the air has passed: d w/dt = (front leaves A (dx/dt - v)) + from the run before - k w,
               k = v_g sqrt(rho_g/rho_w) / L where the air there is over Wallis' sweeping speed, else 0; what is over
               half the bore bridges it and goes on at once

The water that a front reaches at a joint goes on in all runs that leave it. A head whose riser the front has passed
blows air. The air's pressure is taken from one step to the next implicitly (bisection on a rising function); water and
fronts explicitly, the step being the least of: the next arrival of a front, a quarter of the line's volume at the
present flow, a fifth of the tank at the present draught, and half a second. Inertia of the water, loss of the air
along the runs (checked afterwards by `steady`) and cooling in the tank are left out.

A cycle ends when the line is cleared, when the heads have blown air alone for `most_dry`, when the tank no longer holds
POP_UP, or after MOST_RUN; then the valve is shut, and the tank filled. Cycles go on until water bridges no run and
the line holds no more than CLEAR_SHARE of its volume ('cleared'), a whole cycle drives out less than a hundredth of
what stood there ('stalled'), or MOST_CYCLES are done. Exact in volume: what went in comes out or stays. No seed. See
docs/theory/winter.md.
"""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from rillwright.model.winter import CLEAR_SHARE, MOST_RUN, POP_UP
from rillwright.physics.closed_pipe import ATMOSPHERE
from rillwright.physics.compressed_air import AIR_CONSTANT, air_density, nozzle_air
from rillwright.physics.two_phase import BRIDGE, film_speed, front_speed, left_behind, sweep_speed
from rillwright.physics.water import density
from rillwright.solvers.blowout.line import BlowLine
from rillwright.solvers.blowout.source import AirSource
from rillwright.solvers.blowout.water import water_flows

__all__ = ["MOST_CYCLES", "Blown", "Sample", "blow_out"]

Floats = NDArray[np.float64]

MOST_CYCLES = 40
_LONGEST_STEP = 0.5  # [s]
_FIRST_STEP = 0.02  # [s]
_LEAST_PROGRESS = 0.01  # of the water that stood in the line
_RISES = 0.02  # [m/m] from which a run counts as leading up; judgement
_ROUNDING = 1e-6  # of a share
_SLOW = 1e-7  # [m³/s] under which water stands


@dataclass(frozen=True, slots=True)
class Sample:
    """The state at one moment of air."""

    time: float  # [s] of air since the first valve was opened
    tank: float  # [Pa] gauge
    line: float  # [Pa] gauge
    left: float  # [m³] of water


@dataclass(frozen=True, slots=True)
class Blown:
    """How a blow-out ended."""

    status: Literal["cleared", "stalled", "too many cycles"]
    volume: float  # [m³] that stood there
    pushed: float  # [m³] out ahead of the air
    swept: float  # [m³] out with the air
    front: Floats  # (runs,) [m]
    film: Floats  # (runs,) [m³]
    left: float  # [m³]
    air_at: dict[str, float]  # [s] of air after which each head blew air
    runs: tuple[float, ...]  # [s] of air in each cycle
    rests: float  # [s]
    dry: float  # [s] longest that the heads blew air alone in a cycle
    samples: tuple[Sample, ...]

    def passed(self, line: BlowLine) -> dict[str, float]:
        """Film [m³] by run, of the runs that the air has passed: so the next zone behind the same main finds them."""
        ends = zip(line.runs, self.front, self.film, strict=True)
        return {run.id: float(film) for run, x, film in ends if x >= run.length}


def blow_out(line: BlowLine, source: AirSource, *, most_dry: float) -> Blown:
    """Blow a line out in as many cycles as it takes.

    Parameters: line; source; most_dry [s], longest time of air alone in one cycle. Returns: how it ended.
    Errors: SolverError from the network.
    """
    state = _State(line, source)
    volume = state.water
    runs: list[float] = []
    rests, dry, status = 0.0, 0.0, "too many cycles"
    for number in range(MOST_CYCLES):
        if number:
            rests += state.rest()
        before, begun = state.water, state.time
        dry = max(dry, state.cycle(most_dry))
        runs.append(state.time - begun)
        if state.is_clear:
            status = "cleared"
            break
        if before - state.water < _LEAST_PROGRESS * volume:
            status = "stalled"
            break
    return Blown(
        status=status,  # type: ignore[arg-type]
        volume=volume,
        pushed=state.pushed,
        swept=state.swept,
        front=state.front,
        film=state.film,
        left=state.water,
        air_at=state.air_at,
        runs=tuple(runs),
        rests=rests,
        dry=dry,
        samples=tuple(state.samples),
    )


class _State:
    """Water and air of one line and its tank."""

    def __init__(self, line: BlowLine, source: AirSource) -> None:
        self.line, self.source = line, source
        self.length = np.array([run.length for run in line.runs])
        self.bore = np.array([run.bore for run in line.runs])
        passed = np.array([run.id in line.film for run in line.runs])
        self.front: Floats = np.where(passed, self.length, 0.0)
        self.film: Floats = np.array([line.film.get(run.id, 0.0) for run in line.runs])
        self.number = {run.end: n for n, run in enumerate(line.runs)}
        self.vent = np.array([self.number[v.node] for v in line.vents])  # run that leads to each head
        self.vent_area = np.array([v.area for v in line.vents])
        self.lead = _lead(line)
        self._children = [np.flatnonzero(line.parent == n) for n in range(len(line.runs))]
        self.tank = source.mass(source.full + ATMOSPHERE)
        self.compressing = False
        self.time, self.pushed, self.swept = 0.0, 0.0, 0.0
        self.air_at: dict[str, float] = {}
        self.samples: list[Sample] = []
        self._shut()

    @property
    def water(self) -> float:
        """Water [m³] in the line."""
        return float(((1 - self.front / self.length) * self.line.volume + self.film).sum())

    @property
    def shares(self) -> Floats:
        """Share (runs,) of each run's bore that is water."""
        return np.asarray(1 - self.front / self.length + self.film / self.line.volume)

    @property
    def is_clear(self) -> bool:
        """Whether no run is bridged and the line holds no more than it may."""
        held = self.water <= CLEAR_SHARE * float(self.line.volume.sum())
        return held and bool((self.shares <= BRIDGE + _ROUNDING).all())

    @property
    def room(self) -> float:
        """Volume [m³] of the air."""
        return self.source.hose + float((self.front * self.line.area - self.film).sum())

    @property
    def blowing(self) -> NDArray[np.bool_]:
        """Heads (vents,) that blow air."""
        return np.asarray(self.front[self.vent] >= self.length[self.vent])

    def rest(self) -> float:
        """Let the compressor fill the tank, if it has started; gives how long [s] that takes."""
        if not self.compressing:
            return 0.0
        seconds = self.source.refill(self.tank)
        self.tank, self.compressing = self.source.mass(self.source.full + ATMOSPHERE), False
        return seconds

    def cycle(self, most_dry: float) -> float:
        """Open the valve until the cycle ends; gives how long [s] the heads blew air alone."""
        self._shut()
        begun, dry, step, risen = self.time, 0.0, _FIRST_STEP, False
        while self.time - begun < MOST_RUN:
            step = self._step(step)
            blows = bool(self.blowing.all())
            dry += step if blows else 0.0
            risen = risen or self.pressure >= POP_UP
            self.samples.append(Sample(self.time, self._tank_pressure - ATMOSPHERE, self.pressure, self.water))
            weak = self.pressure < POP_UP and (risen or self.time - begun > 10.0)
            if (blows and self.is_clear) or dry >= most_dry or weak:
                break
            step = min(1.5 * step, _LONGEST_STEP)
        return dry

    def _shut(self) -> None:
        """Leave the line at the air's own pressure."""
        self.pressure = 0.0  # [Pa] gauge
        self.air = ATMOSPHERE * self.room / self._thermal

    @property
    def _thermal(self) -> float:
        return AIR_CONSTANT * self.source.temperature

    @property
    def _tank_pressure(self) -> float:
        return self.source.pressure(self.tank)

    def _step(self, wanted: float) -> float:
        """Go one step on; gives its length [s]."""
        flows = water_flows(self.line, self.front, pressure=self.pressure)
        speed = flows / self.line.area
        runs_on = (flows > _SLOW) & (self.front < self.length) & self._reached
        ahead = np.where(runs_on, front_speed(speed, bore=self.bore), 0.0)
        arrives = np.full(len(speed), np.inf)
        arrives[runs_on] = (self.length - self.front)[runs_on] / ahead[runs_on]
        out = float(flows[runs_on].sum())
        drawn = self.source.flow(self._tank_pressure, self.pressure + ATMOSPHERE, resistance=self.lead)
        step = min(
            wanted,
            max(float(arrives.min()), 1e-4),
            0.25 * self.room / out if out > 0 else np.inf,
            0.2 * self.tank / drawn if drawn > 0 else np.inf,
        )
        before = self.water
        swept = self._sweep(step, flows)
        moved = np.minimum(self.front + ahead * step, self.length)
        stays = np.where(runs_on, left_behind(speed, bore=self.bore), 0.0)
        self.film += (moved - self.front) * self.line.area * stays
        self.front = np.where(self.length - moved < 1e-9, self.length, moved)
        self.swept += swept
        self.pushed += before - self.water - swept
        self._breathe(step)
        self.time += step
        for vent, blows in zip(self.line.vents, self.blowing, strict=True):
            if blows:
                self.air_at.setdefault(vent.node, self.time)
        return step

    @property
    def _reached(self) -> NDArray[np.bool_]:
        """Runs (runs,) at whose start air stands."""
        before = self.line.parent
        return np.where(before < 0, True, self.front[before] >= self.length[before])

    def _breathe(self, step: float) -> None:
        """Let air in and out for one step, and find the pressure at its end."""
        vents = self.vent_area[self.blowing]
        room, thermal, tank = self.room, self._thermal, self._tank_pressure

        def gained(absolute: float) -> float:
            lets_in = self.source.flow(tank, absolute, resistance=self.lead)
            lets_out = float(np.sum(nozzle_air(absolute, area=vents, temperature=self.source.temperature)))
            return self.air + step * (lets_in - lets_out) - absolute * room / thermal

        low, high = ATMOSPHERE, max(self.source.regulator, self.pressure) + ATMOSPHERE
        if gained(low) <= 0:
            high = low
        for _ in range(40):
            middle = (low + high) / 2
            low, high = (middle, high) if gained(middle) > 0 else (low, middle)
        absolute = (low + high) / 2
        drawn = step * self.source.flow(tank, absolute, resistance=self.lead)
        full = self.source.mass(self.source.full + ATMOSPHERE)
        fed = step * self.source.delivery if self.compressing else 0.0
        self.tank = min(self.tank - drawn + fed, full)
        low = self._tank_pressure < self.source.starts + ATMOSPHERE
        self.compressing = self.tank < full and (self.compressing or low)
        self.air = absolute * room / thermal
        self.pressure = absolute - ATMOSPHERE

    def _sweep(self, step: float, flows: Floats) -> float:
        """Carry film on by the air over it; gives the volume [m³] that left by the heads."""
        absolute = self.pressure + ATMOSPHERE
        air = float(air_density(absolute, temperature=self.source.temperature))
        through = self._air_through(absolute, air, flows)
        passed = self.front >= self.length
        gone = 0.0
        for n in range(len(self.line.runs)):  # from the fitting outwards
            if passed[n] and through[n] > 0 and self.film[n] > 0:
                gone += self._carry(n, self._moved(n, float(through[n]), air, step), through, passed)
        return gone

    def _moved(self, n: int, through: float, air: float, step: float) -> float:
        """Film [m³] that the air in a run carries to its end: what is over BRIDGE, and what is swept."""
        run, film, volume = self.line.runs[n], float(self.film[n]), float(self.line.volume[n])
        bridged = max(film - BRIDGE * volume, 0.0)
        film -= bridged
        speed = through / (air * (self.line.area[n] - film / run.length))
        water = density(self.line.temperature)
        if speed < sweep_speed(bore=run.bore, air=air, water=water, rises=run.rise > _RISES * run.length):
            return bridged
        return bridged + film * -math.expm1(-film_speed(speed, air=air, water=water) / run.length * step)

    def _carry(self, n: int, moved: float, through: Floats, passed: NDArray[np.bool_]) -> float:
        """Take film [m³] from a run to those after it, as the air parts; gives what leaves by the head at its end.

        What would go where the front has not passed, or where there is no room, stays.
        """
        onward = 0.0
        for child in self._children[n]:
            onward += through[child]
            if passed[child]:
                room = max(float(self.line.volume[child] - self.film[child]), 0.0)
                goes = min(moved * float(through[child] / through[n]), room)
                self.film[child] += goes
                self.film[n] -= goes
        out = moved * max(0.0, 1.0 - float(onward / through[n]))
        self.film[n] -= out
        return out

    def _air_through(self, absolute: float, air: float, flows: Floats) -> Floats:
        """Mass flow (runs,) [kg/s] of air along each run: what its heads blow and what its fronts take up."""
        own = np.where(self._reached, air * flows, 0.0)
        blowing = self.blowing
        own[self.vent[blowing]] += nozzle_air(
            absolute, area=self.vent_area[blowing], temperature=self.source.temperature
        )
        for n in range(len(own) - 1, -1, -1):  # children come after their parents
            before = self.line.parent[n]
            if before >= 0:
                own[before] += own[n]
        return own


def _lead(line: BlowLine) -> float:
    """Resistance [1/m⁴] to air of the runs and the valve that all of the air passes."""
    found = 0.0
    for n, run in enumerate(line.runs):
        if n != 0 and (line.parent[n] != n - 1 or (line.parent == line.parent[n]).sum() > 1):
            break
        found += (0.02 * run.length / run.bore + run.minor) / line.area[n] ** 2 + 2 * run.device / 1000.0
    return found
