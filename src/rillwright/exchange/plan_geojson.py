"""A plan as GeoJSON (RFC 7946): heads, valve places, pipes and trenches with what is known of each.

Coordinates are WGS84 longitude and latitude where the yard has an origin; else local metres, marked by our foreign
member as in `exchange/geojson`. Properties name their unit. Bearings count clockwise from north.
"""

import json
from collections.abc import Iterator, Sequence
from typing import Any

from rillwright.exchange.geojson import GLOBAL, LOCAL, MEMBER, Plane
from rillwright.model.plan import Head, Plan, Point

__all__ = ["plan_geojson"]

_LITRES_A_MINUTE = 6e4  # of one m³/s


def plan_geojson(plan: Plan) -> str:
    """Write a plan as a FeatureCollection."""
    yard = plan.yard
    plane = Plane(yard.origin, north=yard.north) if yard.origin else None
    member = {"coordinates": GLOBAL if plane else LOCAL, "of": "plan", "name": yard.name, "verdict": plan.verdict}
    if plane is None:
        member["north"] = f"{yard.north:g} degrees counter-clockwise from the x axis"
    features = [_feature(kind, name, shape, known, plane) for kind, name, shape, known in _things(plan)]
    text = json.dumps({"type": "FeatureCollection", MEMBER: member, "features": features}, indent=1, ensure_ascii=False)
    return text + "\n"


Thing = tuple[str, str, Point | Sequence[Point], dict[str, Any]]


def _things(plan: Plan) -> Iterator[Thing]:
    yield "water entry", "entry", plan.yard.water_entry.at, {}
    if plan.yard.controller.at is not None:
        yield "controller", "controller", plan.yard.controller.at, {"stations": plan.yard.controller.stations}
    zone_of = {head: zone for zone in plan.zones for head in zone.heads}
    for head in plan.heads:
        zone = zone_of.get(head.id)
        known = {"zone": zone.id if zone else None, "station": zone.station if zone else None}
        yield "head", head.id, head.at, known | _head(head, plan.yard.north)
    for place in plan.places:
        told = {"zones": list(place.zones), "backflow": place.backflow, "ground_m": round(place.ground, 3)}
        yield "valve place", place.id, place.at, told
    for pipe in plan.pipes:
        flow = {"flow_l_min": round(pipe.flow * _LITRES_A_MINUTE, 2), "velocity_m_s": round(pipe.velocity, 3)}
        of = {"role": pipe.role, "zone": pipe.zone, "material": pipe.material, "size": pipe.size}
        yield (
            "pipe",
            pipe.id,
            pipe.path,
            of | {"length_m": round(pipe.length, 3), "bore_mm": round(1e3 * pipe.bore, 2)} | flow,
        )
    for trench in plan.trenches:
        dug: dict[str, Any] = {"surface": trench.surface, "sleeve": trench.sleeve, "pipes": list(trench.pipes)}
        yield "trench", trench.id, trench.path, dug | {"length_m": round(trench.length, 3)}


def _head(head: Head, north: float) -> dict[str, Any]:
    """What is known of a head; its arc from one bearing clockwise to the other."""
    begins = (north - head.arc_start - head.arc) % 360
    return {
        "lawn": head.lawn,
        "head_class": head.head_class,
        "nozzle": head.nozzle,
        "arc_deg": round(head.arc, 1),
        "arc_from_deg": round(begins, 1) % 360,
        "radius_m": round(head.radius, 3),
        "flow_l_min": round(head.flow * _LITRES_A_MINUTE, 3),
        "pressure_kpa": round(head.pressure / 1e3, 1),
        "ground_m": round(head.ground, 3),
    }


def _feature(
    kind: str, name: str, shape: Point | Sequence[Point], known: dict[str, Any], plane: Plane | None
) -> dict[str, Any]:
    if isinstance(shape[0], (int, float)):
        geometry = {"type": "Point", "coordinates": _position(shape, plane)}  # type: ignore[arg-type]
    else:
        line = [_position(point, plane) for point in shape]  # type: ignore[arg-type]
        geometry = {"type": "LineString", "coordinates": line}
    return {"type": "Feature", "id": name, "geometry": geometry, "properties": {"kind": kind, "id": name} | known}


def _position(point: Point, plane: Plane | None) -> list[float]:
    """Degrees, or metres to a tenth of a millimetre."""
    return list(plane.degrees(*point)) if plane else [round(point[0], 4), round(point[1], 4)]
