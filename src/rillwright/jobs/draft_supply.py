"""The supply of a yard that is only half written: what it needs is the water entry and the measurements."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from rillwright.exchange.yard_file import validated
from rillwright.model.certainty import NextMeasurement
from rillwright.model.parts import Catalogue
from rillwright.model.plan import SupplyReport
from rillwright.solvers.supply import fit_supply, next_measurements, report_supply

__all__ = ["DraftSupply", "supply_of"]

_OWN = ("format", "version", "units", "water_entry", "supply", "rules")
_STAND_IN: Mapping[str, Any] = {
    "name": "the supply",
    "areas": [{"id": "lawn", "kind": "lawn", "outline": [[0, 0], [10, 0], [10, 10], [0, 10]]}],
    "controller": {"stations": 1},
    "backflow": {"allowed": ["pressure vacuum breaker"]},
}


@dataclass(frozen=True, slots=True)
class DraftSupply:
    """What the supply gives, and what to measure next."""

    report: SupplyReport
    next: tuple[NextMeasurement, ...]


def supply_of(document: Mapping[str, Any], catalogue: Catalogue, *, pressure: float) -> DraftSupply:
    """Fit the supply of a document and report it at a pressure [Pa] at the entry; the rest of it does not matter.

    Errors: YardError with what is wrong about the water entry, the measurements or the rules.
    """
    yard = validated(_stood_in(document), source="the supply")
    fit = fit_supply(yard, catalogue)
    report = report_supply(fit, pressure=pressure, yard=yard, catalogue=catalogue)
    return DraftSupply(report, tuple(next_measurements(fit, pressure=pressure, yard=yard)))


def _stood_in(document: Mapping[str, Any]) -> dict[str, Any]:
    """The document's own supply, with a small lawn at the water entry in place of its ground."""
    own = {key: document[key] for key in _OWN if key in document}
    if isinstance(own.get("water_entry"), dict):
        own["water_entry"] = own["water_entry"] | {"at": [0, 0]}
    return {**_STAND_IN, **own}
