"""Local search on the depth grid: take away, add, slide, turn and turn down heads while the layout gets better."""

import math
import sys
from collections.abc import Callable, Iterator

import numpy as np
import shapely
from numpy.typing import NDArray

from rillwright.solvers.coverage.arcs import Stand
from rillwright.solvers.coverage.grid import BUILDING
from rillwright.solvers.coverage.kit import STEP, Family
from rillwright.solvers.coverage.placement import Seat
from rillwright.solvers.coverage.trial import Field, State

__all__ = ["cut_off_buildings", "improve", "keep_off_buildings", "take_away"]

_STEPS = (0.22, 0.12, 0.066, 0.036)  # of a head's radius, by which it slides

_LOOKS = 4  # at a layout without one of its heads take the time of a trial; measured
_LEAST_GAIN = 1e-4
_LEAST_SWEEP = 0.01  # gain of a sweep over all heads that calls for another
_ON_BUILDING = 2e-4  # share of a head's water that the blur of the model may put on a building
_NEVER_ON_BUILDING = 1e-3  # from here on a head gives up a part of its sector rather
_STRIP_TURNS = (-8.0, -3.0, 3.0, 8.0)  # [°]
_ON_EDGE = 0.05  # [m] from the edge of the stand ground


def improve(state: State, family: Family, *, trials: int, rng: np.random.Generator, most: int = sys.maxsize) -> int:
    """Improve a layout in place until `trials` trial heads are spent or nothing helps; returns the trials left.

    Parameters: most, heads that there may be. Heads are set better before any is taken away: a head that merely stands
    wrong should be mended, not lost. A head that nothing helped is left alone until one near it changes.

    The budget counts trials, not seconds, so that the same yard and seed always give the same plan.
    """
    for step in _STEPS:
        settled: set[Stand] = set()
        while trials > 0:
            before = state.cost()
            unsettled = [stand for stand in state.stands if stand not in settled]
            for number in rng.permutation(len(unsettled)):
                stand = unsettled[number]
                index = state.stands.index(stand)
                trials -= _better_head(state, index, family, step)
                if state.stands[index] is stand:
                    settled.add(stand)
                else:
                    _unsettle(settled, state.stands[index])
                if trials <= 0:
                    break
            looked, lost = _thin_out(state)
            trials -= looked
            for gone in lost:
                _unsettle(settled, gone)
            spent, added = _fill_dry(state, family, most)
            trials -= spent
            for new in added:
                _unsettle(settled, new)
            if before - state.cost() < _LEAST_SWEEP:
                break
    return max(trials, 0)


def _unsettle(settled: set[Stand], changed: Stand) -> None:
    """Heads whose water meets that of a changed one may be set better again."""
    reach = changed.throw.radius
    settled.difference_update([s for s in settled if math.dist(s.at, changed.at) < reach + s.throw.radius])


def keep_off_buildings(state: State) -> None:
    """Turn, narrow or turn down each head that still reaches a wall, as little as will do; whatever it costs."""
    _reset(state, _milder, limit=_ON_BUILDING)


def cut_off_buildings(state: State) -> None:
    """Leave heads that reach a wall however they are turned only a part of their sector; a search must follow."""
    _reset(state, _parts, limit=_NEVER_ON_BUILDING)


def _reset(state: State, ways: Callable[[Field, Stand], Iterator[Stand]], *, limit: float) -> None:
    for index, stand in enumerate(state.stands):
        if stand.arc == 0 or stand.aimed or not _grazes(state.prints[index].water.landed, limit):
            continue
        for other in ways(state.field, stand):
            footprint = state.field.footprint(other)
            if not _grazes(footprint.water.landed, _ON_BUILDING):
                state.replace(index, other, footprint)
                break


def _milder(field: Field, stand: Stand) -> Iterator[Stand]:
    """Settings near a stand's own, nearest first: turned, narrowed, then turned down."""
    arcs = field.kit.arcs(stand.throw.nozzle)
    moves = [(turn, less) for turn in range(-6, 7) for less in range(0, 13, STEP)]
    for turn, less in sorted(moves, key=lambda move: (abs(move[0]) + move[1], move)):
        if stand.arc < 360 and (stand.arc - less) / STEP in arcs:
            yield stand.turned(turn, stand.arc - less)
    for throw in reversed(field.kit.throws):
        if throw.nozzle == stand.throw.nozzle and throw.radius < stand.throw.radius:
            yield stand._replace(throw=throw)


