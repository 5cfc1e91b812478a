"""The yard's ground, resolved: which polygon is really what, once later areas lie over earlier ones."""

from dataclasses import dataclass

import shapely
from shapely.geometry import MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry

from rillwright.model.joined import joined, united
from rillwright.model.site import AreaKind, Yard
from rillwright.model.terrain import Terrain

__all__ = ["Ground", "resolve_ground"]


@dataclass(frozen=True, slots=True)
class Ground:
    """Resolved ground. Lawns have everything that lies on them cut out, trunks too."""

    lawns: dict[str, Polygon | MultiPolygon]  # as they are watered: touching ones alike make one, see joined
    drawn: dict[str, dict[str, Polygon | MultiPolygon]]  # by lawn watered the lawns drawn
    kinds: dict[AreaKind, BaseGeometry]  # union of each kind, as it lies on top; 'lawn' included
    trunks: BaseGeometry
    roots: BaseGeometry  # tree root zones and areas of kind 'roots', wherever they lie
    extent: tuple[float, float, float, float]  # least x, least y, greatest x, greatest y [m]
    terrain: Terrain
    keep_dry: BaseGeometry  # paving that no water may reach
    plants: tuple[tuple[BaseGeometry, float], ...]  # beds whose plants stop water, and how high they stand [m]

    @property
    def each_lawn(self) -> dict[str, Polygon | MultiPolygon]:
        """The lawns as they are drawn, by id."""
        return {name: shape for parts in self.drawn.values() for name, shape in parts.items()}

    @property
    def no_trench(self) -> BaseGeometry:
        """Where no trench may go: buildings, water, keep-outs, trunks."""
        parts = [self.kinds[kind] for kind in ("building", "water", "keep-out")]
        return shapely.unary_union([*parts, self.trunks])

    @property
    def site(self) -> BaseGeometry:
        """All drawn ground together; root zones may reach beyond it and do not count."""
        return shapely.unary_union([shape for kind, shape in self.kinds.items() if kind != "roots"])

    def surface_at(self, x: float, y: float) -> AreaKind | None:
        """Kind of ground at a point; None off the drawn ground. Root zones do not count as a surface."""
        point = Point(x, y)
        for kind, shape in self.kinds.items():
            if kind != "roots" and shape.covers(point):
                return kind
        return None


def resolve_ground(yard: Yard) -> Ground:
    """Lay the areas over one another in file order and cut the trunks out of the lawns."""
    roots = [Polygon(area.outline, area.holes) for area in yard.areas if area.kind == "roots"]
    drawn = [area for area in yard.areas if area.kind != "roots"]
    on_top = list(zip(drawn, _uncovered([Polygon(area.outline, area.holes) for area in drawn]), strict=True))
    trunks = shapely.unary_union([Point(t.at).buffer(t.trunk_radius) for t in yard.trees])
    roots += [Point(t.at).buffer(t.root_radius) for t in yard.trees]
    kinds: dict[AreaKind, BaseGeometry] = {"roots": shapely.unary_union(roots)}
    for kind in ("lawn", "bed", "building", "paving", "water", "keep-out"):
        kinds[kind] = shapely.unary_union([shape for area, shape in on_top if area.kind == kind])
    each = {area.id: _polygons(shape.difference(trunks)) for area, shape in on_top if area.kind == "lawn"}
    corners = shapely.total_bounds([shape for _, shape in on_top] or roots)
    spots = [s.at for s in yard.spot_heights]
    terrain = Terrain(spots, [s.height for s in yard.spot_heights], level=yard.water_entry.height)
    low_x, low_y, high_x, high_y = (float(c) for c in corners)
    dry = shapely.unary_union([shape for area, shape in on_top if area.keep_dry])
    plants = tuple((shape, area.height) for area, shape in on_top if area.height > 0 and not shape.is_empty)
    extent = (low_x, low_y, high_x, high_y)
    parts = {name: {one: each[one] for one in ids} for name, ids in joined(yard, each, terrain).items()}
    lawns = {name: united(list(shapes.values())) for name, shapes in parts.items()}
    return Ground(lawns, parts, kinds, trunks, shapely.unary_union(roots), extent, terrain, dry, plants)


def _uncovered(shapes: list[Polygon]) -> list[BaseGeometry]:
    """What is left of each shape once the later ones lie over it."""
    tree = shapely.STRtree(shapes)
    left: list[BaseGeometry] = []
    for number, shape in enumerate(shapes):
        over = [shapes[later] for later in tree.query(shape) if later > number]
        left.append(shape.difference(shapely.unary_union(over)) if over else shape)
    return left


def _polygons(shape: BaseGeometry) -> Polygon | MultiPolygon:
    """Keep the polygons of a shape, drop lines and points that cutting may leave."""
    if isinstance(shape, (Polygon, MultiPolygon)):
        return shape
    return MultiPolygon([part for part in getattr(shape, "geoms", ()) if isinstance(part, Polygon)])
