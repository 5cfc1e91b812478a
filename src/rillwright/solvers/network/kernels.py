"""The network solver's inner loops, compiled. What they solve is said in the package's docstring.

All stand in one file: a compiled function is kept on disk until its own file changes.
Branches: links, then outlets, then the source. Laws of branches are scalar twins of physics.losses, with their slopes.
"""

import math
from collections.abc import Callable
from typing import Any, TypeVar

from numba import njit

from rillwright.physics.units import GRAVITY
from rillwright.solvers.network.case import (
    CEILING,
    COEFFICIENT,
    FIXED,
    FRICTION,
    LEAST,
    PER_FLOW,
    POWER,
    PUMP,
    PUMP_POWER,
    ROOT,
    ROUGH,
    SCALE,
    SHUTOFF,
    SQUARE,
    THRESHOLD,
)

__all__ = ["solve_draws"]

TOLERANCE = 1e-3  # [Pa] every branch equation holds to this,
FLOW_TOLERANCE = 1e-14  # [m³/s] or, where a loss is steep, to this much flow
STILL = 1e-6  # [Pa] a loss is not reckoned anew for less
STEEP = 1e13  # [Pa/(m³/s)] beyond it, at a wall, each holds to 0.1 Pa
MOST_ITERATIONS = 200
LEAST_SLOPE = 10.0  # [Pa/(m³/s)] keeps Newton's matrix regular where a loss is flat; it does not move the solution
CHECK_FLOW = 1e-7  # [m³/s] q0: over some 3 q0 a device shows its whole threshold, at no flow none of it
LEAST_FLOW = 1e-14  # [m³/s] below it a pipe's loss is taken as linear, as laminar loss is
GREATEST_LOSS = 1e30  # [Pa]
WALL = 1e17  # [Pa/(m³/s)] slope beyond a bound on a flow: 1 MPa moves the flow 1e-11 m³/s past it
BOUND_SLACK = 1e-12  # [m³/s] keeps a bound at no flow off the place where nothing flows anyway
WALL_FOOT = 1e-13  # [m³/s] over which that slope sets in
LAMINAR_END, TURBULENT_START = 2000.0, 4000.0  # Reynolds numbers, as in physics.losses
GUESSED_FRICTION, GUESSED_SPEED = 0.025, 0.2  # friction factor and speed [m/s] from which Newton sets out
MOST_ROOT_STEPS = 20  # far more than it takes
_LOG_SCALE = 2 / math.log(10)

Function = TypeVar("Function", bound=Callable[..., object])


def _compiled(function: Function) -> Function:
    """Compile a function that only compiled ones call: without a way in from Python, it compiles twice as fast."""
    options = {"cache": True, "error_model": "numpy", "no_cpython_wrapper": True, "no_cfunc_wrapper": True}
    compiled: Function = njit(**options)(function)  # type: ignore[call-overload]
    return compiled


@_compiled
def _friction(reynolds: float, law: Any) -> tuple[float, float]:
    """Friction factor and its slope by Reynolds number, as physics.losses.friction_factor_and_slope.

    Colebrook-White is solved for 1/sqrt(f) by Chebyshev's method from the last answer, which it leaves in the law: a
    step under 1e-3 leaves an error of its cube at most. Written with few divisions, which cost most of the time.
    """
    if reynolds <= LAMINAR_END:
        return 64 / reynolds, -64 / reynolds**2
    rise, root = 2.51 / max(reynolds, TURBULENT_START), law[ROOT]
    for _ in range(MOST_ROOT_STEPS):
        inner = law[ROUGH] + rise * root
        missed = root + _LOG_SCALE * math.log(inner)
        over = 1 / (inner + _LOG_SCALE * rise)
        pull = _LOG_SCALE * rise * over
        step = missed * inner * over * (1 - missed * pull * pull / (2 * _LOG_SCALE))
        root -= step
        if abs(step) < 1e-3:
            break
    law[ROOT] = root
    factor = 1 / (root * root)
    pull = _LOG_SCALE * rise / (law[ROUGH] + rise * (root + _LOG_SCALE))
    slope = -2 / 2.51 * factor * rise * pull
    if reynolds >= TURBULENT_START:
        return factor, slope
    width = TURBULENT_START - LAMINAR_END
    low, low_slope = 64 / LAMINAR_END, -64 / LAMINAR_END**2 * width
    second = 3 * (factor - low) - 2 * low_slope - slope * width
    third = 2 * (low - factor) + low_slope + slope * width
    t = (reynolds - LAMINAR_END) / width
    return low + t * (low_slope + t * (second + t * third)), (low_slope + t * (2 * second + 3 * t * third)) / width


