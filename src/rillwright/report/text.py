"""Printed text: its sizes, its width, and how it breaks into lines."""

from functools import lru_cache

from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.ft2font import LoadFlags

__all__ = ["ASCENT", "FONT", "HEADING", "NAME", "SMALL", "TEXT", "TITLE", "shorten", "text_width", "wrap"]

FONT = "DejaVu Sans"  # shipped with matplotlib, so every machine prints the same
SMALL = 2.5  # [mm] the least size on a drawing: 7 pt is 2.47 mm
TEXT = 2.6  # [mm]
NAME = 3.0  # [mm] names of lawns and buildings
HEADING = 3.0  # [mm]
TITLE = 4.4  # [mm]
ASCENT = 0.76  # height over the baseline as a share of the size; the rest hangs below


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width of a text in the unit of its size, both [mm]: the letters' advances, so that blanks at its ends count.

    Kerning is left out; it draws letters together, hardly ever apart.
    """
    return size * sum(_advance(letter, bold) for letter in text)


@lru_cache(maxsize=4096)
def _advance(letter: str, bold: bool) -> float:
    """Advance of a letter at size 1."""
    font = get_font(findfont(FontProperties(family=FONT, weight="bold" if bold else "normal")))
    font.set_size(100, 72)
    return float(font.load_char(ord(letter), flags=LoadFlags.NO_HINTING).linearHoriAdvance) / 65536 / 100


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
