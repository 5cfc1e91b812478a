"""The search for layouts: first ones of every family, the most promising improved, for several prices of a head."""

import numpy as np
from shapely.geometry import MultiPolygon, Polygon

from rillwright.model.ground import Ground
from rillwright.model.site import Yard
from rillwright.solvers.coverage.arcs import Stand
from rillwright.solvers.coverage.held import Standing, standing_on
from rillwright.solvers.coverage.improve import cut_off_buildings, improve, keep_off_buildings, take_away
from rillwright.solvers.coverage.kit import Family, Kit, spacing_share
from rillwright.solvers.coverage.placement import Seat, edge_seats, inner_sets
from rillwright.solvers.coverage.shadow import scene_of
from rillwright.solvers.coverage.strips import strip_starts
from rillwright.solvers.coverage.trial import Field, Scale, State, make_field
from rillwright.solvers.coverage.weather import known_wind

__all__ = ["search"]

_ROUNDS = ((10, 0.025), (4, 0.06), (2, 0.12))  # how many layouts go on, and the share of the trials each gets
_DOWN, _UP, _LAST = 0.2, 0.1, 0.1  # shares of the trials for fewer heads, evener water, the best once more
_STEPS = 12  # a step down takes away this part of the heads, at least one
_CHEAP = 0.2  # price of a head, of the usual weight, that reaches for even water
_HOPELESS = 2.0  # harm past which fewer heads are not tried
_MOST_FAMILIES = 5
_MOST_CIRCLES = 120  # full circles on the lawn's area: a family that needs more is too small for it
_MOST_FOUND = 7  # layouts given back


def search(
    lawn_id: str, *, ground: Ground, yard: Yard, kit: Kit, rng: np.random.Generator, effort: float
) -> list[State]:
    """Search layouts from few heads to even water: the balanced one first, then others that are better in one of both.

    Starts of every family are improved in rounds, fewer and longer ones each time. From the best heads are taken away
    step by step and the rest mended; at a low price of a head it is improved the other way; the best of all is improved
    once more. The trials are `effort` times 1,400 and 280 for each head that a lattice would take. Empty when no start
    waters anything.
    """
    families = _fitting(kit, ground.lawns[lawn_id], spacing_share(yard.wind.speed))
    field = _field(lawn_id, ground=ground, yard=yard, kit=kit, families=families)
    standing = standing_on(lawn_id, kit.head_class, yard=yard, ground=ground)
    tried = _promising(field, families, standing, share=spacing_share(yard.wind.speed), rng=rng)
    if not tried:
        return []
    trials = effort * (1400 + 280 * field.scale.heads)
    found: list[tuple[State, Family]] = []
    for most, part in _ROUNDS:
        tried = _cheapest(tried)[:most]
        for state, family in tried:
            improve(state, family, trials=int(part * trials), rng=rng)
            found.append((state.priced(1.0), family))
    best, family = _cheapest(tried)[0]
    found += [(state, family) for state in _with_fewer(best, family, trials=int(_DOWN * trials), rng=rng)]
    evener = best.priced(_CHEAP)
    improve(evener, family, trials=int(_UP * trials), rng=rng)
    last, family = _cheapest([*found, (evener.priced(1.0), family)])[0]
    improve(last, family, trials=int(_LAST * trials), rng=rng)
    kept = [last, evener, *(state for state, _ in found if state is not last)]
    for state in kept:
        keep_off_buildings(state)
    return _undominated(kept)


def _field(lawn_id: str, *, ground: Ground, yard: Yard, kit: Kit, families: list[Family]) -> Field:
    lawn, spacing = ground.lawns[lawn_id], spacing_share(yard.wind.speed) * families[0].radius
    circles = lawn.area / spacing**2
    scale = Scale(circles + lawn.length / (2 * spacing) + 1, circles * max(families[0].flow_per_degree * 360, 1e-9))
    return make_field(
        lawn_id,
        ground=ground,
        kit=kit,
        scene=scene_of(ground, yard, wind=known_wind(yard)),
        paving_limit=yard.rules.overspray_paving,
        radius=families[-1].radius,
        scale=scale,
    )


