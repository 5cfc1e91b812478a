"""Colours: Okabe and Ito's colour-blind-safe set for zones, quiet tints for the ground. Water: see `water_colours`.

Two of the set are darkened, so that each stands off white paper by a contrast of 3 at least, in colour and in grey
(WCAG 2.1, success criterion 1.4.11).
"""

from rillwright.model.site import AreaKind

__all__ = ["BESIDE", "CAUTION", "GROUND", "INK", "MAIN", "SLEEVE", "SOFT", "zone_colour", "zone_dash"]

INK = "#1d2226"
MAIN = "#24323f"
SOFT = "#6c757d"
SLEEVE = "#b9a36b"
CAUTION = "#a3330b"
BESIDE = "#b3b8d6"  # water beside the lawns
_ZONES = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#BD8200", "#3F93C8", "#7a6a00", "#5b5b5b")
_DASHES = ("none", "2.6 0.7", "1 0.7", "3.4 0.7 0.8 0.7", "5 0.7", "2.6 0.7 0.7 0.7 0.7 0.7", "0.4 0.6", "1.8 1.3")

GROUND: dict[AreaKind, str] = {
    "lawn": "#e7efdc",
    "bed": "#ece0cf",
    "building": "#c9ced3",
    "paving": "#ebebe8",
    "water": "#cfe3f0",
    "keep-out": "#f3d9d2",
    "roots": "none",
}


def zone_colour(index: int) -> str:
    """Colour of the zone at an index from 0."""
    return _ZONES[index % len(_ZONES)]


def zone_dash(index: int) -> str:
    """Dash pattern of the zone at an index from 0: keeps zones apart in grey print; no colour and dash come twice."""
    return _DASHES[(index + index // len(_ZONES)) % len(_DASHES)]
