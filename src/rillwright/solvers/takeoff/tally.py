"""A tally of parts: what is counted, why and where, turned into priced lines at the end."""

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from rillwright.model.fittings import STUB, StockLength
from rillwright.model.parts import Price
from rillwright.model.placed import CutPiece, PipeCutting, PlacedPart, StockCut
from rillwright.model.plan import PartLine
from rillwright.physics.units import System, show
from rillwright.solvers.cutting import CuttingPlan, cut_pipe

__all__ = ["NO_PRICE", "WASTE", "Tally"]

PIPE = "pipe "
SPARED = (  # small parts that get lost or go wrong
    "tee ", "elbow ", "coupling ", "reducer ", "bushing ", "adapter ", "nipple ", "plug ", "clamp ", "crimp ring ",
    "splice", "nozzle ",
)  # fmt: skip

NO_PRICE = "no price: add it to your price file"
WASTE = 0.05  # share of wire and sleeve bought for offcuts, and of pipe by the metre; common practice, no source
_NAMED = 12  # ids shown for one reason


@dataclass(slots=True)
class _Count:
    unit: Literal["piece", "m"]
    quantity: float = 0.0
    owned: float = 0.0
    stubs: float = 0.0  # [m] of the quantity in short pieces between fittings
    priced_as: str | None = None
    reasons: dict[str, list[str]] = field(default_factory=dict)
    cuts: list["_Cuts"] = field(default_factory=list)


@dataclass(slots=True)
class _Cuts:
    """Pieces of pipe [mm] of one run, or of one upright."""

    pieces: list[int]
    where: tuple[tuple[str, float], ...]  # runs or place that they are of, with their lengths as drawn [m]
    why: str


