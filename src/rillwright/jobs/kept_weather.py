"""Weather kept beside a plan, so that it need not be given each time: a file `weather` in the plan's folder."""

from pathlib import Path

from rillwright.errors import InputError
from rillwright.exchange.weather import load_weather

__all__ = ["keep_weather", "kept_weather"]

SUFFIXES = (".csv", ".epw")


def kept_weather(plan: Path) -> Path | None:
    """The weather file kept beside a plan; None when there is none. Errors: InputError when there are two."""
    folder = plan if plan.is_dir() else plan.parent
    held = [folder / f"weather{suffix}" for suffix in SUFFIXES if (folder / f"weather{suffix}").is_file()]
    if len(held) > 1:
        raise InputError(f"{folder} holds weather.csv and weather.epw: keep one")
    return held[0] if held else None


def keep_weather(plan: Path, file: Path) -> Path:
    """Keep a weather file beside a plan, in place of the last. Errors: InputError for what is no weather."""
    load_weather(file)
    folder = plan if plan.is_dir() else plan.parent
    here = folder / f"weather{file.suffix.lower()}"
    try:
        data = file.read_bytes()
        for suffix in SUFFIXES:
            (folder / f"weather{suffix}").unlink(missing_ok=True)
        here.write_bytes(data)
    except OSError as error:
        raise InputError(f"{here} cannot be written: {error.strerror}.") from None
    return here
