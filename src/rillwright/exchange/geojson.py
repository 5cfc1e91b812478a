"""Yards as GeoJSON (RFC 7946): polygons with a kind, points for trees, heights and the water entry.

RFC 7946 knows only WGS84 longitude and latitude. Local metres are marked by our foreign member, as
`"rillwright": {"coordinates": "local metres"}`, which also carries the facts that have no place on the map.
Longitude and latitude are laid on a plane by the transverse Mercator projection about the yard's origin
(Snyder, Map Projections: A Working Manual, USGS Professional Paper 1395, chapter 8).
"""

import difflib
import json
import math
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from pyproj import Proj
from shapely.geometry import LinearRing

from rillwright.errors import InputError, Problem, YardError
from rillwright.exchange.drawing import MARKS, Drawing, read_facts, to_document
from rillwright.exchange.yard_file import check_heading, read_json, write_text
from rillwright.exchange.yard_problems import nearest, shorten
from rillwright.model.site import AREA_KINDS, Origin, Yard
from rillwright.physics import units

__all__ = ["Plane", "geojson_pieces", "geojson_text", "read_geojson", "write_geojson"]

MEMBER = "rillwright"
DECIMALS = 10  # of a degree: about a hundredth of a millimetre
LOCAL, GLOBAL = "local metres", "WGS84"

_AREA_KEYS = ("id", "exposure", "planting", "phase", "head_classes", "height", "keep_dry")
_POINT_KEYS = {
    "tree": ("id", "trunk_radius", "root_radius"),
    "spot height": ("height",),
    "water entry": ("height",),
    "controller": (),
}
_LOCAL_FACTS = ("areas", "trees", "spot_heights", "existing")  # they hold local coordinates, which need an origin

Pair = tuple[float, float]
Positions = Sequence[Sequence[float]]


class Plane:
    """The plane of the plan at a place on the earth: longitude and latitude to local metres and back."""

    def __init__(self, origin: Origin, *, north: float = 90.0) -> None:
        """Origin, the place of (0, 0); north, direction of north on the plan [°] counter-clockwise from the x axis."""
        self._proj = Proj(proj="tmerc", lon_0=origin.lon, lat_0=origin.lat, datum="WGS84")
        self._sin, self._cos = math.sin(math.radians(north)), math.cos(math.radians(north))

    def local(self, lon: float, lat: float) -> tuple[float, float]:
        """Local x, y [m] of a longitude and latitude [°]."""
        east, north = self._proj(lon, lat)
        return east * self._sin + north * self._cos, north * self._sin - east * self._cos

    def degrees(self, x: float, y: float) -> tuple[float, float]:
        """Longitude and latitude [°] of local x, y [m]."""
        lon, lat = self._proj(x * self._sin - y * self._cos, x * self._cos + y * self._sin, inverse=True)
        return round(lon, DECIMALS), round(lat, DECIMALS)


def read_geojson(path: Path, *, facts: Path | None = None) -> Yard:
    """Read a yard from a FeatureCollection.

    Parameters: path; facts, a yard file without areas, when the FeatureCollection does not carry the facts itself.
    Errors: InputError when a file cannot be read; YardError that names the feature and what to do.
    """
    features, member, mode = _opened(path)
    known = _joined(member, read_facts(facts), path.name) if facts else member
    if not known:
        raise InputError(
            f"{path.name} carries no facts of the yard in '{MEMBER}': give the file that holds them with --facts"
        )
    check_heading(known, source=f"{path.name}, {MEMBER}" if facts is None else facts.name)
    drawing, known = _drawn(path, features, known, mode)
    return drawing.yard(known, source=path.name)


def geojson_pieces(path: Path, *, document: Mapping[str, Any]) -> dict[str, Any]:
    """Read the pieces of a FeatureCollection by their keys in a yard document, to be added to that document.

    They are in its units and on its plane; when it has no origin yet, one comes with the pieces.
    Errors: InputError when the file cannot be read; YardError that names the feature and what to do.
    """
    check_heading(document, source="the yard")
    features, _, mode = _opened(path)
    drawing, known = _drawn(path, features, dict(document), mode)
    pieces = drawing.pieces(source=path.name)
    return pieces | ({"origin": known["origin"]} if known.get("origin") != document.get("origin") else {})