@_compiled
def _wall(beyond: float) -> tuple[float, float]:
    """Loss and slope by how far a flow is beyond its bound; the foot is round, or rounding would break the search."""
    if beyond < WALL_FOOT:
        return WALL / 2 / WALL_FOOT * beyond * beyond, WALL / WALL_FOOT * beyond
    return WALL * (beyond - WALL_FOOT / 2), WALL


@_compiled
def _link_law(law: Any, flow: float) -> tuple[float, float]:
    """Loss [Pa] and slope [Pa/(m³/s)] of a link; law, its row of figures by the columns above."""
    size = max(abs(flow), LEAST_FLOW)
    loss = law[SQUARE] * size
    slope = 2 * loss
    if law[FRICTION] > 0:
        reynolds = law[PER_FLOW] * size
        factor, by_reynolds = _friction(reynolds, law)
        loss += law[FRICTION] * factor * size
        slope += law[FRICTION] * (2 * factor + reynolds * by_reynolds) * size
    loss *= flow
    if law[THRESHOLD] > 0:
        check = math.tanh(flow / CHECK_FLOW)
        loss += law[THRESHOLD] * check
        slope += law[THRESHOLD] / CHECK_FLOW * (1 - check * check)
    if law[SHUTOFF] > 0:
        fall = law[PUMP] * size ** law[PUMP_POWER]
        loss += fall * flow / size - law[SHUTOFF]
        slope += law[PUMP_POWER] * fall / size
    if flow < law[LEAST]:
        more, rise = _wall(law[LEAST] - flow)
        return loss - more, slope + rise
    return loss, slope


@_compiled
def _end_law(law: Any, flow: float) -> tuple[float, float]:
    """Loss and slope of an outlet or the source, odd in the flow; a wall above the ceiling."""
    size = max(abs(flow), LEAST_FLOW)
    held = min(size, law[CEILING])
    loss = min(law[SCALE] * (held / law[COEFFICIENT]) ** law[POWER], GREATEST_LOSS)
    slope = law[POWER] * loss / size
    if size > held:
        more, rise = _wall(size - held)
        loss, slope = loss + more, slope + rise
    return loss * flow / size, slope


@_compiled
def _fill(array: Any, value: Any) -> None:
    """Set every entry."""
    for k in range(len(array)):
        array[k] = value


@_compiled
def _copy(array: Any, into: Any) -> None:
    """Write one array into another."""
    for k in range(len(array)):
        into[k] = array[k]


@_compiled
def _row(values: Any, draw: int) -> Any:
    return values[min(draw, len(values) - 1)]


@_compiled
def _read_links(fixed: Any, values: Any, draw: int, case: Any) -> None:
    density, viscosity = values.water[draw, 0], values.water[draw, 1]
    roughness, minor = _row(values.roughness, draw), _row(values.minor, draw)
    factor, threshold = _row(values.device_factor, draw), _row(values.device_threshold, draw)
    for k in range(len(case.links)):
        bore, law = fixed.bore[k], case.links[k]
        area = math.pi / 4 * bore * bore
        head = density / 2 / (area * area)
        law[PER_FLOW] = bore / (area * viscosity)
        law[FRICTION] = fixed.length[k] / bore * head
        law[ROUGH] = roughness[k] / bore / 3.7
        law[ROOT] = GUESSED_FRICTION**-0.5
        law[SQUARE] = minor[k] * head + factor[k]
        law[THRESHOLD] = threshold[k]
        law[SHUTOFF], law[PUMP], law[PUMP_POWER] = fixed.pump[k, 0], fixed.pump[k, 1], fixed.pump[k, 2]
        law[LEAST] = fixed.least[k] - BOUND_SLACK
        case.flows[k], case.ahead[k] = 0.0, GUESSED_SPEED * area


