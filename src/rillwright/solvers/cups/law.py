"""The law of cups and ground: what the cups should hold in each state of the heads, and how likely that makes them.

Statement. A state names what is badly wrong: for some heads, one of their settings. With m the depth modelled so and
g_j its change with the j-th thing that may stand a little wrong,

    depth(x) = (scale) m(x) + sum of t_j g_j(x) + r(x),

scale normal about what lands of the water, t_j normal with the spreads of WRONGS and, about what is badly wrong, of
BETWEEN, and r a smooth rest: a Gaussian field of mean 0 whose covariance falls off as exp(-distance/reach). Given the
state and the rest's size and reach all is linear and normal; those two are among a few, even odds on each. A head is
badly wrong with the chance BAD, with even odds on each kind that it can be, and on each setting of that kind.
Source: Gaussian processes with explicit basis functions, Rasmussen and Williams (2006) 2.2 and 2.7; matrix inversion
lemma, there A.3; from memory. Spreads and chances are judgement.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_triangular
from scipy.ndimage import map_coordinates
from scipy.spatial.distance import cdist
from scipy.special import logsumexp

from rillwright.errors import InputError
from rillwright.model.plan import Head
from rillwright.solvers.coverage import Grid
from rillwright.solvers.cups.wrongs import (
    BETWEEN,
    WRONGS,
    Land,
    Setting,
    Wrong,
    faults_of,
    slopes_of,
    stands,
    wrongs_of,
)

__all__ = ["BAD", "CUP_LEAST", "CUP_SHARE", "LANDS", "Cup", "Law", "State", "at_points", "by_eye", "law_of"]

Floats = NDArray[np.float64]
State = frozenset[int]  # rows of the settings that are badly wrong, of each head one at most

LANDS, LANDS_SPREAD = 0.92, 0.10  # share of the flow that lands, and spread of it with the pressure; judgement
CUP_SHARE, CUP_LEAST = 0.05, 0.5e-3  # share, and [m]: standard error of a cup read by eye; judgement
BAD = 0.1  # chance that a head is badly wrong; judgement
_SIZES = (0.03, 0.08, 0.16, 0.32)  # of the mean depth: standard deviation of the rest
_REACHES = (0.3, 0.8)  # of the mean throw


def by_eye(depth: Floats | float) -> Floats:
    """Standard error [m] of cups of such a depth [m], or of depths, read by eye; the least under 0."""
    return np.asarray(np.maximum(CUP_SHARE * np.asarray(depth), CUP_LEAST))


@dataclass(frozen=True, slots=True)
class Cup:
    """Water in one cup."""

    at: tuple[float, float]  # [m]
    depth: float  # [m]
    error: float | None = None  # [m] standard, where it is known

    @property
    def spread(self) -> float:
        """Standard error of its depth [m]."""
        return float(by_eye(self.depth)) if self.error is None else self.error


@dataclass(frozen=True)
class Law:
    """Depths at the cups, then on the cells: as planned, and their changes."""

    wrongs: tuple[Wrong, ...]
    settings: tuple[Setting, ...]
    chances: Floats  # (settings,) before any cup
    planned: Floats  # (points,) [m]
    little: Floats  # (wrongs, points) [m] for the usual spread of each wrong
    shifts: Floats  # (settings, points) [m]
    slopes: Floats  # (settings, 2, points) [m] for the spread about each setting
    at: Floats  # (points, 2) [m]
    caught: Floats  # (cups,) [m]
    spread: Floats  # (cups,) [m]
    throw: float  # [m] mean of the heads

    @property
    def cups(self) -> int:
        """How many cups."""
        return len(self.caught)

    @cached_property
    def rests(self) -> tuple[tuple[float, float], ...]:
        """Standard deviation [m] and reach [m] of the rest, each that it may have."""
        level = float(self.caught.mean())
        return tuple((share * level, far * self.throw) for share, far in product(_SIZES, _REACHES))

    def depth(self, state: State) -> Floats:
        """Depth [m] (points,) in a state."""
        return np.asarray(self.planned + self.shifts[sorted(state)].sum(axis=0))

    def changes(self, state: State) -> Floats:
        """What may add to it (changes, points) [m]: the scale, what stands a little wrong, what is about the state."""
        scale = LANDS_SPREAD * self.depth(state)
        return np.concatenate([scale[None], self.little, self.slopes[sorted(state)].reshape(-1, len(scale))])

    def rest(self, rest: tuple[float, float], some: slice, others: slice) -> Floats:
        """Covariance [m²] of the rest between points."""
        size, reach = rest
        return np.asarray(size**2 * np.exp(-cdist(self.at[some], self.at[others]) / reach))

    def at_cups(self, state: State, rest: tuple[float, float]) -> Floats:
        """Covariance [m²] of what the cups hold."""
        cups = slice(self.cups)
        changes = self.changes(state)[:, cups]
        return changes.T @ changes + self.rest(rest, cups, cups) + np.diag(self.spread**2)

    def prior(self, state: State) -> float:
        """Logarithm of a state's chance before any cup, but for what is the same in all."""
        return float(np.log(self.chances[sorted(state)] / (1 - BAD)).sum())

    def table(self, state: State) -> tuple[Floats, Floats]:
        """Likelihood, its logarithm, of the cups by law of the rest: in a state, and in it and each setting besides.

        Returns: (rests,), and (rests, settings); -inf for settings of heads that the state holds already. The share
        that lands adds to the spread as in the state itself.
        """
        cups = slice(self.cups)
        miss, count = self.caught - self.depth(state)[cups], len(self.settings)
        sides = np.column_stack([miss, self.shifts[:, cups].T, self.slopes[:, :, cups].reshape(2 * count, -1).T])
        here, more = np.empty(len(self.rests)), np.empty((len(self.rests), count))
        for k, rest in enumerate(self.rests):
            root = np.linalg.cholesky(self.at_cups(state, rest))
            solved = solve_triangular(root, sides, lower=True)
            away = solved[:, 1 : 1 + count] - solved[:, :1]
            about = solved[:, 1 + count :].reshape(self.cups, count, 2)
            inner = np.einsum("nsi,nsj->sij", about, about) + np.eye(2)
            along = np.einsum("nsi,ns->si", about, away)
            taken = np.einsum("si,si->s", along, np.linalg.solve(inner, along[..., None])[..., 0])
            level = float(np.log(np.diag(root)).sum())
            here[k] = -0.5 * solved[:, 0] @ solved[:, 0] - level
            more[k] = -0.5 * ((away**2).sum(axis=0) - taken + np.linalg.slogdet(inner)[1]) - level
        held = {self.settings[row].head for row in state}
        more[:, [setting.head in held for setting in self.settings]] = -np.inf
        return here, more

    def weighed(self, state: State) -> dict[State, float]:
        """Logarithm of the chance after the cups, but for a constant, of a state, and of it with each setting too."""
        here, more = self.table(state)
        prior = self.prior(state)
        logs = logsumexp(more, axis=0) + np.log(self.chances / (1 - BAD)) + prior
        found = {state | {row}: float(log) for row, log in enumerate(logs) if np.isfinite(log)}
        return {state: float(logsumexp(here)) + prior} | found

    def likeliest_rest(self, state: State) -> tuple[float, float]:
        """The law of the rest under which the cups are likeliest in a state."""
        logs = [self._likelihood(state, rest) for rest in self.rests]
        return self.rests[int(np.argmax(logs))]

    def _likelihood(self, state: State, rest: tuple[float, float]) -> float:
        root = np.linalg.cholesky(self.at_cups(state, rest))
        solved = solve_triangular(root, self.caught - self.depth(state)[: self.cups], lower=True)
        return float(-0.5 * solved @ solved - np.log(np.diag(root)).sum())

    def shown(self) -> Floats:
        """By how much chi-squared of the cups would grow with each setting (settings,), were no other thing wrong."""
        state: State = frozenset()
        root = np.linalg.cholesky(self.at_cups(state, self.likeliest_rest(state)))
        return np.asarray((solve_triangular(root, self.shifts[:, : self.cups].T, lower=True) ** 2).sum(axis=0))


