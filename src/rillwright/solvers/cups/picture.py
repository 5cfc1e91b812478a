"""The depth of water everywhere and what stands wrong, from few cups and the model together.

States of the heads are weighed by their odds after the cups: all as planned, every head in every setting, and from the
likeliest of these on with one more head badly wrong, at most four, each held against every other change of one head.
The depth anywhere follows in closed form under each state (kriging with the model as trend), and is told over the
likeliest. Formulas: `law`.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve

from rillwright.solvers.cups.law import Cup, Law, State, law_of
from rillwright.solvers.cups.wrongs import BETWEEN, Fault, Land, Setting

__all__ = ["Part", "Picture", "Suspect", "picture_of"]

Floats = NDArray[np.float64]

_MOST_BAD = 4
_VIEWS = 6  # states that the depth is told over
_ROUNDS = 4
_SHOWS = 10.0  # growth of chi-squared from which a fault shows in the cups: odds of e⁵ beside those against it
_SEEN = 1e-4  # chance under which a state counts no longer


class Part(NamedTuple):
    """The depth on the cells under one state."""

    chance: float
    mean: Floats  # (cells,) [m]
    root: Floats  # (cells, cells): mean + root · standard normals draws the depth


@dataclass(frozen=True, slots=True)
class Suspect:
    """One thing that may be badly wrong at one head."""

    setting: Setting  # likeliest of its kind, its size as the cups make it
    error: float  # standard, of its size; of another nozzle, of its flow as a share
    chance: float  # that this is it


@dataclass(frozen=True, slots=True)
class Picture:
    """What the cups tell of the depth on some cells and of every head."""

    parts: tuple[Part, ...]  # the likeliest states; their chances add up to 1
    suspects: tuple[Suspect, ...]  # likeliest first
    silent: Mapping[str, tuple[Fault, ...]]  # by head: what the cups would not show, were it grossly wrong
    apart: Floats  # (states, cells) [m] by which states differ in depth, times the root of their chance
    size: float  # [-] of the rest in the likeliest state, as a share of the mean depth
    reach: float  # [m] of the rest there

    @property
    def mean(self) -> Floats:
        """Depth on the cells [m], over all parts."""
        return np.asarray(sum(part.chance * part.mean for part in self.parts))

    @property
    def chances(self) -> dict[str, float]:
        """By head, that anything is badly wrong with it; likeliest first."""
        found: dict[str, float] = defaultdict(float)
        for suspect in self.suspects:
            found[suspect.setting.head] += suspect.chance
        return dict(sorted(((head, min(chance, 1.0)) for head, chance in found.items()), key=lambda one: -one[1]))

    def drawn(self, count: int, *, seed: int) -> Floats:
        """Draw the depth (count, cells) [m], never under 0."""
        dice = np.random.default_rng(seed)
        shares = dice.multinomial(count, np.array([part.chance for part in self.parts]))
        rows = [
            (part.mean[:, None] + part.root @ dice.standard_normal((len(part.mean), share))).T
            for part, share in zip(self.parts, shares, strict=True)
        ]
        return np.maximum(np.concatenate(rows), 0.0)


def picture_of(cups: Sequence[Cup], land: Land) -> Picture:
    """Put cups and model together.

    Errors: InputError for fewer than three cups, or cups where no water was to fall at all.
    """
    law = law_of(cups, land)
    odds = _weighed(law)
    best = max(odds, key=odds.__getitem__)
    rest = law.likeliest_rest(best)
    return Picture(
        parts=tuple(_parts(law, odds)),
        suspects=tuple(_suspects(law, odds)),
        silent=_silent(law),
        apart=_apart(law, odds),
        size=rest[0] / float(law.caught.mean()),
        reach=rest[1],
    )


def _weighed(law: Law) -> dict[State, float]:
    """Chance of every state that was looked at, after the cups."""
    tables: dict[State, dict[State, float]] = {}

    def around(state: State) -> dict[State, float]:
        if state not in tables:
            tables[state] = law.weighed(state)
        return tables[state]

    now: State = frozenset()
    while len(now) < _MOST_BAD:
        further = _further(law, now, around(now))
        if further is None:
            break
        now = further
    for _ in range(_ROUNDS):
        logs = {state: log for row in now for state, log in around(now - {row}).items()}
        better = max(logs, key=logs.__getitem__, default=now)
        if better == now or logs[better] <= logs[now]:
            break
        now = better
    logs = {state: log for table in tables.values() for state, log in table.items()}
    top = max(logs.values())
    chances = {state: float(np.exp(log - top)) for state, log in logs.items()}
    total = sum(chances.values())
    return {state: chance / total for state, chance in chances.items()}


def _further(law: Law, now: State, logs: Mapping[State, float]) -> State | None:
    """The state with one more head badly wrong, where all settings of that head together outweigh none of them."""
    by_head: dict[str, list[State]] = defaultdict(list)
    for state in logs:
        for row in state - now:
            by_head[law.settings[row].head].append(state)
    weights = {head: np.logaddexp.reduce([logs[state] for state in states]) for head, states in by_head.items()}
    head = max(weights, key=weights.__getitem__, default="")
    if not head or weights[head] <= logs[now]:
        return None
    return max(by_head[head], key=logs.__getitem__)


def _parts(law: Law, odds: Mapping[State, float]) -> Iterator[Part]:
    """The depth on the cells under the likeliest states, by conditioning on the cups."""
    cups, cells = slice(law.cups), slice(law.cups, None)
    likeliest = sorted(odds, key=odds.__getitem__, reverse=True)[:_VIEWS]
    total = sum(odds[state] for state in likeliest)
    for state in likeliest:
        rest, depth, changes = law.likeliest_rest(state), law.depth(state), law.changes(state)
        whole = cho_factor(law.at_cups(state, rest), lower=True)
        near, far = changes[:, cups], changes[:, cells]
        between = far.T @ near + law.rest(rest, cells, cups)
        covariance = far.T @ far + law.rest(rest, cells, cells) - between @ cho_solve(whole, between.T)
        jitter = 1e-9 * max(float(depth[cells].mean()), 1e-4) ** 2 * np.eye(len(covariance))
        mean = depth[cells] + between @ cho_solve(whole, law.caught - depth[cups])
        yield Part(odds[state] / total, mean, np.asarray(np.linalg.cholesky(covariance + jitter)))


def _suspects(law: Law, odds: Mapping[State, float]) -> list[Suspect]:
    """Each kind of thing that may be wrong at each head, by what all states with it weigh."""
    weights: dict[tuple[str, Fault], float] = defaultdict(float)
    likeliest: dict[tuple[str, Fault], tuple[float, int, State]] = {}
    for state, chance in odds.items():
        for row in state:
            key = law.settings[row].head, law.settings[row].kind
            weights[key] += chance
            likeliest[key] = max(likeliest.get(key, (0.0, -1, state)), (chance, row, state), key=lambda one: one[0])
    found = [Suspect(*_sized(law, *likeliest[key][1:]), chance) for key, chance in weights.items() if chance > _SEEN]
    return sorted(found, key=lambda suspect: -suspect.chance)


def _sized(law: Law, row: int, state: State) -> tuple[Setting, float]:
    """A setting with its size as the cups make it, and the standard error of that."""
    setting, cups = law.settings[row], slice(law.cups)
    spread, slopes = BETWEEN[setting.kind], law.slopes[row][: max(len(setting.by), 1), cups]
    whole = cho_factor(law.at_cups(state, law.likeliest_rest(state)), lower=True)
    by = spread * slopes @ cho_solve(whole, law.caught - law.depth(state)[cups])
    left = 1 - np.einsum("in,ni->i", slopes, cho_solve(whole, slopes.T))
    error = spread * float(np.sqrt(np.clip(left, 0.0, None).max()))
    size = tuple(float(a + b) for a, b in zip(setting.by, by, strict=False))
    return Setting(setting.head, setting.kind, size, setting.nozzle), error


def _silent(law: Law) -> dict[str, tuple[Fault, ...]]:
    """Of each head the kinds of which a gross setting would not show."""
    by_kind: dict[tuple[str, Fault], list[float]] = defaultdict(list)
    for setting, gain in zip(law.settings, law.shown(), strict=True):
        if setting.gross:
            by_kind[setting.head, setting.kind].append(float(gain))
    found: dict[str, tuple[Fault, ...]] = defaultdict(tuple)
    for (head, kind), gains in by_kind.items():
        if np.mean(gains) < _SHOWS:
            found[head] += (kind,)
    return dict(found)


def _apart(law: Law, odds: Mapping[State, float]) -> Floats:
    """By how much the states differ on the cells (states, cells) [m], times the root of their chances."""
    kept = [state for state, chance in odds.items() if chance > _SEEN]
    chances = np.array([odds[state] for state in kept])
    depths = np.array([law.depth(state)[law.cups :] for state in kept])
    return np.asarray(np.sqrt(chances)[:, None] * (depths - chances @ depths / chances.sum()))
