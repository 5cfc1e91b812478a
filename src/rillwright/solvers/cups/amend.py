"""Which heads to set otherwise: what the cups say stands wrong, and what DU gains by putting it right."""

from dataclasses import dataclass

import numpy as np

from rillwright.physics.evenness import distribution_uniformity
from rillwright.solvers.cups.picture import LANDS, Picture
from rillwright.solvers.cups.wrongs import Kind, Land, set_wrong

__all__ = ["Amend", "amends_of"]

_WORTH = 0.003  # of DU, under which nothing is worth a walk


@dataclass(frozen=True, slots=True)
class Amend:
    """One thing to put right at one head."""

    head: str
    kind: Kind  # 'lean x' stands for a lean any way
    by: tuple[float, ...]  # what is wrong, in the kind's unit; a lean's x and y [m]
    error: float  # standard, of its size
    gain: float  # [-] of DU when put right


def amends_of(picture: Picture, land: Land) -> tuple[Amend, ...]:
    """What to put right, most gain of DU first."""
    before = distribution_uniformity(np.maximum(picture.mean, 0.0))
    by_id = {head.id: head for head in land.heads}
    found: list[Amend] = []
    for rows in picture.bad:
        wrong, size = picture.wrongs[rows[0]], picture.wrong[list(rows)]
        right = stands = by_id[wrong.head]
        for row in rows:
            stands = set_wrong(stands, picture.wrongs[row].kind, float(picture.wrong[row]))
        water, less = (LANDS * land.water([head])[land.cells] for head in (right, stands))
        gain = distribution_uniformity(np.maximum(picture.mean + water - less, 0.0)) - before
        if gain > _WORTH:
            error = float(picture.wrong_error[list(rows)].max())
            found.append(Amend(wrong.head, wrong.kind, tuple(float(v) for v in size), error, float(gain)))
    return tuple(sorted(found, key=lambda amend: -amend.gain))
