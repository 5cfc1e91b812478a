"""Which lawns may share a zone: those whose heads put water on at rates that match.

Heads of one zone run for one time, so over the ground that each wets their precipitation must be alike. Within a lawn
the layout sees to that, nozzle by arc. Lawns of one head class and hydrozone are put together, the slowest first, as
long as quickest over slowest head keeps within MATCHED of the class; a lawn that goes beyond by itself is joined by
those within its range only. The fewest bands for lawns that are each narrow; no seed.
"""

from collections.abc import Sequence
from itertools import groupby

from rillwright.model.catalogue import MATCHED, precipitation_of
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head
from rillwright.model.site import HeadClass

__all__ = ["rate_bands"]

_SLACK = 1 + 1e-9  # on rates that are alike but for rounding


def rate_bands(heads: Sequence[Head], catalogue: Catalogue) -> dict[str, int]:
    """Number of the band that each lawn belongs to, by lawn; bands count from 1 for each class and hydrozone.

    Parameters: heads, as laid out; a lawn has one class and hydrozone.
    """
    bands: dict[str, int] = {}
    for (head_class, _), ranges in _ranges(heads, catalogue).items():
        number, low, high = 0, 0.0, 0.0
        for least, most, lawn in ranges:
            if number == 0 or max(high, most) > max(low * MATCHED[head_class], high) * _SLACK:
                number, low, high = number + 1, least, most
            high = max(high, most)
            bands[lawn] = number
    return bands


def _ranges(heads: Sequence[Head], catalogue: Catalogue) -> dict[tuple[HeadClass, str], list[tuple[float, float, str]]]:
    """By class and hydrozone its lawns, the slowest first: slowest rate, quickest [m/s] and name."""
    found: dict[tuple[HeadClass, str], list[tuple[float, float, str]]] = {}
    for lawn, own in groupby(sorted(heads, key=lambda head: head.lawn), key=lambda head: head.lawn):
        first, *rest = own
        rates = [precipitation_of(catalogue.nozzles[head.nozzle], head) for head in (first, *rest)]
        found.setdefault((first.head_class, first.hydrozone), []).append((min(rates), max(rates), lawn))
    return {key: sorted(lawns) for key, lawns in found.items()}
