"""Rules that a yard must keep beyond the types of its fields, and doubts about what it says.

A broken rule is a `Problem`: the yard cannot be planned as written. A doubt is a `Finding`: it can be planned, but a
number looks wrong. Each rule is one function.
"""

import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely import STRtree, is_valid_reason, total_bounds
from shapely.geometry import Point, Polygon

from rillwright.data.tables import read_table
from rillwright.errors import Problem
from rillwright.model.existing_rules import existing_ids, existing_problems
from rillwright.model.findings import Finding
from rillwright.model.ground import Ground, resolve_ground
from rillwright.model.pin_rules import pin_problems
from rillwright.model.site import BucketFill, FlowingGauge, GroundArea, MeterReading, StaticGauge, Yard
from rillwright.model.well_rules import well_problems
from rillwright.physics import units

__all__ = ["MOST_VERTICES", "check_yard", "doubts"]

USUAL_STATIC = (100e3, 1200e3)  # [Pa] of a supply that feeds a house; common practice, no source
MOST_VERTICES = 10_000  # of all outlines and holes together
LEAST_LAWN = 0.5  # [m²]
LARGEST_LAWN = 1e6  # [m²] all lawns; a hundred hectares is a slip of the unit
LEAST_SITE = 1.0  # [m] a smaller site is degrees or a wrong unit
FROM_GROUND = 3.0  # [m] how far off the drawn ground the water entry may be
SAME_SPOT = 0.01  # [m]
HEIGHT_REACH = 10.0  # [m] heights farther apart than this, or half the site if more, are a slip
ABSURD_VELOCITY = 6.0  # [m/s] out of an open pipe; a good town supply in a short pipe reaches about 4

_BED_HEIGHT = "Only a bed states how high its plants stand; a building or a trunk stops all water"
_SIMPLIFY = "Simplify the outlines: keep only the points needed to follow each edge within 0.1 m (4 in)"


def check_yard(yard: Yard) -> list[Problem]:
    """List every broken rule of a yard; empty when it can be planned.

    Rules about the ground as a whole are asked only once every outline is sound.
    """
    first = [*_vertices(yard), *_ids(yard), *_size(yard)]
    if any(p.path == "areas" for p in first):
        return first
    outlines = [p for i, area in enumerate(yard.areas) for p in _outline(yard, area, f"areas[{i}]")]
    others = [*_uses(yard), *_measurements(yard), *_pipe(yard), *well_problems(yard), *_spot_pairs(yard)]
    if first or outlines:
        return [*first, *outlines, *others]
    ground = resolve_ground(yard)
    on_ground = [*_lawns(yard, ground), *_overlaps(yard), *_places(yard, ground), *_heights(yard, ground)]
    return [*on_ground, *existing_problems(yard, ground), *pin_problems(yard, ground), *others]


def doubts(yard: Yard) -> list[Finding]:
    """List what looks wrong or is missing in a sound yard, without stopping the plan."""
    return [
        *_bucket_doubts(yard),
        *_gauge_doubts(yard),
        *_height_doubts(yard),
        *_supply_doubts(yard),
        *_owned_doubts(yard),
    ]


def _length(yard: Yard, value: float) -> str:
    return units.show(value, "length", yard.units)


def _spot(yard: Yard, x: float, y: float) -> str:
    across, up = (units.to_system(v, "length", yard.units) for v in (x, y))
    return f"({across:.6g}, {up:.6g})"


# --- the document as a whole


def _vertices(yard: Yard) -> Iterator[Problem]:
    count = sum(len(ring) for area in yard.areas for ring in (area.outline, *area.holes))
    if count > MOST_VERTICES:
        yield Problem("areas", f"{count} points in all outlines", f"At most {MOST_VERTICES}. {_SIMPLIFY}")


