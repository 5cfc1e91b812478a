"""The wire's sheets: strands are told where their run is seen, on no other part. The yard is invented."""

import shapely
from defusedxml import ElementTree

from drawing_sets import told_of
from printed import SVG
from rillwright.report.sheets import drawing_set, kinds_named


def parts_drawn():
    """Of each part of the site: its window, the runs drawn on it, and the words beside them."""
    found = []
    for text in drawing_set(told_of("small", "a4", "1:20"), kinds_named(["wire"])):
        root = ElementTree.fromstring(text)
        clip = next(root.iter(f"{SVG}clipPath"), None)
        if clip is None:
            continue  # the schedule
        x, y, wide, high = (float(clip[0].get(name)) for name in ("x", "y", "width", "height"))
        groups = {group.get("id"): group for group in root.iter(f"{SVG}g") if group.get("id")}
        wires = next(group for name, group in groups.items() if name.endswith("wires"))
        runs = [
            shapely.LineString([tuple(map(float, pair.split(","))) for pair in line.get("points").split()])
            for line in wires.iter(f"{SVG}polyline")
        ]
        words = [element.text for element in root.iter(f"{SVG}text") if (element.text or "").endswith(" strands")]
        found.append((shapely.box(x, y, x + wide, y + high), runs, words))
    return found


def test_strands_are_told_where_their_run_is_seen():
    drawn = parts_drawn()
    seen = [sum(window.intersection(run).length > 0 for run in runs) for window, runs, _ in drawn]
    assert len(drawn) > 2
    assert 0 in seen
    assert max(seen) > 0
    assert [len(words) for _, _, words in drawn] == seen