def _opened(path: Path) -> tuple[list[Any], dict[str, Any], str]:
    """Features, the program's own member, and what the coordinates are."""
    features, member = _collection(read_json(path), path.name)
    mode = member.pop("coordinates", GLOBAL)
    if mode not in (LOCAL, GLOBAL):
        raise _error(path.name, f"{MEMBER}.coordinates", shorten(mode), nearest(mode, (LOCAL, GLOBAL)))
    return features, member, mode


def _drawn(path: Path, features: list[Any], known: dict[str, Any], mode: str) -> tuple[Drawing, dict[str, Any]]:
    """The drawing, and the facts with the origin it was laid out from."""
    read = _Reader(path.name, known["units"])
    if mode == GLOBAL:
        known = read.settle(known, features)
    for index, feature in enumerate(features):
        read.feature(feature, f"features[{index}]")
    return read.drawing, known


def geojson_text(yard: Yard) -> str:
    """Give a yard as a FeatureCollection: WGS84 when the yard has an origin, else local metres marked as such.

    Rings are closed, outlines counter-clockwise and holes clockwise, as RFC 7946 asks.
    """
    to_map = Plane(yard.origin, north=yard.north).degrees if yard.origin else _as_metres
    data = yard.model_dump(mode="json", exclude_unset=True, context={"units": yard.units})
    features = []
    for area, dump in zip(yard.areas, data.pop("areas"), strict=True):
        rings = [_closed(area.outline, to_map, ccw=True), *(_closed(h, to_map, ccw=False) for h in area.holes)]
        kept = {key: value for key, value in dump.items() if key not in ("id", "outline", "holes")}
        features.append(_feature("Polygon", rings, kept, area.id))
    for tree, dump in zip(yard.trees, data.pop("trees", []), strict=True):
        kept = {key: value for key, value in dump.items() if key not in ("id", "at")}
        features.append(_feature("Point", to_map(*tree.at), {"kind": "tree", **kept}, tree.id))
    for spot, dump in zip(yard.spot_heights, data.pop("spot_heights", []), strict=True):
        features.append(_feature("Point", to_map(*spot.at), {"kind": "spot height", "height": dump["height"]}))
    features.append(_feature("Point", to_map(*yard.water_entry.at), {"kind": "water entry"}))
    data["water_entry"].pop("at")
    if yard.controller.at:
        features.append(_feature("Point", to_map(*yard.controller.at), {"kind": "controller"}))
        data["controller"].pop("at")
    head = {"coordinates": GLOBAL if yard.origin else LOCAL, "format": yard.format, "version": yard.version}
    return json.dumps({"type": "FeatureCollection", MEMBER: head | data, "features": features}, indent=1) + "\n"


def write_geojson(yard: Yard, path: Path, *, overwrite: bool = False) -> None:
    """Write a yard as GeoJSON; see `geojson_text` and `yard_file.write_text`."""
    write_text(geojson_text(yard), path, overwrite=overwrite)


def _as_metres(x: float, y: float) -> Pair:
    return round(x, 6), round(y, 6)


def _closed(ring: Sequence[Pair], to_map: Callable[[float, float], Pair], *, ccw: bool) -> list[Pair]:
    turned = ring if LinearRing(ring).is_ccw == ccw else [ring[0], *ring[:0:-1]]
    return [to_map(x, y) for x, y in (*turned, turned[0])]


def _feature(shape: str, coordinates: Any, properties: dict[str, Any], name: str | None = None) -> dict[str, Any]:
    head = {"type": "Feature"} | ({"id": name} if name else {})
    return {**head, "geometry": {"type": shape, "coordinates": coordinates}, "properties": properties}


def _error(source: str, path: str, value: str, allowed: str) -> YardError:
    return YardError(source, (Problem(path, value, allowed),))


