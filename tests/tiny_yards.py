"""Small invented yards with heads set by hand, whose every zoning can be built one by one."""

import random
from dataclasses import replace
from functools import cache

from plan_yards import CATALOGUE, rectangle, small_yard
from rillwright.exchange.yard_file import validated
from rillwright.jobs.case import make_case
from rillwright.jobs.zoned import may_serve_on_level, zone_room
from rillwright.model.catalogue import outlet_of, radius_at
from rillwright.model.plan import Head
from rillwright.solvers.supply import fit_supply

KIND = "reduced pressure zone"
PRESSURE = 250e3


@cache
def the_case():
    """Twice as deep as the small yard, with a walk across it, so that trenches differ in price."""
    lawn = {"id": "lawn", "kind": "lawn", "outline": rectangle(0, 0, 16, 14)}
    walk = {"id": "walk", "kind": "paving", "outline": rectangle(7.5, 0, 1.0, 9)}
    house = {"id": "house", "kind": "building", "outline": rectangle(0, -4, 16, 4)}
    yard = validated(small_yard(areas=[lawn, walk, house], backflow={"allowed": [KIND]}), source="test")
    return make_case(yard, CATALOGUE, fit=fit_supply(yard, CATALOGUE, seed=0), seed=0)


def small_room(seed):
    """Five heads and two places, four and three, or four and two; zones that hold two or three heads."""
    case, dice = the_case(), random.Random(seed)
    number_of_heads, places, most = ((5, 2, 3), (4, 3, 2), (4, 2, 3))[seed % 3]
    nozzle = next(n for n in CATALOGUE.nozzles.values() if n.head_class == "rotary")
    heads = []
    for number in range(number_of_heads):
        at = (dice.uniform(0.5, 15.5), dice.uniform(0.5, 13.5))
        while 7.3 <= at[0] <= 8.7:
            at = (dice.uniform(0.5, 15.5), at[1])
        heads.append(
            Head(
                id=f"H{number}",
                lawn="lawn",
                at=at,
                ground=case.ground.terrain.at(*at),
                head_class="rotary",
                nozzle=nozzle.id,
                arc_start=0.0,
                arc=180.0,
                radius_share=1.0,
                radius=radius_at(nozzle, PRESSURE),
                flow=float(outlet_of(nozzle, 180.0).coefficient * PRESSURE ** outlet_of(nozzle, 180.0).exponent),
                pressure=PRESSURE,
                hydrozone="lawn",
            )
        )
    room = zone_room(tuple(heads), KIND, case=case, pipes=20e3, serves=may_serve_on_level, bands={"lawn": 1})
    options = tuple(dice.sample(room.problem.options, places))
    loads = tuple(replace(load, capacity=(most + 0.2) * load.flow) for load in room.problem.loads)
    problem = replace(room.problem, loads=loads, options=options, stations=2)
    return replace(room, problem=problem)
