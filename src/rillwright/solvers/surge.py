"""Surge: what a stopped column of water adds to the pressure in each zone's pipes.

Statement. When a zone valve shuts, the column from the street to the valve stops: sum L v over service pipe and main.
A stop faster than the wave's way to the street and back, 2 sum L/a, raises the pressure by Joukowsky's rho a v; a
slower one by Michaud's 2 rho sum(L v) / T. In a looped main the column is that of the way with the greatest sum, at the
most that each run carries: both sides stop together, and neither raises the pressure at the valve by more than its own
sum. The rise at the valve is the lesser of the greatest rho a v on the way and
Michaud's. It is held against every pipe of the way, though it fades towards the street, and rides on the pressure with
nothing running. In laterals the harm is done when a zone starts: the column that fills the empty pipe slams against
its closed end. The bound taken is the zone's own velocity stopped at once; a lateral that drained fills faster.
No seed, no search. See docs/theory/water.md.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from rillwright.model.ground import Ground
from rillwright.model.parts import Catalogue, PipeSize
from rillwright.model.plan import Pipe, Zone
from rillwright.model.protection import Surge
from rillwright.model.site import BackflowKind, Yard
from rillwright.physics.pipes import closing_surge, surge, velocity, wave_speed
from rillwright.physics.water import density
from rillwright.solvers.devices import valve_for
from rillwright.solvers.mains import carrying_to, root_of, ways

__all__ = ["bears_surge", "pipe_wave_speed", "zone_surges"]


@dataclass(frozen=True, slots=True)
class _Reach:
    """A stretch of pipe on the way from the street to a zone's valve."""

    length: float  # [m]
    velocity: float  # [m/s]
    wave_speed: float  # [m/s]


def pipe_wave_speed(size: PipeSize, catalogue: Catalogue) -> float:
    """Speed [m/s] of a pressure wave in a pipe: by its wall, (outside - inside diameter) / 2, and its material."""
    ratio = 2 * size.outside_diameter / (size.outside_diameter - size.inside_diameter)
    return wave_speed(ratio, elastic_modulus=catalogue.materials[size.material].elastic_modulus)


def bears_surge(
    sizes: Sequence[PipeSize], *, static: float, speed: float, length: float, closing_time: float, catalogue: Catalogue
) -> bool:
    """Whether all sizes of a material bear a static pressure [Pa] and a stop from a speed [m/s] over a length [m]."""
    slow = closing_surge(length * speed, closing_time=closing_time, density=density())
    return all(
        static + min(slow, surge(speed, wave_speed=pipe_wave_speed(size, catalogue), density=density()))
        <= size.pressure_rating * catalogue.materials[size.material].surge_share
        for size in sizes
    )


