"""Three-way merge: nothing that only one side changed is lost or asked about; the laws hold for any documents."""

import copy

from hypothesis import given, settings
from hypothesis import strategies as st

from rillwright.store.merge import ABSENT, changes, merge, same

SCALARS = st.none() | st.booleans() | st.integers(-5, 5) | st.floats(-5, 5) | st.text("ab~/", max_size=3)
POINTS = st.tuples(st.integers(0, 4), st.integers(0, 4)).map(list)
AREAS = st.lists(
    st.fixed_dictionaries(
        {"id": st.sampled_from("abcde"), "outline": st.lists(POINTS, max_size=3)}, optional={"x": SCALARS}
    ),
    unique_by=lambda area: area["id"],
    max_size=4,
)
SPOTS = st.lists(
    st.fixed_dictionaries({"at": POINTS, "height": st.integers(0, 3)}),
    unique_by=lambda spot: str(spot["at"]),
    max_size=4,
)
READINGS = st.lists(
    st.fixed_dictionaries({"kind": st.sampled_from(("gauge", "bucket")), "v": st.integers(0, 2)}), max_size=4
)
YARDS = st.fixed_dictionaries(
    {},
    optional={
        "name": SCALARS,
        "areas": AREAS,
        "spot_heights": SPOTS,
        "supply": READINGS,
        "rules": st.dictionaries(st.sampled_from("pq"), SCALARS),
    },
)
ANYTHING = st.dictionaries(
    st.text("xyz", max_size=2),
    st.recursive(
        SCALARS,
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text("ab", max_size=1), inner, max_size=3),
        max_leaves=8,
    ),
    max_size=4,
)
DOCUMENTS = YARDS | ANYTHING


@given(DOCUMENTS, DOCUMENTS)
def test_what_one_side_changed_is_taken_as_it_is(base, changed):
    for mine, theirs in ((changed, base), (base, changed), (changed, changed)):
        merged = merge(base, mine, theirs)
        assert same(merged.document, changed)
        assert merged.conflicts == ()


@given(DOCUMENTS, DOCUMENTS, DOCUMENTS)
@settings(max_examples=200)
def test_a_merge_changes_none_of_its_sides_and_points_at_its_conflicts(base, mine, theirs):
    before = copy.deepcopy((base, mine, theirs))
    merged = merge(base, mine, theirs)
    assert all(map(same, before, (base, mine, theirs)))
    for conflict in merged.conflicts:
        assert not same(conflict.mine, conflict.theirs)
        held = at(merged.document, conflict.pointer)
        assert same(held, conflict.theirs if conflict.mine is ABSENT else conflict.mine)


@given(YARDS, YARDS, YARDS)
@settings(max_examples=200)
def test_no_item_that_either_side_added_is_lost(base, mine, theirs):
    merged = merge(base, mine, theirs).document
    for key, name in (("areas", "id"), ("spot_heights", "at")):
        known = [item[name] for item in base.get(key, [])]
        for side in (mine, theirs):
            for item in side.get(key, []):
                if item[name] not in known:
                    assert item[name] in [other[name] for other in merged.get(key, [])]


@given(YARDS, YARDS)
def test_changes_are_told_where_there_are_any(before, after):
    assert bool(changes(before, after)) != same(before, after)


def test_two_people_at_different_things_need_no_choice():
    base = {
        "name": "yard",
        "areas": [
            {"id": "lawn", "outline": [[0, 0], [9, 0], [9, 9]]},
            {"id": "bed", "outline": [[1, 1], [2, 1], [2, 2]]},
        ],
        "supply": [{"kind": "static gauge", "pressure": 60}],
    }
    mine, theirs = copy.deepcopy(base), copy.deepcopy(base)
    mine["areas"][0]["outline"] = [[0, 0], [8, 0], [8, 8]]
    mine["supply"].append({"kind": "gauge at a flow", "pressure": 50, "flow": 6})
    theirs["areas"].insert(1, {"id": "walk", "outline": [[0, 5], [1, 5], [1, 6]]})
    theirs["supply"].append({"kind": "static gauge", "pressure": 61})
    del theirs["areas"][2]
    merged = merge(base, mine, theirs)
    assert merged.conflicts == ()
    assert [area["id"] for area in merged.document["areas"]] == ["lawn", "walk"]
    assert merged.document["areas"][0]["outline"] == [[0, 0], [8, 0], [8, 8]]
    assert len(merged.document["supply"]) == 3


def test_an_outline_that_both_drew_is_a_choice():
    base = {"areas": [{"id": "lawn", "outline": [[0, 0], [9, 0], [9, 9]]}]}
    mine = {"areas": [{"id": "lawn", "outline": [[0, 0], [8, 0], [8, 8]]}]}
    theirs = {"areas": [{"id": "lawn", "outline": [[0, 0], [7, 0], [7, 7]]}]}
    (conflict,) = merge(base, mine, theirs).conflicts
    assert conflict.pointer == "/areas/0/outline"


def test_a_deletion_does_not_win_over_a_change_by_itself():
    base = {"areas": [{"id": "lawn", "outline": [1]}, {"id": "bed", "outline": [2]}]}
    mine = {"areas": [{"id": "bed", "outline": [2]}]}
    theirs = {"areas": [{"id": "lawn", "outline": [3]}, {"id": "bed", "outline": [2]}]}
    merged = merge(base, mine, theirs)
    assert [area["id"] for area in merged.document["areas"]] == ["lawn", "bed"]
    assert merged.conflicts[0].mine is ABSENT


def test_changes_are_told_in_words():
    before = {"areas": [{"id": "lawn", "kind": "lawn"}], "north": 90}
    after = {"areas": [{"id": "lawn", "kind": "bed"}, {"id": "walk", "kind": "paving"}]}
    assert {(c.pointer, c.label) for c in changes(before, after)} == {
        ("/areas/0/kind", "areas: lawn: kind"),
        ("/areas/1", "areas: walk"),
        ("/north", "north"),
    }


def at(document, pointer):
    here = document
    for step in pointer.split("/")[1:]:
        name = step.replace("~1", "/").replace("~0", "~")
        here = here[int(name)] if isinstance(here, list) else here[name]
    return here
