"""A yard gathered from a drawing (its geometry) and a yard file without areas (all other facts)."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from rillwright.errors import Problem, YardError
from rillwright.exchange.yard_file import check_heading, read_json, validated
from rillwright.model.site import AREA_KINDS, Yard
from rillwright.physics import units

__all__ = ["MARKS", "Drawing", "read_facts", "to_document"]

MARKS = ("tree", "spot height", "water entry", "controller")  # what a point may be


@dataclass
class Drawing:
    """What was found in a drawing, each piece as the yard document has it, with its place in the drawing."""

    areas: list[tuple[dict[str, Any], str]] = field(default_factory=list)
    trees: list[tuple[dict[str, Any], str]] = field(default_factory=list)
    spot_heights: list[tuple[dict[str, Any], str]] = field(default_factory=list)
    single: dict[str, tuple[dict[str, Any], str]] = field(default_factory=dict)  # water_entry, controller
    problems: list[Problem] = field(default_factory=list)

    def name(self, kind: str) -> str:
        """Give an id to a piece that has none, by counting its kind."""
        pieces = self.trees if kind == "tree" else self.areas
        return f"{kind} {1 + sum(piece.get('kind', 'tree') == kind for piece, _ in pieces)}"

    def add(self, kind: str, piece: dict[str, Any], place: str) -> None:
        """Add a piece of a kind: an area kind or one of MARKS."""
        if kind in AREA_KINDS:
            self.areas.append((piece, place))
        elif kind == "tree":
            self.trees.append((piece, place))
        elif kind == "spot height":
            self.spot_heights.append((piece, place))
        else:
            key = kind.replace(" ", "_")
            if key in self.single:
                self.refuse(place, f"a second {kind}", f"There is one: {self.single[key][1]}. Keep one of them")
            self.single[key] = piece, place

    def refuse(self, place: str, value: str, allowed: str) -> None:
        """Note a problem and go on."""
        self.problems.append(Problem(place, value, allowed))

    def pieces(self, *, source: str) -> dict[str, Any]:
        """The pieces by their keys in a yard document.

        Errors: YardError with all that is wrong, at its place in the drawing.
        """
        if self.problems:
            raise YardError(source, tuple(self.problems))
        listed = {key: [piece for piece, _ in getattr(self, key)] for key in ("areas", "trees", "spot_heights")}
        return {key: pieces for key, pieces in listed.items() if pieces} | {k: p for k, (p, _) in self.single.items()}

    def yard(self, facts: Mapping[str, Any], *, source: str) -> Yard:
        """Join the pieces to the facts and check the whole.

        Errors: YardError with all that is wrong, at its place in the drawing.
        """
        if self.problems:
            raise YardError(source, tuple(self.problems))
        data = dict(facts)
        places: dict[str, str] = {}
        for key in ("areas", "trees", "spot_heights"):
            known = facts.get(key, [])
            if not isinstance(known, list):
                continue
            pieces: list[tuple[dict[str, Any], str]] = getattr(self, key)
            data[key] = [*known, *(piece for piece, _ in pieces)]
            places |= {f"{key}[{len(known) + n}]": place for n, (_, place) in enumerate(pieces)}
        for key, (piece, place) in self.single.items():
            known = facts.get(key, {})
            if isinstance(known, dict):
                _refuse_twice(known, piece, key, place, source)
                data[key] = known | piece
                places |= {f"{key}.{name}": place for name in piece}
        return validated(data, source=source, places=places)


def _refuse_twice(known: Mapping[str, Any], piece: Mapping[str, Any], key: str, place: str, source: str) -> None:
    for name in known.keys() & piece.keys():
        problem = Problem(f"{key}.{name}", "given in the facts", f"{place} gives it too: keep one of them")
        raise YardError(source, (problem,))


def read_facts(path: Path) -> dict[str, Any]:
    """Read a yard file without areas.

    Errors: InputError when it cannot be read; YardError when its heading is wrong or it holds areas.
    """
    data = read_json(path)
    check_heading(data, source=path.name)
    if "areas" in data:
        problem = Problem("areas", "given in the facts", "Areas come from the drawing: leave them out here")
        raise YardError(path.name, (problem,))
    return data


def to_document(points: Sequence[Sequence[float]], system: units.System) -> list[list[float]]:
    """Turn points in metres into the document's own unit."""
    return [[units.to_system(float(v), "length", system) for v in point[:2]] for point in points]
