"""The depth of water everywhere, from few cups and the model together.

Statement. With m the modelled depth and g_j its change with the j-th wrong,

    depth(x) = (scale) m(x) + sum over wrongs of t_j g_j(x) + r(x),

scale normal about what lands of the water, t_j normal with the spreads of WRONGS, and r a smooth rest: a Gaussian field
of mean 0 whose covariance falls off as exp(-distance/reach). A few things may be badly wrong, each with a chance of
BAD_CHANCE and a spread of BAD times the usual: they are let in one by one, the likeliest first, while the cups speak
for another by more than those odds. All is linear and normal, so that what the cups tell of the depth anywhere, and of
every wrong, follows in closed form (kriging with the model as trend). Size and reach of the rest
are those, of a few, under which the cups are likeliest.
Source: Gaussian processes with explicit basis functions, Rasmussen and Williams (2006) 2.2 and 2.7; largest marginal
likelihood, there 5.4; from memory. Spreads are judgement.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve
from scipy.ndimage import map_coordinates
from scipy.spatial.distance import cdist

from rillwright.errors import InputError
from rillwright.model.plan import Head
from rillwright.solvers.coverage import Grid
from rillwright.solvers.cups.wrongs import WRONGS, Land, Wrong, set_wrong, slopes_of, together, wrongs_of

__all__ = ["Cup", "Picture", "picture_of"]

Floats = NDArray[np.float64]

LANDS, LANDS_SPREAD = 0.92, 0.10  # share of the flow that lands, and spread of it with the pressure; judgement
CUP_SHARE, CUP_LEAST = 0.05, 0.5e-3  # share, and [m]: standard error of a cup read by eye; judgement
BAD, BAD_CHANCE = 7.0, 0.06  # judgement
_MOST_BAD = 4
_ODDS_AGAINST = float(np.log((1 - BAD_CHANCE) / BAD_CHANCE))
_OTHER_VIEWS = 5  # weighed beside the likeliest
_ROUNDS = 3
_SIZES = (0.03, 0.08, 0.16, 0.32)  # of the mean depth: standard deviation of the rest
_REACHES = (0.3, 0.8)  # of the mean throw


@dataclass(frozen=True, slots=True)
class Cup:
    """Water in one cup."""

    at: tuple[float, float]  # [m]
    depth: float  # [m]


class Part(NamedTuple):
    """The depth on the cells under one view of what is badly wrong."""

    chance: float
    mean: Floats  # (cells,) [m]
    root: Floats  # (cells, cells): mean + root · standard normals draws the depth


class _View(NamedTuple):
    """What is taken to be badly wrong."""

    chance: float
    spread: Floats  # (wrongs,)
    rest: int  # which law of the rest
    bad: tuple[tuple[int, ...], ...]


class _Linear(NamedTuple):
    """The model about one setting of the heads; the first layer is the water as set, the others its changes."""

    here: Floats  # (1 + wrongs, cups) [m]
    there: Floats  # (1 + wrongs, cells) [m]
    set_at: Floats  # (wrongs,) where the wrongs stand in it
    wrongs: Sequence[Wrong]
    at: Floats  # (cups, 2) [m]
    spots: Floats  # (cells, 2) [m]
    throw: float  # [m] mean of the heads


@dataclass(frozen=True, slots=True)
class Picture:
    """What the cups tell of the depth on some cells and of every wrong."""

    parts: tuple[Part, ...]  # the views; their chances add up to 1
    wrongs: tuple[Wrong, ...]
    wrong: Floats  # (wrongs,) likeliest size under the first view, in the unit of its kind
    wrong_error: Floats  # (wrongs,) standard
    bad: tuple[tuple[int, ...], ...]  # rows of the wrongs that the cups speak for, those of one lean together
    size: float  # [-] of the rest, as a share of the mean depth
    reach: float  # [m] of the rest

    @property
    def mean(self) -> Floats:
        """Depth on the cells [m], over all views."""
        return np.asarray(sum(part.chance * part.mean for part in self.parts))

    def drawn(self, count: int, *, seed: int) -> Floats:
        """Draw the depth (count, cells) [m], never under 0."""
        dice = np.random.default_rng(seed)
        chances = [part.chance for part in self.parts]
        shares = dice.multinomial(count, np.array(chances) / sum(chances))
        rows = [
            (part.mean[:, None] + part.root @ dice.standard_normal((len(part.mean), share))).T
            for part, share in zip(self.parts, shares, strict=True)
        ]
        return np.maximum(np.concatenate(rows), 0.0)


def picture_of(cups: Sequence[Cup], land: Land) -> Picture:
    """Put cups and model together.

    What is badly wrong is far off, so that the model is drawn anew with it as found and all is solved once more.
    Errors: InputError for fewer than three cups, or cups where no water was to fall at all.
    """
    if len(cups) < 3:
        raise InputError(f"{len(cups)} cups tell nothing of evenness: set out at least three, better a dozen")
    wrongs = wrongs_of(land)
    found = _solved(cups, _about(land, {head.id: head for head in land.heads}, wrongs, np.zeros(len(wrongs)), cups))
    for _ in range(_ROUNDS - 1):
        if not found.bad:
            break
        stands, set_at = {head.id: head for head in land.heads}, np.zeros(len(wrongs))
        for row in (row for rows in found.bad for row in rows):
            wrong, set_at[row] = wrongs[row], found.wrong[row]
            stands[wrong.head] = set_wrong(stands[wrong.head], wrong.kind, float(set_at[row]))
        found = _solved(cups, _about(land, stands, wrongs, set_at, cups))
    return found


def _about(
    land: Land, stands: Mapping[str, Head], wrongs: Sequence[Wrong], set_at: Floats, cups: Sequence[Cup]
) -> _Linear:
    """The model about one setting of the heads. Errors: InputError when no cup stands where water falls."""
    water, at = LANDS * slopes_of(land, stands, wrongs), np.array([cup.at for cup in cups])
    here = np.array([_at(layer, at, land.grid) for layer in water])
    if here[0].max() <= 0:
        raise InputError("none of the cups stands where this zone throws: look at their places on the plan")
    throw = float(np.mean([head.radius for head in land.heads]))
    x, y = land.grid.centres()
    spots = np.column_stack([x[land.cells], y[land.cells]])
    return _Linear(here, water[:, land.cells], set_at, wrongs, at, spots, throw)


def _solved(cups: Sequence[Cup], model: _Linear) -> Picture:
    caught = np.array([cup.depth for cup in cups])
    here = model.here[0] - model.set_at @ model.here[1:]
    noise = np.maximum(CUP_SHARE * caught, CUP_LEAST) ** 2
    plain = LANDS_SPREAD**2 * np.outer(model.here[0], model.here[0]) + np.diag(noise)
    miss, level = caught - here, float(caught.mean())
    rests = [((share * level) ** 2, far_off * model.throw) for share, far_off in product(_SIZES, _REACHES)]
    covers = [plain + rest * np.exp(-cdist(model.at, model.at) / reach) for rest, reach in rests]
    views = _views(miss, covers, model)
    best = views[0]
    near = model.here[1:] * best.spread[:, None]
    whole = cho_factor(covers[best.rest] + near.T @ near, lower=True)
    told = cho_solve(whole, near.T)
    return Picture(
        parts=tuple(_part(model, view, covers[view.rest], *rests[view.rest], miss) for view in views),
        wrongs=tuple(model.wrongs),
        wrong=near @ cho_solve(whole, miss) * best.spread,
        wrong_error=best.spread * np.sqrt(np.maximum(1 - np.einsum("jn,nj->j", near, told), 0.0)),
        bad=best.bad,
        size=float(np.sqrt(rests[best.rest][0])) / level,
        reach=rests[best.rest][1],
    )


def _part(model: _Linear, view: _View, cover: Floats, rest: float, reach: float, miss: Floats) -> Part:
    """The depth on the cells under one view, by conditioning on the cups."""
    near, far = model.here[1:] * view.spread[:, None], model.there[1:] * view.spread[:, None]
    there = model.there[0] - model.set_at @ model.there[1:]
    whole = cho_factor(cover + near.T @ near, lower=True)
    scale = LANDS_SPREAD**2 * np.outer(model.there[0], model.here[0])
    between = scale + far.T @ near + rest * np.exp(-cdist(model.spots, model.at) / reach)
    covariance = LANDS_SPREAD**2 * np.outer(model.there[0], model.there[0]) + far.T @ far
    covariance += rest * np.exp(-cdist(model.spots, model.spots) / reach) - between @ cho_solve(whole, between.T)
    jitter = 1e-9 * max(float(there.mean()), 1e-4) ** 2 * np.eye(len(there))
    return Part(
        view.chance, there + between @ cho_solve(whole, miss), np.asarray(np.linalg.cholesky(covariance + jitter))
    )


def _views(miss: Floats, covers: Sequence[Floats], model: _Linear) -> list[_View]:
    """What is badly wrong, found one by one; with it, the likeliest views in which one thing more is."""
    near, wrongs = model.here[1:], model.wrongs
    spread = np.array([WRONGS[wrong.kind] for wrong in wrongs])
    bad: list[tuple[int, ...]] = []

    def judged(spreads: Floats) -> tuple[float, int]:
        part = (near * spreads[:, None]).T @ (near * spreads[:, None])
        logs = [_likelihood(miss, cover + part) for cover in covers]
        return max(logs), int(np.argmax(logs))

    now, best = judged(spread)
    while True:
        tried: list[tuple[float, int, tuple[int, ...], Floats]] = []
        for rows in together(wrongs):
            if tuple(rows) not in bad:
                wider = spread.copy()
                wider[rows] *= BAD
                tried.append((*judged(wider), tuple(rows), wider))
        tried.sort(key=lambda one: -one[0])
        if not tried or len(bad) == _MOST_BAD or tried[0][0] - now < _ODDS_AGAINST:
            break
        now, best, first, spread = tried[0]
        bad.append(first)
    logs = np.array([now, *(log - _ODDS_AGAINST for log, *_ in tried[:_OTHER_VIEWS])])
    chance = np.exp(logs - logs.max())
    chance /= chance.sum()
    views = [_View(float(chance[0]), spread, best, tuple(bad))]
    for share, (_, rest, more, wider) in zip(chance[1:], tried, strict=False):
        views.append(_View(float(share), wider, rest, (*bad, more)))
    return views


def _likelihood(miss: Floats, covariance: Floats) -> float:
    factor = cho_factor(covariance, lower=True)
    return float(-0.5 * miss @ cho_solve(factor, miss) - np.log(np.diag(factor[0])).sum())


def _at(values: Floats, at: Floats, grid: Grid) -> Floats:
    """Values of a grid at points, between the cells' centres."""
    column = (at[:, 0] - grid.x0) / grid.cell - 0.5
    row = (at[:, 1] - grid.y0) / grid.cell - 0.5
    return np.asarray(map_coordinates(values, [row, column], order=1, mode="constant"))
