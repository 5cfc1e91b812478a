"""How far apart two valves must stand: for one to come out while the other stays, and for the pipe between them."""

from dataclasses import dataclass

from rillwright.model.fittings import nominal
from rillwright.solvers.manifold.bench import Bench, Branch

__all__ = ["HAND", "Neighbour", "Outlet", "neighbour_of", "outlet_of", "stub_span", "turns_beside"]

CLEAR = 0.006  # [m] between what turns and what stands; judgement
HAND = 0.025  # [m] for fingers or a strap wrench between two bodies, or a body and a wall; judgement


@dataclass(frozen=True, slots=True)
class Neighbour:
    """A valve, with its breaker and unions, as its neighbours meet it [m]."""

    width: float  # of the widest body
    swing: float  # of the body that is screwed off; 0 when none is
    nut: float  # across its unions' nuts; 0 without
    tee: str  # that it leaves the header by


@dataclass(frozen=True, slots=True)
class Outlet:
    """How a valve leaves the header."""

    part: str
    mouth: int  # of the part, that leads to the valve
    size: str  # of that mouth
    arm: int  # [marks] from its centre to the header's pipe before it
    branch: int  # [marks] from its centre to the branch's pipe


def neighbour_of(bench: Bench, branch: Branch) -> Neighbour:
    """A branch of the bench as its neighbours meet it."""
    shelf, unions = bench.shelf, bench.terms.unions
    body = shelf.body(branch.valve, branch.size)
    breaker = None if branch.breaker is None else shelf.body("atmospheric vacuum breaker", branch.breaker)
    turned = [0.0 if breaker is None else breaker.swing, 0.0 if unions == "both sides" else body.swing]
    pipes = [bench.branch_pipe(branch)] * (unions == "both sides") + [branch.lateral] * (unions != "none")
    return Neighbour(
        max(body.width, 0.0 if breaker is None else breaker.width),
        max(turned),
        max((shelf.nut(pipe) for pipe in pipes), default=0.0),
        shelf.tee(bench.header, min(branch.size, bench.header[1], key=nominal))[0],
    )


def outlet_of(bench: Bench, branch: Branch, *, last: bool) -> Outlet:
    """A tee; for the last valve of a header that ends there, an elbow."""
    shelf = bench.shelf
    if last:
        part, size, mouth = shelf.elbow(bench.header), bench.header[1], 1
    else:
        part, size = shelf.tee(bench.header, bench.branch_pipe(branch)[1])
        mouth = 2
    return Outlet(part, mouth, size, shelf.arm(part, 0), shelf.arm(part, mouth))


def turns_beside(bench: Bench, one: Neighbour, two: Neighbour) -> int:
    """Marks from axis to axis that two neighbours on one side of the header need.

    With unions on both sides a valve is lifted out: a hand must get between the bodies, and round the nuts. Without
    them it is turned about its inlet's axis, and sweeps a circle that the other's body must keep out of.
    """
    lifted = max((one.width + two.width) / 2, (one.nut + two.nut) / 2) + HAND
    turned = max(one.swing + two.width / 2, two.swing + one.width / 2) + CLEAR if one.swing or two.swing else 0.0
    return bench.shelf.grid.up(max(lifted, turned))


def stub_span(bench: Bench, one: str, two: str, *, last: bool) -> int:
    """Marks from tee to tee, or to the elbow at the end, with the shortest pipe between them."""
    shelf = bench.shelf
    after = shelf.elbow(bench.header) if last and bench.ends else two
    return shelf.arm(one, 1) + shelf.stub(bench.header) + shelf.arm(after, 0)
