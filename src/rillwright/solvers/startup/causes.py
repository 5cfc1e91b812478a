"""What may be wrong with a zone at its first start, as changes to its network.

Each cause is a set of faults: one place and one severity each, spread evenly over what is worth finding. Faults of one
cause, place and words stand in the order of their severity. A fault is a row of factors on the network's own arrays.
Ranges and the odds before measuring are judgement.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal, get_args

import numpy as np

from rillwright.model.catalogue import outlet_of
from rillwright.model.network import Link
from rillwright.model.parts import Catalogue, Nozzle
from rillwright.model.plan import Head
from rillwright.physics.pipes import area

__all__ = ["BEFORE", "CAUSES", "Cause", "Fault", "broken", "clogged", "faults_of", "leaking", "throttled"]

Cause = Literal[
    "as planned",
    "head broken or missing",
    "nozzle clogged",
    "wrong nozzle",
    "valve not fully open",
    "leak in a lateral",
    "supply worse than thought",
    "pipes rougher or narrower",
]
CAUSES: tuple[Cause, ...] = get_args(Cause)
BEFORE: Mapping[Cause, float] = {
    "as planned": 0.20,
    "head broken or missing": 0.12,
    "nozzle clogged": 0.14,
    "wrong nozzle": 0.12,
    "valve not fully open": 0.12,
    "leak in a lateral": 0.12,
    "supply worse than thought": 0.12,
    "pipes rougher or narrower": 0.06,
}

BROKEN = 2.0  # times what the nozzle passes, at the least; at the most the riser's bore stands open
CLOGGED = (0.35, 0.97)  # share of the nozzle that is shut
OTHER = 0.15  # share by which another nozzle's flow differs at the least
CLOSED = (25e3, 300e3)  # [Pa] that the valve takes at the design flow
LEAKING = (0.10, 1.5)  # of the zone's flow
LOWER = (0.15, 0.45)  # share of the static pressure that is missing
TIGHTER = (1.7, 6.0)  # times the supply's loss
ROUGH = (0.2e-3, 2e-3)  # [m]
_JET = math.sqrt(2 / 998.2)


@dataclass(frozen=True, slots=True)
class Fault:
    """One cause at one place with one severity."""

    cause: Cause
    where: str = ""  # head or lateral node
    words: str = ""
    nozzle: float = 1.0  # factor on the outlet at `where`
    leak: float = 0.0  # [m³/s / Pa^0.5] at `where`
    control: float = 0.0  # [Pa/(m³/s)²] of the zone valve's flow control
    static: float = 1.0  # factor
    loss: float = 1.0  # factor on the supply's loss
    rough: float = 0.0  # [m] least roughness of every pipe


def faults_of(
    heads: Sequence[Head],
    *,
    risers: Mapping[str, Link],
    nodes: Sequence[str],
    flow: float,
    pressure: float,
    catalogue: Catalogue,
) -> tuple[Fault, ...]:
    """Every fault that is weighed.

    Parameters: heads of the zone; risers, by head; nodes of its laterals; flow [m³/s] of the zone as planned and
    pressure [Pa] behind its valve; catalogue, for the other nozzles that a head may have got.
    """
    return (Fault("as planned"), *_of_heads(heads, risers, catalogue), *_of_zone(nodes, flow, pressure))


def _of_heads(heads: Sequence[Head], risers: Mapping[str, Link], catalogue: Catalogue) -> Iterator[Fault]:
    for head in heads:
        gone = broken(head, riser=risers[head.id], share=1.0, catalogue=catalogue)
        for factor in np.geomspace(min(BROKEN, gone.nozzle), gone.nozzle, 10):
            yield replace(gone, nozzle=float(factor))
        for share in np.linspace(*CLOGGED, 9):
            yield clogged(head.id, share=float(share))
        yield from others(head, catalogue)


def _of_zone(nodes: Sequence[str], flow: float, pressure: float) -> Iterator[Fault]:
    for loss in np.geomspace(*CLOSED, 16):
        yield throttled(float(loss), flow=flow)
    for node in nodes:
        for share in np.geomspace(*LEAKING, 10):
            yield leaking(node, share=float(share), flow=flow, pressure=pressure)
    for share in np.linspace(*LOWER, 10):
        yield Fault("supply worse than thought", words="static pressure", static=1 - float(share))
    for factor in np.geomspace(*TIGHTER, 10):
        yield Fault("supply worse than thought", words="loss on the way in", loss=float(factor))
    for rough in np.geomspace(*ROUGH, 8):
        yield Fault("pipes rougher or narrower", rough=float(rough))


def broken(head: Head, *, riser: Link, share: float, catalogue: Catalogue) -> Fault:
    """A head whose riser stands open by a share of its bore; the jet law is met at the nozzle's design pressure."""
    nozzle = catalogue.nozzles[head.nozzle]
    outlet = outlet_of(nozzle, head.arc, radius_share=head.radius_share)
    jet = share * area(riser.bore) * _JET * math.sqrt(nozzle.design_pressure)
    factor = jet / (outlet.coefficient * nozzle.design_pressure**outlet.exponent)
    return Fault("head broken or missing", head.id, nozzle=max(factor, 1.3))


def clogged(head: str, *, share: float) -> Fault:
    """A head whose nozzle is shut by a share."""
    return Fault("nozzle clogged", head, nozzle=1 - share)


def others(head: Head, catalogue: Catalogue) -> Iterator[Fault]:
    """The head with each other nozzle of its class and pattern that passes another flow; alike flows count once."""
    own = catalogue.nozzles[head.nozzle]
    planned = _passes(own, head)
    seen: set[int] = set()
    for nozzle in catalogue.nozzles.values():
        if (nozzle.head_class, nozzle.pattern) != (own.head_class, own.pattern) or not _takes(nozzle, head.arc):
            continue
        factor = _passes(nozzle, head) / planned
        if abs(factor - 1) >= OTHER and round(20 * factor) not in seen:
            seen.add(round(20 * factor))
            yield Fault("wrong nozzle", head.id, words=nozzle.id, nozzle=factor)


def _passes(nozzle: Nozzle, head: Head) -> float:
    outlet = outlet_of(nozzle, head.arc, radius_share=head.radius_share)
    return float(outlet.coefficient * head.pressure**outlet.exponent)


def _takes(nozzle: Nozzle, arc: float) -> bool:
    if nozzle.pattern != "sector" or not nozzle.flow_follows_arc:
        return True
    return arc in nozzle.fixed_arcs if nozzle.fixed_arcs else nozzle.arc_low <= arc <= nozzle.arc_high


def throttled(loss: float, *, flow: float) -> Fault:
    """A valve that takes a loss [Pa] at the zone's flow [m³/s]."""
    return Fault("valve not fully open", control=loss / flow**2)


def leaking(node: str, *, share: float, flow: float, pressure: float) -> Fault:
    """A leak that would pass a share of the zone's flow at the pressure [Pa] behind its valve."""
    return Fault("leak in a lateral", node, leak=share * flow / math.sqrt(pressure))