@_compiled
def _read_draw(pattern: Any, fixed: Any, values: Any, draw: int, case: Any) -> None:
    """Write one draw's laws, heights and demands, and guess outlet flows at half the static pressure."""
    _read_links(fixed, values, draw, case)
    elevation, demand = _row(values.elevation, draw), _row(values.demand, draw)
    for k in range(len(elevation)):
        case.demand[pattern.place[k]] = demand[k]
        case.lift[pattern.place[k]] = elevation[k]
    datum = case.lift[pattern.source]
    for k in range(len(elevation)):
        case.lift[k] = values.water[draw, 0] * GRAVITY * (case.lift[k] - datum)
    static, scale, power = values.supply[draw, 0], values.supply[draw, 1], values.supply[draw, 2]
    coefficient, setting = _row(values.coefficient, draw), _row(values.outlet_setting, draw)
    count, half = len(case.links), max(static, 1e4) / 2
    for k in range(len(coefficient)):
        law = case.ends[k]
        law[COEFFICIENT], law[SCALE], law[POWER] = coefficient[k], 1.0, fixed.power[k]
        law[CEILING] = coefficient[k] * (setting[k] * fixed.regulated[k]) ** (1 / fixed.power[k])
        law[FIXED] = -case.lift[pattern.outlets[k]]
        case.flows[count + k] = min(coefficient[k] * half ** (1 / fixed.power[k]), law[CEILING])
    law = case.ends[-1]
    law[COEFFICIENT], law[SCALE], law[POWER], law[CEILING], law[FIXED] = 1.0, scale, power, math.inf, static
    _fill(case.running, True)
    _fill(case.at, math.nan)


@_compiled
def _evaluate(case: Any, flows: Any) -> None:
    """Fill in every branch's loss and slope, but where the flow stands still."""
    count = len(case.links)
    for k in range(len(flows)):
        still = abs(flows[k] - case.at[k]) * case.slope[k] <= STILL
        if not still or (k < count and min(flows[k], case.at[k]) < case.links[k, LEAST]):
            if k < count:
                case.loss[k], case.slope[k] = _link_law(case.links[k], flows[k])
            else:
                case.loss[k], case.slope[k] = _end_law(case.ends[k - count], flows[k])
            case.at[k] = flows[k]


@_compiled
def _branch(tree: Any, k: int) -> tuple[int, int, int, bool]:
    return tree[k, 0], tree[k, 1], tree[k, 2], tree[k, 3] == 1


@_compiled
def _balance(pattern: Any, case: Any) -> None:
    """Keep the flows of outlets and chords; set those of the tree and the source so that every node balances."""
    count, flows, need = len(pattern.tails), case.flows, case.resistance
    _copy(case.demand, need)
    for k in range(len(pattern.outlets)):
        need[pattern.outlets[k]] += flows[count + k]
    for k in pattern.chords:
        need[pattern.tails[k]] += flows[k]
        need[pattern.heads[k]] -= flows[k]
    for k in range(len(pattern.tree)):
        node, above, link, down = _branch(pattern.tree, k)
        flows[link] = need[node] if down else -need[node]
        need[above] += need[node]
    flows[-1] = need[pattern.source]


@_compiled
def _walk(pattern: Any, case: Any) -> None:
    """Set potentials from the source outwards along the tree."""
    case.potentials[pattern.source] = case.ends[-1, FIXED] - case.loss[-1]
    for k in range(len(pattern.tree) - 1, -1, -1):
        node, above, link, down = _branch(pattern.tree, k)
        case.potentials[node] = case.potentials[above] - (case.loss[link] if down else -case.loss[link])