def _cheapest(tried: list[tuple[State, Family]]) -> list[tuple[State, Family]]:
    return sorted(tried, key=lambda pair: pair[0].cost())


def _with_fewer(best: State, family: Family, *, trials: int, rng: np.random.Generator) -> list[State]:
    """Take heads away step by step, the least missed first, and mend what is left after each."""
    rungs = [best]
    steps = 1 + len(best.stands) // 2
    while len(rungs[-1].stands) > 1 and rungs[-1].harm() < _HOPELESS and len(rungs) <= steps:
        state = rungs[-1].priced(1.0)
        spent = take_away(state, max(1, len(state.stands) // _STEPS))
        improve(state, family, trials=trials // steps - spent, rng=rng, most=len(state.stands))
        rungs.append(state)
    return rungs[1:]


def _undominated(found: list[State]) -> list[State]:
    """The first, and of the rest those that no other beats in heads and harm both; of many, some spread over heads."""
    measured = sorted((round(state.heads, 6), state.harm(), number) for number, state in enumerate(found))
    kept: list[int] = []
    least = np.inf
    for _, harm, number in measured:
        if harm < least - 1e-9:
            kept.append(number)
            least = harm
    spread = np.unique(np.linspace(0, len(kept) - 1, _MOST_FOUND).round().astype(int))
    return [found[0], *(found[kept[k]] for k in spread if kept[k] != 0)]


def _promising(
    field: Field, families: list[Family], standing: Standing, *, share: float, rng: np.random.Generator
) -> list[tuple[State, Family]]:
    """Best start of each family, then the best of the rest: a good start says little about where a search ends."""
    first: list[tuple[State, Family]] = []
    rest: list[tuple[State, Family]] = []
    for family in families if field.kit.head_class != "strip" else families[:1]:
        bare = _starts(field, family, share=share, rng=rng) or ([[]] if standing else [])
        layouts = [layout for stands in bare for layout in standing.layouts(stands, field, family)]
        starts = [(State(field, layout), family) for layout in layouts]
        if standing.existing:  # aimed by somebody else: a start is not to be judged by what is soon mended
            _off_buildings(starts)
        own = _cheapest(starts)
        first, rest = first + own[:1], rest + own[1:]
    tried = [*_cheapest(first), *_cheapest(rest)][: _ROUNDS[0][0]]
    _off_buildings(tried)
    return tried


def _off_buildings(tried: list[tuple[State, Family]]) -> None:
    for state, _ in tried:
        keep_off_buildings(state)
        cut_off_buildings(state)


def _fitting(kit: Kit, lawn: Polygon | MultiPolygon, share: float) -> list[Family]:
    """Families worth trying, largest first: not so small that heads would be legion, not more than a handful."""
    families = list(kit.families)
    enough = [f for f in families if lawn.area / (share * f.radius) ** 2 <= _MOST_CIRCLES] or families[:1]
    thinned = [enough[0]]
    for family in enough[1:]:
        if family.radius < 0.965 * thinned[-1].radius:
            thinned.append(family)
    return thinned[:_MOST_FAMILIES]


def _starts(field: Field, family: Family, *, share: float, rng: np.random.Generator) -> list[list[Stand]]:
    """First layouts of one family."""
    if field.kit.head_class == "strip":
        return strip_starts(field.kit, field.lawn, field.ground)
    spacing = share * family.radius
    edge = edge_seats(field.ground, spacing=spacing, radius=family.radius, least=field.kit.least_radius)
    ways = inner_sets(field.ground, edge, spacing=spacing, radius=family.radius, rng=rng) or [[]]
    at_edge = _aimed(field, edge, family)
    return [stands for way in ways if (stands := at_edge + _aimed(field, way, family))]


def _aimed(field: Field, seats: list[Seat], family: Family) -> list[Stand]:
    aimed = (field.aim(seat, family) for seat in seats)
    return [stand for stand in aimed if stand is not None]
