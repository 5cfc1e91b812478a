"""How slowly each line is filled the first time, and the suction in a main that is let empty with all over it shut.

Statement. A line of runs of bore D_i takes the flow FILL_VELOCITY · pi/4 · min D_i²: whichever way the water takes, no
run is faster. The time is the volume of all runs over that flow. Suction at the main's highest point is rho g times
its height over the lowest, at the most the air's own pressure.
"""

from collections.abc import Sequence

from rillwright.model.flushing import FILL_VELOCITY, Filling, Suction
from rillwright.model.plan import Pipe
from rillwright.physics.pipes import area, flow_at_velocity
from rillwright.solvers.levels import Levels

__all__ = ["AIR_PRESSURE", "fill_line", "main_suction"]

AIR_PRESSURE = 101.325e3  # [Pa] standard atmosphere; less at height
_LEVEL = 0.1  # [m] of fall under which a main counts as level


def fill_line(line: str, pipes: Sequence[Pipe]) -> Filling:
    """Fill a line's pipes."""
    narrowest = min(pipes, key=lambda pipe: (pipe.bore, pipe.id))
    return Filling(
        line=line,
        volume=sum(area(pipe.bore) * pipe.length for pipe in pipes),
        narrowest=narrowest.id,
        bore=narrowest.bore,
        flow=flow_at_velocity(FILL_VELOCITY, inside_diameter=narrowest.bore),
    )


def main_suction(net: Levels, *, weight: float) -> Suction | None:
    """Suction of a main; None when it is level. Parameters: net; weight [Pa/m] of water."""
    by_pipe = {pipe: [net.height[point] for point in row] for pipe, row in net.rows.items()}
    highest = max(by_pipe, key=lambda pipe: (max(by_pipe[pipe]), pipe))
    lowest = min(by_pipe, key=lambda pipe: (min(by_pipe[pipe]), pipe))
    fall = max(by_pipe[highest]) - min(by_pipe[lowest])
    if fall <= _LEVEL:
        return None
    return Suction(highest=highest, lowest=lowest, fall=fall, pressure=min(weight * fall, AIR_PRESSURE))
