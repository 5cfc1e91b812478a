"""Water in soil: what it holds, what roots may take, what runs off, how fast it is taken in. SI.

FAO-56 is FAO Irrigation and Drainage Paper 56 (1998), chapter 8, from memory.
"""

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "cycle_and_soak",
    "depletion_share",
    "ponding_time",
    "runoff",
    "stress",
]

Floats = NDArray[np.float64]
Numbers = Floats | float

USUAL_USE = 5e-3  # [m] a day, for which tables give the share that may be taken


def depletion_share(table: float, *, use: Numbers) -> Floats:
    """Share of the available water that plants take without stress, on a day of a given use.

    Parameters: table, the share at 5 mm a day; use, crop evapotranspiration [m] a day. Returns: [-] within 0.1 and 0.8.
    Source: FAO-56 table 22, footnote.

    >>> round(float(depletion_share(0.40, use=7e-3)), 2)
    0.32
    """
    return np.asarray(np.clip(table + 40 * (USUAL_USE - np.asarray(use, dtype=float)), 0.1, 0.8), dtype=float)


def stress(depletion: Numbers, *, available: Numbers, share: Numbers) -> Floats:
    """Stress coefficient Ks: 1 while no more than the share of the available water is used up, then falling to 0.

    Parameters: depletion and available [m] of the root zone; share [-] below 1. Source: FAO-56 equation 84.

    >>> round(float(stress(0.015, available=0.02, share=0.5)), 9)
    0.5
    """
    left = (np.asarray(available) - depletion) / ((1 - np.asarray(share)) * available)
    return np.asarray(np.clip(left, 0.0, 1.0), dtype=float)


def runoff(rain: Numbers, *, curve_number: float) -> Floats:
    """Rain of a day that runs off [m].

    Parameters: rain [m] of the day; curve_number, above 0 and at most 100, of ground of medium wetness.
    Valid for days, not for bursts. Source: NRCS National Engineering Handbook 630, chapter 10, from memory.

    >>> round(1e3 * float(runoff(0.1016, curve_number=80)), 1)  # 4 in give 2.04 in
    51.9
    """
    holds = 0.0254 * (1000 / curve_number - 10)
    over = np.maximum(np.asarray(rain, dtype=float) - 0.2 * holds, 0.0)
    return np.asarray(over**2 / (np.asarray(rain) + 0.8 * holds + 1e-12), dtype=float)


def ponding_time(rate: float, *, intake: float, suction: float, room: float) -> float:
    """Time until water that falls at an even rate begins to stand on the ground [s]; infinite when it never does.

    Parameters: rate [m/s]; intake [m/s] that the soil ends at; suction [m] at the wetting front; room [-] for water in
    the soil, as a share of its volume. Source: Green and Ampt, ponding by Mein and Larson 1973, from memory.

    >>> round(ponding_time(1e-5, intake=5e-6, suction=0.2, room=0.1))
    2000
    """
    if rate <= intake:
        return float("inf")
    return intake * suction * room / (rate * (rate - intake))


def cycle_and_soak(rate: float, *, intake: float, suction: float, room: float) -> tuple[float, float]:
    """Longest run without water standing, and the rest after which as long a run may follow [s].

    In the rest the soil takes in, at its last rate, what the run had put on above it; over run and rest together it is
    given just that rate. A rate that the soil takes for ever gives an infinite run and no rest.
    Parameters: as for `ponding_time`. Source: `ponding_time`; the rest is from geometry alone.
    """
    run = ponding_time(rate, intake=intake, suction=suction, room=room)
    if run == float("inf"):
        return run, 0.0
    return run, run * (rate - intake) / intake
