"""Spring: each line filled slowly, and its valve opened over a time in which no surge harms the pipe."""

from collections.abc import Sequence

from rillwright.model.parts import Catalogue
from rillwright.model.plan import Pipe, Plan
from rillwright.model.winter import SlowFill
from rillwright.physics.pipes import area, closing_surge, surge
from rillwright.physics.water import density
from rillwright.solvers.flushing.filling import fill_line
from rillwright.solvers.surge import pipe_wave_speed

__all__ = ["slow_fills"]


def slow_fills(plan: Plan, catalogue: Catalogue, pipes: Sequence[Pipe]) -> tuple[SlowFill, ...]:
    """Main and zones, in order of filling.

    A valve thrown open lets the supply's whole flow into empty pipe: at the end of the line it stops at once and slams
    by Joukowsky. Filled at FILL_VELOCITY it does not; then the valve is opened over the time in which the flow it
    starts, stopped evenly, would raise the pressure by no more than is allowed (Michaud).
    """
    lines: dict[str, list[Pipe]] = {}
    for pipe in sorted(pipes, key=lambda pipe: pipe.role != "main"):
        lines.setdefault(pipe.zone or "main", []).append(pipe)
    return tuple(_fill(line, own, plan, catalogue) for line, own in lines.items())


def _fill(line: str, pipes: Sequence[Pipe], plan: Plan, catalogue: Catalogue) -> SlowFill:
    filling = fill_line(line, pipes)
    narrowest = next(pipe for pipe in pipes if pipe.id == filling.narrowest)
    rho = density(plan.yard.water_entry.temperature)
    sizes = {(size.material, size.trade_size): size for size in catalogue.pipes}
    static = plan.supply.expected.static
    room, slams, speeds = [], [], []
    for pipe in pipes:
        size = sizes[pipe.material, pipe.size]
        rating = size.pressure_rating * catalogue.materials[pipe.material].surge_share
        speed = plan.supply.open_flow / area(pipe.bore)
        room.append(max(rating - static, 0.0))
        speeds.append(speed)
        slams.append(surge(speed, wave_speed=pipe_wave_speed(size, catalogue), density=rho))
    worst = max(range(len(pipes)), key=lambda n: slams[n] - room[n])
    column = sum(pipe.length * pipe.velocity for pipe in pipes)
    gentle = closing_surge(column, closing_time=1.0, density=rho) / max(min(room), 1.0)
    return SlowFill(
        line=line,
        volume=filling.volume,
        fill_flow=filling.flow,
        fill_seconds=filling.seconds,
        full_speed=speeds[worst],
        slam=slams[worst],
        allowed=room[worst],
        open_seconds=max(gentle, 5.0),
        pipe=narrowest.id,
    )