@_compiled
def _assemble(pattern: Any, case: Any) -> None:
    """Linearise every branch at its flow: conductances, and what flows into each node, in place of potentials."""
    count, ground, between, inflow = len(pattern.tails), case.ground, case.between, case.potentials
    flows, loss, slope = case.flows, case.loss, case.slope
    _fill(between, 0.0)
    for k in range(len(ground)):
        ground[k], inflow[k] = 0.0, -case.demand[k]
    for k in range(count):
        ease = 1 / max(slope[k], LEAST_SLOPE)
        case.ease[k] = ease
        between[pattern.cells[k]] += ease
        push = flows[k] - ease * loss[k]
        inflow[pattern.tails[k]] -= push
        inflow[pattern.heads[k]] += push
    for k in range(len(pattern.outlets)):
        if case.running[count + k]:
            node, ease = pattern.outlets[k], 1 / max(slope[count + k], LEAST_SLOPE)
            case.ease[count + k] = ease
            ground[node] += ease
            inflow[node] -= flows[count + k] + ease * (case.ends[k, FIXED] - loss[count + k])
    ease = 1 / max(slope[-1], LEAST_SLOPE)
    case.ease[-1] = ease
    ground[pattern.source] += ease
    inflow[pattern.source] += flows[-1] + ease * (case.ends[-1, FIXED] - loss[-1])


@_compiled
def _eliminate(pattern: Any, case: Any) -> None:
    """Solve for the potentials, trading node after node for a mesh between its neighbours.

    Conductances only ever add up, so no digits are lost however far apart they lie.
    """
    columns, rows, targets = pattern.columns, pattern.rows, pattern.targets
    ground, between, resistance, potentials = case.ground, case.between, case.resistance, case.potentials
    for k in range(len(resistance)):
        whole, target = ground[k], pattern.pairs[k]
        for a in range(columns[k], columns[k + 1]):
            whole += between[a]
        resistance[k] = 1 / whole
        for a in range(columns[k], columns[k + 1]):
            share = between[a] * resistance[k]
            ground[rows[a]] += share * ground[k]
            potentials[rows[a]] += share * potentials[k]
            for b in range(a + 1, columns[k + 1]):
                between[targets[target]] += share * between[b]
                target += 1
    for k in range(len(resistance) - 1, -1, -1):
        inflow = potentials[k]
        for a in range(columns[k], columns[k + 1]):
            inflow += between[a] * potentials[rows[a]]
        potentials[k] = inflow * resistance[k]


@_compiled
def _newton_step(pattern: Any, case: Any) -> None:
    """Set potentials, drive and step."""
    _assemble(pattern, case)
    _eliminate(pattern, case)
    count, potentials = len(pattern.tails), case.potentials
    for k in range(len(case.step)):
        if k < count:
            case.drive[k] = potentials[pattern.tails[k]] - potentials[pattern.heads[k]]
        elif k < len(case.step) - 1:
            case.drive[k] = potentials[pattern.outlets[k - count]] + case.ends[k - count, FIXED]
        else:
            case.drive[k] = case.ends[-1, FIXED] - potentials[pattern.source]
        case.step[k] = (case.drive[k] - case.loss[k]) * case.ease[k] if case.running[k] else 0.0


@_compiled
def _guess(pattern: Any, case: Any) -> None:
    """Set flows as if every branch lost in proportion to its flow, as it does at the flow of a first guess.

    That guess: outlets as they stand, chords dry for the tree's sake and then at GUESSED_SPEED.
    """
    _balance(pattern, case)
    for k in pattern.chords:
        case.flows[k] = case.ahead[k]
    count = len(case.links)
    for k in range(len(case.flows)):
        size = max(abs(case.flows[k]), LEAST_FLOW)
        case.loss[k], case.flows[k] = 0.0, 0.0
        if k < count:
            law = case.links[k]
            case.slope[k] = (GUESSED_FRICTION * law[FRICTION] + law[SQUARE]) * size + law[THRESHOLD] / size
            if law[SHUTOFF] > 0:
                case.loss[k] = -law[SHUTOFF]
                case.slope[k] += law[PUMP] * size ** (law[PUMP_POWER] - 1)
        else:
            case.slope[k] = _end_law(case.ends[k - count], size)[0] / size
    _newton_step(pattern, case)
    _copy(case.step, case.flows)


