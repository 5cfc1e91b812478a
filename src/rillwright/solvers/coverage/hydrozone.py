"""Which hydrozone a head serves: exposure, planting and slope; lawns built in different phases share none."""

import numpy as np

from rillwright.model.ground import Ground
from rillwright.model.joined import BANK, sampled
from rillwright.model.site import GroundArea, Yard

__all__ = ["hydrozones"]

_DISTINCT = 0.2  # least share of a lawn that makes a bank, or a level part, of its own
_WORTH_A_ZONE = 50.0  # [m²] a smaller part is not worth a station of its own; judgement
_AROUND = 3.0  # [m] over which a head's own slope is taken


def hydrozones(points: list[tuple[float, float]], *, lawn_id: str, ground: Ground, yard: Yard) -> tuple[str, ...]:
    """Name the hydrozone of each head: one for the whole lawn unless it has a bank and a level part.

    Parameters: points (n, 2) [m], where the heads stand.
    """
    first = next(iter(ground.drawn[lawn_id]))
    area = next(area for area in yard.areas if area.id == first)
    lawn = ground.lawns[lawn_id]
    spots = sampled(lawn)
    steep = ground.terrain.slope(spots) >= BANK
    share = float(steep.mean())
    smaller = min(share, 1 - share)
    if smaller < _DISTINCT or smaller * lawn.area < _WORTH_A_ZONE:
        return tuple(_name(area, bank=share > 0.5) for _ in points)
    distance = np.hypot(*(np.asarray(points)[:, None, :] - spots[None, :, :]).transpose(2, 0, 1))
    near = distance <= np.maximum(_AROUND, distance.min(axis=1, keepdims=True))
    banked = (near & steep).sum(axis=1) > 0.5 * near.sum(axis=1)
    return tuple(_name(area, bank=bool(bank)) for bank in banked)


def _name(area: GroundArea, *, bank: bool) -> str:
    phase = "" if area.phase is None else f", phase {area.phase}"
    return f"{area.exposure}, {area.planting}, {'bank' if bank else 'level'}{phase}"
