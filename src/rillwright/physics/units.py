"""Units at the edges: SI inside, US or metric outside.

One table says, for each kind of quantity, the unit of each system and how many decimals a person needs.
Exact factors: NIST Special Publication 811, appendix B.
"""

import re
from dataclasses import dataclass
from typing import Literal

from rillwright.errors import UnitError

__all__ = [
    "DIMENSIONS",
    "FOOT",
    "GALLON",
    "GPM",
    "GRAVITY",
    "INCH",
    "LPM",
    "PSI",
    "Dimension",
    "System",
    "Unit",
    "from_system",
    "parse",
    "show",
    "to_system",
    "unit_name",
]

System = Literal["US", "metric"]

INCH = 0.0254  # [m] exact
FOOT = 0.3048  # [m] exact
GALLON = 231 * INCH**3  # [m³] US liquid gallon, exact
GPM = GALLON / 60  # [m³/s]
LPM = 1e-3 / 60  # [m³/s]
GRAVITY = 9.80665  # [m/s²] standard gravity, exact
PSI = 0.45359237 * GRAVITY / INCH**2  # [Pa] pound-force per square inch, exact


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: value in SI = value · factor + offset."""

    name: str
    factor: float
    offset: float = 0.0


@dataclass(frozen=True, slots=True)
class Dimension:
    """A kind of quantity with its unit and print precision in each system, and every unit it may be typed in."""

    us: Unit
    metric: Unit
    us_decimals: int
    metric_decimals: int
    typed: tuple[Unit, ...]

    def unit(self, system: System) -> Unit:
        """Give the unit used for bare numbers in a system."""
        return self.us if system == "US" else self.metric


_FT, _IN = Unit("ft", FOOT), Unit("in", INCH)
_M, _CM, _MM = Unit("m", 1.0), Unit("cm", 0.01), Unit("mm", 0.001)
_LENGTHS = (_FT, _IN, _M, _CM, _MM, Unit("feet", FOOT), Unit("inch", INCH), Unit("'", FOOT), Unit('"', INCH))
_PSI, _KPA = Unit("psi", PSI), Unit("kPa", 1e3)
_GPM, _LPM = Unit("gpm", GPM), Unit("L/min", LPM)
_GPH, _LPH = Unit("gal/h", GALLON / 3600), Unit("L/h", 1e-3 / 3600)
_CFM = Unit("cfm", FOOT**3 / 60)
_GAL, _L, _M3 = Unit("gal", GALLON), Unit("L", 1e-3), Unit("m³", 1.0)
_VOLUMES = (_GAL, _L, Unit("mL", 1e-6), _M3, Unit("m3", 1.0), Unit("ft3", FOOT**3), Unit("ft³", FOOT**3))
_S, _MIN, _H = Unit("s", 1.0), Unit("min", 60.0), Unit("h", 3600.0)
_FPS, _MPS = Unit("ft/s", FOOT), Unit("m/s", 1.0)
_MPH = Unit("mph", 1609.344 / 3600)
_INH, _MMH = Unit("in/h", INCH / 3600), Unit("mm/h", 1e-3 / 3600)
_FT2, _M2 = Unit("ft²", FOOT**2), Unit("m²", 1.0)
_F, _C = Unit("°F", 5 / 9, 273.15 - 32 * 5 / 9), Unit("°C", 1.0, 273.15)
_WARM_F, _WARM_K = Unit("°F", 5 / 9), Unit("K", 1.0)
_FDAY, _CDAY = Unit("°F·day", 86400 * 5 / 9), Unit("°C·day", 86400.0)
_A, _V, _VA = Unit("A", 1.0), Unit("V", 1.0), Unit("VA", 1.0)
_OHM_KFT, _OHM_KM = Unit("Ω/kft", 1e-3 / FOOT), Unit("Ω/km", 1e-3)
_ONE, _PCT = Unit("", 1.0), Unit("%", 0.01)
_DEG = Unit("°", 1.0)

DIMENSIONS: dict[str, Dimension] = {
    "length": Dimension(_FT, _M, 1, 2, _LENGTHS),
    "bore": Dimension(_IN, _MM, 3, 1, _LENGTHS),
    "pressure": Dimension(_PSI, _KPA, 1, 0, (_PSI, _KPA, Unit("bar", 1e5), Unit("Pa", 1.0))),
    "flow": Dimension(
        _GPM, _LPM, 2, 1, (_GPM, _LPM, Unit("L/s", 1e-3), Unit("m3/h", 1 / 3600), Unit("m³/h", 1 / 3600))
    ),
    "leak": Dimension(_GPH, _LPH, 2, 2, (_GPH, _LPH)),
    "air flow": Dimension(
        _CFM, _LPM, 1, 0, (_CFM, _LPM, Unit("L/s", 1e-3), Unit("m3/h", 1 / 3600), Unit("m³/h", 1 / 3600))
    ),
    "volume": Dimension(_GAL, _L, 2, 1, _VOLUMES),
    "season volume": Dimension(_GAL, _M3, 0, 1, _VOLUMES),
    "time": Dimension(_S, _S, 1, 1, (_S, _MIN, _H)),
    "minutes": Dimension(_MIN, _MIN, 1, 1, (_MIN, _S, _H)),
    "hours": Dimension(_H, _H, 1, 1, (_H, _MIN, _S)),
    "velocity": Dimension(_FPS, _MPS, 2, 2, (_FPS, _MPS)),
    "wind": Dimension(_MPH, _MPS, 1, 1, (_MPH, _MPS, Unit("km/h", 1 / 3.6))),
    "depth": Dimension(_IN, _MM, 2, 0, _LENGTHS),
    "rate": Dimension(_INH, _MMH, 2, 1, (_INH, _MMH)),
    "area": Dimension(_FT2, _M2, 0, 1, (_FT2, _M2, Unit("ft2", FOOT**2), Unit("m2", 1.0))),
    "temperature": Dimension(_F, _C, 0, 0, (_F, _C, Unit("F", _F.factor, _F.offset), Unit("C", 1.0, 273.15))),
    "warming": Dimension(_WARM_F, _WARM_K, 1, 1, (_WARM_F, _WARM_K, Unit("°C", 1.0), Unit("F", 5 / 9), Unit("C", 1.0))),
    "freezing index": Dimension(
        _FDAY, _CDAY, 0, 0, (_FDAY, _CDAY, Unit("F-day", _FDAY.factor), Unit("C-day", 86400.0))
    ),
    "current": Dimension(_A, _A, 2, 2, (_A, Unit("mA", 1e-3))),
    "voltage": Dimension(_V, _V, 1, 1, (_V,)),
    "load": Dimension(_VA, _VA, 1, 1, (_VA,)),
    "wire resistance": Dimension(_OHM_KFT, _OHM_KM, 3, 2, (_OHM_KFT, _OHM_KM)),
    "share": Dimension(_PCT, _PCT, 1, 1, (_PCT,)),
    "angle": Dimension(_DEG, _DEG, 0, 0, (_DEG, Unit("deg", 1.0))),
    "number": Dimension(_ONE, _ONE, 2, 2, (_ONE,)),
    "count": Dimension(_ONE, _ONE, 0, 0, (_ONE,)),
    "money": Dimension(_ONE, _ONE, 2, 2, (_ONE,)),
}

_FRACTION = re.compile(r"^(?:(\d+)[ -])?(\d+)/(\d+)$")
_PART = re.compile(
    r"([\d.]+(?:e[-+]?\d+)?(?:[ -]\d+/\d+|/\d+)?)\s*(['\"]|[^\d\s.+'\"-][^\d\s'\"]*[23]?(?:/\w+)?)", re.IGNORECASE
)


def _number(text: str) -> float:
    fraction = _FRACTION.match(text)
    if fraction:
        whole, top, bottom = (int(g) if g else 0 for g in fraction.groups())
        if bottom == 0:
            raise ValueError
        return whole + top / bottom
    return float(text)


def parse(text: str, dimension: str) -> float:
    """Read a quantity typed with its unit, such as '60 psi', '3/4 in' or '72 ft 6 in', into SI.

    A sign stands in front and holds for the whole: '-4 ft 6 in' is four and a half feet down.
    Parameters: text; dimension, a key of DIMENSIONS. Returns: the value in SI units.
    Errors: UnitError when the number or the unit cannot be read or the unit measures something else.

    >>> round(parse("72 ft 6 in", "length"), 4)
    22.098
    >>> parse("1-1/4 in", "bore") == 1.25 * INCH
    True
    """
    units = {u.name.lower(): u for u in DIMENSIONS[dimension].typed if u.name}
    allowed = ", ".join(u.name for u in DIMENSIONS[dimension].typed if u.name) or "none"
    rest, total, found = text.strip(), 0.0, False
    sign = -1.0 if rest.startswith("-") else 1.0
    rest = rest[1:].lstrip() if rest[:1] in ("-", "+") else rest
    while rest:
        part = _PART.match(rest)
        unit = units.get(part.group(2).lower()) if part else None
        if part is None or unit is None or (found and unit.offset):
            raise UnitError(f"'{text}' is not a {dimension}: write a number and one of these units: {allowed}")
        try:
            total += sign * _number(part.group(1)) * unit.factor + unit.offset
        except ValueError:
            raise UnitError(f"'{text}' holds no readable number") from None
        found, rest = True, rest[part.end() :].strip()
    if not found:
        raise UnitError(f"an empty text is not a {dimension}: write a number and one of these units: {allowed}")
    return total


def from_system(value: float, dimension: str, system: System) -> float:
    """Turn a bare number of the system's unit into SI."""
    unit = DIMENSIONS[dimension].unit(system)
    return value * unit.factor + unit.offset


def to_system(value: float, dimension: str, system: System) -> float:
    """Turn an SI value into the system's unit."""
    unit = DIMENSIONS[dimension].unit(system)
    return (value - unit.offset) / unit.factor


def unit_name(dimension: str, system: System) -> str:
    """Name the unit that a system uses for a dimension."""
    return DIMENSIONS[dimension].unit(system).name


def show(value: float, dimension: str, system: System) -> str:
    """Print an SI value for a person, in the system's unit and precision.

    >>> show(0.00094, "flow", "US")
    '14.90 gpm'
    >>> show(0.05, "share", "metric")
    '5.0 %'
    """
    spec = DIMENSIONS[dimension]
    decimals = spec.us_decimals if system == "US" else spec.metric_decimals
    text = f"{to_system(value, dimension, system):.{decimals}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    name = unit_name(dimension, system)
    return f"{text}{'' if name == '°' or not name else ' '}{name}"
