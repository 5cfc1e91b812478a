"""How a plan keeps heads from misting and the house within its code where the street gives much. SI."""

from pydantic import BaseModel, ConfigDict

from rillwright.model.site import RegulationPlace
from rillwright.physics.units import PSI

__all__ = [
    "FALL_OFF",
    "HIGHEST_SETTING",
    "HIGHEST_STATIC",
    "REGULATORS",
    "Fitted",
    "Regulation",
    "RegulationOption",
    "ZoneRegulation",
]

HIGHEST_STATIC = 80 * PSI  # [Pa] over which codes ask for a pressure reducing valve: IPC 604.8, UPC 608.2, from memory
HIGHEST_SETTING = 75 * PSI  # [Pa] of a usual pressure reducing valve, with nothing running; from memory
REGULATORS: dict[RegulationPlace, str] = {
    "source": "pressure reducing valve",
    "valve": "regulator on a zone valve",
    "head": "regulator in a head",
}
FALL_OFF = 10 * PSI  # [Pa] that it gives less while water runs; typical of the class, from memory


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class ZoneRegulation(_Frozen):
    """One zone with its supply at the top of its band."""

    zone: str
    limit: float  # [Pa] over which its first nozzle mists: the end of that nozzle's chart
    by_hand: float  # [Pa] highest head pressure with nothing but the flow control, set for the expected supply
    after: float  # [Pa] highest head pressure as planned


class RegulationOption(_Frozen):
    """One way to take the pressure down."""

    at: RegulationPlace
    pieces: int
    price: float  # [currency] of one
    works: bool
    note: str  # why it does not work, or what it does

    @property
    def cost(self) -> float:
        """Cost of its parts [currency]."""
        return self.pieces * self.price


class Fitted(_Frozen):
    """Regulators of one kind to buy."""

    at: RegulationPlace
    where: tuple[str, ...]  # ids of zones or heads, or 'water entry'


class Regulation(_Frozen):
    """What was chosen, and why."""

    at: RegulationPlace | None  # None when the flow controls suffice
    by_code: bool  # a pressure reducing valve because of the static pressure
    lets_through: float | None  # [Pa] through the pressure reducing valve while water runs
    static: float  # [Pa] at the entry with nothing running, expected, before any valve
    fitted: tuple[Fitted, ...]  # to buy
    zones: tuple[ZoneRegulation, ...]
    options: tuple[RegulationOption, ...]  # compared where heads would mist

    @property
    def fitted_at(self) -> dict[str, RegulationPlace]:
        """Where each regulator stands, by the zone, head or water entry that it is for."""
        return {name: item.at for item in self.fitted for name in item.where}

    @property
    def at_source(self) -> bool:
        """Whether a pressure reducing valve stands before the main."""
        return self.lets_through is not None
