"""One-dimensional cutting stock, several stock lengths.

Given pieces of length l_i [mm], stock lengths L_k sold without limit, a kerf w lost with each piece. A pattern p is a
multiset of pieces with sum(l_i + w) <= L_k + w (the last piece of a stick needs no cut behind it), its cost L_k. Wanted
are numbers x_p of the patterns, whole, that give every piece once at the least sum of L_k x_p.

Bounds: the sum of all l_i + w over what a metre of stock can hold, and no piece of more than half of the longest stock
shares a stick with another such; both rounded up to a length that can be bought. Plans: first fit and best fit by
falling length; then one stick after another filled as full as can be (a subset sum). Each is cut down to the shortest
stock that holds its pieces; of very many pieces the first plan within 0.2 % of the bound will do. Where the best is
over the bound and pieces are not too many, the master problem decides:
by columns priced with a knapsack its relaxation gives a better bound, and CP-SAT on all patterns where they are few,
else on those columns, the best plan. Status "optimal" says that plan and bound meet; else the gap is reported. No
clock: budgets are counts.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from rillwright.solvers.cutting.fill import best_fit, filled, first_fit
from rillwright.solvers.cutting.master import best_of_patterns, least_by_columns

__all__ = ["Cut", "CuttingPlan", "cut_pipe", "split_runs"]

MM = 1000  # in a metre: lengths are whole millimetres, so that sums are exact
MOST_DECIDED = 60  # pieces up to which the master problem is put
MANY = 1_000  # pieces over which the first quick plan near the bound will do
NEAR = 1.002


@dataclass(frozen=True, slots=True)
class Cut:
    """One stick or coil and the pieces cut from it, in cutting order, longest first."""

    stock: int  # [mm]
    pieces: tuple[int, ...]  # [mm]
    left: int  # [mm] over at its end


@dataclass(frozen=True, slots=True)
class CuttingPlan:
    """How pipe of one kind is cut."""

    cuts: tuple[Cut, ...]
    bound: int  # [mm] that no plan buys less than
    status: Literal["optimal", "feasible"]

    @property
    def bought(self) -> int:
        """Length bought [mm]."""
        return sum(cut.stock for cut in self.cuts)

    @property
    def gap(self) -> int:
        """What a better plan could save at the most [mm]."""
        return self.bought - self.bound


def split_runs(lengths: Iterable[float], longest: float) -> tuple[tuple[int, ...], ...]:
    """Cut runs that are longer than the longest stock into as few pieces as can be: full lengths, then the rest.

    A run that one length holds is never pieced. Parameters: lengths [m]; longest, the longest stock [m]. Returns the
    pieces [mm] of each run, each rounded up.
    """
    most = round(longest * MM)
    found = []
    for length in lengths:
        whole = math.ceil(length * MM - 1e-6)
        found.append((most,) * (whole // most) + ((whole % most,) if whole % most else ()))
    return tuple(found)


def cut_pipe(pieces: Iterable[int], *, stocks: Sequence[float], kerf: float = 0.0) -> CuttingPlan:
    """Find the cutting plan that buys the least length.

    Parameters: pieces [mm], none longer than the longest stock; stocks, lengths sold [m]; kerf [m]. Errors: ValueError
    for a piece that no stock holds.
    """
    lengths = tuple(sorted({round(stock * MM) for stock in stocks}))
    wanted = tuple(sorted((piece for piece in pieces if piece > 0), reverse=True))
    if wanted and wanted[0] > lengths[-1]:
        raise ValueError(f"a piece of {wanted[0]} mm is longer than {lengths[-1]} mm, the longest stock")
    return _planned(wanted, lengths, math.ceil(kerf * MM - 1e-9))


@lru_cache(maxsize=4096)
def _planned(pieces: tuple[int, ...], stocks: tuple[int, ...], kerf: int) -> CuttingPlan:
    if not pieces:
        return CuttingPlan((), 0, "optimal")
    bound = least_bought(pieces, stocks, kerf)
    best = _quick(pieces, stocks, kerf, bound)
    if _length(best) > bound and len(pieces) <= MOST_DECIDED:
        columns, low = least_by_columns(pieces, stocks, kerf, start=[cut.pieces for cut in best])
        bound = max(bound, rounded_up(low, stocks))
        if _length(best) > bound:
            decided, proven = best_of_patterns(pieces, stocks, kerf, columns=columns, low=bound)
            best = min(best, _trimmed(decided, stocks, kerf), key=_length) if decided else best
            bound = _length(best) if proven else bound
    status: Literal["optimal", "feasible"] = "optimal" if _length(best) <= bound else "feasible"
    return CuttingPlan(tuple(sorted(best, key=lambda cut: (-cut.stock, cut.left))), bound, status)


def least_bought(pieces: Sequence[int], stocks: Sequence[int], kerf: int) -> int:
    """A length [mm] that no plan buys less than."""
    whole = sum(piece + kerf for piece in pieces)
    # a stick of L holds L + kerf, so per metre bought at most (L + kerf) / L, most of all the shortest
    low = -(-whole * stocks[0] // (stocks[0] + kerf))
    alone = [piece for piece in pieces if 2 * (piece + kerf) > stocks[-1] + kerf]
    apart = sum(min(stock for stock in stocks if stock >= piece) for piece in alone)
    return max(rounded_up(low, stocks), apart)


def rounded_up(length: float, stocks: Sequence[int]) -> int:
    """The least sum of stock lengths [mm] that is no less than a length, to the nearest thousandth of a millimetre."""
    target = math.ceil(length - 1e-3)
    longest = stocks[-1]
    full = max(0, target // longest - longest // stocks[0])
    sums = {full * longest}
    best: int | None = None
    while sums:
        reached = {one + stock for one in sums for stock in stocks}
        enough = [one for one in (*sums, *reached) if one >= target]
        best = min([*enough, *([best] if best is not None else [])], default=None)
        sums = {one for one in reached if one < target}
    return best if best is not None else 0


def _quick(pieces: tuple[int, ...], stocks: tuple[int, ...], kerf: int, bound: int) -> tuple[Cut, ...]:
    """The best of the quick plans: on each stock that holds every piece, ends cut anew from shorter ones."""
    best: tuple[Cut, ...] | None = None
    enough = bound if len(pieces) <= MANY else NEAR * bound
    for stock in (stock for stock in stocks[::-1] if stock >= pieces[0]):
        for fill in (first_fit, best_fit, filled):
            cuts = _trimmed(fill(pieces, stock, kerf), stocks, kerf)
            cuts = tuple(part for cut in cuts for part in _shorter(cut, stocks, kerf))
            best = cuts if best is None else min(best, cuts, key=_length)
            if _length(best) <= enough:
                return best
    assert best is not None
    return best


def _shorter(cut: Cut, stocks: tuple[int, ...], kerf: int) -> tuple[Cut, ...]:
    """The pieces of one stick cut from shorter ones, where that buys less."""
    below = [stock for stock in stocks if cut.pieces[0] <= stock < cut.stock]
    tries = [_trimmed(filled(cut.pieces, stock, kerf), stocks, kerf) for stock in below]
    return min([(cut,), *tries], key=_length)


def _length(cuts: Sequence[Cut]) -> int:
    return sum(cut.stock for cut in cuts)


def _trimmed(patterns: Iterable[Sequence[int]], stocks: Sequence[int], kerf: int) -> tuple[Cut, ...]:
    """Give each pattern the shortest stock that holds it."""
    cuts = []
    for pattern in patterns:
        used = sum(pattern) + kerf * (len(pattern) - 1)
        stock = next(length for length in stocks if length >= used)
        cuts.append(Cut(stock, tuple(sorted(pattern, reverse=True)), stock - used - min(kerf, stock - used)))
    return tuple(cuts)