def _parts(field: Field, stand: Stand) -> Iterator[Stand]:
    """Parts of a stand's sector, widest first."""
    arcs = field.kit.arcs(stand.throw.nozzle)
    for less in range(14, round(stand.arc), STEP):
        for turn in (0, less):
            if (stand.arc - less) / STEP in arcs:
                yield stand.turned(turn, stand.arc - less)


def _grazes(landed: NDArray[np.float64], limit: float) -> bool:
    return bool(landed[BUILDING] > limit * landed.sum())


def _thin_out(state: State) -> tuple[int, list[Stand]]:
    """Take away heads, the least missed first, while the layout gets better; returns the trials spent and the heads."""
    looked, gone, missed = 0, [], _unknown(state)
    while len(state.stands) > 1:
        index, looks = _least_missed(state, missed)
        looked += looks
        if index is None or missed[index] > -_LEAST_GAIN:
            break
        gone.append(state.remove(index)[0])
        missed.pop(index)
    return _in_trials(looked), gone


def take_away(state: State, count: int) -> int:
    """Take away a number of heads, the least missed first, and leave one and those that are held.

    Returns the trials spent.
    """
    looked, missed = 0, _unknown(state)
    for _ in range(min(count, len(state.stands) - 1)):
        index, looks = _least_missed(state, missed)
        looked += looks
        if index is None:
            break
        state.remove(index)
        missed.pop(index)
    return _in_trials(looked)


def _in_trials(looked: int) -> int:
    """Trials that looking at a layout without one of its heads, so many times, counts as: no water is thrown for it."""
    return math.ceil(looked / _LOOKS)


def _unknown(state: State) -> list[float]:
    """By head, how much more the layout costs without it: not known yet; infinite for what is held."""
    return [math.inf if stand.held else -math.inf for stand in state.stands]


def _least_missed(state: State, missed: list[float]) -> tuple[int | None, int]:
    """Place of the head that is least missed, and how many were looked at; None when all are held.

    Parameters: missed, by head how much it was missed at the last look, put right here. A head is missed the more the
    fewer others there are, so one that was missed more than the least is now need not be looked at again.
    Source: Minoux, Accelerated greedy algorithms for maximizing submodular set functions, 1978, from memory.
    """
    now, looks = state.cost(), 0
    least: int | None = None
    for index in sorted(range(len(missed)), key=missed.__getitem__) if math.isfinite(now) else ():
        if missed[index] == math.inf or (least is not None and missed[index] >= missed[least]):
            break
        missed[index], looks = state.cost_without(index) - now, looks + 1
        if least is None or missed[index] < missed[least]:
            least = index
    return least, looks


def _fill_dry(state: State, family: Family, most: int) -> tuple[int, list[Stand]]:
    """Add a head near the driest ground where that helps; returns the trials spent and the heads."""
    spent, added = 0, []
    while spent < 40 and len(state.stands) < most:
        now = state.cost()
        best: tuple[float, Stand] | None = None
        for seat in _dry_seats(state, family):
            aimed = state.field.aim(seat, family)
            spent += 1
            if aimed is None or _crowds(state, aimed, skip=-1):
                continue
            least = now - _LEAST_GAIN if best is None else best[0]
            state.add(aimed, state.field.footprint(aimed))
            cost = state.cost(least=least)
            state.remove(len(state.stands) - 1)
            if cost < least:
                best = cost, aimed
        if best is None:
            break
        state.add(best[1], state.field.footprint(best[1]))
        added.append(best[1])
    return spent, added


