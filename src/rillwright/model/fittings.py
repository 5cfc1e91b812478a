"""Fittings by their mouths: what each joins, how far its centre lies from each joint, and what closes a joint.

Columns and words: docs/reference/fittings.md. SI throughout.
"""

import hashlib
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Literal, NamedTuple

from rillwright.data.tables import Row, read_table
from rillwright.model.site import PIPE_MATERIALS, PipeMaterial
from rillwright.physics.units import FOOT, parse

__all__ = [
    "BODIES",
    "GENDERS",
    "JOINS",
    "JOIN_OF",
    "STUB",
    "Body",
    "Fitting",
    "FittingTable",
    "Gender",
    "Join",
    "Joint",
    "Mouth",
    "Piece",
    "StockLength",
    "family_of",
    "load_fittings",
    "load_stock",
    "nominal",
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
GENDERS: tuple[Gender, ...] = ("male", "female")
JOIN_OF: dict[PipeMaterial, tuple[Join, ...]] = {  # the first is the usual one
    "PE": ("barb",),
    "PVC schedule 40": ("slip",),
    "PVC SDR-21": ("slip",),
    "PEX": ("crimp",),
    "copper L": ("solder", "press", "flare"),
    "copper M": ("solder", "press"),
}
STUB = 0.1  # [m] of a short piece of pipe between two fittings; common practice, no source
_OVER: tuple[Join, ...] = ("barb", "crimp")  # the pipe goes over the fitting


Piece = tuple[PipeMaterial, str]  # material and trade size of a pipe


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


@cache
def nominal(size: str) -> float:
    """Give the nominal width [m] of a trade size."""
    return parse(size, "bore")


def family_of(material: PipeMaterial) -> str:
    """How fittings name a pipe's material: one fitting serves all wall thicknesses of it.

    >>> family_of("PVC SDR-21"), family_of("PE")
    ('PVC', 'PE')
    """
    return material.split()[0]


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
    over: str  # pipe that a saddle sits on, such as 'PE 1 in'
    price: float | None  # [currency]; None where the price list has it
    source: str
    piece: Piece | None = None  # of a short piece of pipe, its material and size


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
    pieces: Mapping[Piece, Fitting] = field(default_factory=dict)  # short pieces of pipe between two fittings
    closing: Mapping[str, float] = field(default_factory=dict)  # price [currency] of what closes a joint
    key: str = ""  # digest of all that stands over it

    def __hash__(self) -> int:
        return hash(self.key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, FittingTable) and other.key == self.key

    def priced(self, prices: Mapping[str, float], pipes: Sequence[Piece]) -> "FittingTable":
        """Give fittings, what closes joints, and short pieces of pipe their prices [currency], by part."""
        priced = tuple(replace(f, price=prices.get(f.part, f.price)) for f in self.fittings)
        closers = sorted({joint.closed_by for joint in self.joints.values() if joint.closed_by})
        closing = {part: prices[part] for part in closers if part in prices}
        pieces = {piece: _piece(piece, prices) for piece in pipes}
        key = hashlib.sha256(repr((priced, closing, pieces)).encode()).hexdigest()
        return FittingTable(priced, self.joints, pieces, closing, key)

    def without(self, parts: Collection[str]) -> "FittingTable":
        """The table without some parts, its prices as they are."""
        left = tuple(fitting for fitting in self.fittings if fitting.part not in parts)
        return FittingTable(left, self.joints, self.pieces, self.closing, f"{self.key} without {sorted(parts)}")

    def closing_price(self, mouth: Mouth) -> float:
        """What a joint at a mouth takes [currency]: its clamp or ring."""
        return self.closing.get(self.joints[mouth.join, mouth.size].closed_by or "", 0.0)

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
    return FittingTable(fittings, joints)


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


def _piece(piece: Piece, prices: Mapping[str, float]) -> Fitting:
    """A short piece of pipe as a part with two mouths."""
    part = f"pipe {piece[0]} {piece[1]}"
    mouth, half = pipe_ends(*piece)[0], STUB / 2
    price = STUB * prices.get(part, 0.0)
    return Fitting(part, "piece of pipe", (mouth, mouth), (half, half), "", price, "its pipe's", piece)


def _fitting(row: Row) -> Fitting:
    numbers = [number for number in (1, 2, 3) if row.cells[f"end_{number}"]]
    return Fitting(
        part=row.text("part"),
        body=row.choice("body", BODIES),
        mouths=tuple(_mouth(row, f"end_{number}") for number in numbers),
        takeoffs=tuple(row.number(f"takeoff_{number}_mm", low=0.0, high=1e3) / 1e3 for number in numbers),
        over=row.cells["over"],
        price=row.optional("price", low=0.0),
        source=row.text("source"),
    )


def _mouth(row: Row, column: str) -> Mouth:
    """Read a mouth such as 'slip 1 in female'."""
    words = row.cells[column].split()
    join = next((word for word in JOINS if words and word == words[0]), None)
    gender = next((word for word in GENDERS if words and word == words[-1]), None)
    if join is None or gender is None or not _SIZE.fullmatch(" ".join(words[1:-1])):
        raise row.error(column, f"write join, size and gender, such as 'slip 1 in female'; joins: {', '.join(JOINS)}")
    return Mouth(join, " ".join(words[1:3]), gender)
