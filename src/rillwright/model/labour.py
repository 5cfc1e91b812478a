"""What the packaged tables say of building: steps, how long they take, what they wait for, cautions, rents."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from rillwright.data.tables import Row, read_table
from rillwright.model.guide import Caution, Estimate, Wait

__all__ = ["Labour", "Rate", "Rent", "StepWords", "load_labour"]

MINUTE = 60.0


@dataclass(frozen=True, slots=True)
class Rate:
    """What one of something takes one person."""

    each: Estimate  # [s]
    source: str


@dataclass(frozen=True, slots=True)
class StepWords:
    """What is said of a kind of step."""

    title: str  # '{name}' stands for what it is done to
    tools: tuple[str, ...]
    before: tuple[str, ...]
    ends: str
    weather: str
    hands: int
    cautions: tuple[str, ...]
    source: str


@dataclass(frozen=True, slots=True)
class Rent:
    """What a machine costs [currency]."""

    day: float
    week: float
    source: str


@dataclass(frozen=True, slots=True)
class Labour:
    """All of it."""

    steps: Mapping[str, StepWords]
    rates: Mapping[tuple[str, str, str], Rate]  # by step, per and ground
    waits: Mapping[str, Wait]
    cautions: Mapping[str, Caution]
    rents: Mapping[str, Rent]
    lost_days: tuple[float, ...]  # chance that weather takes a day, January first
    marks: Mapping[str, str]  # what the colours on the ground mean


@cache
def load_labour() -> Labour:
    """Read the packaged tables."""
    return Labour(
        steps={row.text("step"): _words(row) for row in read_table("steps")},
        rates={(r.text("step"), r.text("per"), r.cells["ground"]): _rate(r) for r in read_table("work")},
        waits={row.text("wait"): _wait(row) for row in read_table("waits")},
        cautions={row.text("caution"): _caution(row) for row in read_table("cautions")},
        rents={row.text("machine"): _rent(row) for row in read_table("rentals")},
        lost_days=tuple(row.number("chance", low=0, high=0.95) for row in read_table("lost_days")),
        marks={row.text("colour"): row.text("what") for row in read_table("marks")},
    )


def _estimate(row: Row, unit: str, factor: float) -> Estimate:
    low = row.number(f"low_{unit}", low=0)
    likely = row.number(f"likely_{unit}", low=low)
    return Estimate(low=low, likely=likely, high=row.number(f"high_{unit}", low=likely)).times(factor)


def _rate(row: Row) -> Rate:
    return Rate(_estimate(row, "min", MINUTE), row.text("source"))


def _wait(row: Row) -> Wait:
    days = _estimate(row, "days", 1.0)
    return Wait(name=row.text("wait"), days=days, why=row.text("why"), source=row.text("source"))


def _caution(row: Row) -> Caution:
    return Caution(name=row.text("caution"), words=row.text("words"), source=row.text("source"))


def _rent(row: Row) -> Rent:
    return Rent(row.number("day", low=0), row.number("week", low=0), row.text("source"))


def _words(row: Row) -> StepWords:
    return StepWords(
        title=row.text("title"),
        tools=_listed(row, "tools"),
        before=_listed(row, "before"),
        ends=row.text("ends"),
        weather=row.text("weather"),
        hands=int(row.number("hands", low=1, high=12)),
        cautions=_listed(row, "cautions"),
        source=row.text("source"),
    )


def _listed(row: Row, column: str) -> tuple[str, ...]:
    """Texts parted by semicolons."""
    return tuple(part.strip() for part in row.cells[column].split(";") if part.strip())
