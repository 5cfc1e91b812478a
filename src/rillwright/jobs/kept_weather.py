"""Weather kept beside a plan, so that it need not be given each time: files `weather` and `recent` in its folder."""

from pathlib import Path

from rillwright.errors import InputError
from rillwright.exchange.weather import load_weather, with_later_days

__all__ = ["keep_recent", "keep_weather", "kept_recent", "kept_weather"]

SUFFIXES = (".csv", ".epw")
RECENT = "recent.csv"


def kept_weather(plan: Path) -> Path | None:
    """The weather file kept beside a plan; None when there is none. Errors: InputError when there are two."""
    folder = _folder(plan)
    held = [folder / f"weather{suffix}" for suffix in SUFFIXES if (folder / f"weather{suffix}").is_file()]
    if len(held) > 1:
        raise InputError(f"{folder} holds weather.csv and weather.epw: keep one")
    return held[0] if held else None


def keep_weather(plan: Path, file: Path) -> Path:
    """Keep a weather file beside a plan, in place of the last. Errors: InputError for what is no weather."""
    load_weather(file)
    here = _folder(plan) / f"weather{file.suffix.lower()}"
    try:
        data = file.read_bytes()
        for suffix in SUFFIXES:
            here.with_suffix(suffix).unlink(missing_ok=True)
        here.write_bytes(data)
    except OSError as error:
        raise InputError(f"{here} cannot be written: {error.strerror}.") from None
    return here


def kept_recent(plan: Path) -> Path | None:
    """Days of this season kept beside a plan; None when there are none."""
    file = _folder(plan) / RECENT
    return file if file.is_file() else None


def keep_recent(plan: Path, file: Path) -> Path:
    """Add this season's days to those kept beside a plan. Errors: as for with_later_days; what is kept then stays."""
    here, data = _folder(plan) / RECENT, with_later_days(kept_recent(plan), file)
    try:
        here.write_bytes(data)
    except OSError as error:
        raise InputError(f"{here} cannot be written: {error.strerror}.") from None
    return here


def _folder(plan: Path) -> Path:
    return plan if plan.is_dir() else plan.parent
