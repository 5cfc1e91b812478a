"""Fittings by their mouths: what each joins, how far its centre lies from each joint, and what closes a joint.

Columns and words: docs/reference/fittings.md. SI throughout.
"""

import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

from rillwright.data.tables import Row, read_table
from rillwright.model.parts import Price
from rillwright.model.site import PIPE_MATERIALS, PipeMaterial
from rillwright.physics.units import FOOT

__all__ = [
    "BODIES",
    "JOINS",
    "JOIN_OF",
    "Body",
    "Fitting",
    "FittingTable",
    "Gender",
    "Join",
    "Joint",
    "Mouth",
    "StockLength",
    "load_fittings",
    "load_stock",
    "pipe_ends",
]

Join = Literal["thread", "slip", "solder", "barb", "crimp", "press", "flare"]
Gender = Literal["male", "female"]
Body = Literal[
    "tee",
    "elbow",
    "elbow 45",
    "coupling",
    "reducer",
    "bushing",
    "adapter",
    "nipple",
    "union",
    "saddle",
    "plug",
    "valve",
    "swing joint",
    "drain valve",
    "blow-out fitting",
    "piece of pipe",
]
JOINS: tuple[Join, ...] = ("thread", "slip", "solder", "barb", "crimp", "press", "flare")
BODIES: tuple[Body, ...] = (
    "tee", "elbow", "elbow 45", "coupling", "reducer", "bushing", "adapter", "nipple", "union", "saddle", "plug",
    "valve", "swing joint", "drain valve", "blow-out fitting",
)  # fmt: skip
_SIZE = re.compile(r"(\d+|\d+/\d+|\d+-\d+/\d+) in")
_GENDERS: tuple[Gender, ...] = ("male", "female")
JOIN_OF: dict[PipeMaterial, tuple[Join, ...]] = {  # the first is the usual one
    "PE": ("barb",),
    "PVC schedule 40": ("slip",),
    "PVC SDR-21": ("slip",),
    "PEX": ("crimp",),
    "copper L": ("solder", "press", "flare"),
    "copper M": ("solder", "press"),
}
_OVER: tuple[Join, ...] = ("barb", "crimp")  # the pipe goes over the fitting


class Mouth(NamedTuple):
    """One end of a part: how it joins, its trade size, and whether it goes in or over."""

    join: Join
    size: str
    gender: Gender

    @property
    def mate(self) -> "Mouth":
        """The mouth that fits it."""
        return Mouth(self.join, self.size, "female" if self.gender == "male" else "male")

    def __str__(self) -> str:
        return f"{self.join} {self.size} {self.gender}"


def pipe_ends(material: PipeMaterial, size: str) -> tuple[Mouth, ...]:
    """What the end of a pipe may be joined as, the usual way first."""
    return tuple(Mouth(join, size, "female" if join in _OVER else "male") for join in JOIN_OF[material])


@dataclass(frozen=True, slots=True)
class Fitting:
    """A part with mouths. Of a tee the first two lie in line and the third is the branch; a saddle has its branch only.

    A take-off is the way from the centre to the joint: where the tip of what is pushed or screwed in comes to rest,
    or where a pipe that goes over a barb ends. It is the centre's own to choose, so that only their sum counts where
    a fitting has two mouths in line.
    """

    part: str  # as the parts list spells it
    body: Body
    mouths: tuple[Mouth, ...]
    takeoffs: tuple[float, ...]  # [m] from the centre to the joint, by mouth
    price: float | None  # [currency]; None where the price list has it
    source: str


@dataclass(frozen=True, slots=True)
class Joint:
    """A kind of joint in one size."""

    depth: float  # [m] that the male goes into the female
    closed_by: str | None  # part that each joint takes: a clamp, a ring
    source: str


@dataclass(frozen=True, slots=True, eq=False)
class FittingTable:
    """All fittings and joints on the shelf; two tables of the same rows and prices are equal."""

    fittings: tuple[Fitting, ...]
    joints: Mapping[tuple[Join, str], Joint]
    key: str  # digest of rows and prices

    def __hash__(self) -> int:
        return hash(self.key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, FittingTable) and other.key == self.key

    def priced(self, prices: Mapping[str, Price]) -> "FittingTable":
        """Give every fitting the price of a price list."""
        priced = tuple(replace(f, price=prices[f.part].price if f.part in prices else f.price) for f in self.fittings)
        return FittingTable(priced, self.joints, _digest(priced))

    def depth(self, mouth: Mouth) -> float:
        """How far [m] the male goes into the female at a mouth: socket depth, thread engagement, length on a barb."""
        return self.joints[mouth.join, mouth.size].depth

    def of(self, part: str) -> Fitting:
        """The fitting of a name. Errors: KeyError when the table has none."""
        found = next((fitting for fitting in self.fittings if fitting.part == part), None)
        if found is None:
            raise KeyError(part)
        return found


@dataclass(frozen=True, slots=True)
class StockLength:
    """A length in which pipe of a material is sold."""

    material: PipeMaterial
    form: Literal["stick", "coil"]
    length: float  # [m]
    kerf: float  # [m] lost at each cut
    source: str


def load_fittings() -> FittingTable:
    """Read the packaged fittings and joints. Errors: TableError."""
    joints = {
        (row.choice("join", JOINS), row.text("size")): Joint(
            row.number("depth_mm", low=0.1, high=500.0) / 1e3, row.cells["closed_by"] or None, row.text("source")
        )
        for row in read_table("joints")
    }
    fittings = tuple(_fitting(row) for row in read_table("fittings"))
    return FittingTable(fittings, joints, _digest(fittings))


def load_stock() -> tuple[StockLength, ...]:
    """Read the packaged lengths in which pipe is sold. Errors: TableError."""
    forms: tuple[Literal["stick", "coil"], ...] = ("stick", "coil")
    return tuple(
        StockLength(
            material=row.choice("material", PIPE_MATERIALS),
            form=row.choice("form", forms),
            length=row.number("length_ft", low=1.0, high=2000.0) * FOOT,
            kerf=row.number("kerf_mm", low=0.0, high=20.0) / 1e3,
            source=row.text("source"),
        )
        for row in read_table("stock")
    )


def _digest(fittings: tuple[Fitting, ...]) -> str:
    return hashlib.sha256(repr(fittings).encode()).hexdigest()


def _fitting(row: Row) -> Fitting:
    numbers = [number for number in (1, 2, 3) if row.cells[f"end_{number}"]]
    return Fitting(
        part=row.text("part"),
        body=row.choice("body", BODIES),
        mouths=tuple(_mouth(row, f"end_{number}") for number in numbers),
        takeoffs=tuple(row.number(f"takeoff_{number}_mm", low=0.0, high=1e3) / 1e3 for number in numbers),
        price=row.optional("price", low=0.0),
        source=row.text("source"),
    )


def _mouth(row: Row, column: str) -> Mouth:
    """Read a mouth such as 'slip 1 in female'."""
    words = row.cells[column].split()
    join = next((word for word in JOINS if words and word == words[0]), None)
    gender = next((word for word in _GENDERS if words and word == words[-1]), None)
    if join is None or gender is None or not _SIZE.fullmatch(" ".join(words[1:-1])):
        raise row.error(column, f"write join, size and gender, such as 'slip 1 in female'; joins: {', '.join(JOINS)}")
    return Mouth(join, " ".join(words[1:3]), gender)