def _collection(data: Mapping[str, Any], source: str) -> tuple[list[Any], dict[str, Any]]:
    """Check the frame of the file; give its features and our foreign member."""
    if data.get("type") != "FeatureCollection":
        raise _error(source, "type", shorten(data.get("type")), "Write a GeoJSON FeatureCollection")
    crs = json.dumps(data.get("crs") or "CRS84")
    if "CRS84" not in crs and "4326" not in crs:
        do = "GeoJSON holds WGS84 longitude and latitude only: export it again in WGS84, or in marked local metres"
        raise _error(source, "crs", shorten(data["crs"]), do)
    features, member = data.get("features"), data.get(MEMBER, {})
    if not isinstance(features, list) or not features:
        raise _error(source, "features", shorten(features), "Write a list with at least one feature")
    if not isinstance(member, dict):
        raise _error(source, MEMBER, shorten(member), "Write an object in braces { }")
    return features, dict(member)


def _joined(member: Mapping[str, Any], facts: Mapping[str, Any], source: str) -> dict[str, Any]:
    both = sorted(member.keys() & facts.keys() - {"format", "version"})
    if both:
        raise _error(source, f"{MEMBER}.{both[0]}", "given here and in the facts file", "Keep one of them")
    return {**member, **facts}


def _is_position(value: Any) -> bool:
    numbers = isinstance(value, list) and len(value) >= 2
    return numbers and all(type(v) in (int, float) and abs(v) < 1e9 for v in value[:3])


class _Reader:
    """Reads features one by one into a drawing."""

    def __init__(self, source: str, system: units.System) -> None:
        self.source = source
        self.system = system
        self.drawing = Drawing()
        self._plane: Plane | None = None

    def settle(self, known: dict[str, Any], features: list[Any]) -> dict[str, Any]:
        """Choose the plane of a WGS84 file: about the given origin, else about the middle of its positions."""
        given, north = known.get("origin"), known.get("north", 90.0)
        positions = [p for f in features for p in _positions(f)]
        if any(abs(p[0]) > 360 or abs(p[1]) > 90 for p in positions):
            do = f'For a plan in metres write "{MEMBER}": {{"coordinates": "{LOCAL}"}}'
            raise _error(self.source, "features", "positions that are no longitude and latitude", do)
        if given is None:
            local = [key for key in _LOCAL_FACTS if known.get(key)]
            local += [k for k in ("water_entry", "controller") if isinstance(known.get(k), dict) and "at" in known[k]]
            if local:
                do = "Local coordinates in the facts need an 'origin' there; or draw these as points in the map"
                raise _error(self.source, local[0], "given in local coordinates", do)
            given = _middle(positions)
        try:
            self._plane = Plane(Origin.model_validate(given), north=float(north))
        except (ValueError, TypeError):
            do = "Write {lon, lat} in degrees, and 'north' as a number"
            raise _error(self.source, "origin", shorten(given), do) from None
        return known | {"origin": given}

    def feature(self, feature: Any, place: str) -> None:
        """Read one feature, or note what is wrong with it."""
        geometry, properties = (
            feature.get(k) if isinstance(feature, dict) else None for k in ("geometry", "properties")
        )
        if not isinstance(geometry, dict) or not isinstance(properties, dict):
            self.drawing.refuse(place, shorten(feature), "Write a Feature with a geometry and properties")
            return
        kind, shape = properties.get("kind"), geometry.get("type")
        if kind not in (*AREA_KINDS, *MARKS):
            said = shorten(kind) if kind else "missing"
            self.drawing.refuse(f"{place}.properties.kind", said, nearest(kind, (*AREA_KINDS, *MARKS)))
            return
        wanted = ("Point",) if kind in MARKS else ("Polygon", "MultiPolygon")
        if shape not in wanted:
            self.drawing.refuse(f"{place}.geometry", f"{shorten(shape)} of kind '{kind}'", f"Draw a {wanted[0]}")
            return
        facts = self._properties(properties, _POINT_KEYS.get(kind, _AREA_KEYS), place)
        name = facts.pop("id", None) or feature.get("id")
        name = str(name) if name is not None else self.drawing.name(kind)
        if shape == "Point":
            self._mark(kind, geometry.get("coordinates"), facts, name, place)
        else:
            self._areas(kind, geometry, facts, name, place)

    def _properties(self, properties: Mapping[str, Any], keys: Sequence[str], place: str) -> dict[str, Any]:
        """Keep the properties that a yard knows; a map may carry others, but none that looks misspelt."""
        long_keys = [key for key in keys if len(key) > 4]  # 'fid' is no misspelt 'id'
        for key in properties:
            near = difflib.get_close_matches(key, long_keys, n=1, cutoff=0.8)
            if key not in (*keys, "kind") and near:
                self.drawing.refuse(f"{place}.properties", f"unknown key {shorten(key)}", f"Did you mean '{near[0]}'?")
        return {key: properties[key] for key in keys if properties.get(key) is not None}

    def _mark(self, kind: str, position: Any, facts: dict[str, Any], name: str, place: str) -> None:
        if not _is_position(position):
            self.drawing.refuse(f"{place}.geometry", shorten(position), "Write a position [x, y]")
            return
        piece = facts | {"at": self._points([position])[0]}
        if kind == "tree":
            piece["id"] = name
        if kind == "spot height" and len(position) > 2:
            piece.setdefault("height", units.to_system(float(position[2]), "length", self.system))
        self.drawing.add(kind, piece, place)

    def _areas(self, kind: str, geometry: Mapping[str, Any], facts: dict[str, Any], name: str, place: str) -> None:
        coordinates = geometry.get("coordinates")
        polygons = [coordinates] if geometry["type"] == "Polygon" else coordinates
        if not isinstance(polygons, list) or not polygons:
            self.drawing.refuse(f"{place}.geometry", shorten(polygons), "Write a list of polygons")
            return
        for number, rings in enumerate(polygons, start=1):
            problem = _ring_problem(rings)
            if problem:
                self.drawing.refuse(f"{place}.geometry", *problem)
                return
            outline, *holes = [self._points(ring[:-1]) for ring in rings]
            own = name if len(polygons) == 1 else f"{name}-{number}"
            piece = {**facts, "id": own, "kind": kind, "outline": outline} | ({"holes": holes} if holes else {})
            self.drawing.add(kind, piece, place)

    def _points(self, positions: Positions) -> list[list[float]]:
        local = [self._plane.local(p[0], p[1]) for p in positions] if self._plane else positions
        return to_document(local, self.system)


