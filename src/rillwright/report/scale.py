"""Paper and scale: how site metres become paper millimetres, true to scale."""

from dataclasses import dataclass

from rillwright.physics.units import FOOT, INCH, System

__all__ = ["SHEETS", "Sheet", "View", "fit_view"]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet of paper, landscape, with a column for legend and tables at the right [mm]."""

    name: str
    width: float
    height: float
    margin: float = 8.0
    column: float = 92.0


SHEETS: dict[System, Sheet] = {"metric": Sheet("A3", 420.0, 297.0), "US": Sheet("tabloid", 431.8, 279.4)}

_METRIC = (20, 25, 50, 75, 100, 125, 150, 200, 250, 300, 400, 500, 750, 1000, 1500, 2000, 2500, 5000)
_FEET_PER_INCH = (2, 4, 5, 8, 10, 15, 20, 25, 30, 40, 50, 60, 80, 100, 150, 200, 400)


@dataclass(frozen=True, slots=True)
class View:
    """Site coordinates [m] to paper [mm]: y turns over, the site's centre falls on the drawing field's centre."""

    sheet: Sheet
    ratio: float  # site length / paper length
    centre: tuple[float, float]  # [m]
    name: str  # e.g. '1:100' or '1 in = 10 ft'

    @property
    def millimetres(self) -> float:
        """Paper millimetres for a site metre."""
        return 1000.0 / self.ratio

    def xy(self, x: float, y: float) -> tuple[float, float]:
        """Paper place [mm] of a site point [m]."""
        field_x = self.sheet.margin + (self.sheet.width - 2 * self.sheet.margin - self.sheet.column) / 2
        field_y = self.sheet.height / 2
        return (
            field_x + (x - self.centre[0]) * self.millimetres,
            field_y - (y - self.centre[1]) * self.millimetres,
        )


def fit_view(extent: tuple[float, float, float, float], *, system: System) -> View:
    """Choose the largest customary scale at which the extent [m] fits the sheet's drawing field."""
    sheet = SHEETS[system]
    wide = sheet.width - 2 * sheet.margin - sheet.column - 10
    high = sheet.height - 2 * sheet.margin - 10
    needed = max((extent[2] - extent[0]) / wide, (extent[3] - extent[1]) / high, 1e-6) * 1000
    if system == "US":
        ratios = [(feet * FOOT / INCH, f"1 in = {feet} ft") for feet in _FEET_PER_INCH]
    else:
        ratios = [(float(r), f"1:{r}") for r in _METRIC]
    ratio, name = next(((r, n) for r, n in ratios if r >= needed), (needed, f"1:{needed:.0f}"))
    return View(sheet, ratio, ((extent[0] + extent[2]) / 2, (extent[1] + extent[3]) / 2), name)
