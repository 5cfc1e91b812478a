import copy
import itertools
import json
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pyproj import Geod
from shapely.geometry import LinearRing, shape

from rillwright.errors import InputError, RillwrightError, YardError
from rillwright.exchange import load_yard
from rillwright.exchange.geojson import Plane, geojson_text, read_geojson, write_geojson
from rillwright.model.site import Origin, Yard

EXAMPLES = Path(__file__).parents[2] / "examples"
MAP = EXAMPLES / "wgs84.geojson"


def the_map():
    return json.loads(MAP.read_text(encoding="utf-8"))


def local():
    """The demo yard as marked local metres."""
    return json.loads(geojson_text(load_yard(EXAMPLES / "demo.yard.json")))


def read(tmp_path, data, facts=None) -> Yard:
    path = tmp_path / "a.geojson"
    path.write_text(json.dumps(data), encoding="utf-8")
    return read_geojson(path, facts=facts)


def the_problem(tmp_path, data, facts=None):
    with pytest.raises(YardError) as caught:
        read(tmp_path, data, facts)
    assert len(caught.value.problems) == 1, str(caught.value)
    return caught.value.problems[0]


@pytest.mark.parametrize("north", [90.0, 70.0, -20.0])
@pytest.mark.parametrize("place", [(-30.0, 45.0), (179.9995, 60.0), (10.0, -38.0), (0.0, 0.0)])
def test_plane_keeps_the_distances_and_bearings_of_the_ellipsoid(place, north):
    """Checked with pyproj.Geod: geodesics on WGS84 by Karney, Journal of Geodesy 87 (2013), 43-55."""
    plane, geod = Plane(Origin(lon=place[0], lat=place[1]), north=north), Geod(ellps="WGS84")
    points = [(0.0, 0.0), (80.0, 15.0), (-40.0, 60.0), (33.0, -95.0)]
    for one, two in itertools.combinations(points, 2):
        _, _, there = geod.inv(*plane.degrees(*one), *plane.degrees(*two))
        ours = ((one[0] - two[0]) ** 2 + (one[1] - two[1]) ** 2) ** 0.5
        assert ours == pytest.approx(there, rel=1e-5)
    bearing, _, _ = geod.inv(*plane.degrees(0, 0), *plane.degrees(80.0, 0.0))
    assert (bearing - north) % 360 == pytest.approx(0.0, abs=1e-4) or bearing == pytest.approx(north, abs=1e-4)


@given(st.floats(-500, 500), st.floats(-500, 500), st.floats(-180, 180))
def test_plane_there_and_back(x, y, north):
    plane = Plane(Origin(lon=-30, lat=45), north=north)
    assert plane.local(*plane.degrees(x, y)) == pytest.approx((x, y), abs=2e-5)


def test_the_example_map_reads_as_drawn():
    yard = load_yard(MAP)
    assert "Invented" in yard.note
    assert [area.id for area in yard.lawns] == ["front lawn", "west lawn", "back lawn"]
    assert yard.areas[0].outline[0] == pytest.approx((-14, -16), abs=1e-4)
    assert yard.water_entry.at == pytest.approx((-9, 1), abs=1e-4)


@pytest.mark.parametrize("path", [*EXAMPLES.glob("*.yard.json"), MAP], ids=lambda p: p.name)
def test_export_and_import_give_the_yard_back(tmp_path, path):
    yard = load_yard(path)
    again = read(tmp_path, json.loads(geojson_text(yard)))
    drawn = {"areas", "trees", "spot_heights", "water_entry", "controller"}
    assert again.model_dump(exclude=drawn) == yard.model_dump(exclude=drawn)
    for name in ("areas", "trees", "spot_heights"):
        for ours, theirs in zip(getattr(yard, name), getattr(again, name), strict=True):
            assert ours.model_copy(update=geometry(theirs)) == theirs
    for ours, theirs in zip(yard.areas, again.areas, strict=True):
        same = shape({"type": "Polygon", "coordinates": [ours.outline, *ours.holes]})
        other = shape({"type": "Polygon", "coordinates": [theirs.outline, *theirs.holes]})
        assert same.symmetric_difference(other).area < 1e-3
    assert again.water_entry.at == pytest.approx(yard.water_entry.at, abs=1e-4)
    assert again.water_entry.pipe == yard.water_entry.pipe


def geometry(piece):
    return {name: getattr(piece, name) for name in ("outline", "holes", "at") if hasattr(piece, name)}


