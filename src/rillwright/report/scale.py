"""Paper and scale: how site metres become paper millimetres, true to scale."""

from dataclasses import dataclass, replace

from rillwright.physics.units import FOOT, INCH, System

__all__ = ["ROOM", "SHEETS", "Extent", "Scale", "Sheet", "View", "fit_view", "scales"]

Extent = tuple[float, float, float, float]  # least x, least y, greatest x, greatest y
Scale = tuple[float, str]  # site length / paper length, and its name

ROOM = 6.0  # [mm] kept free round the site, for labels and throws that reach beyond it
_SMALL_RATIO = 100.0  # a yard that is drawn as large as this on the small paper gets the small paper


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet of paper with a column for legend and tables at the right [mm]."""

    name: str
    width: float
    height: float
    margin: float = 8.0
    column: float = 92.0
    strip: float = 0.0  # along the lower edge

    @property
    def upright(self) -> "Sheet":
        """The same paper turned on its short side."""
        return replace(self, name=f"{self.name} portrait", width=self.height, height=self.width)

    @property
    def foot(self) -> float:
        """Lower end of field and column."""
        return self.height - self.margin - self.strip

    @property
    def field(self) -> Extent:
        """The part that is left of the column: left, top, right, bottom."""
        return (self.margin, self.margin, self.width - self.margin - self.column, self.foot)


SHEETS: dict[System, tuple[Sheet, Sheet]] = {  # small and large paper, lying on the long side
    "metric": (Sheet("A4", 297.0, 210.0), Sheet("A3", 420.0, 297.0)),
    "US": (Sheet("letter", 279.4, 215.9), Sheet("tabloid", 431.8, 279.4)),
}

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
        left, top, right, bottom = self.sheet.field
        return (
            (left + right) / 2 + (x - self.centre[0]) * self.millimetres,
            (top + bottom) / 2 - (y - self.centre[1]) * self.millimetres,
        )


def scales(system: System) -> tuple[Scale, ...]:
    """The customary scales, the largest first."""
    if system == "US":
        return tuple((feet * FOOT / INCH, f"1 in = {feet} ft") for feet in _FEET_PER_INCH)
    return tuple((float(r), f"1:{r}") for r in _METRIC)


def fit_view(extent: Extent, *, system: System, small: bool = True) -> View:
    """Choose paper, its direction and the largest customary scale at which the extent [m] fits the drawing field.

    The paper lies on its long side unless upright gives a larger scale. Parameters: small, whether the small paper
    may be used, which a yard gets that it shows at 1:100 or larger.
    """
    papers = SHEETS[system] if small else SHEETS[system][1:]
    view = _fit(extent, papers[0], system)
    return view if len(papers) == 1 or view.ratio <= _SMALL_RATIO else _fit(extent, papers[-1], system)


def _fit(extent: Extent, paper: Sheet, system: System) -> View:
    return min((_fit_sheet(extent, sheet, system) for sheet in (paper, paper.upright)), key=lambda view: view.ratio)


def _fit_sheet(extent: Extent, sheet: Sheet, system: System) -> View:
    left, top, right, bottom = sheet.field
    wide, high = right - left - 2 * ROOM, bottom - top - 2 * ROOM
    needed = max((extent[2] - extent[0]) / wide, (extent[3] - extent[1]) / high, 1e-6) * 1000
    ratio, name = next(((r, n) for r, n in scales(system) if r >= needed), (needed, f"1:{needed:.0f}"))
    return View(sheet, ratio, ((extent[0] + extent[2]) / 2, (extent[1] + extent[3]) / 2), name)
