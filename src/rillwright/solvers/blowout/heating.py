"""How long air alone may run before plastic grows too warm.

Statement. The first metre of pipe after the hose, wall of heat capacity c for each metre, takes heat from air of
temperature T_a through the film coefficient h of turbulent flow: T_w = T_a + (T_0 - T_a) exp(-t h pi D / c). The time
is that at which the wall reaches HOTTEST; none where the air is no warmer. The ground takes some of it; left out.
"""

import math

from rillwright.model.site import PipeMaterial
from rillwright.physics.compressed_air import SPECIFIC_HEAT
from rillwright.physics.pipes import area

__all__ = ["HOTTEST", "MOST_DRY", "WALLS", "seconds_to_warm"]

HOTTEST = 311.15  # [K] 38 °C, 100 °F: up to there the table of materials says what share of its rating a pipe keeps
MOST_DRY = 30.0  # [s] of air alone that gears and seals of heads, which water greases, should see; judgement
WALLS: dict[PipeMaterial, tuple[float, float]] = {  # [kg/m³], [J/kg K] of the wall; any handbook, from memory
    "PE": (950.0, 1900.0),
    "PVC schedule 40": (1400.0, 1000.0),
    "PVC SDR-21": (1400.0, 1000.0),
    "PEX": (940.0, 2100.0),
    "copper L": (8900.0, 385.0),
    "copper M": (8900.0, 385.0),
}
_VISCOSITY = 2.0e-5  # [Pa·s] of air at 60 °C, as the next two; any handbook, from memory
_CONDUCTIVITY = 0.028  # [W/m K]
_PRANDTL = 0.71


def seconds_to_warm(
    *, air: float, flow: float, bore: float, wall: float, density: float, specific: float, start: float
) -> float:
    """Time [s] until the first metre of pipe reaches HOTTEST; infinite where it never does.

    Parameters: air [K]; flow [kg/s]; bore and wall [m]; density [kg/m³] and specific heat [J/kg K] of the wall; start
    [K]. Source: Dittus and Boelter, Nu = 0.023 Re^0.8 Pr^0.4 (from memory), at the least laminar 3.66.

    >>> round(seconds_to_warm(air=353, flow=0.03, bore=0.0266, wall=0.0018, density=950, specific=1900, start=283))
    11
    """
    if air <= HOTTEST or flow <= 0:
        return math.inf
    reynolds = 4 * flow / (math.pi * bore * _VISCOSITY)
    film = max(0.023 * reynolds**0.8 * _PRANDTL**0.4, 3.66) * _CONDUCTIVITY / bore
    capacity = density * specific * (area(bore + 2 * wall) - area(bore))
    carried = flow * SPECIFIC_HEAT  # [W/K] the air cannot give more than it brings
    conductance = min(film * math.pi * bore, carried)
    return float(capacity / conductance) * math.log((air - start) / (air - HOTTEST))