@_compiled
def _content_slope(case: Any) -> float:
    """Slope of the content along the step, where losses were last reckoned.

    The potentials in the drive add nothing to it, as the step is balanced; they keep its rounding small.
    """
    rising = 0.0
    for k in range(len(case.step)):
        rising += (case.loss[k] - case.drive[k]) * case.step[k]
    return rising


@_compiled
def _try(case: Any, share: float) -> float:
    """Evaluate losses at a share of the step; returns the content's slope there."""
    for k in range(len(case.step)):
        case.ahead[k] = case.flows[k] + share * case.step[k]
    _evaluate(case, case.ahead)
    return _content_slope(case)


@_compiled
def _line_search(case: Any, falling: float) -> None:
    """Halve into the share of an overlong step at which the content's slope is at most half of that at its start.

    The slope rises along the step, from falling < 0 to more than -falling / 2 at its end, as the content is convex.
    """
    low, high = 0.0, 1.0
    for _ in range(60):
        share = (low + high) / 2
        rising = _try(case, share)
        if abs(rising) <= -0.5 * falling:
            break
        if rising < 0:
            low = share
        else:
            high = share


@_compiled
def _newton(pattern: Any, case: Any) -> tuple[int, float]:
    """Run Newton from flows that balance; returns its steps (over the limit: not converged) and the residual [Pa]."""
    _evaluate(case, case.flows)
    residual = math.inf
    for iteration in range(1, MOST_ITERATIONS + 1):
        _newton_step(pattern, case)
        falling = _content_slope(case)
        rising = _try(case, 1.0)
        residual, done = 0.0, True
        for k in range(len(case.step)):
            if case.running[k]:
                missed = abs(case.loss[k] - case.drive[k])
                residual = max(residual, missed)
                done = done and missed <= TOLERANCE + FLOW_TOLERANCE * min(case.slope[k], STEEP)
        if not done and rising > -0.5 * falling:
            _line_search(case, falling)
        _copy(case.ahead, case.flows)
        if done:
            return iteration, residual
    return MOST_ITERATIONS + 1, residual


@_compiled
def _any(running: Any, count: int) -> bool:
    """Tell whether some outlet still runs."""
    found = False
    for k in range(count, len(running) - 1):
        found = found or running[k]
    return found


@_compiled
def _settle(pattern: Any, case: Any) -> tuple[int, float]:
    """Solve one draw, shutting outlets that would draw air; returns the steps and the residual."""
    count, steps = len(pattern.tails), 0
    if len(pattern.chords) > 0 or len(pattern.outlets) > 0:
        _guess(pattern, case)
    while True:
        _balance(pattern, case)
        if len(pattern.chords) == 0 and not _any(case.running, count):
            _evaluate(case, case.flows)
            _walk(pattern, case)
            return steps, 0.0
        taken, residual = _newton(pattern, case)
        steps += taken
        drawing = False
        for k in range(count, len(case.flows) - 1):
            if case.running[k] and case.flows[k] < 0:
                case.flows[k] = 0.0
                case.running[k] = False
                drawing = True
        if taken > MOST_ITERATIONS or not drawing:
            return (steps if taken <= MOST_ITERATIONS else -1), residual


@njit(cache=True, error_model="numpy")
def solve_draws(
    pattern: Any, fixed: Any, values: Any, case: Any, flow: Any, pressure: Any, steps: Any, residual: Any
) -> None:
    """Solve every draw into flow (draws, branches), pressure (draws, nodes), steps and residual (draws,).

    Steps of -1 mean that Newton did not converge.
    """
    for draw in range(len(flow)):
        _read_draw(pattern, fixed, values, draw, case)
        steps[draw], residual[draw] = _settle(pattern, case)
        for k in range(len(case.flows)):
            flow[draw, k] = case.flows[k]
        for k in range(len(case.lift)):
            pressure[draw, k] = case.potentials[pattern.place[k]] - case.lift[pattern.place[k]]