def law_of(cups: Sequence[Cup], land: Land) -> Law:
    """Draw the water of every setting of every head.

    Errors: InputError for fewer than three cups, or cups where no water was to fall at all.
    """
    if len(cups) < 3:
        raise InputError(f"{len(cups)} cups tell nothing of evenness: set out at least three, better a dozen")
    x, y = land.grid.centres()
    spots = np.column_stack([x[land.cells], y[land.cells]])
    stood = np.array([cup.at for cup in cups])

    def seen(water: Floats) -> Floats:
        return LANDS * np.concatenate([at_points(water, stood, land.grid), water[land.cells]])

    wrongs = wrongs_of(land)
    planned, *slopes = (seen(layer) for layer in slopes_of(land, wrongs))
    if planned[: len(cups)].max() <= 0:
        raise InputError("none of the cups stands where this zone throws: look at their places on the plan")
    usual = np.array([WRONGS[wrong.kind] for wrong in wrongs])
    drawn = [one for head in land.heads for one in _drawn(land, head.id, seen)]
    settings, chances, shifts, about = zip(*drawn, strict=True)
    return Law(
        wrongs=wrongs,
        settings=settings,
        chances=np.array(chances),
        planned=planned,
        little=usual[:, None] * np.array(slopes),
        shifts=np.array(shifts),
        slopes=np.array(about),
        at=np.concatenate([stood, spots]),
        caught=np.array([cup.depth for cup in cups]),
        spread=np.array([cup.spread for cup in cups]),
        throw=float(np.mean([head.radius for head in land.heads])),
    )


