"""Colours: Okabe and Ito's colour-blind-safe set for zones, quiet tints for the ground, cividis for water."""

from rillwright.model.site import AreaKind

__all__ = ["GROUND", "INK", "MAIN", "SEVERITY", "zone_colour", "zone_dash"]

INK = "#1d2226"
MAIN = "#24323f"
_ZONES = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#E69F00", "#56B4E9", "#7a6a00", "#5b5b5b")
_DASHES = ("none", "2.2 0.8", "0.8 0.8", "3 0.8 0.8 0.8")

GROUND: dict[AreaKind, str] = {
    "lawn": "#e7efdc",
    "bed": "#ece0cf",
    "building": "#c9ced3",
    "paving": "#ebebe8",
    "water": "#cfe3f0",
    "keep-out": "#f3d9d2",
    "roots": "none",
}
SEVERITY = {"must": "#a3330b", "should": "#8a6100", "know": "#33566f"}


def zone_colour(index: int) -> str:
    """Colour of the zone at an index from 0."""
    return _ZONES[index % len(_ZONES)]


def zone_dash(index: int) -> str:
    """Dash pattern that keeps zones apart when the colours start again, and in grey print."""
    return _DASHES[(index // len(_ZONES)) % len(_DASHES)]
