"""The supply fitted anew with the readings taken in the field since the plan was made."""

from dataclasses import dataclass

from rillwright.model.parts import Catalogue
from rillwright.model.site import Measurement, Yard
from rillwright.physics.units import show
from rillwright.solvers.supply import SupplyFit, fit_supply

__all__ = ["Refit", "refit"]

_DOUBT = 0.01  # chance below which old and new readings are taken to tell of two different supplies


@dataclass(frozen=True, slots=True)
class Refit:
    """The supply as it is now."""

    yard: Yard  # with the readings that count
    fit: SupplyFit
    words: str


def refit(yard: Yard, tests: tuple[Measurement, ...], catalogue: Catalogue, *, seed: int) -> Refit:
    """Fit the supply to the yard's readings and those of the log; to the latter alone where the two contradict.

    They contradict when readings as far apart would come of their stated errors once in a hundred times or less.
    """
    if not tests:
        return Refit(yard, fit_supply(yard, catalogue, seed=seed), "The log holds no reading of the supply.")
    both = yard.model_copy(update={"supply": [*yard.supply, *tests]})
    fit = fit_supply(both, catalogue, seed=seed)
    number = f"{len(tests)} reading{'' if len(tests) == 1 else 's'} of the log"
    if fit.strain.chance >= _DOUBT or not yard.supply:
        return Refit(both, fit, f"The supply is fitted to the plan's readings and {number} together.")
    alone = yard.model_copy(update={"supply": list(tests)})
    chance = show(_DOUBT, "share", yard.units)
    words = (
        f"{number[0].upper()}{number[1:]} and the readings of the plan contradict each other (chance under {chance} "
        "that both are right within their errors): the supply is fitted to those of the log alone."
    )
    return Refit(alone, fit_supply(alone, catalogue, seed=seed), words)
