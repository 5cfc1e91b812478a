import pytest
from matplotlib.colors import to_rgb

from drawn_plans import plan_named
from rillwright.model.ground import resolve_ground
from rillwright.report.palette import zone_colour, zone_dash
from rillwright.report.pipes_drawn import paths_on_paper, pipe_width
from rillwright.report.scale import fit_view


def drawn(name):
    plan = plan_named(name)
    view = fit_view(resolve_ground(plan.yard).extent, system=plan.yard.units)
    return plan, view, paths_on_paper(plan, view)


@pytest.mark.parametrize("name", ["demo", "crowded"])
def test_the_pipes_of_a_zone_meet_at_their_joints(name):
    plan, _, paths = drawn(name)
    met = 0
    for pipe in plan.pipes:
        for other in plan.pipes:
            if pipe.zone and pipe.zone == other.zone and pipe.end == other.start:
                assert paths[pipe.id][-1] == pytest.approx(paths[other.id][0], abs=1e-6)
                met += 1
    assert met > 5


@pytest.mark.parametrize("name", ["demo", "crowded"])
def test_pipes_reach_their_heads(name):
    plan, view, paths = drawn(name)
    heads = {head.id: view.xy(*head.at) for head in plan.heads}
    ends = [pipe for pipe in plan.pipes if pipe.end in heads]
    assert ends
    for pipe in ends:
        assert paths[pipe.id][-1] == pytest.approx(heads[pipe.end], abs=1e-6)


@pytest.mark.parametrize("name", ["demo", "crowded"])
def test_pipes_of_different_zones_in_one_trench_are_drawn_apart(name):
    plan, view, paths = drawn(name)
    pipes = {pipe.id: pipe for pipe in plan.pipes}
    shifts = {}
    for pipe in plan.pipes:
        true = [view.xy(x, y) for x, y in pipe.path]
        moved = paths[pipe.id][1] if len(paths[pipe.id]) > len(true) else paths[pipe.id][0]
        shifts[pipe.zone] = (moved[0] - true[0][0], moved[1] - true[0][1])
    shared = [t for t in plan.trenches if len({pipes[p].zone for p in t.pipes}) > 1]
    assert shared
    for trench in shared:
        places = [shifts[zone] for zone in {pipes[p].zone for p in trench.pipes}]
        for i, a in enumerate(places):
            for b in places[i + 1 :]:
                assert (a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2 > 0.6


def test_a_wider_pipe_has_a_wider_line():
    pipe = plan_named("crowded").pipes[1]
    widths = [pipe_width(pipe.model_copy(update={"bore": bore})) for bore in (0.0158, 0.0209, 0.0266, 0.0351)]
    assert widths == sorted(set(widths))
    assert pipe_width(pipe.model_copy(update={"role": "main"})) > pipe_width(pipe)


def test_no_two_zones_look_alike_in_colour_or_in_grey():
    looks = [(zone_colour(i), zone_dash(i)) for i in range(64)]
    assert len(set(looks)) == 64
    assert len({zone_dash(i) for i in range(8)}) == 8  # grey print has the dashes alone
    for colour in {colour for colour, _ in looks}:
        assert sum(to_rgb(colour)) < 2.4  # dark enough on white
