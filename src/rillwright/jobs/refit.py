"""The supply fitted anew with the readings taken in the field since the plan was made."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from rillwright.model.parts import Catalogue
from rillwright.model.site import Measurement, Yard
from rillwright.physics.units import show
from rillwright.solvers.supply import SupplyFit, fit_supply

__all__ = ["Refit", "refit", "same_measurement"]

_DOUBT = 0.01  # chance below which old and new readings are taken to tell of two different supplies
_ROUNDED = 1e-5  # share by which a value typed in one unit and written to six figures in another may differ


@dataclass(frozen=True, slots=True)
class Refit:
    """The supply as it is now."""

    yard: Yard  # with the readings that count
    fit: SupplyFit
    words: str
    fresh: tuple[Measurement, ...] = ()  # of the log, that the yard does not hold
    contradicted: bool = False  # the yard's own readings, which are left out


def refit(yard: Yard, tests: Sequence[Measurement], catalogue: Catalogue, *, seed: int) -> Refit:
    """Fit the supply to the yard's readings and those of the log; to the latter alone where the two contradict.

    A test of the log that was put into the yard counts once. They contradict when readings as far apart would come of
    their stated errors once in a hundred times or less.
    """
    fresh = _fresh(yard.supply, tests)
    if not fresh:
        words = "The plan was made with every supply test of the log." if tests else "The log holds no supply test."
        return Refit(yard, fit_supply(yard, catalogue, seed=seed), words)
    both = yard.model_copy(update={"supply": [*yard.supply, *fresh]})
    fit = fit_supply(both, catalogue, seed=seed)
    if fit.strain.chance >= _DOUBT or not yard.supply:
        words = f"The supply is fitted to the plan's readings and {_readings(fresh)} of the log together."
        return Refit(both, fit, words, fresh)
    alone = yard.model_copy(update={"supply": list(tests)})
    chance = show(_DOUBT, "share", yard.units)
    number = _readings(tests)
    words = (
        f"{number[0].upper()}{number[1:]} of the log and the readings of the plan contradict each other (chance under "
        f"{chance} that both are right within their errors): the supply is fitted to those of the log alone."
    )
    return Refit(alone, fit_supply(alone, catalogue, seed=seed), words, fresh, contradicted=True)


def same_measurement(one: Measurement, other: Measurement) -> bool:
    """Whether two measurements are one, but for the rounding of a unit."""
    return one.kind == other.kind and _alike(one.model_dump(), other.model_dump())


def _alike(one: object, other: object) -> bool:
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(_alike(value, other[key]) for key, value in one.items())
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(_alike, one, other))
    if isinstance(one, float | int) and isinstance(other, float | int):
        return math.isclose(one, other, rel_tol=_ROUNDED)
    return one == other


def _fresh(known: Sequence[Measurement], tests: Sequence[Measurement]) -> tuple[Measurement, ...]:
    """Tests that are not among the known, each of which stands for one test."""
    left, fresh = list(known), []
    for test in tests:
        twin = next((row for row, item in enumerate(left) if same_measurement(item, test)), None)
        if twin is None:
            fresh.append(test)
        else:
            del left[twin]
    return tuple(fresh)


def _readings(tests: Sequence[Measurement]) -> str:
    return f"{len(tests)} reading{'' if len(tests) == 1 else 's'}"