def _ids(yard: Yard) -> Iterator[Problem]:
    named = [(f"areas[{i}].id", area.id) for i, area in enumerate(yard.areas)]
    named += [(f"trees[{i}].id", tree.id) for i, tree in enumerate(yard.trees)]
    named += existing_ids(yard)
    counts = Counter(name for _, name in named)
    seen: set[str] = set()
    for path, name in named:
        if name in seen:
            yield Problem(
                path,
                f"'{name}' is used {counts[name]} times",
                "Give every area, tree and thing in the ground an id of its own",
            )
        seen.add(name)


def _size(yard: Yard) -> Iterator[Problem]:
    points = np.array([xy for area in yard.areas for xy in area.outline])
    width, depth = np.ptp(points, axis=0)
    if max(width, depth) >= LEAST_SITE:
        return
    span = f"the whole yard is {width:.3g} by {depth:.3g} m"
    degrees = np.all(np.abs(points) <= 180 * units.DIMENSIONS["length"].unit(yard.units).factor) and np.any(
        np.abs(points) > LEAST_SITE
    )
    if degrees:
        do = "These look like longitude and latitude: put them in a .geojson file, or measure from a corner of the lot"
    else:
        do = f"Write lengths in {units.unit_name('length', yard.units)}, or as a text with a unit"
    yield Problem("areas", span, do)


def _uses(yard: Yard) -> Iterator[Problem]:
    for i, area in enumerate(yard.areas):
        if area.height > 0 and area.kind != "bed":
            yield Problem(f"areas[{i}].height", f"a height of {_length(yard, area.height)} on {area.kind}", _BED_HEIGHT)
        if area.keep_dry and area.kind != "paving":
            yield Problem(f"areas[{i}].keep_dry", f"true, on {area.kind}", "Only paving can be marked to stay dry")


# --- outlines


def _ring_problem(yard: Yard, ring: list[tuple[float, float]], path: str) -> Problem | None:
    for index, (one, two) in enumerate(zip(ring, [*ring[1:], ring[0]], strict=True)):
        if one == two:
            last = index == len(ring) - 1
            what = "repeats the first point" if last else f"is the same point as {path}[{index + 1}]"
            return Problem(f"{path}[{index}]", what, "Leave it out: outlines close by themselves, points come once")
    shape = Polygon(ring)
    if not shape.is_valid:
        found = re.search(r"\[(\S+) (\S+)\]", is_valid_reason(shape))
        where = f" near {_spot(yard, float(found[1]), float(found[2]))}" if found else ""
        return Problem(path, f"crosses or touches itself{where}", "Put the points in order round the edge")
    if shape.area <= 0:
        return Problem(path, "encloses no area", "Give at least three points that are not in one line")
    return None


def _outline(yard: Yard, area: GroundArea, path: str) -> Iterator[Problem]:
    rings = [(area.outline, f"{path}.outline"), *((h, f"{path}.holes[{j}]") for j, h in enumerate(area.holes))]
    broken = [p for ring, place in rings if (p := _ring_problem(yard, ring, place))]
    yield from broken
    if broken or not area.holes:
        return
    outer, holes = Polygon(area.outline), [Polygon(hole) for hole in area.holes]
    for j, hole in enumerate(holes):
        if not outer.covers(hole):
            yield Problem(f"{path}.holes[{j}]", f"reaches outside the outline of '{area.id}'", "Keep the hole inside")
            return
        for k in range(j):
            if holes[k].intersection(hole).area > 0:
                yield Problem(f"{path}.holes[{j}]", f"overlaps {path}.holes[{k}]", "Join the two holes into one")
                return
    if not Polygon(area.outline, area.holes).is_valid:
        do = "Keep holes apart from each other and from the edge; touching at more than one point is not allowed"
        yield Problem(f"{path}.holes", "touch along a line or cut the area apart", do)


# --- the ground as it lies