def test_export_keeps_the_rules_of_rfc_7946():
    """RFC 7946 section 3.1.6: rings closed, at least 4 positions, outlines counter-clockwise and holes clockwise."""
    yard = load_yard(EXAMPLES / "courtyard.yard.json")
    here = Yard.model_validate(yard.model_dump() | {"origin": {"lon": -30.0, "lat": 45.0}})
    data = json.loads(geojson_text(here))
    assert data["rillwright"]["coordinates"] == "WGS84"
    for feature in data["features"]:
        assert set(feature) >= {"type", "geometry", "properties"}
        if feature["geometry"]["type"] == "Polygon":
            rings = feature["geometry"]["coordinates"]
            assert all(ring[0] == ring[-1] and len(ring) >= 4 for ring in rings)
            assert [LinearRing(ring).is_ccw for ring in rings] == [True] + [False] * (len(rings) - 1)


def test_without_an_origin_the_middle_of_the_map_is_taken(tmp_path):
    data = the_map()
    given = load_yard(MAP)
    del data["rillwright"]["origin"]
    free = read(tmp_path, data)
    assert free.origin is not None
    assert free.origin != given.origin
    shift = (free.areas[0].outline[0][0] - given.areas[0].outline[0][0],) * 2
    for ours, theirs in zip(given.areas, free.areas, strict=True):
        for one, two in zip(ours.outline, theirs.outline, strict=True):
            assert two[0] - one[0] == pytest.approx(shift[0], abs=1e-3)


def test_a_map_across_the_180th_meridian_stays_whole(tmp_path):
    data = the_map()
    del data["rillwright"]["origin"]
    text = json.dumps(data).replace("-30.0", "-180.0").replace("-29.9", "-179.9")
    moved = json.loads(text)
    for feature in moved["features"]:
        coordinates = feature["geometry"]["coordinates"]
        for position in [coordinates] if feature["geometry"]["type"] == "Point" else coordinates[0]:
            position[0] = (position[0] + 180) % 360 - 180
    yard = read(tmp_path, moved)
    assert abs(abs(yard.origin.lon) - 180) < 0.001
    assert max(abs(v) for area in yard.areas for xy in area.outline for v in xy) < 50


def test_numbers_of_a_us_yard_on_a_map_are_us_and_coordinates_are_not(tmp_path):
    yard = load_yard(EXAMPLES / "l-shape.yard.json")
    again = read(tmp_path, json.loads(geojson_text(yard)))
    assert again.units == "US"
    assert again.areas[0].outline == yard.areas[0].outline
    assert again.trees == yard.trees


def test_facts_may_lie_in_a_file_of_their_own(tmp_path):
    data = the_map()
    facts = {key: value for key, value in data["rillwright"].items() if key not in ("coordinates", "origin")}
    companion = tmp_path / "facts.json"
    companion.write_text(json.dumps(facts))
    data["rillwright"] = {"origin": data["rillwright"]["origin"]}
    assert read(tmp_path, data, companion) == load_yard(MAP)
    data["rillwright"]["name"] = "Other"
    assert the_problem(tmp_path, data, companion).path == "rillwright.name"
    companion.write_text(json.dumps(facts | {"areas": []}))
    assert the_problem(tmp_path, data, companion).path == "areas"
    del data["rillwright"]
    with pytest.raises(InputError, match="carries no facts"):
        read(tmp_path, data)


def test_a_multipolygon_becomes_areas_and_missing_ids_are_counted(tmp_path):
    data = local()
    lawn = data["features"][0]
    del lawn["id"]
    ring = lawn["geometry"]["coordinates"]
    lawn["geometry"] = {"type": "MultiPolygon", "coordinates": [ring, [[[30, 0], [40, 0], [40, 9], [30, 0]]]]}
    assert [a.id for a in read(tmp_path, data).areas[:3]] == ["lawn 1-1", "lawn 1-2", "side strip"]


def test_height_may_be_the_third_coordinate_in_metres(tmp_path):
    data = local()
    spot = next(f for f in data["features"] if f["properties"]["kind"] == "spot height")
    height = spot["properties"].pop("height")
    spot["geometry"]["coordinates"].append(height)
    assert read(tmp_path, data) == read(tmp_path, local())
    spot["geometry"]["coordinates"].pop()
    assert "missing" in the_problem(tmp_path, data).value


def test_other_properties_of_a_map_are_left_alone_and_misspelt_ones_are_not(tmp_path):
    data = local()
    data["features"][0]["properties"] |= {"fid": 7, "planting": None}
    assert read(tmp_path, data).areas[0].planting == "turf"
    data["features"][0]["properties"]["exposre"] = "shade"
    assert "Did you mean 'exposure'?" in the_problem(tmp_path, data).allowed


