"""Where a leak lies, by elimination: watches with isolating valves shut in turn.

Statement. At most one place leaks, at a rate that all watches share. A watch with the place inside its closed pipes
sees that rate, any other sees none, so for each place

    evidence(place) = sum over rates of prior(rate) · product over watches of evidence(rate, or none),

and none leaking is weighed beside. Places that no watch tells apart are one suspect; before watching, a place is as
likely to leak as it is long. Where even the best place makes the watches far less likely than each watch by itself
could be made, at a rate of its own or none, no one place explains them: more than one leaks, a valve that was taken
for shut passes water, or a leak was mended meanwhile.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp

from rillwright.solvers.leak.verdict import TIGHT_BEFORE

__all__ = ["Suspect", "Where", "where_to_look"]

Floats = NDArray[np.float64]

_APART = np.log(1000.0)  # odds against one place from which the watches are said to disagree; judgement


@dataclass(frozen=True, slots=True)
class Suspect:
    """Pipes that the watches so far do not tell apart."""

    pipes: tuple[str, ...]
    chance: float  # that the leak lies in them


@dataclass(frozen=True, slots=True)
class Where:
    """Where to look."""

    tight: float  # chance that nothing leaks
    suspects: tuple[Suspect, ...]  # likeliest first
    split: str | None  # what to shut off and watch next; None when nothing would tell more
    told: float  # [bit] that this is expected to tell
    apart: bool  # no one place explains the watches: as when two places leak


def where_to_look(
    watches: Sequence[tuple[Collection[str], Floats]],
    *,
    lengths: Mapping[str, float],
    splits: Mapping[str, Collection[str]],
) -> Where:
    """Weigh the places.

    Parameters: watches, each its closed pipes and the log evidence of RATES; lengths [m] of all pipes that may leak, by
    name; splits, pipes that one may close in by themselves, by words for it.
    """
    groups: dict[tuple[bool, ...], list[str]] = {}
    for name in lengths:
        groups.setdefault(tuple(name in inside for inside, _ in watches), []).append(name)
    whole = sum(lengths.values())
    logs = np.stack([log - log.max() for _, log in watches])
    best_leaking = logs[:, 1:].max(axis=1)
    weights, names, fits = [np.log(TIGHT_BEFORE) + logs[:, 0].sum()], [], [logs[:, 0].sum()]
    for inside, pipes in groups.items():
        seen = np.where(np.array(inside)[:, None], logs[:, 1:], logs[:, :1]).sum(axis=0)
        share = sum(lengths[pipe] for pipe in pipes) / whole
        weights.append(np.log((1 - TIGHT_BEFORE) * share) + logsumexp(seen) - np.log(len(seen)))
        names.append(tuple(pipes))
        fits.append(np.where(inside, best_leaking, logs[:, 0]).sum())
    chance = np.exp(np.array(weights) - logsumexp(weights))
    apart = bool(max(fits) < -_APART)
    suspects = sorted((Suspect(n, float(c)) for n, c in zip(names, chance[1:], strict=True)), key=lambda s: -s.chance)
    by_pipe = {
        pipe: one.chance * lengths[pipe] / sum(lengths[p] for p in one.pipes) for one in suspects for pipe in one.pipes
    }
    told = {words: _bits(sum(by_pipe.get(pipe, 0.0) for pipe in inside)) for words, inside in splits.items()}
    best = max(told, key=lambda words: told[words], default=None)
    if best is None or told[best] < 0.05:
        return Where(float(chance[0]), tuple(suspects), None, 0.0, apart)
    return Where(float(chance[0]), tuple(suspects), best, told[best], apart)


def _bits(chance: float) -> float:
    """Information [bit] in a watch that tells for sure whether the leak is inside."""
    if not 0 < chance < 1:
        return 0.0
    return float(-chance * np.log2(chance) - (1 - chance) * np.log2(1 - chance))