class Tally:
    """Counts by part, in the order in which parts were first met."""

    def __init__(self, units: System) -> None:
        self._units: System = units
        self._counts: dict[str, _Count] = {}
        self.open: list[tuple[str, str]] = []  # where, and what no fittings join
        self.short: list[tuple[str, float]] = []  # runs, and by how much [m] they are too short for their fittings
        self.joints: Counter[tuple[str, str]] = Counter()  # made, by kind and size

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
        """Count a length [m]; `why` follows it as printed."""
        if length > 0:
            count = self._counts.setdefault(part, _Count("m"))
            count.quantity += length
            count.reasons.setdefault(f"{show(length, 'length', self._units)} {why}", [])

    def cut(self, part: str, pieces: Sequence[int], where: tuple[tuple[str, float], ...], why: str) -> None:
        """Note the pieces [mm] in which pipe counted by the metre is laid, of which runs they are, and why."""
        if pieces:  # none where a valve place stands at the entry itself
            self._counts[part].cuts.append(_Cuts(list(pieces), where, why))

    def stub(self, part: str, where: str, why: str) -> None:
        """Count a short piece of pipe between two fittings."""
        count = self._counts.setdefault(part, _Count("m"))
        count.quantity += STUB
        count.stubs += STUB
        count.reasons.setdefault("in short pieces between fittings", [])
        count.cuts.append(_Cuts([round(1000 * STUB)], ((where, STUB),), why))

    def own(self, parts: Iterable[str], number: int) -> None:
        """Mark pieces as already bought, part by part until they are used up."""
        for part in dict.fromkeys(parts):
            if part in self._counts:
                count = self._counts[part]
                used = min(number, int(count.quantity - count.owned))
                count.owned += used
                number -= used

    def own_metres(self, part: str, length: float, runs: Sequence[str]) -> None:
        """Mark a length [m] as already in the ground, in some runs of the plan: it needs no pieces and no offcuts."""
        if part not in self._counts:
            return
        count = self._counts[part]
        count.owned = min(count.owned + length, count.quantity)
        left = round(1000 * length)
        for cuts in (cuts for cuts in count.cuts if any(name in runs for name, _ in cuts.where)):
            while left > 0 and cuts.pieces:
                taken = min(left, cuts.pieces[-1])
                left -= taken
                cuts.pieces[-1] -= taken
                if cuts.pieces[-1] == 0:
                    cuts.pieces.pop()

    def pieces_of(self, part: str) -> tuple[tuple[int, str], ...]:
        """Every piece [mm] of a pipe still to be cut, and the run or place that it is for."""
        cuts = self._counts[part].cuts
        return tuple((piece, ", ".join(name for name, _ in one.where)) for one in cuts for piece in one.pieces)

    def laid(self) -> tuple[tuple[PlacedPart, float], ...]:
        """All pipe, by run or place, and its length as drawn [m]."""
        return tuple(
            (PlacedPart(part=part, where=name, why=cuts.why, number=len(cuts.pieces)), length)
            for part, count in self._counts.items()
            for cuts in count.cuts
            for name, length in cuts.where
        )

    @property
    def pipes(self) -> tuple[str, ...]:
        """Parts that are cut from sticks or coils."""
        return tuple(part for part in self._counts if part.startswith(PIPE))

    def cutting_plan(self, part: str, stock: Sequence[StockLength]) -> CuttingPlan:
        """How a pipe is cut from the lengths in which its material is sold."""
        sold = [one for one in stock if part.startswith(f"{PIPE}{one.material} ")]
        pieces = (piece for piece, _ in self.pieces_of(part))
        return cut_pipe(pieces, stocks=[one.length for one in sold], kerf=max(one.kerf for one in sold))

    def placed(self) -> tuple[PlacedPart, ...]:
        """Every piece that belongs to a place, counted by part, reason and place."""
        return tuple(
            PlacedPart(part=part, where=where, why=why, number=number)
            for part, count in self._counts.items()
            for why, places in count.reasons.items()
            for where, number in Counter(places).items()
        )

    def cuttings(self, stock: Sequence[StockLength]) -> tuple[PipeCutting, ...]:
        """How every pipe is cut, with what each piece is for."""
        return tuple(self._cutting(part, stock) for part in self.pipes)

    def _cutting(self, part: str, stock: Sequence[StockLength]) -> PipeCutting:
        sold = {round(1000 * one.length): one for one in stock if part.startswith(f"{PIPE}{one.material} ")}
        plan = self.cutting_plan(part, stock)
        uses: dict[int, list[str]] = {}
        for piece, where in self.pieces_of(part):
            uses.setdefault(piece, []).append(where)
        cuts = tuple(
            StockCut(
                form=sold[cut.stock].form,
                length=sold[cut.stock].length,
                pieces=tuple(CutPiece(length=piece / 1000, where=uses[piece].pop(0)) for piece in cut.pieces),
                left=cut.left / 1000,
            )
            for cut in plan.cuts
        )
        kerf = max(one.kerf for one in sold.values())
        return PipeCutting(part=part, cuts=cuts, kerf=kerf, bound=plan.bound / 1000, status=plan.status)

    def lines(
        self, prices: Mapping[str, Price], *, stock: Sequence[StockLength], spare: float = 0.0
    ) -> tuple[PartLine, ...]:
        """Write the tally as the list to be bought: pipe by stick or coil, small parts with their spares.

        Parameters: prices; a part without one costs 0 and says so; stock, lengths in which pipe is sold; spare, the
        share of small parts bought to have.
        """
        found = []
        for number, (part, count) in enumerate(self._counts.items(), start=1):
            if count.unit == "piece":
                spares = spares_of(part, count.quantity, spare)
                line = self._line(number, part, prices, count.quantity + spares, count.owned, _spares_told(spares))
                found.append(line.model_copy(update={"spare": float(spares)}) if spares else line)
            elif part.startswith(PIPE):
                found.append(self._pipe_line(number, part, prices, stock))
            else:
                found.append(self._by_the_metre(number, part, prices))
        return tuple(found)

    def needs(self, prices: Mapping[str, Price]) -> tuple[PartLine, ...]:
        """Write the tally as what is needed, without spares and with pipe by the metre: what a change is weighed by.

        The needs of two halves of a system add up to those of the whole, which what is bought by the coil does not.
        Short pieces between fittings come out of the offcuts.
        """
        return tuple(
            self._line(number, part, prices, count.quantity, count.owned, "")
            if count.unit == "piece"
            else self._by_the_metre(number, part, prices)
            for number, (part, count) in enumerate(self._counts.items(), start=1)
        )

    def _by_the_metre(self, number: int, part: str, prices: Mapping[str, Price]) -> PartLine:
        count, more = self._counts[part], 1 + WASTE
        told = f"with {WASTE:.0%} for offcuts"
        return self._line(number, part, prices, (count.quantity - count.stubs) * more, count.owned * more, told)

    def _pipe_line(self, number: int, part: str, prices: Mapping[str, Price], stock: Sequence[StockLength]) -> PartLine:
        owned = self._counts[part].owned
        bought = Counter(cut.stock for cut in self.cutting_plan(part, stock).cuts)
        sold = {round(1000 * one.length): one for one in stock if part.startswith(f"{PIPE}{one.material} ")}
        forms = []
        for length, n in sorted(bought.items(), reverse=True):
            long = show(sold[length].length, "length", self._units)
            forms.append(f"{n} {sold[length].form}{'s' if n != 1 else ''} of {long}")
        told = f"cut from {' and '.join(forms)}" if forms else "all of it in the ground"
        metres = sum(sold[length].length * n for length, n in bought.items())
        return self._line(number, part, prices, owned + metres, owned, told)

    def _line(
        self, number: int, part: str, prices: Mapping[str, Price], quantity: float, owned: float, told: str
    ) -> PartLine:
        count = self._counts[part]
        price = prices.get(part) or prices.get(count.priced_as or part)
        why = [self._reason(text, places) for text, places in count.reasons.items()]
        return PartLine(
            id=f"L{number}",
            part=part,
            unit=count.unit,
            quantity=quantity,
            owned=owned,
            price=price.price if price else 0.0,
            price_source=price.source if price else NO_PRICE,
            why="; ".join([*why, *([told] if told else [])]),
        )

    def _reason(self, text: str, places: list[str]) -> str:
        if not places:
            return text
        named = list(dict.fromkeys(places))
        more = f" and {len(named) - _NAMED} more" if len(named) > _NAMED else ""
        return f"{len(places)} {text}: {', '.join(named[:_NAMED])}{more}"


def spares_of(part: str, number: float, share: float) -> int:
    """Spare pieces of a part: its share of small parts, to the nearest whole; none of what is large or dear."""
    return math.floor(share * number + 0.5) if part.startswith(SPARED) else 0


def _spares_told(spares: int) -> str:
    return f"{spares} spare{'s' if spares != 1 else ''}" if spares else ""