def _dry_seats(state: State, family: Family) -> list[Seat]:
    """Seats at the driest cells, some way apart, there and on the nearest edge."""
    field = state.field
    x, y = field.grid.centres()
    rows, columns = np.nonzero(field.cells)
    order = np.argsort(state.rate[rows, columns], kind="stable")
    spots = np.column_stack((x[rows, columns][order], y[rows, columns][order]))[: max(1, len(order) // 5)]
    chosen: list[tuple[float, float]] = []
    while len(spots) and len(chosen) < 3:
        chosen.append((float(spots[0, 0]), float(spots[0, 1])))
        spots = spots[np.hypot(*(spots - spots[0]).T) > 0.7 * family.radius]
    seats = []
    for spot in chosen:
        point = shapely.Point(spot)
        ring = min(field.rings, key=point.distance)
        edge = ring.interpolate(ring.project(point))
        wanted = min(family.radius, max(field.kit.least_radius, family.radius))
        seats += [Seat((edge.x, edge.y), wanted), Seat((edge.x, edge.y), 0.7 * wanted)]
        if field.ground.contains(point):
            seats.append(Seat(spot, wanted))
    return seats


def _crowds(state: State, stand: Stand, *, skip: int) -> bool:
    """Say whether a head stands on another's heels."""
    at, near = stand.at, 0.38 * stand.throw.radius
    for index, other in enumerate(state.stands):
        apart = math.dist(at, other.at)
        if apart < near and apart < 0.38 * other.throw.radius and index != skip:
            return True
    return False


def _better_head(state: State, index: int, family: Family, step: float) -> int:
    """Set one head to the best of its variations; returns the trials spent."""
    old, old_print = state.stands[index], state.prints[index]
    if old.fixed:
        return 0
    now = state.cost()
    best, best_print, least, spent = old, old_print, now - _LEAST_GAIN, 0
    tried = {old}
    for varied in _variations(state.field, old, family, step):
        stand = varied.like(old) if old.pinned else varied
        if stand in tried:
            continue
        tried.add(stand)
        spent += 1
        if old.aimed and (stand.arc_start, stand.arc) != (old.arc_start, old.arc):
            continue
        if stand.at != old.at and _crowds(state, stand, skip=index):
            continue
        footprint = state.field.footprint(stand)
        cost = state.tried(index, stand, footprint, least=least)
        if cost < least:
            best, best_print, least = stand, footprint, cost
    state.replace(index, best, best_print)
    return spent


def _variations(field: Field, stand: Stand, family: Family, step: float) -> Iterator[Stand]:
    if stand.throw.nozzle.pattern != "sector":
        yield from _strip_variations(field, stand, step)
        return
    for at in _slides(field, stand, step):
        aimed = field.aim(Seat(at, stand.wanted), family)
        if aimed is not None:
            yield aimed
    yield from _turns(field, stand)
    for throw in field.throws_near(stand.throw.radius):
        if throw != stand.throw and stand.arc / STEP in field.kit.arcs(throw.nozzle):
            yield stand._replace(throw=throw)
    for factor in (1.0, 0.85, 1.15):
        aimed = field.aim(Seat(stand.at, stand.wanted * factor, stand.pinned), family)
        if aimed is not None:
            yield aimed


def _strip_variations(field: Field, stand: Stand, step: float) -> Iterator[Stand]:
    for at in _slides(field, stand, 0.4 * step):
        yield stand._replace(at=at)
    for turn in _STRIP_TURNS:
        yield stand.turned(turn, stand.arc)
    for throw in field.kit.throws:
        if throw.nozzle.pattern == stand.throw.nozzle.pattern and throw != stand.throw:
            yield stand._replace(throw=throw)


def _slides(field: Field, stand: Stand, step: float) -> list[tuple[float, float]]:
    """Places a step away: along the edge for a head on it, else in four directions."""
    if stand.pinned:
        return []
    point = shapely.Point(stand.at)
    ring = min(field.rings, key=point.distance)
    far = step * stand.wanted
    if ring.distance(point) < _ON_EDGE:
        along = ring.project(point)
        spots = [ring.interpolate((along + move) % ring.length) for move in (far, -far)]
    else:
        around = [(far, 0.0), (-far, 0.0), (0.0, far), (0.0, -far)]
        spots = [shapely.Point(stand.at[0] + dx, stand.at[1] + dy) for dx, dy in around]
        spots = [spot for spot in spots if field.ground.contains(spot)]
    return [(float(spot.x), float(spot.y)) for spot in spots]


def _turns(field: Field, stand: Stand) -> Iterator[Stand]:
    """Other arcs and directions at the same place."""
    nozzle = stand.throw.nozzle
    arcs = field.kit.arcs(nozzle)
    now = round(stand.arc / STEP)
    if nozzle.fixed_arcs:
        place = arcs.index(now)
        others = [arcs[k] for k in (place - 1, place + 1) if 0 <= k < len(arcs)]
        moves = [(steps, start) for steps in others for start in (0, now - steps, (now - steps) // 2)]
        moves += [(now, turn) for turn in (-3, -1, 1, 3) if now < 360 // STEP]
    else:
        moves = [(now + more, start) for more in (-6, -3, 3, 6) for start in (0, -more)]
    for steps, start in moves:
        if steps in arcs:
            yield stand.turned(start * STEP, float(steps * STEP))
