"""Invented yards for the coverage tests."""

import math

import numpy as np

from rillwright.model.catalogue import load_catalogue
from rillwright.model.ground import resolve_ground
from rillwright.model.plan import Head
from rillwright.model.site import Yard
from rillwright.physics.units import PSI

CATALOGUE = load_catalogue()
PRESSURE = {"spray": 30 * PSI, "rotary": 40 * PSI, "small rotor": 45 * PSI, "mid rotor": 50 * PSI, "strip": 30 * PSI}


def yard_of(areas, *, trees=(), wind=0.0, spots=(), units="metric"):
    return Yard(
        name="invented",
        units=units,
        areas=areas,
        trees=list(trees),
        spot_heights=list(spots),
        wind={"speed": wind},
        water_entry={"at": (0, 0), "height": 0, "pipe": {"material": "PE", "size": "1 in", "length": 10}},
        controller={"stations": 6},
        backflow={"allowed": ["pressure vacuum breaker"]},
    )


def ground_of(yard):
    return resolve_ground(yard)


def head(nozzle, *, at, arc_start, arc, radius, flow):
    return Head(
        id="H1",
        lawn="L",
        at=at,
        ground=0.0,
        head_class=CATALOGUE.nozzles[nozzle].head_class,
        nozzle=nozzle,
        arc_start=arc_start,
        arc=arc,
        radius_share=1.0,
        radius=radius,
        flow=flow,
        pressure=CATALOGUE.nozzles[nozzle].design_pressure,
        hydrozone="sun, turf, level",
    )


def rectangle(x, y, width, height):
    return [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]


def ring(x, y, radius, count):
    return [
        (x + radius * math.cos(a), y + radius * math.sin(a)) for a in np.linspace(0, math.tau, count, endpoint=False)
    ]


def lawn(outline, *others):
    return [{"id": "L", "kind": "lawn", "outline": outline}, *others]


def corner_lot():
    """A house on a curved corner lot: drive, island bed, two trees."""
    turn = np.linspace(0, math.pi / 2, 60)
    front = [(14 + 10 * math.sin(a), 10 - 10 * math.cos(a)) for a in turn]
    outline = [(0.0, 0.0), *((float(x), float(y)) for x, y in front), (24.0, 22.0), (0.0, 22.0)]
    return yard_of(
        lawn(
            outline,
            {"id": "house", "kind": "building", "outline": rectangle(5, 8, 10, 8)},
            {"id": "drive", "kind": "paving", "outline": rectangle(7, 16, 4, 6)},
            {"id": "bed", "kind": "bed", "outline": ring(19, 12, 1.3, 24)},
        ),
        trees=[{"id": "T1", "at": (3, 4)}, {"id": "T2", "at": (18, 18)}],
    )


YARDS = {
    "square": yard_of(lawn(rectangle(0, 0, 10, 10))),
    "L": yard_of(
        lawn(
            [(0, 0), (16, 0), (16, 8), (8, 8), (8, 16), (0, 16)],
            {"id": "house", "kind": "building", "outline": rectangle(8, 8, 8, 8)},
        )
    ),
    "triangle": yard_of(
        lawn([(0, 0), (20, 0), (5, 14)], {"id": "walk", "kind": "paving", "outline": rectangle(0, -2, 20, 2)})
    ),
    "strip": yard_of(
        lawn(
            rectangle(0, 0, 20, 2),
            {"id": "walk", "kind": "paving", "outline": rectangle(0, 2, 20, 1.5)},
            {"id": "street", "kind": "paving", "outline": rectangle(0, -5, 20, 5)},
        )
    ),
    "hexagon": yard_of(lawn(ring(0, 0, 10, 6))),
    "corner lot": corner_lot(),
    "courtyard": yard_of(
        lawn(
            rectangle(0, 0, 22, 16),
            {"id": "house", "kind": "building", "outline": rectangle(4, 5, 5, 6)},
            {"id": "barn", "kind": "building", "outline": rectangle(13, 4, 5, 5)},
        )
    ),
    "two halves": yard_of(
        lawn(rectangle(0, 0, 20, 7), {"id": "walk", "kind": "paving", "outline": rectangle(9, -0.5, 1.5, 8)})
    ),
    "pocket": yard_of(lawn(rectangle(0, 0, 2, 1.5))),
}
