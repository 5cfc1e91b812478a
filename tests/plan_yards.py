"""Invented yards for the tests of the main job: the examples, small random ones, and ones that cannot fit."""

import json
import random
from functools import cache
from pathlib import Path

from kept_plans import kept
from rillwright.exchange import load_yard
from rillwright.exchange.yard_file import validated
from rillwright.jobs.plan import make_plan
from rillwright.model.catalogue import load_catalogue

EXAMPLES = Path(__file__).parent.parent / "examples"
FILES = (
    "demo.yard.json",
    "l-shape.yard.json",
    "triangle.yard.json",
    "narrow-strips.yard.json",
    "steep-bank.yard.json",
    "courtyard.yard.json",
    "part-built.yard.json",
    "well.yard.json",
    "wgs84.geojson",
    "shed.dxf",
)
CATALOGUE = load_catalogue()


@cache
def planned_example(name):
    """The plan of an example yard, made once for all tests."""
    facts = EXAMPLES / "shed.facts.json" if name.endswith(".dxf") else None
    yard = load_yard(EXAMPLES / name, facts=facts)
    return kept(yard.model_dump_json(), lambda: make_plan(yard, CATALOGUE))


@cache
def _planned(text):
    yard = validated(json.loads(text), source="test")
    return kept(yard.model_dump_json(), lambda: make_plan(yard, CATALOGUE))


def planned(document):
    """The plan of a yard document, made once for all tests."""
    return _planned(json.dumps(document, sort_keys=True))


def rectangle(x, y, width, height):
    return [[x, y], [x + width, y], [x + width, y + height], [x, y + height]]


def small_yard(**changes):
    """A lawn of 9 m by 7 m behind a house, on ground that rises from it: plenty of water, six stations."""
    document = {
        "format": "rillwright-yard",
        "version": 1,
        "name": "Small yard",
        "note": "Invented yard: no such place, house or reading exists.",
        "units": "metric",
        "areas": [
            {"id": "lawn", "kind": "lawn", "outline": rectangle(0, 0, 9, 7)},
            {"id": "house", "kind": "building", "outline": rectangle(0, -4, 9, 4)},
        ],
        "spot_heights": [{"at": [x, y], "height": 0.03 * y} for x in (0, 9) for y in (-4, 7)],
        "water_entry": {
            "at": [2, 0],
            "height": -0.4,
            "pipe": {"material": "copper L", "size": "1 in", "length": 45},
        },
        "supply": [
            {"kind": "static gauge", "pressure": 450},
            {"kind": "gauge at a flow", "pressure": 380, "flow": 30},
            {"kind": "bucket fill", "volume": 20, "seconds": [15.1, 15.0, 15.3]},
        ],
        "controller": {"stations": 6},
        "backflow": {"allowed": ["pressure vacuum breaker", "reduced pressure zone"]},
    }
    return document | changes


def two_lawns(front=None, back=None):
    """The small yard with a lawn before the house too, alike and small enough for one zone; their phases."""
    said = {"front": front, "lawn": back}
    areas = [
        {"id": "front", "kind": "lawn", "outline": rectangle(0, -10, 9, 6)},
        {"id": "lawn", "kind": "lawn", "outline": rectangle(0, 0, 9, 6)},
        {"id": "house", "kind": "building", "outline": rectangle(1.5, -4, 6, 4)},
        {"id": "walk", "kind": "paving", "outline": rectangle(0, -4, 1.5, 4)},
    ]
    phased = [area | ({"phase": said[area["id"]]} if said.get(area["id"]) else {}) for area in areas]
    return small_yard(areas=phased)


def random_yard(seed):
    """A small lawn of random outline with a house, terraced heights, and a random supply and controller."""
    dice = random.Random(seed)
    width, depth = dice.uniform(7, 12), dice.uniform(6, 9)
    outline = dice.choice((_box, _ell, _skew))(dice, width, depth)
    step, top = dice.uniform(0.3, 0.7) * depth, dice.uniform(0.0, 1.2)
    heights = [(-4, 0.0), (0, 0.0), (step - 0.5, 0.02), (step + 0.5, top), (depth + 1, top + 0.05)]
    static = dice.uniform(330, 550)
    at_flow = static - dice.uniform(30, 110)
    areas = [
        {"id": "lawn", "kind": "lawn", "outline": outline},
        {"id": "house", "kind": "building", "outline": rectangle(1.0, -4, width - 2, 4)},
    ]
    if dice.random() < 0.5:
        areas.append({"id": "bed", "kind": "bed", "outline": rectangle(0.45 * width, 0.4 * depth, 1.2, 1.1)})
    return small_yard(
        areas=areas,
        spot_heights=[{"at": [x, y], "height": h} for x in (-1, width + 1) for y, h in heights],
        water_entry={
            "at": [dice.uniform(1.5, width - 1.5), 0.0],
            "height": -0.5,
            "pipe": {"material": "copper L", "size": dice.choice(("3/4 in", "1 in")), "length": dice.uniform(8, 25)},
        },
        supply=[
            {"kind": "static gauge", "pressure": static},
            {"kind": "gauge at a flow", "pressure": at_flow, "flow": 25},
        ],
        controller={"stations": dice.choice((1, 2, 4))},
        backflow={
            "allowed": dice.choice(
                (
                    ["atmospheric vacuum breaker"],
                    ["pressure vacuum breaker"],
                    ["atmospheric vacuum breaker", "reduced pressure zone"],
                    ["double check"],
                )
            )
        },
        heads={"allowed": dice.choice((["spray"], ["rotary"], ["spray", "rotary"]))},
    )


def _box(_dice, width, depth):
    return rectangle(0, 0, width, depth)


def _ell(dice, width, depth):
    x, y = dice.uniform(0.4, 0.6) * width, dice.uniform(0.4, 0.6) * depth
    return [[0, 0], [width, 0], [width, y], [x, y], [x, depth], [0, depth]]


def _skew(dice, width, depth):
    def off():
        return dice.uniform(-0.8, 0.8)

    return [[0, 0], [width, 0], [width + off(), depth + off()], [off(), depth + off()]]
