"""The critical path against every path of small random networks, listed one by one."""

import random

import pytest

from rillwright.solvers.guide import longest_chain


def network(seed):
    dice = random.Random(seed)
    names = [f"s{n}" for n in range(dice.randint(1, 8))]
    durations = {name: dice.uniform(0.0, 5.0) for name in names}
    arcs = [
        (a, b, dice.choice((0.0, dice.uniform(0.0, 4.0))))
        for n, a in enumerate(names)
        for b in names[n + 1 :]
        if dice.random() < 0.4
    ]
    return durations, arcs


def every_path(durations, arcs):
    """All paths with their lengths, by walking on from every step."""

    def onward(path, length):
        yield path, length
        for first, then, wait in arcs:
            if first == path[-1]:
                yield from onward((*path, then), length + wait + durations[then])

    for step, duration in durations.items():
        yield from onward((step,), duration)


@pytest.mark.parametrize("seed", range(40))
def test_longest_of_all_paths(seed):
    durations, arcs = network(seed)
    chain = longest_chain(durations, arcs)
    lengths = dict(every_path(durations, arcs))
    assert chain.length == pytest.approx(max(lengths.values()))
    assert lengths[chain.steps] == pytest.approx(chain.length)


@pytest.mark.parametrize("seed", range(40))
def test_a_step_may_take_its_slack_longer_and_no_more(seed):
    durations, arcs = network(seed)
    chain = longest_chain(durations, arcs)
    for step, slack in chain.slack.items():
        used = longest_chain(durations | {step: durations[step] + slack}, arcs)
        over = longest_chain(durations | {step: durations[step] + slack + 0.5}, arcs)
        assert used.length == pytest.approx(chain.length)
        assert over.length == pytest.approx(chain.length + 0.5)


def test_a_circle_is_refused():
    with pytest.raises(ValueError, match="circle"):
        longest_chain({"a": 1.0, "b": 1.0}, [("a", "b", 0.0), ("b", "a", 0.0)])


def test_nothing_to_do():
    assert longest_chain({}, []).length == 0
