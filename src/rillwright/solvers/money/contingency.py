"""What a job may come to: every uncertain price, quantity and hour drawn together, added up many times.

Of one draw,

    total = fixed + Σ parts + fees + by the metre + rent,   taxed where the law taxes
    part  = due · (1 + lost if it goes by pieces) · exp(σₛ Zₛ + σᵢ Zᵢ)
    rent  = least rent of ⌈hours / hours of a day⌉ days,   hours = soil · Σ quantity · rate

Zₛ is one standard normal for all prices (a dear shop), Zᵢ one for each part; a stated price is the median of what it
may become. lost, soil, fees and rates follow PERT's beta distributions of three points (see solvers/guide/finish).
Shared factors lie on a scrambled Sobol sequence, parts on a seeded generator: same seed, same draws. What is paid is
certain.

With prices alone a total is a sum of correlated log-normals, whose mean and variance are exact and whose quantiles
Fenton's match of moments gives closely; the tests compare with both (L. F. Fenton, "The sum of log-normal probability
distributions in scatter transmission systems", IRE Trans. CS-8 (1960) 57-67, from memory).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special, stats

from rillwright.model.guide import Estimate, Work
from rillwright.model.labour import Rent
from rillwright.model.money import Spreads, ThreePoint
from rillwright.solvers.guide.rent import least_rent

__all__ = ["DRAWS", "Digging", "Fee", "Priced", "Totals", "draw_totals", "rental_days"]

Floats = NDArray[np.float64]

DRAWS = 4096  # a power of two, as the Sobol sequence wants
_SHARED = 5  # factors: shop, lost, soil, by the metre, fees


@dataclass(frozen=True, slots=True)
class Priced:
    """Parts of one line still to be bought."""

    due: float  # [currency] at the stated price
    spread: float  # standard deviation of the logarithm of its price
    pieces: bool  # may be lost or broken; what goes by length has its offcuts


@dataclass(frozen=True, slots=True)
class Digging:
    """A rented machine's work still to be done."""

    work: Sequence[tuple[Work, float]]  # with the people at it
    fixed: float  # [s] of fetching and returning, at their mean
    day: float  # [s] of work that a day of rent gives
    rent: Rent


@dataclass(frozen=True, slots=True)
class Fee:
    """Money still due that strays by one of the shared factors."""

    kind: str
    due: float  # [currency]
    taxed: bool = False


@dataclass(frozen=True, slots=True)
class Totals:
    """Draws [currency] of what is still to be paid (n,), by kind of cost."""

    kinds: dict[str, Floats]

    @property
    def total(self) -> Floats:
        """Of all kinds together."""
        return np.asarray(sum(self.kinds.values()), dtype=np.float64)


def rental_days(hours: float, day: float) -> int:
    """Days of rent for so much work [s], with so much of it in a day [s].

    >>> rental_days(7.0, 7.0), rental_days(7.1, 7.0), rental_days(0.0, 7.0)
    (1, 2, 0)
    """
    return math.ceil(hours / day - 1e-9)


def draw_totals(
    parts: Sequence[Priced],
    *,
    digging: Digging | None,
    by_metre: Sequence[Fee],
    fees: Sequence[Fee],
    tax: float,
    spreads: Spreads,
    seed: int,
    draws: int = DRAWS,
) -> Totals:
    """Draw what is still to be paid.

    Parameters: parts; digging by a rented machine, if any; by_metre, trenches and moving paid by the metre or piece;
    fees; tax, a share of parts, rent and what says so; spreads, of the shared factors; seed; draws, a power of two.
    """
    unit = stats.qmc.Sobol(_SHARED, seed=seed).random(draws)
    rng = np.random.default_rng(seed)
    shops = np.exp(spreads.shop * special.ndtri(unit[:, 0]))
    points = (spreads.lost, spreads.soil, spreads.by_metre, spreads.fees)
    lost, soil, metre, fee = (_quantile(point, unit[:, column]) for column, point in enumerate(points, start=1))
    bought = np.zeros(draws)
    for one in parts:
        own = np.exp(one.spread * rng.standard_normal(draws))
        bought += one.due * (1 + lost if one.pieces else 1.0) * own * shops
    kinds: dict[str, Floats] = {"parts": bought}
    taxed = bought.copy()
    if digging is not None:
        kinds["rental"] = _rents(digging, soil, rng, draws)
        taxed += kinds["rental"]
    for group, factor in ((by_metre, metre), (fees, fee)):
        for charge in group:
            kinds[charge.kind] = kinds.get(charge.kind, np.zeros(draws)) + charge.due * factor
            taxed += charge.due * factor if charge.taxed else 0.0
    if tax:
        kinds["tax"] = tax * taxed
    return Totals(kinds)


def _rents(digging: Digging, soils: Floats, rng: np.random.Generator, draws: int) -> Floats:
    rates: dict[tuple[str, str], Floats] = {}
    hours = np.full(draws, digging.fixed)
    for work, people in digging.work:
        key = (work.per, work.ground)
        if key not in rates:
            rates[key] = _pert(work.each, rng.random(draws)) * soils
        hours += work.quantity * rates[key] / people
    days = np.ceil(hours / digging.day - 1e-9).astype(np.int64)
    known = {int(number): least_rent(int(number), digging.rent) for number in np.unique(days)}
    return np.array([known[int(number)] for number in days])


def _quantile(point: ThreePoint, at: Floats) -> Floats:
    return _pert(Estimate(low=point.low, likely=point.likely, high=point.high), at)


def _pert(estimate: Estimate, at: Floats) -> Floats:
    """Quantiles of PERT's beta distribution."""
    low, likely, high = estimate.low, estimate.likely, estimate.high
    if high <= low:
        return np.full(len(at), likely)
    first, second = (1 + 4 * gap / (high - low) for gap in (likely - low, high - likely))
    return low + (high - low) * np.asarray(special.betaincinv(first, second, at), dtype=np.float64)
