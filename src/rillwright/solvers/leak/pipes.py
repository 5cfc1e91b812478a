"""What is closed in during a leak watch: how much water, and how its pipes give."""

from collections.abc import Sequence
from dataclasses import dataclass

from rillwright.errors import InputError
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Pipe
from rillwright.physics.closed_pipe import wall_stretch, wall_swelling
from rillwright.physics.pipes import area

__all__ = ["ClosedPipes", "closed_pipes"]


@dataclass(frozen=True, slots=True)
class ClosedPipes:
    """Pipes closed in together; what their walls do is weighed by volume."""

    volume: float  # [m³]
    stretch: float  # [1/Pa] share by which the volume grows with pressure
    swelling: float  # [1/K] and with temperature
    creep: float  # [-] of the stretch, for each tenfold of time


def closed_pipes(pipes: Sequence[Pipe], catalogue: Catalogue) -> ClosedPipes:
    """Add pipes up. Errors: InputError for no pipes, or one that the catalogue does not hold."""
    sizes = {(size.material, size.trade_size): size for size in catalogue.pipes}
    volume = stretch = swelling = creep = 0.0
    for pipe in pipes:
        size, wall = sizes.get((pipe.material, pipe.size)), catalogue.materials[pipe.material]
        if size is None:
            raise InputError(f"pipe '{pipe.id}' is {pipe.material} {pipe.size}, which the catalogue does not hold")
        own = area(pipe.bore) * pipe.length
        gives = wall_stretch(
            inside_diameter=pipe.bore,
            wall=(size.outside_diameter - size.inside_diameter) / 2,
            modulus=wall.elastic_modulus,
            poisson=wall.poisson,
        )
        volume += own
        stretch += own * gives
        creep += own * gives * wall.creep
        swelling += own * wall_swelling(expansion=wall.expansion, poisson=wall.poisson)
    if volume <= 0:
        raise InputError("no pipe of the plan is closed in: name 'main', zones or pipes of the plan in 'closed_in'")
    return ClosedPipes(volume, stretch / volume, swelling / volume, creep / stretch)
