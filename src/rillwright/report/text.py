"""Printed text: its sizes, its width, and how it breaks into lines."""

from functools import lru_cache

from matplotlib.font_manager import FontProperties, findfont, get_font

__all__ = ["ASCENT", "FONT", "HEADING", "NAME", "SMALL", "TEXT", "TITLE", "shorten", "text_width", "wrap"]

FONT = "DejaVu Sans"  # shipped with matplotlib, so every machine prints the same
SMALL = 2.5  # [mm] the least size on a drawing: 7 pt is 2.47 mm
TEXT = 2.6  # [mm]
NAME = 3.0  # [mm] names of lawns and buildings
HEADING = 3.0  # [mm]
TITLE = 4.4  # [mm]
ASCENT = 0.76  # height over the baseline as a share of the size; the rest hangs below


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width of a text in the unit of its size, both [mm]; blanks at its ends count."""
    return _widths(text, bold) * size


@lru_cache(maxsize=8192)
def _widths(text: str, bold: bool) -> float:
    """Width of a text at size 1."""
    font = get_font(findfont(FontProperties(family=FONT, weight="bold" if bold else "normal")))
    font.set_size(100, 72)
    font.set_text(text, 0.0)
    return float(font.get_width_height()[0]) / 64 / 100


def wrap(text: str, size: float, wide: float, *, bold: bool = False) -> list[str]:
    """Break a text into lines no wider than a measure [mm]; a single word that is wider is shortened."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size, bold=bold) <= wide:
            lines[-1] = longer
        else:
            lines.append(shorten(word, size, wide, bold=bold))
    return lines


def shorten(text: str, size: float, wide: float, *, bold: bool = False) -> str:
    """Cut a text to a measure [mm], with an ellipsis where something was cut."""
    if text_width(text, size, bold=bold) <= wide:
        return text
    kept = text
    while kept and text_width(kept.rstrip() + "…", size, bold=bold) > wide:
        kept = kept[:-1]
    return kept.rstrip() + "…"
