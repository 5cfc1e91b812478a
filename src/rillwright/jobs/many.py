"""Many yards, each planned by itself, spread over any executor: processes of this machine, or a cluster of machines."""

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor, as_completed
from dataclasses import dataclass

from rillwright.errors import RillwrightError
from rillwright.jobs.plan import make_plan
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.model.site import Yard

__all__ = ["Outcome", "plan_many"]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one yard."""

    number: int  # its place in the list of yards
    plan: Plan | None
    error: str = ""  # why there is no plan


def plan_many(
    yards: Sequence[Yard], catalogue: Catalogue, *, seed: int = 0, executor: Executor | None = None
) -> Iterator[Outcome]:
    """Plan each yard, and give what came of it as soon as it is known; a yard that fails stops no other.

    Parameters: executor, any that follows `concurrent.futures`; without one the yards are planned here, in their order.
    The plans do not depend on the executor. What it loses, as when its processes are stopped, is planned here
    in the end.
    """
    if executor is None:
        yield from (_planned(number, yard, catalogue, seed) for number, yard in enumerate(yards))
        return
    waiting = {executor.submit(_planned, n, yard, catalogue, seed): n for n, yard in enumerate(yards)}
    lost: list[int] = []
    try:
        for future in as_completed(waiting):
            if future.exception() is None:
                yield future.result()
            else:
                lost.append(waiting[future])
    finally:
        for future in waiting:
            future.cancel()
    yield from (_planned(number, yards[number], catalogue, seed) for number in sorted(lost))


def _planned(number: int, yard: Yard, catalogue: Catalogue, seed: int) -> Outcome:
    try:
        return Outcome(number, make_plan(yard, catalogue, seed=seed))
    except RillwrightError as error:
        return Outcome(number, None, str(error))
