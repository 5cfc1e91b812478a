"""The ways through a main, on trees and rings small enough to be read off."""

from dataclasses import dataclass

import pytest

from rillwright.solvers.mains import carrying, carrying_to, distances, nearest_ways, ring_of, root_of, ways


@dataclass(frozen=True)
class Run:
    name: str
    start: str
    end: str
    length: float = 10.0


LEAD, NEAR, FAR = Run("lead", "entry", "J1", 2.0), Run("near", "J1", "V1", 5.0), Run("far", "J1", "V2", 9.0)
CLOSING, SPUR = Run("closing", "V1", "V2", 8.0), Run("spur", "V2", "V3", 1.0)
TREE, RING = [LEAD, NEAR, FAR, SPUR], [LEAD, NEAR, FAR, CLOSING, SPUR]


def test_a_tree_has_one_way_and_no_ring():
    assert carrying(TREE, "entry", "V1") == [LEAD, NEAR]
    assert carrying(TREE, "entry", "V3") == [LEAD, FAR, SPUR]
    assert ways(TREE, "entry", "V3") == [[LEAD, FAR, SPUR]]
    assert ring_of(TREE) == []
    assert root_of(TREE) == "entry"


def test_a_ring_feeds_from_two_sides():
    assert carrying(RING, "entry", "V1") == [LEAD, NEAR, FAR, CLOSING]
    assert sorted([run.name for run in way] for way in ways(RING, "entry", "V3")) == [
        ["lead", "far", "spur"],
        ["lead", "near", "closing", "spur"],
    ]
    assert ring_of(RING) == [NEAR, FAR, CLOSING]
    assert nearest_ways(RING, "entry") == {"J1": LEAD, "V1": NEAR, "V2": FAR, "V3": SPUR}
    assert distances(RING, "entry") == pytest.approx({"entry": 0, "J1": 2, "V1": 7, "V2": 11, "V3": 12})


@pytest.mark.parametrize("main", [TREE, RING, [*TREE, Run("apart", "V8", "V9")], [SPUR, FAR, LEAD, NEAR]])
def test_the_ways_to_many_nodes_are_those_to_each(main):
    nodes = ["entry", "V1", "V2", "V3", "V9"]
    assert carrying_to(main, "entry", nodes) == {node: carrying(main, "entry", node) for node in nodes}


def test_two_runs_between_the_same_nodes_are_a_ring():
    long, short = Run("long", "entry", "V1", 30.0), Run("short", "entry", "V1", 20.0)
    assert ring_of([long, short]) == [long, short]
    assert nearest_ways([long, short], "entry") == {"V1": short}
    assert ways([long, short], "entry", "V1") == [[long], [short]]


def test_what_is_not_joined_carries_nothing():
    assert carrying([NEAR, SPUR], "J1", "V3") == []
    assert ways([NEAR], "J1", "V9") == []
    assert distances([NEAR], "entry") == {}
    assert nearest_ways([], "entry") == {}
