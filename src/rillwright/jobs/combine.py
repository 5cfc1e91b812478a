"""Combinations of lawn layouts, all at once as arrays: every one where there are some hundred thousand or fewer.

A layout that another of its lawn beats in all that counts is left out first, which loses nothing. The rest are combined
lawn by lawn. Where that would make more than MOST combinations, those so far are cut to what is best at several prices
of extra water, zones counted in parts: only then may a combination be missed.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.model.front import FAULT_MONEY, HEAD_MONEY, POOR_MONEY, ZONE_MONEY
from rillwright.model.site import HeadClass
from rillwright.solvers.coverage import LawnLayout

__all__ = ["Combinations", "Group", "Option", "combine"]

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Group = tuple[HeadClass, str]  # class and hydrozone

MOST = 300_000
_PRICES = (0.0, 300.0, 1e3, 2e3, 4e3, 8e3, 3e4, 1e7)  # [currency] of extra water, when combinations are cut
_LEAST_CAPACITY = 1e-5  # [m³/s] a class with none is not fed at all


@dataclass(frozen=True, slots=True)
class Option:
    """One layout of one lawn, in the figures that add up over lawns."""

    layout: LawnLayout
    heads: int
    kept: int  # of the heads those in the ground already
    standing: float  # [currency] of keeping those, less what moving them would cost
    flows: Mapping[Group, float]  # [m³/s]
    area: float  # [m²]
    extra: float  # [-]
    faults: int
    poor: int  # 1 under POOR_DU

    def _beats(self, other: "Option") -> bool:
        """Whether it is nowhere worse, flows included."""
        return (
            all(mine <= theirs for mine, theirs in zip(self._sums, other._sums, strict=True))
            and self.flows.keys() <= other.flows.keys()
            and all(flow <= other.flows[group] for group, flow in self.flows.items())
        )

    @property
    def _sums(self) -> tuple[float, ...]:
        money = HEAD_MONEY * (self.heads - self.kept) + self.standing
        return self.heads, money, self.extra, self.faults, self.poor


@dataclass(frozen=True, slots=True)
class Combinations:
    """Combinations of options; arrays by combination."""

    lawns: tuple[tuple[Option, ...], ...]
    picks: Whole  # (n, lawns) which option of each lawn
    heads: Whole
    kept: Whole
    standing: Floats  # [currency]
    zones: Whole
    extra: Floats  # [-] area-weighted
    faults: Whole
    poor: Whole

    @property
    def cost(self) -> Floats:
        """Estimated money [currency]."""
        return np.asarray(HEAD_MONEY * (self.heads - self.kept) + self.standing + ZONE_MONEY * self.zones)

    def options(self, row: int) -> tuple[Option, ...]:
        """The options of one combination."""
        return tuple(own[pick] for own, pick in zip(self.lawns, self.picks[row], strict=True))


def combine(options: Sequence[Sequence[Option]], *, capacity: Mapping[HeadClass, float], moving: float) -> Combinations:
    """Combine the options of all lawns.

    Parameters: capacity [m³/s] of a zone of each class; moving [currency] of all heads in the ground.
    """
    lawns = tuple(_unbeaten(own) for own in options)
    groups = sorted({group for own in lawns for option in own for group in option.flows})
    able = np.array([max(0.95 * capacity.get(group[0], 0.0), _LEAST_CAPACITY) for group in groups])
    area = sum(own[0].area for own in lawns)
    sums, picks = np.zeros((1, 6 + len(groups))), np.zeros((1, 0), dtype=np.int64)
    for own in lawns:
        if len(sums) * len(own) > MOST:
            kept = _promising(sums, able, MOST // len(own))
            sums, picks = sums[kept], picks[kept]
        rows = np.array([_row(option, groups, area) for option in own])
        sums = (sums[:, None, :] + rows).reshape(-1, sums.shape[1])
        column = np.tile(np.arange(len(own)), len(picks))
        picks = np.column_stack((np.repeat(picks, len(own), axis=0), column))
    heads, kept_heads, standing, extra, faults, poor = sums[:, :6].T
    return Combinations(
        lawns,
        picks,
        heads.astype(np.int64),
        kept_heads.astype(np.int64),
        standing + moving,
        np.ceil(sums[:, 6:] / able - 1e-9).sum(axis=1).astype(np.int64),
        extra,
        faults.astype(np.int64),
        poor.astype(np.int64),
    )


def _unbeaten(own: Sequence[Option]) -> tuple[Option, ...]:
    kept: list[Option] = []
    for option in sorted(own, key=lambda one: one._sums):  # whatever beats one, or equals it, comes before it
        if not any(other._beats(option) for other in kept):
            kept.append(option)
    return tuple(kept)


def _row(option: Option, groups: Sequence[Group], area: float) -> list[float]:
    extra = option.extra * option.area / area
    counts = [option.heads, option.kept, option.standing, extra, option.faults, option.poor]
    return [*counts, *(option.flows.get(group, 0.0) for group in groups)]


def _promising(sums: Floats, able: Floats, most: int) -> Whole:
    """Rows that are best at some price of extra water."""
    heads, kept, standing, extra, faults, poor = sums[:, :6].T
    zones = (sums[:, 6:] / able).sum(axis=1)
    money = HEAD_MONEY * (heads - kept) + standing + ZONE_MONEY * zones + FAULT_MONEY * faults + POOR_MONEY * poor
    each = max(1, math.ceil(most / len(_PRICES)))
    best = [np.argsort(money + price * extra, kind="stable")[:each] for price in _PRICES]
    return np.unique(np.concatenate(best))
