"""From the header to the lateral: a valve in its box, or one over the ground with its vacuum breaker."""

from rillwright.model.manifold import Run, Spot
from rillwright.solvers.manifold.bench import Bench, Branch, Line
from rillwright.solvers.manifold.legs import device_leg, inlet_level
from rillwright.solvers.manifold.room import Outlet
from rillwright.solvers.manifold.shelf import Pipe

__all__ = ["branch_runs"]

_UP, _DOWN = (0, 0, 1), (0, 0, -1)


def branch_runs(bench: Bench, branch: Branch, outlet: Outlet, tee: Spot, side: int) -> tuple[list[Run], int | None]:
    """The runs of a valve, and the critical level [marks] of its vacuum breaker where it has one."""
    return (_lying if branch.lies else _upright)(bench, branch, outlet, tee, (0, side, 0))


def _lying(bench: Bench, branch: Branch, outlet: Outlet, tee: Spot, way: Spot) -> tuple[list[Run], int | None]:
    """An in-line valve in its box; after it, where it has one, its own vacuum breaker on a riser."""
    shelf = bench.shelf
    line, pipe = Line(shelf, branch.zone, tee, way), bench.branch_pipe(branch)
    after = branch.lateral if branch.breaker is None else pipe
    begun = _leave(line, bench, outlet)
    if bench.terms.unions == "both sides":
        line.union(begun)
    line.to_thread(begun, branch.size)
    body = shelf.body(branch.valve, branch.size)
    line.device("valve", f"{branch.valve} {branch.size}", body, shelf.lay_of(body))
    line.from_thread(branch.size, after)
    if bench.terms.unions != "none":
        line.union(after)
    if branch.breaker is None:
        return [line.run()], None
    elbow = shelf.elbow(pipe)
    line.pipe(pipe)
    line.fitting("elbow", elbow, pipe, shelf.arm(elbow, 0))
    kind = "atmospheric vacuum breaker"
    leg, end, critical = device_leg(bench, pipe, line.end, way, kind=kind, size=branch.breaker, name=branch.zone)
    return [line.run(), *leg, _out(bench, branch, pipe, end, way)], critical


def _upright(bench: Bench, branch: Branch, outlet: Outlet, tee: Spot, way: Spot) -> tuple[list[Run], int | None]:
    """A valve with vacuum breaker over the ground: up from the header, over, and down to the lateral."""
    shelf, pipe, grid = bench.shelf, bench.branch_pipe(branch), bench.shelf.grid
    body, depth = shelf.body(branch.valve, branch.size), bench.shelf.grid.near(bench.shelf.depth(branch.size))

    def riser(cut: int) -> Line:
        line = Line(shelf, branch.zone, tee, _UP)
        begun = _leave(line, bench, outlet)
        if bench.terms.unions == "both sides":
            line.union(begun, cut)
            line.to_thread(begun, branch.size)
        else:
            line.to_thread(begun, branch.size, cut)
        return line

    wanted = inlet_level(bench, body.critical) + depth - riser(0).end[2]
    up = riser(max(wanted, shelf.stub((pipe[0], outlet.size))))
    inlet = up.end[2] - depth
    up.device("valve", f"{branch.valve} {branch.size}", body, 0)
    over = Line(shelf, f"{branch.zone} over", up.end, way)
    over.arm(pipe, grid.near(body.reach))
    down, elbow = Line(shelf, f"{branch.zone} down", over.end, _DOWN), shelf.elbow(pipe)
    down.from_thread(branch.size, pipe)
    if bench.terms.unions != "none":
        down.union(pipe)
    down.pipe(pipe, down.end[2] - tee[2] - shelf.arm(elbow, 0))
    down.fitting("elbow", elbow, pipe, shelf.arm(elbow, 0))
    return [up.run(), over.run(), down.run(), _out(bench, branch, pipe, down.end, way)], inlet + grid.near(
        body.critical
    )


def _leave(line: Line, bench: Bench, outlet: Outlet) -> Pipe:
    """Out of the tee. Returns the pipe that then begins."""
    line.arm(bench.header, outlet.branch)
    return bench.header[0], outlet.size


def _out(bench: Bench, branch: Branch, pipe: Pipe, centre: Spot, way: Spot) -> Run:
    """From the lowest elbow into the lateral."""
    line = Line(bench.shelf, f"{branch.zone} out", centre, way)
    line.arm(pipe, bench.shelf.arm(bench.shelf.elbow(pipe), 1))
    if not bench.shelf.alike(pipe, branch.lateral):
        line.pipe(pipe)
        line.change(pipe, branch.lateral)
    return line.run()
