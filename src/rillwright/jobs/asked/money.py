"""What receipts and bills can hardly be: prices and sums far from the plan's, more back than bought, one twice."""

from collections.abc import Iterator

from rillwright.jobs.asked.question import Known, Question
from rillwright.jobs.carried import whole_list
from rillwright.model.field_log import Entry, MoneyPaid, PartsBought, PartsReturned, Repair

__all__ = ["money_questions"]

_MANY, _FEW = 5.0, 20.0  # times what the plan needs, from so many pieces or metres; judgement
_PRICE = 5.0  # times the plan's price, either way; judgement


def money_questions(entry: Entry, known: Known) -> Iterator[Question]:
    """Questions on parts and money."""
    what = entry.what
    if isinstance(what, PartsBought | PartsReturned):
        yield from _of_prices(what, known)
    if isinstance(what, PartsReturned):
        yield from _of_returns(what, known)
    if isinstance(what, MoneyPaid | Repair):
        yield from _of_sum(what.amount if isinstance(what, MoneyPaid) else what.cost, known)
    if isinstance(what, PartsBought | PartsReturned | MoneyPaid) and any(e.what == what for e in known.log):
        figure = f"the same {what.kind}"
        why = "an entry of the log says it already, to the cent"
        yield Question("same again", figure, why, "Look whether this receipt is in the log.")


def _of_returns(what: PartsReturned, known: Known) -> Iterator[Question]:
    own: dict[str, float] = {}
    for entry in known.log:
        if isinstance(entry.what, PartsBought | PartsReturned):
            sign = 1 if isinstance(entry.what, PartsBought) else -1
            whole = isinstance(entry.what, PartsBought) and entry.what.whole_list
            listed = whole_list(known.plan) if whole and known.plan is not None and known.plan.parts else []
            for part in (*listed, *entry.what.parts):
                own[part.part] = own.get(part.part, 0.0) + sign * part.amount
    for part in what.parts:
        if part.amount > own.get(part.part, 0.0) + 1e-9:
            figure, why = (
                f"{part.amount:g} of {part.part} taken back",
                f"the log has {own.get(part.part, 0.0):g} bought",
            )
            yield Question(
                "more back than bought", figure, why, "Write down what was bought first, or mend the number."
            )


def _of_sum(amount: float, known: Known) -> Iterator[Question]:
    cost = None if known.plan is None else known.plan.cost
    if cost is not None and amount > cost.total > 0:
        why = f"the whole plan costs {cost.total:.2f}"
        yield Question("great sum", f"{amount:.2f} at once", why, "Look at the point of the decimals.")


def _of_prices(what: PartsBought | PartsReturned, known: Known) -> Iterator[Question]:
    lines = {line.part: line for line in known.plan.parts} if known.plan else {}
    for part in what.parts:
        line = lines.get(part.part)
        if line is None:
            continue
        if part.amount > max(_MANY * line.quantity, _FEW):
            figure = f"{part.amount:g} of {part.part}"
            why = f"the plan needs {line.quantity:g}"
            yield Question("many parts", figure, why, "Look at number and length; write pieces, not packs.")
        if line.price > 0 and part.price > 0 and not 1 / _PRICE <= part.price / line.price <= _PRICE:
            figure = f"{part.part} at {part.price:.2f} a {line.unit}"
            why = f"the plan's price is {line.price:.2f}"
            yield Question("price", figure, why, "Write the price of one piece or one metre, not of the whole line.")