def _lawns(yard: Yard, ground: Ground) -> Iterator[Problem]:
    if not yard.lawns:
        yield Problem("areas", "no area of kind 'lawn'", "Draw at least one lawn: it is what gets watered")
        return
    for i, area in enumerate(yard.areas):
        if area.kind == "lawn" and (left := ground.each_lawn[area.id].area) < LEAST_LAWN:
            drawn = Polygon(area.outline, area.holes)
            over = [b.id for b in yard.areas[i + 1 :] if b.kind != "roots" and Polygon(b.outline).intersects(drawn)]
            cause = f" once {', '.join(repr(o) for o in over[:3])} lie over it" if over else ""
            size = units.show(left, "area", yard.units)
            do = "A later area lies over an earlier one: put this lawn later, or leave it out"
            yield Problem(f"areas[{i}]", f"lawn '{area.id}' has {size} left{cause}", do)
    total = sum(lawn.area for lawn in ground.lawns.values())
    if total > LARGEST_LAWN:
        most = units.show(LARGEST_LAWN, "area", yard.units)
        do = f"At most {most}: check the unit of the outlines, or split the yard"
        yield Problem("areas", f"{units.show(total, 'area', yard.units)} of lawn", do)


def _overlaps(yard: Yard) -> Iterator[Problem]:
    """Lawns may lie inside one another (a shaded patch), but not half over one another."""
    lawns = [(i, a) for i, a in enumerate(yard.areas) if a.kind == "lawn"]
    shapes = [Polygon(lawn.outline, lawn.holes) for _, lawn in lawns]
    tree = STRtree(shapes)
    for (i, lawn), shape in zip(lawns, shapes, strict=True):
        for n in sorted(tree.query(shape, predicate="intersects")):
            shared = shape.intersection(shapes[n]).area
            if lawns[n][0] < i and LEAST_LAWN < shared < 0.99 * shape.area:
                what = f"lawn '{lawn.id}' lies over {units.show(shared, 'area', yard.units)} of lawn '{lawns[n][1].id}'"
                yield Problem(f"areas[{i}]", what, "Let lawns meet edge to edge, or lie wholly inside one another")


def _places(yard: Yard, ground: Ground) -> Iterator[Problem]:
    site = ground.site
    named = [("water_entry.at", "the water entry", yard.water_entry.at, FROM_GROUND)]
    if yard.controller.at:
        named.append(("controller.at", "the controller", yard.controller.at, FROM_GROUND))
    for i, tree in enumerate(yard.trees):
        named.append((f"trees[{i}].at", f"tree '{tree.id}'", tree.at, max(tree.root_radius, tree.trunk_radius)))
    reach = max(ground.extent[2] - ground.extent[0], ground.extent[3] - ground.extent[1])
    for i, spot in enumerate(yard.spot_heights):
        named.append((f"spot_heights[{i}].at", "the spot height", spot.at, reach))
    for path, what, at, allowed in named:
        off = site.distance(Point(at))
        if off > allowed + 1e-9:
            said = f"{what} at {_spot(yard, *at)} is {_length(yard, off)} off the drawn ground"
            yield Problem(path, said, f"Put it on the drawn ground, or at most {_length(yard, allowed)} off it")


# --- heights


def _spots(yard: Yard) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    return np.array([s.at for s in yard.spot_heights]).reshape(-1, 2), np.array([s.height for s in yard.spot_heights])


def _spot_pairs(yard: Yard) -> Iterator[Problem]:
    points, heights = _spots(yard)
    if len(points) < 2:
        return
    for i, j in sorted(cKDTree(points).query_pairs(SAME_SPOT)):
        if abs(heights[i] - heights[j]) > SAME_SPOT:
            said = f"{_length(yard, heights[j])} here, but spot_heights[{i}] says {_length(yard, heights[i])}"
            yield Problem(f"spot_heights[{j}].height", said, "Two heights at one place: keep the right one")
            return


def _heights(yard: Yard, ground: Ground) -> Iterator[Problem]:
    left, low, right, high = ground.extent
    reach = max(HEIGHT_REACH, 0.5 * math.hypot(right - left, high - low))
    _, heights = _spots(yard)
    middle = float(np.median(heights)) if len(heights) else yard.water_entry.height
    named = [(f"spot_heights[{i}].height", float(h)) for i, h in enumerate(heights)]
    if len(heights):
        named.append(("water_entry.height", yard.water_entry.height))
    for path, height in named:
        if abs(height - middle) > reach:
            said = f"{_length(yard, height)}, while the middle of the spot heights is {_length(yard, middle)}"
            yield Problem(path, said, f"Within {_length(yard, reach)} of it: check the number, unit and datum")


