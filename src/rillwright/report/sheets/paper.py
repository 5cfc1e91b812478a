"""The user's paper, and the scale as it is typed."""

import re
from dataclasses import replace
from typing import Literal

from rillwright.errors import InputError
from rillwright.physics.units import FOOT, INCH, System
from rillwright.report.scale import SHEETS, Scale, Sheet

__all__ = ["PAPERS", "PaperName", "paper_for", "paper_named", "scale_named"]

MARGIN = 9.0  # [mm] that no printer needs more of
COLUMN = 74.0  # [mm] of a drawing's legend
STRIP = 16.0  # [mm] of the title block along the lower edge

PaperName = Literal["a4", "a3", "letter", "tabloid"]
PAPERS: dict[str, Sheet] = {
    sheet.name.casefold(): replace(sheet, margin=MARGIN, column=COLUMN, strip=STRIP)
    for system in SHEETS.values()
    for sheet in system
}
_RATIO = re.compile(r"1\s*:\s*(\d{1,4})")
_FEET = re.compile(r"1\s*in\s*=\s*(\d{1,3})\s*ft")


def paper_named(name: str) -> Sheet:
    """The paper of a name. Errors: InputError for any that is not known."""
    found = PAPERS.get(name.strip().casefold())
    if found is None:
        raise InputError(f"--paper {name}: write one of {', '.join(PAPERS)}")
    return found


def paper_for(system: System) -> Sheet:
    """The paper that a user of a system has at home."""
    return PAPERS[SHEETS[system][0].name.casefold()]


def scale_named(text: str) -> Scale:
    """Read a scale such as '1:100' or '1 in = 10 ft'. Errors: InputError when it is none.

    >>> scale_named("1 in = 10 ft")
    (120.0, '1 in = 10 ft')
    """
    ratio, feet = _RATIO.fullmatch(text.strip()), _FEET.fullmatch(text.strip())
    if ratio and int(ratio[1]) > 0:
        return float(ratio[1]), f"1:{int(ratio[1])}"
    if feet and int(feet[1]) > 0:
        return round(int(feet[1]) * FOOT / INCH, 6), f"1 in = {int(feet[1])} ft"
    raise InputError(f"--scale {text}: write a scale such as 1:100, or 1 in = 10 ft")
