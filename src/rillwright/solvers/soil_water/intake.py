"""How long a zone may run before water stands, and how long it must then rest.

    longest run = K ψ n / (R (R - K)),  rest = run · (R - K) / K          (Green and Ampt; Mein and Larson for ponding)

R is the rate that falls, K the soil's last intake: the largest rate that USDA's table allows for texture and slope. ψ
is the suction at the wetting front, n the room for water, taken as what the turf may use up of the soil's volume:
fuller pores and ruts are not counted on. Over each run and its rest together the soil gets just K.

With layers K is that of the tightest one that roots reach; the air-filled pores of what lies over it may fill
meanwhile, so the run is longer by the time that they take at R - K, and so is the rest.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from rillwright.model.growing import Soil
from rillwright.physics.soil import cycle_and_soak
from rillwright.solvers.soil_water.profile import Layer, layers_of

__all__ = ["Intake", "intake_of"]


@dataclass(frozen=True, slots=True)
class Intake:
    """What a zone's soil takes in."""

    last: float  # [m/s] K
    longest_run: float  # [s]; infinite where the soil takes all
    soak: float  # [s] after the longest run; shorter after a shorter one, in proportion
    store: float  # [m] that may be put on above K before water stands

    def soak_after(self, run: float) -> float:
        """Rest [s] that a run [s] needs before the next."""
        if self.soak == 0 or run <= 0:
            return 0.0
        return self.soak * min(run / self.longest_run, 1.0)


def intake_of(
    soil: Soil, rate: float, *, slope: str, table: Mapping[tuple[str, str], float], roots: float, share: float
) -> Intake:
    """Intake under a rate of water.

    Parameters: soil; rate [m/s] that falls; slope, class of the ground; table, by texture and slope class [m/s]; roots
    [m]; share of the available water that is used up when watering begins.
    """
    top = 0.0
    reached: list[Layer] = []
    for layer in layers_of(soil):
        if top < roots or not reached:
            reached.append(layer)
        top += layer.thickness
    tightest = min(range(len(reached)), key=lambda i: table[reached[i].texture, slope])
    layer = reached[tightest]
    over = reached[:tightest]
    last = table[layer.texture, slope]
    room = share * (layer.field_capacity - layer.wilting_point)
    run, soak = cycle_and_soak(rate, intake=last, suction=layer.kind.suction, room=room)
    if run == float("inf"):
        return Intake(last, run, 0.0, run)
    more = sum(one.thickness * max(one.kind.pores - one.field_capacity, 0.0) for one in over) / (rate - last)
    run, soak = run + more, soak + more * (rate - last) / last
    return Intake(last, run, soak, run * (rate - last))
