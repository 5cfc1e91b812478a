"""Which heads to set otherwise: what most likely stands wrong, by its odds, and what DU gains by putting it right."""

from dataclasses import dataclass

import numpy as np

from rillwright.physics.evenness import distribution_uniformity
from rillwright.solvers.cups.law import LANDS
from rillwright.solvers.cups.picture import Picture, Suspect
from rillwright.solvers.cups.wrongs import Land, stands

__all__ = ["NAMED", "Amend", "amends_of"]

NAMED = 0.5  # chance from which a head is named
_AS_LIKELY = 1 / 3  # of the likeliest thing, from which another is told beside it


@dataclass(frozen=True, slots=True)
class Amend:
    """One head to put right."""

    head: str
    chance: float  # that anything is badly wrong with it
    what: tuple[Suspect, ...]  # that may be, likeliest first; the others where nearly as likely
    gain: float  # [-] of DU when the first of them is put right; under 0 when it falls


def amends_of(picture: Picture, land: Land) -> tuple[Amend, ...]:
    """The heads of which the cups say that they stand wrong, likeliest first."""
    mean, found = picture.mean, []
    before = distribution_uniformity(np.maximum(mean, 0.0))
    for name, chance in picture.chances.items():
        if chance < NAMED:
            continue
        suspects = [suspect for suspect in picture.suspects if suspect.setting.head == name]
        first = suspects[0]
        right, wrong = (land.water([head])[land.cells] for head in (land.head(name), stands(first.setting, land)))
        gain = distribution_uniformity(np.maximum(mean + LANDS * (right - wrong), 0.0)) - before
        what = tuple(one for one in suspects if one.chance >= _AS_LIKELY * first.chance)
        found.append(Amend(name, chance, what, float(gain)))
    return tuple(found)