def zone_surges(
    zones: Sequence[Zone],
    pipes: Sequence[Pipe],
    *,
    static: float,
    backflow: BackflowKind,
    ground: Ground,
    yard: Yard,
    catalogue: Catalogue,
) -> tuple[Surge, ...]:
    """Surge in the main and in the laterals of each zone, at the pipe with the least room.

    Parameters: zones and pipes of the plan, solved; static [Pa] at the entry, the top of the supply's band;
    backflow, the kind the plan is made for. Returns: for each zone one for the main, when it has one, and one for the
    laterals.
    """
    study = _Study(static, backflow, ground, yard, catalogue)
    found: list[Surge] = []
    lines: dict[str | None, list[Pipe]] = defaultdict(list)
    for pipe in pipes:
        lines[pipe.zone].append(pipe)
    main = lines[None]
    root = root_of(main) if main else ""
    runs = carrying_to(main, root, {zone.place for zone in zones})
    for zone in zones:
        if found_ways := ways(runs[zone.place], root, zone.place):
            found.append(study.main(zone, found_ways))
        found.append(study.laterals(zone, lines[zone.id]))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Study:
    """What every zone is judged with."""

    static: float
    backflow: BackflowKind
    ground: Ground
    yard: Yard
    catalogue: Catalogue
    lowest: dict[str, float] = field(default_factory=dict)  # [m] by pipe, as it is asked for

    def main(self, zone: Zone, ways: Sequence[Sequence[Pipe]]) -> Surge:
        """Stop the zone's flow at its valve, to which several ways may lead."""
        way = max(ways, key=lambda way: sum(r.length * r.velocity for r in self._column(way, zone.flow)))
        reaches = [self._service(zone.flow), *self._column(way, zone.flow)]
        every = [self._service(zone.flow), *(reach for way in ways for reach in self._column(way, zone.flow))]
        steepest = max(every, key=lambda reach: reach.wave_speed * reach.velocity)
        column = sum(reach.length * reach.velocity for reach in reaches)
        valve = valve_for(self.backflow, yard=self.yard, catalogue=self.catalogue, flow=zone.flow)
        pipes = [pipe for way in ways for pipe in way]
        tight = min(pipes, key=lambda pipe: self._allowed(pipe) - self._pressure(self.static, pipe))
        return Surge(
            zone=zone.id,
            role="main",
            pipe=tight.id,
            standing=self._pressure(self.static, tight),
            velocity=steepest.velocity,
            wave_speed=steepest.wave_speed,
            column=column,
            wave_time=2 * sum(reach.length / reach.wave_speed for reach in reaches),
            closing_time=valve.closing_time,
            sharp=surge(steepest.velocity, wave_speed=steepest.wave_speed, density=self._rho()),
            slow=closing_surge(column, closing_time=valve.closing_time, density=self._rho()),
            rating=self._rating(tight),
            allowed=self._allowed(tight),
            source=self.catalogue.materials[tight.material].source,
        )

    def laterals(self, zone: Zone, laterals: Sequence[Pipe]) -> Surge:
        """Stop each lateral's own velocity at once, on the pressure after the valve."""
        reaches = {pipe.id: self._reach(pipe, pipe.flow) for pipe in laterals}

        def rise(pipe: Pipe) -> float:
            reach = reaches[pipe.id]
            return surge(reach.velocity, wave_speed=reach.wave_speed, density=self._rho())

        tight = min(
            laterals, key=lambda pipe: self._allowed(pipe) - self._pressure(zone.after_valve, pipe) - rise(pipe)
        )
        reach = reaches[tight.id]
        return Surge(
            zone=zone.id,
            role="lateral",
            pipe=tight.id,
            standing=self._pressure(zone.after_valve, tight),
            velocity=reach.velocity,
            wave_speed=reach.wave_speed,
            column=reach.length * reach.velocity,
            wave_time=2 * reach.length / reach.wave_speed,
            closing_time=0.0,
            sharp=rise(tight),
            slow=None,
            rating=self._rating(tight),
            allowed=self._allowed(tight),
            source=self.catalogue.materials[tight.material].source,
        )

    def _rho(self) -> float:
        return density(self.yard.water_entry.temperature)

    def _pressure(self, at_entry: float, pipe: Pipe) -> float:
        """Pressure [Pa] at a pipe's lowest point, of one that is known at the entry's level."""
        if pipe.id not in self.lowest:
            ground = float(self.ground.terrain.along(pipe.path).min())
            self.lowest[pipe.id] = ground - self.yard.rules.trench_depth
        return at_entry + self.yard.water_entry.weight * (self.yard.water_entry.height - self.lowest[pipe.id])

    def _rating(self, pipe: Pipe) -> float:
        share = self.catalogue.materials[pipe.material].share_at(self.yard.water_entry.temperature)
        return share * self._size(pipe).pressure_rating

    def _allowed(self, pipe: Pipe) -> float:
        return self._rating(pipe) * self.catalogue.materials[pipe.material].surge_share

    def _size(self, pipe: Pipe) -> PipeSize:
        return next(s for s in self.catalogue.pipes if (s.material, s.trade_size) == (pipe.material, pipe.size))

    def _column(self, way: Sequence[Pipe], flow: float) -> list[_Reach]:
        """A way's runs, each at the zone's flow or the most that it ever carries."""
        return [self._reach(pipe, min(flow, pipe.flow)) for pipe in way]

    def _reach(self, pipe: Pipe, flow: float) -> _Reach:
        speed = velocity(flow, inside_diameter=pipe.bore)
        return _Reach(pipe.length, speed, pipe_wave_speed(self._size(pipe), self.catalogue))

    def _service(self, flow: float) -> _Reach:
        """The service pipe; a size that the table lacks counts as the material's first."""
        pipe = self.yard.water_entry.pipe
        sizes = [size for size in self.catalogue.pipes if size.material == pipe.material]
        size = next((size for size in sizes if size.trade_size == pipe.size), sizes[0])
        speed = velocity(flow, inside_diameter=pipe.bore or size.inside_diameter)
        return _Reach(pipe.length, speed, pipe_wave_speed(size, self.catalogue))
