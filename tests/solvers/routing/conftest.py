"""Small invented yards for the routing tests."""

import numpy as np
import pytest
import shapely

from rillwright.model.ground import resolve_ground
from rillwright.model.parts import TrenchCost
from rillwright.model.site import BackflowChoice, Controller, GroundArea, ServicePipe, Tree, WaterEntry, Yard

COSTS = {"lawn": (6.0, 0.0), "bed": (7.5, 0.0), "ground": (6.0, 0.0), "paving": (25.0, 60.0), "roots": (18.0, 0.0)}


def rectangle(left, bottom, right, top):
    return [(left, bottom), (right, bottom), (right, top), (left, top)]


@pytest.fixture(scope="session")
def box():
    return rectangle


@pytest.fixture(scope="session")
def costs():
    return {name: TrenchCost(name, metre, crossing, "invented for tests") for name, (metre, crossing) in COSTS.items()}


@pytest.fixture(scope="session")
def make_ground():
    """Resolve a yard from (kind, outline) pairs and (place, trunk radius, root radius) of trees."""

    def make(*areas, trees=()):
        yard = Yard(
            name="Test yard",
            units="metric",
            areas=[GroundArea(id=f"area {k}", kind=kind, outline=xy) for k, (kind, xy) in enumerate(areas)],
            trees=[Tree(id=f"tree {k}", at=at, trunk_radius=t, root_radius=r) for k, (at, t, r) in enumerate(trees)],
            water_entry=WaterEntry(at=(0, 0), height=0, pipe=ServicePipe(material="PE", size="1 in", length=10)),
            controller=Controller(stations=6),
            backflow=BackflowChoice(allowed=["atmospheric vacuum breaker"]),
        )
        return resolve_ground(yard)

    return make


@pytest.fixture(scope="session")
def l_yard(make_ground):
    """L-shaped lot with a house, a drive and a walk to cross, an island bed, a pond and two trees."""
    return make_ground(
        ("lawn", [(0, 0), (30, 0), (30, 14), (16, 14), (16, 28), (0, 28)]),
        ("building", [(8, 9), (20, 9), (20, 13.5), (13, 13.5), (13, 19), (8, 19)]),
        ("paving", rectangle(20.5, 0, 24, 14)),
        ("paving", rectangle(14, 4, 20.5, 5.2)),
        ("bed", [(4, 21), (8, 20.5), (9, 23), (6, 25), (3.5, 24)]),
        ("water", rectangle(2, 12, 4.5, 15)),
        trees=(((5, 5), 0.2, 1.8), ((12.5, 24), 0.2, 1.6)),
    )


@pytest.fixture(scope="session")
def random_case(make_ground):
    """Random lot, 14 m by 11 m, with a house, a pool and a keep-out, and `count` places on open ground."""

    def make(seed, count):
        chance = np.random.default_rng(seed)
        areas = [("lawn", rectangle(0, 0, 14, 11))]
        for kind, size in (("building", 4.5), ("water", 2.5), ("keep-out", 1.5)):
            low = chance.uniform((0.5, 0.5), (13 - size, 10 - size))
            high = low + chance.uniform(0.6, 1.0, 2) * size
            areas.append((kind, rectangle(*low.tolist(), *high.tolist())))
        ground = make_ground(*areas)
        closed = ground.no_trench
        spots = []
        while len(spots) < count:
            spot = chance.uniform((0, 0), (14, 11))
            if closed.distance(shapely.Point(spot)) > 0.05:
                spots.append((float(spot[0]), float(spot[1])))
        return ground, spots

    return make
