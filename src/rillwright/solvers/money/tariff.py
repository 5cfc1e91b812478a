"""What water costs by a block tariff.

The bill of one period for a volume v, with blocks that end at e₁ < e₂ < ... and cost p₁, p₂ ... a unit:

    bill(v) = fixed + Σᵢ pᵢ · max(0, min(v, eᵢ) - eᵢ₋₁),   e₀ = 0, the last block without end

What the yard's water adds is bill(house + yard) - bill(house): the house drinks first, the yard gets the dear blocks.
Source: block rates as utilities publish them; common practice, no source.
"""

import math
from bisect import bisect_left
from collections.abc import Sequence
from itertools import pairwise

__all__ = ["block_bill", "top_price"]


def block_bill(volume: float, *, ends: Sequence[float], prices: Sequence[float], fixed: float = 0.0) -> float:
    """Bill of one period [currency].

    Parameters: volume [m³]; ends [m³] of all blocks but the last, rising; prices [currency/m³] of every block; fixed
    [currency].

    >>> block_bill(25.0, ends=[10.0, 20.0], prices=[1.0, 2.0, 4.0], fixed=8.0)
    58.0
    """
    bounds = [0.0, *ends, math.inf]
    used = (max(0.0, min(volume, end) - start) for start, end in pairwise(bounds))
    return fixed + sum(price * part for price, part in zip(prices, used, strict=True))


def top_price(volume: float, *, ends: Sequence[float], prices: Sequence[float]) -> float:
    """Price [currency/m³] of the last unit of a volume [m³].

    >>> top_price(20.0, ends=[10.0, 20.0], prices=[1.0, 2.0, 4.0])
    2.0
    """
    return prices[bisect_left(list(ends), volume)]
