"""Fittings of a pipe tree: which stands where, and the riser."""

import pytest

from rillwright.model.plan import Pipe
from rillwright.physics.losses import turbulent_friction_factor
from rillwright.physics.units import GPM, PSI
from rillwright.solvers.fittings import minor_losses, riser_loss

BORE = 0.0266


def run(name: str, start: str, end: str, *path, zone="Z1") -> Pipe:
    return Pipe(
        id=name,
        role="lateral" if zone else "main",
        zone=zone,
        start=start,
        end=end,
        path=path,
        length=1.0,
        material="PE",
        size="1 in",
        bore=BORE,
        flow=0.0,
        velocity=0.0,
        loss=0.0,
    )


def in_bores(pipes) -> dict[str, int]:
    return {name: round(k / turbulent_friction_factor(BORE)) for name, k in minor_losses(pipes).items()}


def test_tee_runs_branches_and_elbows():
    """Crane TP-410: 30 for an elbow, 16 for one of 45°, 20 through a tee, 60 by its branch (from memory)."""
    pipes = [
        run("first", "V", "J", (0, 0), (10, 0)),
        run("straight", "J", "A", (10, 0), (20, 1)),
        run("left", "J", "B", (10, 0), (10, 5)),
        run("right", "J", "C", (10, 0), (10, -5)),
        run("past a head", "A", "D", (20, 1), (30, 2)),
        run("corner", "B", "E", (10, 5), (15, 5)),
    ]
    assert in_bores(pipes) == {
        "first": 30,
        "straight": 20,
        "left": 60,
        "right": 60,
        "past a head": 20,
        "corner": 30,
    }


def test_bull_head_tee_has_branches_only():
    pipes = [
        run("first", "V", "J", (0, 0), (10, 0)),
        run("left", "J", "B", (10, 0), (10, 5)),
        run("right", "J", "C", (10, 0), (10, -5)),
    ]
    assert in_bores(pipes) == {"first": 30, "left": 60, "right": 60}


@pytest.mark.parametrize(
    ("path", "bores"),
    [
        (((0, 0), (5, 0), (10, 0)), 0),
        (((0, 0), (5, 0), (10, 1)), 0),
        (((0, 0), (5, 0), (10, 5)), 16),
        (((0, 0), (5, 0), (5, 5)), 30),
        (((0, 0), (5, 0), (5, 0), (5, 5)), 30),
        (((0, 0), (5, 0), (5, 5), (0, 5)), 60),
        (((0, 0), (-5, 0.5), (-10, 0)), 0),
    ],
)
def test_bends_along_a_run(path, bores):
    assert in_bores([run("p", "V", "A", *path)]) == {"p": 30 + bores}


def test_each_net_has_its_own_junctions():
    """Two zones leave one valve place, and cross at J: no tee joins them."""
    pipes = [
        run("one", "V", "J", (0, 0), (10, 0)),
        run("one on", "J", "A", (10, 0), (20, 0)),
        run("two", "V", "J", (0, 0), (10, 0), zone="Z2"),
        run("two on", "J", "B", (10, 0), (10, 9), zone="Z2"),
    ]
    assert in_bores(pipes) == {"one": 30, "one on": 20, "two": 30, "two on": 30}


def test_a_run_of_no_length_does_no_harm():
    pipes = [run("first", "V", "J", (0, 0), (0, 0)), run("on", "J", "A", (0, 0), (5, 0))]
    assert set(in_bores(pipes)) == {"first", "on"}


def test_riser_takes_a_fraction_of_a_psi():
    """A swing joint takes some 0.1 to 1 psi at the flows of its heads: common practice, no source."""
    for head_class, gpm in (("spray", 2.0), ("rotary", 1.0), ("small rotor", 3.0), ("mid rotor", 6.0)):
        assert 0.02 * PSI < riser_loss(gpm * GPM, head_class=head_class) < 1.0 * PSI
    assert riser_loss(0.0, head_class="spray") == 0.0