# --- water


def _bore(yard: Yard) -> float | None:
    """True bore of the service pipe [m]: as measured, else from the dimension table; None when not in it."""
    pipe = yard.water_entry.pipe
    if pipe.bore is not None:
        return pipe.bore
    for row in read_table("pipes"):
        if (row.text("material"), row.text("trade_size")) == (pipe.material, pipe.size):
            return row.number("inside_diameter_in") * units.INCH
    return None


def _pipe(yard: Yard) -> Iterator[Problem]:
    pipe = yard.water_entry.pipe
    if _bore(yard) is None:
        sizes = [r.text("trade_size") for r in read_table("pipes") if r.text("material") == pipe.material]
        do = f"{pipe.material} comes in: {', '.join(sizes)}. For another pipe give its measured 'bore'"
        yield Problem("water_entry.pipe.size", f"'{pipe.size}' is not in the table of pipe sizes", do)
    if yard.water_entry.street_pressure == 0:
        yield Problem("water_entry.street_pressure", "no pressure", "Leave it out when it is not known")


def _measurements(yard: Yard) -> Iterator[Problem]:
    for i, one in enumerate(yard.supply):
        path = f"supply[{i}]"
        for name in ("pressure_error", "flow_error", "volume_error", "time_error"):
            if getattr(one, name, None) == 0:
                yield Problem(f"{path}.{name}", "0", "No reading is exact: write its standard error, or leave it out")
        if isinstance(one, FlowingGauge) and one.flow == 0:
            yield Problem(f"{path}.flow", "0", "Write the flow, or use kind 'static gauge' when nothing ran")
        if isinstance(one, StaticGauge) and one.pressure == 0:
            yield Problem(f"{path}.pressure", "0", "A supply without pressure waters nothing: check the reading")
        if isinstance(one, MeterReading) and one.seconds == 0:
            yield Problem(f"{path}.seconds", "0", "Write how long the water ran")
        if isinstance(one, BucketFill):
            yield from _fill(one, path)


def _fill(fill: BucketFill, path: str) -> Iterator[Problem]:
    for j, seconds in enumerate(fill.seconds):
        if seconds == 0:
            yield Problem(f"{path}.seconds[{j}]", "0", "Write how long the bucket took to fill")
        elif seconds <= fill.start_delay:
            said = f"{seconds:g} s, but 'start_delay' is {fill.start_delay:g} s"
            yield Problem(f"{path}.seconds[{j}]", said, "Write the whole time on the clock, delay included")


# --- doubts


def _finding(rule: str, where: str, what: str, do: str) -> Finding:
    return Finding(rule=rule, severity="should", where=where, what=what, do=do)


def _open_runs(yard: Yard) -> Iterable[tuple[str, float, float | None]]:
    """Each measurement of an open pipe: label, fastest flow [m³/s], outlet bore [m]."""
    bore = _bore(yard)
    for i, one in enumerate(yard.supply):
        if isinstance(one, BucketFill):
            yield f"supply[{i}]", one.volume / (min(one.seconds) - one.start_delay), one.outlet_bore or bore
        if isinstance(one, MeterReading) and one.pressure == 0:
            yield f"supply[{i}]", one.volume / one.seconds, one.outlet_bore or bore