SLIPS = [
    (("features", 0, "properties", "kind"), "lawm", "features[0].properties.kind", "Did you mean 'lawn'?"),
    (("features", 0, "properties", "kind"), None, "features[0].properties.kind", "missing. Use one of"),
    (("features", 0, "properties", "kind"), "tree", "features[0].geometry", "Draw a Point"),
    (("features", 0, "geometry", "type"), "LineString", "features[0].geometry", "Draw a Polygon"),
    (("features", 0, "geometry"), None, "features[0]", "Write a Feature"),
    (("features", 0, "geometry", "coordinates"), 3, "features[0].geometry", "list of rings"),
    (("features", 0, "geometry", "coordinates", 0), [[0, 0], [1, 1], [0, 1]], "features[0].geometry", "not closed"),
    (("features", 0, "geometry", "coordinates", 0, 1), ["a", 2], "features[0].geometry", "list of positions"),
    (("features", 0, "geometry", "coordinates", 0, 1), [99_999, 2], "features[0].outline[1][0]", "20000 m"),
    (("features", 0, "properties", "exposure"), "dark", "features[0].exposure", "sun"),
    (("features",), [], "features", "at least one feature"),
    (("type",), "Feature", "type", "FeatureCollection"),
    (("rillwright",), 3, "rillwright", "object in braces"),
    (("rillwright", "coordinates"), "local meters", "rillwright.coordinates", "Did you mean 'local metres'?"),
    (("rillwright", "units"), None, "units", "metric"),
    (("rillwright", "colour"), "red", "colour", "unknown key"),
    (("crs",), {"type": "name", "properties": {"name": "EPSG:32615"}}, "crs", "WGS84"),
]


@pytest.mark.parametrize(("path", "value", "place", "said"), SLIPS, ids=lambda v: str(v)[:24])
def test_each_slip_is_one_problem_at_its_feature(tmp_path, path, value, place, said):
    data = local()
    here = data
    for step in path[:-1]:
        here = here[step]
    here[path[-1]] = value
    problem = the_problem(tmp_path, data)
    assert problem.path == place
    assert said in f"{problem.value}. {problem.allowed}"


def test_metres_that_are_not_marked_are_found_out(tmp_path):
    data = local()
    del data["rillwright"]["coordinates"]
    data["features"][0]["geometry"]["coordinates"][0][1] = [120.0, 95.0]
    assert '"coordinates": "local metres"' in the_problem(tmp_path, data).allowed


def test_local_facts_on_a_map_need_an_origin(tmp_path):
    data = the_map()
    data["features"] = [f for f in data["features"] if f["properties"]["kind"] != "water entry"]
    data["rillwright"]["water_entry"]["at"] = [-9, 1]
    assert read(tmp_path, data).water_entry.at == (-9, 1)
    del data["rillwright"]["origin"]
    assert the_problem(tmp_path, data).path == "water_entry"


def test_two_entries_and_an_entry_in_both_places_are_problems(tmp_path):
    data = local()
    entry = next(f for f in data["features"] if f["properties"]["kind"] == "water entry")
    data["features"].append(copy.deepcopy(entry))
    assert "a second water entry" in the_problem(tmp_path, data).value
    data["features"].pop()
    data["rillwright"]["water_entry"]["at"] = [0, 0]
    assert the_problem(tmp_path, data).path == "water_entry.at"


def test_write_keeps_an_existing_file(tmp_path):
    yard = load_yard(MAP)
    write_geojson(yard, tmp_path / "a.geojson")
    with pytest.raises(InputError, match="exists and is kept"):
        write_geojson(yard, tmp_path / "a.geojson")


JUNK = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**20), 10**30) | st.floats(allow_nan=False) | st.text(max_size=6),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=5,
)


def places(data, path=()):
    yield path
    steps = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for step, inner in steps:
        yield from places(inner, (*path, step))


@settings(
    max_examples=150,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
@given(st.data(), st.booleans())
def test_any_change_of_a_good_map_is_a_yard_or_a_clear_error(tmp_path, data, on_earth):
    document = the_map() if on_earth else copy.deepcopy(LOCAL)
    path = data.draw(st.sampled_from(list(places(document))[1:]))
    here = document
    for step in path[:-1]:
        here = here[step]
    here[path[-1]] = data.draw(JUNK)
    try:
        assert isinstance(read(tmp_path, document), Yard)
    except RillwrightError as error:
        str(error).encode("utf-8")


LOCAL = local()
