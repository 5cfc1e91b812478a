"""Labour of digging, trench by trench, from the packaged rates: the same that the build guide's steps are made of."""

from collections.abc import Sequence
from dataclasses import dataclass

from rillwright.model.guide import Work
from rillwright.model.labour import Labour
from rillwright.model.site import Yard
from rillwright.solvers.guide.nets import BEDDING, Dug
from rillwright.solvers.guide.site import RATED_COVER

__all__ = ["BY_MACHINE", "CREW", "DugWork", "dig_work", "errand_time"]

BY_MACHINE, BY_HAND = "dig by machine", "dig by hand"
CREW = 2  # people, as the build guide has it when nobody says otherwise


@dataclass(frozen=True, slots=True)
class DugWork:
    """A trench of the machine with its labour."""

    dug: Dug
    work: tuple[Work, ...]
    people: int
    by_hand: float  # [s] of the same by hand, at mean rates and with as many people

    @property
    def mean(self) -> float:
        """Time on site at mean rates [s]."""
        return sum(one.quantity * one.each.mean for one in self.work) / self.people


def dig_work(dug: Sequence[Dug], *, yard: Yard, labour: Labour) -> tuple[DugWork, ...]:
    """Labour of every trench that a machine digs; metres count by the depth of the trench."""
    deeper = (yard.rules.trench_depth + BEDDING) / (RATED_COVER + BEDDING)
    people = min(CREW, labour.steps[BY_MACHINE].hands)
    found = []
    for one in (one for one in dug if one.how == BY_MACHINE):
        metre, trench = labour.rates[BY_MACHINE, "metre", one.ground], labour.rates[BY_MACHINE, "trench", ""]
        work = (
            Work(
                per="metre",
                ground=one.ground,
                quantity=one.trench.length * deeper,
                each=metre.each,
                source=metre.source,
            ),
            Work(per="trench", ground="", quantity=1, each=trench.each, source=trench.source),
        )
        hand = labour.rates[BY_HAND, "metre", one.ground].each.mean * one.trench.length * deeper
        found.append(DugWork(one, work, people, hand / min(CREW, labour.steps[BY_HAND].hands)))
    return tuple(found)


def errand_time(labour: Labour) -> float:
    """Mean time of fetching the machine and bringing it back [s]."""
    return sum(
        labour.rates[step, "job", ""].each.mean / min(CREW, labour.steps[step].hands) for step in ("fetch", "return")
    )
