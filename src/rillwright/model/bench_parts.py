"""Devices of a valve manifold with the room they take, and the boxes that go over one. SI.

How long a fitting or valve is from joint to joint stands in the table of fittings; what it takes
up besides stands here.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from rillwright.data.tables import Row, read_table, read_user_table
from rillwright.errors import InputError
from rillwright.physics.units import INCH

__all__ = ["TRADE_SIZES", "BenchBodies", "Body", "Cover", "load_bodies"]

_BODIES = (
    "in-line valve",
    "valve with vacuum breaker",
    "atmospheric vacuum breaker",
    "pressure vacuum breaker",
    "isolating valve",
    "drain valve",
    "blow-out fitting",
    "union",
)
TRADE_SIZES = ("1/2 in", "3/4 in", "1 in", "1-1/4 in", "1-1/2 in", "2 in", "2-1/2 in", "3 in", "4 in")
_SIZES = ("length", "reach", "rise", "width", "above", "below", "swing", "critical")
_OWN_COLUMNS = (("body",), ("trade_size",), *((f"{name}_in", f"{name}_mm") for name in _SIZES), ("source",))


@dataclass(frozen=True, slots=True)
class Body:
    """The room that a device takes. One that stands upright has its inlet below, and `reach`, `rise` and `critical`."""

    kind: str
    trade_size: str
    reach: float  # [m] from the inlet's axis to the face of an outlet at the side, or the axis of one below; else 0
    rise: float  # [m] of the outlet over the inlet's face
    width: float  # [m]
    above: float  # [m] over the axis, or over the inlet's face
    below: float  # [m]
    swing: float  # [m] farthest part from the inlet's axis: what it sweeps when it is screwed off
    critical: float  # [m] of a vacuum breaker's critical level over the inlet's face; else 0
    source: str
    length: float = 0.0  # [m] from face to face where it was measured; 0: as the table of fittings has it


@dataclass(frozen=True, slots=True)
class Cover:
    """A box over a manifold, inside."""

    name: str
    length: float  # [m]
    width: float  # [m]
    depth: float  # [m] under the lid
    source: str


@dataclass(frozen=True, slots=True, eq=False)
class BenchBodies:
    """Every device and box."""

    bodies: Mapping[tuple[str, str], Body]
    covers: tuple[Cover, ...]  # smallest first

    def of(self, kind: str, size: str) -> Body:
        """A device of a size. Errors: InputError for one that no dimension is known of."""
        found = self.bodies.get((kind, size))
        if found is None:
            raise InputError(f"no dimensions are known of a {kind} of {size}: there are {', '.join(self.sizes(kind))}")
        return found

    def sizes(self, kind: str) -> tuple[str, ...]:
        """Trade sizes of a device, smallest first."""
        return tuple(size for size in TRADE_SIZES if (kind, size) in self.bodies)


def load_bodies(own: Path | None = None) -> BenchBodies:
    """Read the packaged dimensions, and the user's own over them. Errors: TableError."""
    bodies = {(body.kind, body.trade_size): body for body in map(_body, read_table("bodies"))}
    if own is not None:
        bodies |= {(body.kind, body.trade_size): body for body in map(_body, read_user_table(own, _OWN_COLUMNS))}
    covers = sorted(map(_cover, read_table("covers")), key=lambda cover: cover.length * cover.width * cover.depth)
    return BenchBodies(bodies, tuple(covers))


def _length(row: Row, name: str, *, needed: bool = False) -> float:
    """Read a length [m] in the unit of its column; 0 where it may be empty and is, or there is no such column."""
    unit, size = ("in", INCH) if f"{name}_in" in row.cells else ("mm", 1e-3)
    column = f"{name}_{unit}"
    if needed:
        return row.number(column, low=0.001 / size, high=2.5 / size) * size
    return (row.optional(column, low=0.0, high=2.5 / size) or 0.0) * size if column in row.cells else 0.0


def _body(row: Row) -> Body:
    return Body(
        kind=row.choice("body", _BODIES),
        trade_size=row.choice("trade_size", TRADE_SIZES),
        reach=_length(row, "reach"),
        rise=_length(row, "rise"),
        width=_length(row, "width", needed=True),
        above=_length(row, "above", needed=True),
        below=_length(row, "below"),
        swing=_length(row, "swing", needed=True),
        critical=_length(row, "critical"),
        source=row.text("source"),
        length=_length(row, "length"),
    )


def _cover(row: Row) -> Cover:
    length, width, depth = (_length(row, name) for name in ("length", "width", "depth"))
    return Cover(row.text("cover"), length, width, depth, row.text("source"))
