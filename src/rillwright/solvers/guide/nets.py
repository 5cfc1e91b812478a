"""What is dug and filled with which net: the main first, then the zones in the plan's order; and dug with what."""

from collections.abc import Mapping
from dataclasses import dataclass

from shapely import get_coordinates, segmentize
from shapely.geometry import LineString

from rillwright.model.ground import Ground
from rillwright.model.guide import Digging
from rillwright.model.plan import Pipe, Plan, Trench
from rillwright.model.site import Soil

__all__ = ["BEDDING", "MAIN", "STEEP", "Dug", "Nets", "nets_of"]

MAIN = "main"
STEEP = 0.25  # [m/m] over which a walk-behind machine is not used; judgement
BEDDING = 0.05  # [m] of a trench under the cover: the pipe and what it lies on; judgement
SOILS: Mapping[str, str] = {
    "sand": "sand",
    "sandy loam": "sand",
    "loam": "loam",
    "silt loam": "loam",
    "clay loam": "clay",
    "clay": "clay",
}


@dataclass(frozen=True, slots=True)
class Dug:
    """How a stretch of trench comes about."""

    trench: Trench
    how: str  # kind of the step: 'dig by machine', 'dig by hand' or 'sleeves'
    ground: str  # for the rate; empty for a sleeve
    steep: bool
    first: str  # net that digs it
    last: str  # net that fills it


@dataclass(frozen=True, slots=True)
class Nets:
    """The nets of a plan in the order in which they are built."""

    names: tuple[str, ...]
    pipes: Mapping[str, tuple[Pipe, ...]]
    dug: tuple[Dug, ...]

    def digs(self, net: str) -> list[Dug]:
        """Trenches that a net digs."""
        return [dug for dug in self.dug if dug.first == net]

    def fills(self, net: str) -> list[Dug]:
        """Trenches that are filled after a net."""
        return [dug for dug in self.dug if dug.last == net]

    def under(self, net: str) -> list[Dug]:
        """Trenches in which a net has pipe."""
        own = {pipe.id for pipe in self.pipes[net]}
        return [dug for dug in self.dug if own & set(dug.trench.pipes)]

    def within(self, dug: Dug) -> list[str]:
        """Nets that have pipe in a trench, in their order."""
        return [name for name in self.names if {p.id for p in self.pipes[name]} & set(dug.trench.pipes)]


def nets_of(plan: Plan, ground: Ground, digging: Digging) -> Nets:
    """Share a plan's trenches among its nets; pipe that is in the ground already has none."""
    names = (MAIN, *(zone.id for zone in plan.zones))
    pipes = {name: tuple(p for p in plan.pipes if (p.zone or MAIN) == name) for name in names}
    net_of = {pipe.id: name for name in names for pipe in pipes[name]}
    dug = []
    for trench in plan.trenches:
        users = sorted({names.index(net_of[pipe]) for pipe in trench.pipes if pipe in net_of})
        if users:
            how, soil, steep = _how(trench, ground, plan.yard.soil, digging)
            dug.append(Dug(trench, how, soil, steep, names[users[0]], names[users[-1]]))
    return Nets(names, pipes, tuple(dug))


def _how(trench: Trench, ground: Ground, soil: Soil, digging: Digging) -> tuple[str, str, bool]:
    line = segmentize(LineString(trench.path), 1.0)
    steep = bool((ground.terrain.slope(get_coordinates(line)) > STEEP).any())
    if trench.sleeve:
        return "sleeves", "", steep
    if trench.surface == "roots":
        return "dig by hand", "roots", steep
    by_hand = digging == "hand" or steep or trench.surface == "bed"
    return ("dig by hand" if by_hand else "dig by machine"), SOILS[soil.texture], steep
