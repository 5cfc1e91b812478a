"""Pipes that are held fast or lie in the ground: which net they belong to, and what of held ones is left out."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from rillwright.model.ground import Ground
from rillwright.model.pin_rules import outdoors
from rillwright.model.plan import Head, Pipe, Point
from rillwright.model.site import ExistingPipe, PinnedPipe, Yard
from rillwright.solvers.routing import Held, line_owners

__all__ = ["UNLAID", "Lines", "lines_by_net", "unlaid"]

UNLAID = 1000.0  # [currency/m] of held pipe left out, so that no search saves money by it; judgement, ranks only


@dataclass(frozen=True, slots=True)
class Lines:
    """The lines of each net: `main`, or the laterals of a zone."""

    held: Mapping[str, tuple[Held, ...]]  # that its pipe must follow
    in_ground: Mapping[str, tuple[ExistingPipe, ...]]  # that it may follow at no cost


def lines_by_net(
    yard: Yard,
    ground: Ground,
    members: Mapping[str, Sequence[Head]],
    home: Mapping[str, Point],
    buried: Sequence[ExistingPipe],
) -> Lines:
    """Give every held and buried line to one net.

    Mains are the main's. A lateral is of the zone of the heads that its pin names; the others are given to zones
    together, so that the least other pipe is needed.
    Parameters: members, heads by zone; home, the valve place [m] of each zone; buried, pipes in the ground to offer.
    """
    pins = [(pin, line) for pin in yard.pins.pipes if (line := outdoors(pin.path, ground)) is not None]
    zone_of = {head.pin: zone for zone, heads in members.items() for head in heads if head.pin is not None}
    lines: list[tuple[PinnedPipe | ExistingPipe, tuple[Point, ...], list[str]]] = [
        (pin, _path(line.coords), [zone_of[name] for name in pin.heads if name in zone_of]) for pin, line in pins
    ]
    lines += [(pipe, _path(pipe.path), []) for pipe in buried]
    laterals = [(path, named) for pipe, path, named in lines if pipe.role != "main"]
    ends = {zone: (home[zone], *(head.at for head in heads)) for zone, heads in members.items()}
    fixed = {number: named[0] for number, (_, named) in enumerate(laterals) if named}
    owners = iter(line_owners([path for path, _ in laterals], ends, fixed))
    held: dict[str, tuple[Held, ...]] = {}
    in_ground: dict[str, tuple[ExistingPipe, ...]] = {}
    for pipe, path, _ in lines:
        net = "main" if pipe.role == "main" else next(owners)
        if isinstance(pipe, ExistingPipe):
            in_ground[net] = (*in_ground.get(net, ()), pipe)
        else:
            held[net] = (*held.get(net, ()), Held(pipe.id, path))
    return Lines(held, in_ground)


def unlaid(pipes: Sequence[Pipe], yard: Yard, ground: Ground) -> float:
    """Length [m] of held pipe that some pipes leave out."""
    laid: dict[str, float] = {}
    for pipe in pipes:
        if pipe.pin is not None:
            laid[pipe.pin] = laid.get(pipe.pin, 0.0) + pipe.length
    lines = {pin.id: outdoors(pin.path, ground) for pin in yard.pins.pipes}
    return float(sum(max(0.0, line.length - laid.get(name, 0.0)) for name, line in lines.items() if line is not None))


def _path(coords: Iterable[Sequence[float]]) -> tuple[Point, ...]:
    return tuple((float(x), float(y)) for x, y in coords)
