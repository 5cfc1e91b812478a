"""A zone's part in the week's watering: the rate that lands on its lawns, how evenly, and what the soil takes."""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from rillwright.jobs.case import Case
from rillwright.model.catalogue import slope_class
from rillwright.model.plan import Head
from rillwright.solvers.certainty import Turn

__all__ = ["EXPOSURE", "turn_of"]

Floats = NDArray[np.float64]

EXPOSURE = {"sun": 1.0, "part shade": 0.8, "shade": 0.6}  # of the full need; judgement, as landscape guides have it


def turn_of(
    zone: str,
    heads: Sequence[Head],
    *,
    flow: Floats,
    area: float,
    lands: Mapping[str, float],
    even: Mapping[str, Floats],
    case: Case,
) -> Turn:
    """A zone's turn, in any number of draws (n,).

    Parameters: heads of the zone; flow (n,) [m³/s]; area [m²] that it waters; lands, share of its water that falls on
    the lawn, by lawn; even (n,), DU by lawn; case.
    """
    share = [head.flow / max(sum(h.flow for h in heads), 1e-12) for head in heads]
    stays = sum(s * lands[h.lawn] for s, h in zip(share, heads, strict=True))
    slope = float(case.ground.terrain.slope([head.at for head in heads]).mean())
    drawn = {area.id: EXPOSURE[area.exposure] for area in case.yard.lawns}
    exposure = {name: max(drawn[part] for part in parts) for name, parts in case.ground.drawn.items()}
    return Turn(
        zone=zone,
        rate=flow * stays / area if area > 0 else flow * 0.0,
        uniformity=np.sum([s * even[h.lawn] for s, h in zip(share, heads, strict=True)], axis=0),
        exposure=max(exposure[head.lawn] for head in heads),
        intake=case.catalogue.intake.get((case.yard.soil.texture, slope_class(slope))),
    )
