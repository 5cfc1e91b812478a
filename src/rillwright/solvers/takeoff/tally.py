"""A tally of parts: what is counted, why and where, turned into priced lines at the end."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from rillwright.model.parts import Price
from rillwright.model.plan import PartLine
from rillwright.physics.units import System, show

__all__ = ["NO_PRICE", "WASTE", "Placed", "Tally"]

NO_PRICE = "no price: add it to your price file"
WASTE = 0.05  # share of pipe, wire and sleeve bought for offcuts; common practice, no source
_NAMED = 12  # ids shown for one reason


@dataclass(slots=True)
class _Count:
    unit: Literal["piece", "m"]
    quantity: float = 0.0
    owned: float = 0.0
    priced_as: str | None = None
    reasons: dict[str, list[str]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Placed:
    """Pieces of one part at one place."""

    part: str
    why: str
    where: str
    number: int


class Tally:
    """Counts by part, in the order in which parts were first met."""

    def __init__(self, units: System) -> None:
        self._units: System = units
        self._counts: dict[str, _Count] = {}

    def pieces(self, part: str, why: str, where: Sequence[str], *, each: int = 1, priced_as: str | None = None) -> None:
        """Count `each` pieces at every id in `where`; `priced_as` names another part that holds its price."""
        if where and each:
            count = self._counts.setdefault(part, _Count("piece", priced_as=priced_as))
            count.quantity += each * len(where)
            count.reasons.setdefault(why, []).extend(name for name in where for _ in range(each))

    def bulk(self, part: str, number: int, why: str) -> None:
        """Count pieces that belong to no place."""
        if number:
            count = self._counts.setdefault(part, _Count("piece"))
            count.quantity += number
            count.reasons.setdefault(why, [])

    def metres(self, part: str, length: float, why: str) -> None:
        """Count a length [m], to which waste is added; `why` follows the printed length."""
        if length > 0:
            count = self._counts.setdefault(part, _Count("m"))
            count.quantity += length * (1 + WASTE)
            count.reasons.setdefault(f"{show(length, 'length', self._units)} {why}", [])

    def own(self, parts: Iterable[str], number: int) -> None:
        """Mark pieces as already bought, part by part until they are used up."""
        for part in dict.fromkeys(parts):
            if part in self._counts:
                count = self._counts[part]
                used = min(number, int(count.quantity - count.owned))
                count.owned += used
                number -= used

    def own_metres(self, part: str, length: float) -> None:
        """Mark a length [m] as already in the ground; it needs no offcuts."""
        if part in self._counts:
            count = self._counts[part]
            count.owned = min(count.owned + length * (1 + WASTE), count.quantity)

    def placed(self) -> tuple[Placed, ...]:
        """Every piece that belongs to a place, counted by part, reason and place."""
        return tuple(
            Placed(part, why, where, number)
            for part, count in self._counts.items()
            for why, places in count.reasons.items()
            for where, number in Counter(places).items()
        )

    def lines(self, prices: Mapping[str, Price]) -> tuple[PartLine, ...]:
        """Write the tally with prices; a part without one costs 0 and says so."""
        return tuple(self._line(number, part, prices) for number, part in enumerate(self._counts, start=1))

    def _line(self, number: int, part: str, prices: Mapping[str, Price]) -> PartLine:
        count = self._counts[part]
        price = prices.get(part) or prices.get(count.priced_as or part)
        why = "; ".join(self._reason(text, places) for text, places in count.reasons.items())
        return PartLine(
            id=f"L{number}",
            part=part,
            unit=count.unit,
            quantity=count.quantity,
            owned=count.owned,
            price=price.price if price else 0.0,
            price_source=price.source if price else NO_PRICE,
            why=f"{why}; with {WASTE:.0%} for offcuts" if count.unit == "m" else why,
        )

    def _reason(self, text: str, places: list[str]) -> str:
        if not places:
            return text
        named = list(dict.fromkeys(places))
        more = f" and {len(named) - _NAMED} more" if len(named) > _NAMED else ""
        return f"{len(places)} {text}: {', '.join(named[:_NAMED])}{more}"
