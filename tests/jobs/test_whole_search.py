"""The search over whole systems against every zoning at every place, each built in full, on small yards."""

import itertools
import math
from dataclasses import replace

import pytest

from rillwright.jobs.bill import total_of
from rillwright.jobs.build import with_pipes
from rillwright.jobs.progress import silent
from rillwright.jobs.search import improve_system
from rillwright.jobs.search.moves import in_order
from rillwright.jobs.search.trial import worth
from rillwright.jobs.stop import Stop
from rillwright.jobs.zoned import drafted, may_serve_on_level, zone_room
from rillwright.solvers.zoning import ZoneGroup, make_zones
from tiny_yards import KIND, small_room, the_case


def every_zoning(room):
    """All lawful zonings, by enumeration apart from the solvers."""
    problem = room.problem
    ids = [load.id for load in problem.loads]
    flow, able = ({load.id: getattr(load, name) for load in problem.loads} for name in ("flow", "capacity"))
    for size in range(len(ids) // 2 + 1):
        for part in itertools.combinations(ids, size):
            zones = [zone for zone in (part, tuple(i for i in ids if i not in part)) if zone]
            if all(sum(flow[i] for i in zone) <= min(able[i] for i in zone) for zone in zones):
                for homes in itertools.product([option.id for option in problem.options], repeat=len(zones)):
                    yield in_order([ZoneGroup(zone, home) for zone, home in zip(zones, homes, strict=True)])


def built(groups, room, zoning):
    """A draft with these zones and places for those of a zoning, routed on a graph of its own, sized and solved."""
    zoning = replace(
        zoning,
        groups=groups,
        places_used=tuple(sorted({group.place for group in groups})),
    )
    return with_pipes(drafted(room, zoning, the_case()), the_case())


def searched(first):
    """The search from a draft on."""
    assert first.fits
    return improve_system(first, [], case=the_case(), stop=Stop(), progress=silent, pool=None)


@pytest.mark.parametrize("seed", range(10))
def test_the_search_finds_the_cheapest_system(seed):
    """Every zoning at every place, routed, sized, solved and billed one by one: an independent, dull search.

    Routes differ by what pipe is weighed at, so the search may come out a little under the dull one; the bound is under
    both.
    """
    room = small_room(seed)
    zoning = make_zones(room.problem, effort=0.0)
    found = searched(built(in_order(zoning.groups), room, zoning))
    drafts = [built(groups, room, zoning) for groups in set(every_zoning(room))]
    bound = sum(part.amount for part in found.least)
    assert bound <= min(found.search[-1].total, *(total_of(draft, the_case()) for draft in drafts))
    assert worth(found, the_case()) <= min(worth(draft, the_case()) for draft in drafts) + 0.01


def test_a_valve_at_a_plainly_bad_place_moves():
    """All heads lie left of the walk and the valve right of it; the place beside them is as near to the entry."""
    room = small_room(1)
    heads = tuple(head.model_copy(update={"at": (head.at[0] * 0.4, head.at[1])}) for head in room.heads)
    whole = zone_room(heads, KIND, case=the_case(), pipes=20e3, serves=may_serve_on_level, bands={"lawn": 1})
    far = max(whole.problem.options, key=lambda option: (option.at[0] + option.at[1], option.id))
    first = built(
        in_order([ZoneGroup(tuple(head.id for head in heads), far.id)]), whole, make_zones(whole.problem, effort=0.0)
    )
    found = searched(first)
    assert len(found.places) == 1
    assert math.dist(found.places[0].at, the_case().yard.water_entry.at) < 8 < math.dist(far.at, (2, 0))
    assert found.search[2].total < found.search[1].total * 0.9