def _drawn(land: Land, name: str, seen: Callable[[Floats], Floats]) -> Iterator[tuple[Setting, float, Floats, Floats]]:
    """Each setting of a head with its chance, its change of the water, and the slopes about it."""
    head = land.head(name)
    own, kinds = land.water([head]), list(faults_of(land, head))
    planned = seen(own)
    for kind, settings in kinds:
        waters = [
            own * (1 + setting.by[0]) if kind == "flow" else land.water([stands(setting, land)]) for setting in settings
        ]
        chance = BAD / len(kinds) / len(settings)
        for setting, water, slopes in zip(settings, waters, _slopes(land, head, own, settings, waters), strict=True):
            yield setting, chance, seen(water) - planned, np.array([seen(slope) for slope in slopes])


def _slopes(
    land: Land, head: Head, own: Floats, settings: Sequence[Setting], waters: Sequence[Floats]
) -> list[tuple[Floats, Floats]]:
    """Two changes of the water about each setting, for the spread there; the second of a lean alone."""
    kind, none = settings[0].kind, np.zeros_like(own)
    spread = BETWEEN[kind]
    if kind == "lean":
        steps = [np.asarray(np.gradient(water, land.grid.cell)) for water in waters]
        return [(-spread * across, -spread * up) for up, across in steps]
    if kind == "flow":
        return [(spread * own, none) for _ in waters]
    if kind == "nozzle":
        return [(spread * water, none) for water in waters]
    if kind == "arc" and land.catalogue.nozzles[head.nozzle].fixed_arcs:
        return [(none, none) for _ in waters]
    by = np.array([0.0, *(setting.by[0] for setting in settings)])
    order = np.argsort(by)
    changes = np.empty((len(by), *own.shape))
    changes[order] = np.gradient(np.array([own, *waters])[order], by[order], axis=0)
    return [(spread * change, none) for change in changes[1:]]


def at_points(values: Floats, at: Floats, grid: Grid) -> Floats:
    """Values of a grid at points, between the cells' centres."""
    column = (at[:, 0] - grid.x0) / grid.cell - 0.5
    row = (at[:, 1] - grid.y0) / grid.cell - 0.5
    return np.asarray(map_coordinates(values, [row, column], order=1, mode="constant"))
