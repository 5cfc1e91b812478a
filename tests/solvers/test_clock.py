"""The controller's clock: limits never passed, and as few surplus minutes as any setting has."""

from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rillwright.solvers.clock import ClockLimits, Station, set_clock

STATION = st.builds(
    Station,
    zone=st.just(""),
    minutes=st.integers(1, 60),
    longest=st.integers(4, 60),
    soak=st.sampled_from([0.0, 0.5, 1.0, 2.0]),
)
LIMITS = st.builds(
    ClockLimits,
    programs=st.integers(1, 3),
    starts=st.integers(1, 4),
    longest_run=st.sampled_from([20, 240]),
    spans=st.sampled_from([((0, 360),), ((0, 120), (180, 360)), ((30, 200),)]),
)


def runs_of(plan):
    """Every run: night, begin, end, zone."""
    for program in plan.programs:
        for start in program.starts:
            at = start
            for zone, minutes in program.stations:
                yield program.night, at, at + minutes, zone
                at += minutes


@settings(max_examples=25)
@given(st.lists(STATION, min_size=1, max_size=4), LIMITS, st.integers(1, 2))
def test_no_setting_passes_a_limit(drawn, limits, nights):
    stations = [Station(f"Z{n}", s.minutes, s.longest, s.soak) for n, s in enumerate(drawn)]
    plan = set_clock(stations, limits, nights=nights)
    if not plan.programs:
        assert plan.status in ("infeasible", "effort used up")
        return
    assert len(plan.programs) <= limits.programs
    assert sorted(zone for p in plan.programs for zone, _ in p.stations) == sorted(s.zone for s in stations)
    runs = sorted(runs_of(plan))
    for night, begin, end, _ in runs:
        assert any(low <= begin and end <= high for low, high in limits.spans)
        assert 0 <= night < nights
    for (night, _, end, _), (other, begin, _, _) in pairwise(runs):
        assert night != other or end <= begin
    for program in plan.programs:
        assert 1 <= len(program.starts) <= limits.starts
    for station in stations:
        own = [run for run in runs if run[3] == station.zone]
        assert sum(end - begin for _, begin, end, _ in own) >= station.minutes
        assert all(end - begin <= min(station.longest, limits.longest_run) for _, begin, end, _ in own)
        for (_, begin, end, _), (_, after, _, _) in pairwise(own):
            assert after - end >= station.soak * (end - begin)


@pytest.mark.parametrize("hours", [40, 60, 90])
def test_surplus_and_feasibility_against_every_setting(hours):
    """Three stations, two programs, two starts: every split and every time by five minutes."""
    stations = [Station("Z0", 15, 60, 0.0), Station("Z1", 11, 6, 1.0), Station("Z2", 9, 5, 2.0)]
    limits = ClockLimits(programs=2, starts=2, longest_run=240, spans=((0, hours),))
    best = None
    for split in product((0, 1), repeat=3):
        for counts in product((1, 2), repeat=2):
            minutes = [-(-s.minutes // counts[p]) for s, p in zip(stations, split, strict=True)]
            if any(m > s.longest for m, s in zip(minutes, stations, strict=True)):
                continue
            if not _fits(stations, split, counts, minutes, hours):
                continue
            surplus = sum(m * counts[p] for m, p in zip(minutes, split, strict=True)) - sum(s.minutes for s in stations)
            best = surplus if best is None else min(best, surplus)
    plan = set_clock(stations, limits)
    assert bool(plan.programs) == (best is not None)
    if best is not None:
        assert plan.status == "optimal"
        assert plan.surplus == best


def _fits(stations, split, counts, minutes, hours):
    """Whether some times do, by the minute, programs' first starts as early as they may be after one another."""
    length = [sum(m for m, p in zip(minutes, split, strict=True) if p == q) for q in (0, 1)]
    apart = [
        max((m + -(-m * s.soak // 1) for s, m, p in zip(stations, minutes, split, strict=True) if p == q), default=0)
        for q in (0, 1)
    ]
    used = [q for q in (0, 1) if length[q]]
    times = range(hours + 1)
    options = []
    for q in used:
        if counts[q] == 1:
            options.append([(a,) for a in times if a + length[q] <= hours])
        else:
            least = max(length[q], apart[q])
            options.append([(a, b) for a in times for b in times if b - a >= least and b + length[q] <= hours])
    for chosen in product(*options):
        spans = sorted((a, a + length[q]) for q, starts in zip(used, chosen, strict=True) for a in starts)
        if all(end <= begin for (_, end), (begin, _) in pairwise(spans)):
            return True
    return False


def test_what_would_make_room_is_told():
    stations = [Station("Z0", 40, 10, 0.0)]
    plan = set_clock(stations, ClockLimits(programs=1, starts=2, longest_run=240, spans=((0, 300),)))
    assert plan.status == "infeasible"
    assert plan.relief == ("more start times",)
    assert set_clock([Station("Z0", 90, 90, 0.0)], ClockLimits(1, 1, 240, ((0, 60),))).relief == ("longer hours",)


def test_programs_share_the_nights_that_the_ground_can_wait():
    stations = [Station(f"Z{n}", 50, 60, 0.0) for n in range(2)]
    limits = ClockLimits(programs=2, starts=1, longest_run=240, spans=((0, 60),))
    assert not set_clock(stations, limits).programs
    shared = set_clock(stations, limits, nights=2)
    assert sorted(program.night for program in shared.programs) == [0, 1]
