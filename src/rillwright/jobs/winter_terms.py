"""The terms of winter as a user types them, on the command line and in the page."""

import re
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from rillwright.errors import InputError, UnitError
from rillwright.exchange.weather import load_weather
from rillwright.jobs.winter import WinterTerms, record_of
from rillwright.model.site import Yard
from rillwright.model.winter import Compressor
from rillwright.model.winter_tables import compressor_of, load_winter
from rillwright.physics.units import FOOT, INCH, System, parse, show

__all__ = ["WinterWords", "read_compressor", "read_terms"]

_FREE = re.compile(r"(?P<air>.+?)\s+at\s+(?P<at>.+)", re.IGNORECASE)
_NEW_SEASON = 4  # month before which a northern winter is still last year's: who asks in March asks for this spring


@dataclass(frozen=True, slots=True)
class WinterWords:
    """Terms as typed; empty where nothing was."""

    compressor: str = "workshop"
    freezing_index: str = ""
    mean_temperature: str = ""
    snow: str = ""
    tonight: str = ""
    today: str = ""
    lagged: bool = False
    southern: bool = False
    season: int | None = None


def read_terms(words: WinterWords, *, yard: Yard, weather: Path | None, today: date, prefix: str = "") -> WinterTerms:
    """Read them. Parameters: yard, for its place; weather, a file; today; prefix, before a term's name in errors.

    Errors: InputError that names the term, what stands there and what may stand.
    """

    def typed(term: str, dimension: str, low: float, high: float) -> float | None:
        return _typed(getattr(words, term), dimension, prefix + term.replace("_", "-"), (low, high), yard.units)

    record = None if weather is None else record_of(load_weather(weather))
    index, mean = (
        typed("freezing_index", "freezing index", 0.0, 1e9),
        typed("mean_temperature", "temperature", 223, 313),
    )
    if index is not None and mean is None and record is None:
        raise InputError(
            f"{prefix}freezing-index needs {prefix}mean-temperature beside it, the mean of the year, e.g. '46 F'"
        )
    if mean is not None and index is None:
        raise InputError(f"{prefix}mean-temperature needs {prefix}freezing-index beside it, e.g. '1200 F-day'")
    latitudes = (yard.origin.lat if yard.origin else None, record.latitude if record else None)
    southern = words.southern or any(one is not None and one < 0 for one in latitudes)
    tonight, day = typed("tonight", "temperature", 203.15, 313.15), typed("today", "temperature", 203.15, 323.15)
    if day is not None and (tonight is None or day < tonight):
        raise InputError(
            f"{prefix}today {words.today}: write today's highest temperature, with {prefix}tonight beside it and not "
            "under it"
        )
    return WinterTerms(
        compressor=read_compressor(words.compressor, prefix=prefix),
        record=record,
        index=index,
        mean=mean,
        snow=typed("snow", "depth", 0.0, 5.0) or 0.0,
        lagged=words.lagged,
        season=words.season if words.season is not None else _season(today, southern=southern),
        southern=southern,
        tonight=tonight,
        today=day,
    )


def _season(today: date, *, southern: bool) -> int:
    """The year in which the winter begins that is asked about; a southern one lies within its year."""
    return today.year - (not southern and today.month < _NEW_SEASON)


def read_compressor(words: str, *, prefix: str = "") -> Compressor:
    """A compressor of the table by its name, or the user's own: tank, air at a pressure, cut-out, parted by commas.

    Errors: InputError for what cannot be read or is no compressor of this kind of work.
    """
    table = load_winter().compressors
    if words.strip().lower() in table:
        return table[words.strip().lower()]
    parts = [part.strip() for part in words.split(",")]
    free = _FREE.fullmatch(parts[1]) if len(parts) == 3 else None
    if free is None:
        raise InputError(
            f"{prefix}compressor {words}: write one of {', '.join(table)}, or tank, air and cut-out as "
            "'20 gal, 5 cfm at 90 psi, 135 psi' or '75 L, 140 L/min at 620 kPa, 930 kPa'"
        )
    try:
        tank, air = parse(parts[0], "volume"), parse(free["air"], "air flow")
        at, cut_out = parse(free["at"], "pressure"), parse(parts[2], "pressure")
    except UnitError as error:
        raise InputError(f"{prefix}compressor {words}: {error}") from None
    if not (1e-3 <= tank <= 5 and 1e-5 <= air <= 1 and 1e5 <= at <= 2e6 and 1.5e5 <= cut_out <= 2e6):
        raise InputError(
            f"{prefix}compressor {words}: a tank of 1 to 5,000 L (0.3 to 1,300 gal), air of 0.6 to 60,000 "
            "L/min (0.02 to 2,100 cfm), and pressures of 100 to 2,000 kPa (15 to 290 psi), the cut-out from 150 kPa "
            "(22 psi), can be reckoned with"
        )
    if at > cut_out:
        raise InputError(
            f"{prefix}compressor {words}: it stops at its cut-out of {parts[2]}, so it gives no air at {free['at']}: "
            "read both off its plate again"
        )
    return compressor_of(
        "your own", tank=tank, air=air, air_at=at, cut_out=cut_out, hose_length=50 * FOOT, hose_bore=0.375 * INCH
    )


def _typed(text: str, dimension: str, option: str, limits: tuple[float, float], units: System) -> float | None:
    """A quantity as typed, None where nothing was; within what makes sense."""
    if not text.strip():
        return None
    try:
        value = parse(text, dimension)
    except UnitError as error:
        raise InputError(f"{option}: {error}") from None
    if not limits[0] <= value <= limits[1]:
        ends = [show(limit, dimension, units) for limit in limits]
        raise InputError(f"{option} {text}: write a value from {ends[0]} to {ends[1]}")
    return value
