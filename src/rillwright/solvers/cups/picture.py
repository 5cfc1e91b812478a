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

from collections.abc import Iterator, Mapping, Sequence
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
from rillwright.solvers.cups.wrongs import WRONGS, Land, Wrong, far_off, set_wrong, slopes_of, together, wrongs_of

__all__ = ["Cup", "Picture", "picture_of"]

Floats = NDArray[np.float64]

LANDS, LANDS_SPREAD = 0.92, 0.10  # share of the flow that lands, and spread of it with the pressure; judgement
CUP_SHARE, CUP_LEAST = 0.05, 0.5e-3  # share, and [m]: standard error of a cup read by eye; judgement
BAD, BAD_CHANCE = 7.0, 0.06  # judgement
_MOST_BAD = 4
_ODDS_AGAINST = float(np.log((1 - BAD_CHANCE) / BAD_CHANCE))
_OTHER_VIEWS = 5  # weighed beside the likeliest
_ROUNDS = 3
_NEAR = 0.6  # of how far a setting is off, that what is found about it may be from it
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
    moved: tuple[int, ...] = ()  # wrongs about which it is drawn far from where they are most likely


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
    evidence: float  # logarithm of the likelihood of the cups under the first view, times the odds of what is wrong

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

    What is badly wrong is far off: the model is drawn besides about one head far from where it stands, the likeliest of
    many, and drawn anew with what is badly wrong as found, and all is solved once more. What is found about such a
    setting counts while it stays near it.
    Errors: InputError for fewer than three cups, or cups where no water was to fall at all.
    """
    if len(cups) < 3:
        raise InputError(f"{len(cups)} cups tell nothing of evenness: set out at least three, better a dozen")
    wrongs, stands = wrongs_of(land), {head.id: head for head in land.heads}
    set_at = np.zeros(len(wrongs))
    model = _about(land, stands, wrongs, set_at, cups)
    found = _solved(cups, model)
    for _ in range(_ROUNDS):
        further = max(_far(land, model, stands), key=lambda one: _judged(cups, one), default=model)
        other = _solved(cups, further)
        if _stays(other, further) and other.evidence > found.evidence:
            found = other
        if not found.bad:
            break
        stands, set_at = {head.id: head for head in land.heads}, np.zeros(len(wrongs))
        for row in (row for rows in found.bad for row in rows):
            wrong, set_at[row] = wrongs[row], found.wrong[row]
            stands[wrong.head] = set_wrong(stands[wrong.head], wrong.kind, float(set_at[row]))
        model = _about(land, stands, wrongs, set_at, cups)
        anew = _solved(cups, model)
        if not _stays(anew, model):
            break
        found = anew
    return found


def _stays(found: Picture, model: "_Linear") -> bool:
    """Whether what the model was drawn far off in is badly wrong, and about so; water is linear in the flow alone."""
    far = [row for row, by in enumerate(model.set_at) if by and model.wrongs[row].kind != "flow"]
    bad = {row for rows in found.bad for row in rows}
    apart = np.hypot.reduce(found.wrong[far] - model.set_at[far]) if far else 0.0
    return bad.issuperset(far) and apart <= _NEAR * np.hypot.reduce(model.set_at[far], initial=0.0)


def _far(land: Land, model: "_Linear", stands: Mapping[str, Head]) -> Iterator["_Linear"]:
    """The model about one head far from where it stands, for each head and each thing that may be wrong with it."""
    for setting in far_off(model.wrongs):
        rows, own = [*setting], [model.wrongs[row] for row in setting]
        name, set_at = own[0].head, model.set_at.copy()
        moved = stands[name]
        for (row, by), wrong in zip(setting.items(), own, strict=True):
            moved, set_at[row] = set_wrong(moved, wrong.kind, by - set_at[row]), by
        water = LANDS * slopes_of(land, {name: moved}, own)
        water[0] -= LANDS * land.water([stands[name]])
        here, there = model.here.copy(), model.there.copy()
        for layers, seen in ((here, [_at(w, model.at, land.grid) for w in water]), (there, water[:, land.cells])):
            layers[0] += seen[0]
            layers[[row + 1 for row in rows]] = seen[1:]
        yield model._replace(here=here, there=there, set_at=set_at, moved=tuple(rows))


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


def _laws(cups: Sequence[Cup], model: _Linear) -> tuple[Floats, list[tuple[float, float]], list[Floats]]:
    """What the cups miss (cups,) [m], and of each law of the rest its variance and reach, and the covariance."""
    caught = np.array([cup.depth for cup in cups])
    here = model.here[0] - model.set_at @ model.here[1:]
    noise = np.maximum(CUP_SHARE * caught, CUP_LEAST) ** 2
    plain = LANDS_SPREAD**2 * np.outer(model.here[0], model.here[0]) + np.diag(noise)
    level = float(caught.mean())
    rests = [((share * level) ** 2, far * model.throw) for share, far in product(_SIZES, _REACHES)]
    return caught - here, rests, [plain + rest * np.exp(-cdist(model.at, model.at) / reach) for rest, reach in rests]


def _judged(cups: Sequence[Cup], model: _Linear) -> float:
    """Likelihood of the cups, its logarithm, where just what the model was moved in is badly wrong."""
    miss, _, covers = _laws(cups, model)
    spread = _usual(model)
    spread[list(model.moved)] *= BAD
    return _most_likely(miss, covers, model.here[1:] * spread[:, None])[0]


def _usual(model: _Linear) -> Floats:
    return np.array([WRONGS[wrong.kind] for wrong in model.wrongs])


def _most_likely(miss: Floats, covers: Sequence[Floats], near: Floats) -> tuple[float, int]:
    """Logarithm of the likelihood under the law of the rest for which it is greatest, and which that is."""
    part = near.T @ near
    logs = [_likelihood(miss, cover + part) for cover in covers]
    return max(logs), int(np.argmax(logs))


def _solved(cups: Sequence[Cup], model: _Linear) -> Picture:
    miss, rests, covers = _laws(cups, model)
    views = _views(miss, covers, model)
    best = views[0]
    near = model.here[1:] * best.spread[:, None]
    cover = covers[best.rest] + near.T @ near
    whole = cho_factor(cover, lower=True)
    told = cho_solve(whole, near.T)
    return Picture(
        parts=tuple(_part(model, view, covers[view.rest], *rests[view.rest], miss) for view in views),
        wrongs=tuple(model.wrongs),
        wrong=near @ cho_solve(whole, miss) * best.spread,
        wrong_error=best.spread * np.sqrt(np.maximum(1 - np.einsum("jn,nj->j", near, told), 0.0)),
        bad=best.bad,
        size=float(np.sqrt(rests[best.rest][0])) / float(np.mean([cup.depth for cup in cups])),
        reach=rests[best.rest][1],
        evidence=_likelihood(miss, cover) - len(best.bad) * _ODDS_AGAINST,
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
    spread = _usual(model)
    bad: list[tuple[int, ...]] = []
    now, best = _most_likely(miss, covers, near * spread[:, None])
    while True:
        tried: list[tuple[float, int, tuple[int, ...], Floats]] = []
        for rows in together(wrongs):
            if tuple(rows) not in bad:
                wider = spread.copy()
                wider[rows] *= BAD
                tried.append((*_most_likely(miss, covers, near * wider[:, None]), tuple(rows), wider))
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
