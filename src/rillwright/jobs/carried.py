"""The field log of a job, in the words of the plan that a change made of the one it was written for.

What was bought, dug and buried stays so. A whole parts list that was bought is that of the plan of its day; a trench
that the change digs up again, or gives up, is no longer closed, nor ticked off.
"""

from collections.abc import Iterable, Sequence

from rillwright.errors import InputError
from rillwright.model.change import Earlier
from rillwright.model.field_log import BoughtPart, Entry, PartsBought, Ticked, TrenchWork, Written, standing
from rillwright.model.plan import Plan
from rillwright.solvers.guide.keys import filled_key, trench_key

__all__ = ["carried", "earlier_of", "whole_list"]


def carried(plan: Plan, entries: Iterable[Entry]) -> list[Entry]:
    """What counts of a log, as it stands to a plan: entries from before a change say what they still say after it."""
    earlier = plan.change.earlier if plan.change else ()
    found = []
    for entry in standing(entries):
        then = [one for one in earlier if (entry.corrects or entry.id) in one.entries]
        what = _still(entry.what, then, plan) if then else entry.what
        if what is not None:
            found.append(entry if what is entry.what else entry.model_copy(update={"what": what}))
    return found


def earlier_of(plan: Plan, entries: Iterable[Entry], *, again: Sequence[str]) -> tuple[Earlier, ...]:
    """What a change of a plan has to know of it. Parameters: entries, that count; again, trenches dug up again."""
    ids = tuple(entry.corrects or entry.id for entry in entries)
    own = Earlier(entries=ids, parts=tuple(whole_list(plan)) if plan.parts else (), again=tuple(again))
    return (*(plan.change.earlier if plan.change else ()), own)


def whole_list(plan: Plan) -> list[BoughtPart]:
    """The plan's list, what is owned left out, as if it stood on a receipt.

    Errors: InputError when the plan has none.
    """
    if not plan.parts:
        raise InputError("The log says that the whole parts list was bought, and the plan has none.")
    found = []
    for line in (line for line in plan.parts if line.quantity - line.owned > 1e-9):
        number = line.quantity - line.owned
        measure = {"length": number} if line.unit == "m" else {"pieces": round(number)}
        found.append(BoughtPart.model_validate({"part": line.part, "price": line.price} | measure))
    return found


def _still(what: Written, then: Sequence[Earlier], plan: Plan) -> Written | None:
    """What an entry from before still says; None when it says nothing of this plan."""
    if isinstance(what, PartsBought) and what.whole_list:
        return what.model_copy(update={"whole_list": False, "parts": [*then[0].parts, *what.parts]})
    dug = {name for one in then for name in one.again}
    if isinstance(what, TrenchWork):
        stay = [trench.id for trench in plan.trenches if trench.id not in dug]
        names = [name for name in what.trenches if name in stay]
        return what.model_copy(update={"trenches": names}) if names else None
    if isinstance(what, Ticked):
        again = [trench for trench in plan.trenches if trench.id in dug]
        undone = {key for one in again for key in (trench_key(one), filled_key(one))}
        more = plan.change is not None and plan.change.bought
        return None if what.item in undone or (what.item == "parts" and more) else what
    return what
