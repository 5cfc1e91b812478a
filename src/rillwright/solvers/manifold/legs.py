"""A riser to a device that stands over the ground, and down again."""

from rillwright.model.manifold import Run, Spot
from rillwright.solvers.manifold.bench import Bench, Line
from rillwright.solvers.manifold.shelf import Pipe

__all__ = ["device_leg", "inlet_level"]

_UP, _DOWN = (0, 0, 1), (0, 0, -1)


def inlet_level(bench: Bench, critical: float) -> int:
    """Least level [marks] of a breaker's inlet face for its critical level to stand as high as the plan asks."""
    assert bench.device_height is not None
    return bench.shelf.grid.up(bench.device_height) - bench.shelf.grid.near(critical)


def device_leg(
    bench: Bench, pipe: Pipe, start: Spot, way: Spot, *, kind: str, size: str, name: str = ""
) -> tuple[list[Run], Spot, int]:
    """From the centre of an elbow up to a device, over, and down to the centre of another elbow at the same depth.

    Returns: the runs, the last centre, and the device's critical level [marks].
    """
    shelf, grid = bench.shelf, bench.shelf.grid
    body, elbow = shelf.body(kind, size), shelf.elbow(pipe)
    arm, depth = shelf.arm(elbow, 1), grid.near(shelf.depth(size))

    def riser(cut: int) -> Line:
        line = Line(shelf, f"{name} up".strip(), start, _UP)
        line.arm(pipe, arm)
        line.to_thread(pipe, size, cut)
        return line

    bare = riser(0)
    cut = max(inlet_level(bench, body.critical) + depth - bare.end[2], shelf.stub(pipe))
    up = riser(cut)
    inlet = up.end[2] - depth
    up.device("device", f"{kind} {size}", body, grid.near(body.rise) - depth)
    over = Line(shelf, f"{name} over".strip(), up.end, way)
    over.arm(pipe, grid.near(body.reach) - depth)
    over.from_thread(size, pipe)
    over.pipe(pipe)
    over.fitting("elbow", elbow, pipe, shelf.arm(elbow, 0))
    down = Line(shelf, f"{name} down".strip(), over.end, _DOWN)
    down.arm(pipe, arm)
    down.pipe(pipe, over.end[2] - start[2] - arm - shelf.arm(elbow, 0))
    down.fitting("elbow", elbow, pipe, shelf.arm(elbow, 0))
    return [up.run(), over.run(), down.run()], down.end, inlet + grid.near(body.critical)