def _bucket_doubts(yard: Yard) -> Iterator[Finding]:
    for where, flow, bore in _open_runs(yard):
        velocity = flow / (math.pi * bore * bore / 4) if bore else 0.0
        if velocity > ABSURD_VELOCITY:
            speed, most = (units.show(v, "velocity", yard.units) for v in (velocity, ABSURD_VELOCITY))
            what = f"{units.show(flow, 'flow', yard.units)} would leave the outlet at {speed}; over {most} is unlikely"
            do = "Check the bucket's mark, the seconds and 'outlet_bore'; fill it again if in doubt."
            yield _finding("open-pipe-velocity", where, what, do)
    for i, one in enumerate(yard.supply):
        if isinstance(one, BucketFill) and max(one.seconds) - min(one.seconds) > 0.25 * min(one.seconds):
            what = f"The fills took from {min(one.seconds):g} to {max(one.seconds):g} s."
            yield _finding("fills-disagree", f"supply[{i}]", what, "Fill again with no other tap open in the house.")


def _at_entry(gauge: StaticGauge | FlowingGauge, yard: Yard) -> float:
    """Pressure [Pa] that the gauge would show at the height of the water entry."""
    rise = 0.0 if gauge.height is None else gauge.height - yard.water_entry.height
    return gauge.pressure + yard.water_entry.weight * rise


def _gauge_doubts(yard: Yard) -> Iterator[Finding]:
    low, high = (units.show(p, "pressure", yard.units) for p in USUAL_STATIC)
    for i, one in enumerate(yard.supply):
        if isinstance(one, StaticGauge) and not USUAL_STATIC[0] <= one.pressure <= USUAL_STATIC[1]:
            what = f"{units.show(one.pressure, 'pressure', yard.units)} with nothing running; {low} to {high} is usual."
            do = f"Check the number and its unit: a bare number counts as {units.unit_name('pressure', yard.units)}."
            yield _finding("static-unusual", f"supply[{i}]", what, do)
    statics = [_at_entry(one, yard) for one in yard.supply if isinstance(one, StaticGauge)]
    for i, one in enumerate(yard.supply):
        if isinstance(one, FlowingGauge) and statics and _at_entry(one, yard) > max(statics):
            high, static = (units.show(p, "pressure", yard.units) for p in (_at_entry(one, yard), max(statics)))
            what = f"{high} while water flows is more than {static} with nothing running, both at the entry's height."
            do = "Read both again on the same gauge at the same height, within an hour."
            yield _finding("gauge-order", f"supply[{i}]", what, do)


def _height_doubts(yard: Yard) -> Iterator[Finding]:
    points, _ = _spots(yard)
    lawns = [np.array(area.outline) for area in yard.lawns]
    if len(points) < 3:
        height = f"level with the water entry, at {_length(yard, yard.water_entry.height)}"
        ground = (height, "level, at the one spot's height", "one even fall from spot to spot")[len(points)]
        what = f"{len(points)} spot height{'' if len(points) == 1 else 's'}: the ground counts as {ground}."
        do = (
            "Measure heights at the corners, along the top and the foot of each bank, and over the water entry: a lawn "
            "that lies higher than said here gets less pressure than planned."
        )
        yield _finding("spot-heights", "yard", what, do)
        return
    box = total_bounds([Polygon(ring) for ring in lawns])
    span = math.hypot(box[2] - box[0], box[3] - box[1])
    far = max(float(cKDTree(points).query(ring)[0].max()) for ring in lawns)
    if far > max(8.0, 0.35 * span):
        what = f"A corner of the lawn is {_length(yard, far)} from the nearest spot height."
        yield _finding("spot-heights", "yard", what, "Measure a height there.")


def _supply_doubts(yard: Yard) -> Iterator[Finding]:
    if not yard.supply and yard.water_entry.well is None:
        what = "No measurement of the supply: pressure and flow are assumed from the service pipe."
        do = "Time three bucket fills at the pipe that will feed the system, and read a gauge with nothing running."
        yield _finding("supply-unmeasured", "supply", what, do)


def _owned_doubts(yard: Yard) -> Iterator[Finding]:
    owned = yard.backflow.owned
    if owned is not None and owned not in yard.backflow.allowed:
        what = f"The {owned} already bought is not among the kinds that 'backflow.allowed' names, so it is not used."
        yield _finding("owned-not-allowed", "backflow", what, "Ask the water supplier; if it is legal, allow it.")