def _ring_problem(rings: Any) -> tuple[str, str] | None:
    if not isinstance(rings, list) or not rings:
        return shorten(rings), "Write a polygon as a list of rings"
    for ring in rings:
        if not isinstance(ring, list) or not all(_is_position(p) for p in ring):
            return shorten(ring), "Write a ring as a list of positions [x, y]"
        if len(ring) < 4 or ring[0] != ring[-1]:
            return f"a ring of {len(ring)} positions that is not closed", "End each ring with its first position"
    return None


def _positions(feature: Any) -> list[list[float]]:
    """All positions of a feature, whatever its shape; none from what cannot be read."""
    geometry = feature.get("geometry") if isinstance(feature, dict) else None
    found: list[list[float]] = []
    waiting: list[Any] = [geometry.get("coordinates") if isinstance(geometry, dict) else None]
    while waiting:
        one = waiting.pop()
        if _is_position(one):
            found.append(one)
        elif isinstance(one, list):
            waiting.extend(one)
    return found


def _middle(positions: Positions) -> dict[str, float]:
    """Middle of the positions [°], also across the 180th meridian."""
    if not positions:
        return {"lon": 0.0, "lat": 0.0}
    first = positions[0][0]
    turns = [(p[0] - first + 180) % 360 - 180 for p in positions]
    lats = [p[1] for p in positions]
    lon = (first + (min(turns) + max(turns)) / 2 + 180) % 360 - 180
    return {"lon": round(lon, 7), "lat": round((min(lats) + max(lats)) / 2, 7)}
