"""Parts over the ground in cold air: how long they hold, and in which nights they are harmed.

Statement. A part is one lump of metal and water, heat capacity C, closed at both ends and full, in air at T_a(t)
through a conductance K = area / (1/h + R): h the sum of wind (Churchill and Bernstein at CALM) and radiation, R its
lagging. Above the melting point C dT/dt = K (T_a - T); at it the water freezes, L dm/dt = K (T_0 - T_a). A clear sky
is SKY kelvins colder than the air, and an upright body by a house sees it with SKY_SEEN of its surface: T_a counts as
lower by radiation/(wind + radiation) · SKY · SKY_SEEN. It is harmed when ice has closed its ways out (CLOSING of it,
judgement) and presses what is left to what it bears (bursting_share, which is less). Days are half cosines from
the warmest to the coldest hour; STEP long steps, each exact for still air. Supercooling, which may delay ice by some
kelvins, is left out: nobody can count on it. No seed.
See docs/theory/winter.md.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillwright.model.winter import ExposedBody, NightPart
from rillwright.model.winter_tables import BodyData
from rillwright.physics.freezing import (
    bursting_share,
    cooling_rate,
    crossflow_coefficient,
    daily_air,
    radiation_coefficient,
)
from rillwright.physics.freezing_kernels import ice_through
from rillwright.physics.frost import LATENT_HEAT, MELTING
from rillwright.physics.water import compressibility

__all__ = ["CALM", "WATER_HEAT", "clear_sky_drop", "exposed_body", "harmed_days", "harmful_low", "one_night"]

Floats = NDArray[np.float64]

CALM = 1.0  # [m/s] of air on a frosty night; judgement
SKY = 20.0  # [K] that a clear sky is colder than the air; typical, from memory
SKY_SEEN = 0.15  # share of an upright body beside a wall that a mostly clear sky sees; judgement
CLOSING = 0.1  # of the water of a body that must freeze to close its ways out; judgement
STEP = 900.0  # [s]
WATER_HEAT = 4200.0  # [J/kg K]
_PER_DAY = round(86400 / STEP)
_WARM = MELTING + 10.0  # [K] of the body before a cold night, and for the hours that a part is said to hold
_COLD = MELTING - 5.0
_EVENING = 18.0  # hour from which a night's hours are counted


def _film(diameter: float) -> tuple[float, float]:
    """Heat [W/m² K] that wind and radiation take."""
    return crossflow_coefficient(CALM, diameter=diameter), radiation_coefficient()


def clear_sky_drop(diameter: float) -> float:
    """Kelvins by which a clear night counts as colder than its air, for a body of a diameter [m]."""
    wind, radiation = _film(diameter)
    return radiation / (wind + radiation) * SKY * SKY_SEEN


def exposed_body(name: str, kind: str, data: BodyData, *, count: int, insulation: float) -> ExposedBody:
    """A part with its figures. Parameters: insulation [m² K/W] round it."""
    capacity = data.metal + data.water * WATER_HEAT
    coefficient = sum(_film(data.diameter))
    conductance, rate = cooling_rate(area=data.area, coefficient=coefficient, insulation=insulation, capacity=capacity)
    share = max(CLOSING, bursting_share(data.bears, give=compressibility(MELTING + 0.01)))
    to_ice = float(np.log((_WARM - _COLD) / (MELTING - _COLD))) / rate
    return ExposedBody(
        name=name,
        kind=kind,
        count=count,
        insulation=insulation,
        conductance=conductance,
        capacity=capacity,
        water=data.water,
        bursts_at=share,
        hours_to_ice=to_ice,
        hours_to_harm=to_ice + share * data.water * LATENT_HEAT / (conductance * (MELTING - _COLD)),
        source=data.source,
    )


def harmed_days(body: ExposedBody, *, low: Floats, high: Floats, drop: float) -> NDArray[np.bool_]:
    """Whether the part is past what it bears at some time of each day.

    Parameters: low, high (days,) [K] of days one after another, none missing; drop [K], see clear_sky_drop. Returns:
    (days,). The part is full all the while, as one that nobody drained.
    """
    hours = (np.arange(len(low) * _PER_DAY) + 0.5) * STEP / 3600
    air = daily_air(low, high, hours) - drop
    ice = ice_through(air, float(low[0]), STEP, body.conductance, body.capacity, body.water)
    worst: NDArray[np.bool_] = ice.reshape(-1, _PER_DAY).max(axis=1) >= body.bursts_at
    return worst


@dataclass(frozen=True, slots=True)
class _Night:
    ice: Floats
    hours: Floats  # [s] after the evening


def _through(body: ExposedBody, *, low: float, high: float, drop: float) -> _Night:
    hours = (np.arange(3 * _PER_DAY) + 0.5) * STEP / 3600
    air = daily_air(np.array([max(low, MELTING + 2), low, low]), np.full(3, high), hours) - drop
    ice = ice_through(air, _WARM, STEP, body.conductance, body.capacity, body.water)
    shown = slice(round(_EVENING / 24 * _PER_DAY), round((24 + 12) / 24 * _PER_DAY))
    return _Night(ice[shown], (hours[shown] - _EVENING) * 3600)


def one_night(body: ExposedBody, *, low: float, high: float, drop: float) -> NightPart:
    """The part through one cold night. Parameters: low [K] at six, high [K] of the days before and after."""
    night = _through(body, low=low, high=high, drop=drop)
    past = np.flatnonzero(night.ice >= body.bursts_at)
    return NightPart(
        part=body.name,
        ice=float(night.ice.max()),
        bursts_at=body.bursts_at,
        harmed=bool(len(past)),
        hours=float(night.hours[past[0]]) if len(past) else None,
    )


def harmful_low(body: ExposedBody, *, swing: float, drop: float) -> float:
    """Highest least temperature [K] of a night that harms the part, to 0.05 K, after days warmer by a swing [K]."""
    below, over = MELTING - 40.0, MELTING + 10.0
    while over - below > 0.05:
        middle = (below + over) / 2
        harmed = one_night(body, low=middle, high=middle + swing, drop=drop).harmed
        below, over = (middle, over) if harmed else (below, middle)
    return below
