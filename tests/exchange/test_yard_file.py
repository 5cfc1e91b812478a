import copy
import json
from pathlib import Path

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rillwright.errors import InputError, YardError
from rillwright.exchange import load_yard, save_yard
from rillwright.exchange.yard_file import (
    LARGEST_FILE,
    read_yard,
    validated,
    write_yard,
    yard_schema,
    yard_text,
)
from rillwright.model.site import AREA_KINDS, BACKFLOW_KINDS, HEAD_CLASSES, PIPE_MATERIALS, Yard
from rillwright.physics.units import FOOT, PSI, unit_name

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted((ROOT / "examples").glob("*.yard.json"))


def good(**changes):
    yard = {
        "format": "rillwright-yard",
        "version": 1,
        "name": "Test yard",
        "units": "metric",
        "areas": [
            {"id": "lawn", "kind": "lawn", "outline": [[0, 0], [20, 0], [20, 10], [0, 10]]},
            {"id": "house", "kind": "building", "outline": [[0, 10], [12, 10], [12, 18], [0, 18]]},
        ],
        "trees": [{"id": "oak", "at": [15, 5]}],
        "spot_heights": [{"at": [0, 0], "height": 0}, {"at": [20, 0], "height": 0.2}, {"at": [0, 10], "height": 0.4}],
        "water_entry": {
            "at": [2, 10],
            "height": -1,
            "pipe": {"material": "copper L", "size": "3/4 in", "length": 15},
            "meter": {"size": "5/8 in"},
        },
        "supply": [
            {"kind": "static gauge", "pressure": 400},
            {"kind": "bucket fill", "volume": 20, "seconds": [17, 17.5], "start_delay": 1},
        ],
        "controller": {"stations": 6},
        "backflow": {"allowed": ["pressure vacuum breaker"]},
    }
    return yard | changes


def the_problem(data) -> tuple[str, str]:
    """The only problem of a document: where it is, and all that is said."""
    with pytest.raises(YardError) as caught:
        validated(data, source="test")
    assert len(caught.value.problems) == 1, str(caught.value)
    problem = caught.value.problems[0]
    return problem.path, f"{problem.value}. {problem.allowed}"


def read_text(tmp_path: Path, text: str) -> Yard:
    path = tmp_path / "my.yard.json"
    path.write_text(text, encoding="utf-8")
    return read_yard(path)


def put(data, path, value):
    """A copy of a document with one value changed."""
    data = copy.deepcopy(data)
    here = data
    for step in path[:-1]:
        here = here[step]
    here[path[-1]] = value
    return data


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.name)
def test_every_example_reads_says_it_is_invented_and_round_trips(path):
    yard = load_yard(path)
    assert "Invented" in yard.note
    text = yard_text(yard)
    assert text == path.read_text(encoding="utf-8")
    assert validated(json.loads(text), source="again") == yard


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.name)
def test_every_example_keeps_the_published_schema(path):
    jsonschema.Draft202012Validator(yard_schema()).validate(json.loads(path.read_text(encoding="utf-8")))


def test_schema_is_a_schema_and_the_published_file_is_current():
    jsonschema.Draft202012Validator.check_schema(yard_schema())
    published = json.loads((ROOT / "docs/reference/yard.schema.json").read_text(encoding="utf-8"))
    assert published == yard_schema()


@pytest.mark.parametrize(
    ("path", "value"),
    [(("units",), "imperial"), (("version",), 2), (("controller", "stations"), 0), (("areas",), []), (("colour",), 1)],
)
def test_schema_refuses_what_the_reader_refuses(path, value):
    data = put(good(), path, value)
    assert list(jsonschema.Draft202012Validator(yard_schema()).iter_errors(data))
    the_problem(data)


def test_bare_numbers_are_in_the_units_of_the_file_and_texts_carry_their_own():
    us = good(units="US")
    us["supply"] = [{"kind": "static gauge", "pressure": 60}, {"kind": "static gauge", "pressure": "4 bar"}]
    us["areas"][0]["outline"][1] = ["72 ft 6 in", 0]
    yard = validated(us, source="test")
    assert yard.areas[0].outline[1][0] == pytest.approx(72.5 * FOOT)
    assert [m.pressure for m in yard.supply] == pytest.approx([60 * PSI, 400e3])


@given(st.floats(0.1, 19), st.sampled_from(["psi", "kPa", "bar"]), st.sampled_from(["US", "metric"]))
def test_reading_what_was_written_never_moves_a_value(number, unit, system):
    typed = f"{number:.15g} {unit}"
    yard = validated(good(units=system, supply=[{"kind": "static gauge", "pressure": typed}]), source="test")
    again = validated(json.loads(yard_text(yard)), source="again")
    assert again == yard
    assert yard_text(again) == yard_text(yard)


def test_layout_of_the_text_leaves_texts_alone():
    note = "[ 1,\n 2 ] [[1, 2],\n [3,~4]] \u2028"
    yard = validated(good(note=note), source="test")
    assert json.loads(yard_text(yard))["note"] == note
    assert yard_text(yard).count("[0, 0], [20, 0], [20, 10], [0, 10]") == 1


GUIDE = (ROOT / "docs/how-to/write-a-yard.md").read_text(encoding="utf-8")


def test_the_guide_names_every_field_and_word():
    schema = yard_schema()
    told = ["GroundArea", "Tree", "SpotHeight", "WaterEntry", "ServicePipe", "Meter", "Controller", "BackflowChoice"]
    told += ["HeadChoice", "ValveChoice", "PipeChoice", "Soil", "Wind", "Origin", "StaticGauge", "FlowingGauge"]
    told += [
        "BucketFill",
        "MeterReading",
        "Rules",
        "Watering",
        "Existing",
        "ExistingHead",
        "ExistingPipe",
        "ExistingPlace",
        "RegulationChoice",
        "BoosterPump",
        "PumpPoint",
        "Pins",
        "PinnedHead",
        "PinnedPipe",
        "PinnedZone",
        "PressureTank",
        "Well",
        "MoneyFacts",
        "OwnPrice",
        "Spreads",
        "Tariff",
        "TariffBlock",
        "ThreePoint",
        "SoilLayer",
        "Turf",
        "Span",
        "Climate",
        "ClimateMonth",
    ]
    fields = {f for name in told for f in schema["$defs"][name]["properties"]} | set(schema["properties"])
    assert {f for f in fields if f"`{f}`" not in GUIDE} == set()
    words = (*AREA_KINDS, *HEAD_CLASSES, *BACKFLOW_KINDS, *PIPE_MATERIALS)
    assert {word for word in words if f"`{word}`" not in GUIDE} == set()
    assert set(schema["$defs"]) == set(told)


def test_the_guide_shows_errors_as_they_are():
    crossing = put(good(), ("areas", 0, "outline"), [[0, 0], [20, 10], [20, 0], [0, 10]])
    crossing["supply"][1] |= {"seconds": [1.5], "start_delay": 2}
    with pytest.raises(YardError) as caught:
        validated(crossing, source="my.yard.json")
    assert f"```text\n{caught.value}\n```" in GUIDE


def test_the_guide_lists_the_units_of_bare_numbers():
    rows = [[cell.strip() for cell in line.split("|")[1:4]] for line in GUIDE.split("## Units")[1].splitlines()]
    rows = {row[0].split(",")[0]: row[1:] for row in rows if len(row) == 3}
    for told, dimension in {
        "wind speed": "wind",
        **{d: d for d in ("length", "bore", "pressure", "flow", "volume")},
    }.items():
        assert rows[told] == [unit_name(dimension, system) for system in ("US", "metric")]


def test_write_keeps_an_existing_file_unless_told(tmp_path):
    path = tmp_path / "a.yard.json"
    yard = validated(good(), source="test")
    write_yard(yard, path)
    path.write_text("mine")
    with pytest.raises(InputError, match="exists and is kept"):
        write_yard(yard, path)
    assert path.read_text() == "mine"
    write_yard(yard, path, overwrite=True)
    assert read_yard(path) == yard


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('{\n  "name": }', "line 2, column 11"),
        ('{"name": "a",\n "north": NaN}', "line 2, column 11: NaN is not a number"),
        ('{"note": "NaN",\n "north": -Infinity}', "line 2, column 11: -Infinity"),
        ('{"name": "a", "name": "b"}', '"name" comes twice'),
        ("[1, 2]", "holds a list of 2, not an object"),
        ("", "line 1, column 1"),
        ("[" * 200_000, "nested too deep"),
        ('{"north": ' + "9" * 5000 + "}", "too many digits"),
    ],
)
def test_text_that_is_no_usable_json_says_where(tmp_path, text, said):
    with pytest.raises(InputError) as caught:
        read_text(tmp_path, text)
    assert said in str(caught.value)


def test_a_missing_a_huge_and_a_binary_file_are_said_so(tmp_path):
    with pytest.raises(InputError, match="cannot be read: No such file"):
        read_yard(tmp_path / "none.yard.json")
    with pytest.raises(InputError, match="cannot be read: it is not a file"):
        read_yard(tmp_path)
    huge = tmp_path / "huge.yard.json"
    with huge.open("wb") as file:
        file.truncate(LARGEST_FILE + 1)
    with pytest.raises(InputError, match="at most 20 MB"):
        read_yard(huge)
    binary = tmp_path / "binary.yard.json"
    binary.write_bytes(b'{"name": "\xff"}')
    with pytest.raises(InputError, match="byte 10"):
        read_yard(binary)


def test_a_byte_order_mark_does_no_harm(tmp_path):
    assert read_text(tmp_path, "\ufeff" + json.dumps(good())).name == "Test yard"


@pytest.mark.parametrize("key", ["units", "version", "format"])
def test_a_missing_heading_is_one_problem(key):
    data = good()
    del data[key]
    assert the_problem(data)[0] == key


SLIPS = [
    (("units",), "imperial", "units", '"imperial". Write "units": "US"'),
    (("version",), 7, "version", '7. This program reads "version": 1'),
    (("version",), True, "version", "true"),
    (("colour",), "green", "colour", 'unknown key "colour"'),
    (("areas", 0, "exposre"), "sun", "areas[0].exposre", "Did you mean 'exposure'?"),
    (("supply", 1, "second"), [3], "supply[1].second", "Did you mean 'seconds'?"),
    (("water_entry", "pipe", "lenght"), 3, "water_entry.pipe.lenght", "Did you mean 'length'?"),
    (("areas", 0, "kind"), "lawm", "areas[0].kind", "\"lawm\". Did you mean 'lawn'?"),
    (("areas", 0, "kind"), 3, "areas[0].kind", "3. Use one of: lawn, bed"),
    (("supply", 0, "kind"), "static guage", "supply[0].kind", "Did you mean 'static gauge'?"),
    (("supply", 0), {"pressure": 3}, "supply[0].kind", "missing. Use one of: bucket fill"),
    (("supply", 0), 7, "supply[0]", "7. Write an object in braces"),
    (("supply",), "none", "supply", '"none". Write a list'),
    (("supply", 1, "start_delay"), -1, "supply[1].start_delay", "-1. Must be at least 0 s"),
    (("supply", 1, "seconds"), [17, -2], "supply[1].seconds[1]", "-2. Must be at least 0 s"),
    (("supply", 0, "pressure"), "60 gpm", "supply[0].pressure", "psi, kPa, bar"),
    (("supply", 0, "pressure"), True, "supply[0].pressure", "true. Write a number"),
    (("supply", 0, "pressure"), 10**400, "supply[0].pressure", "Write a finite number"),
    (("supply", 0, "pressure"), float("inf"), "supply[0].pressure", "Write a finite number"),
    (("areas", 0, "outline", 3), [0, 1, 2], "areas[0].outline[3]", "a list of 3. Write a point as two numbers"),
    (("areas", 0, "outline", 3), [0], "areas[0].outline[3]", "Write a point as two numbers"),
    (("areas", 0, "outline", 3), 4, "areas[0].outline[3]", "4. Write a point as two numbers"),
    (("areas", 0, "outline", 3), [0, "x"], "areas[0].outline[3][1]", "is not a length"),
    (("areas", 0, "outline", 3), [0, 99_999], "areas[0].outline[3][1]", "at most 20000 m. Coordinates are local"),
    (("areas", 0, "outline"), [[0, 0], [1, 1]], "areas[0].outline", "a list of 2. At least 3 points"),
    (("areas", 0, "outline"), [[0, 0]] * 5001, "areas[0].outline", "a list of 5001. At most 5000 points: keep only"),
    (("areas",), {}, "areas", "an empty object. Write a list"),
    (("areas",), [], "areas", "a list of 0. At least 1"),
    (("controller", "stations"), "8", "controller.stations", '"8". Write a whole number'),
    (("controller", "stations"), True, "controller.stations", "true. Write a whole number"),
    (("controller", "stations"), 8.5, "controller.stations", "8.5. Write a whole number"),
    (("controller", "stations"), 0, "controller.stations", "0. Write 1 or more"),
    (("controller",), None, "controller", "null. Write an object"),
    (("name",), "", "name", "at least 1 character"),
    (("name",), "x" * 200, "name", "at most 120 characters"),
    (("name",), "\ud800", "name", "half a character"),
    (("areas", 0, "id"), "", "areas[0].id", "at least 1 character"),
    (("areas", 0, "id"), "a/b", "areas[0].id", "Use letters, digits"),
    (("currency",), "dollars", "currency", "three capital letters"),
    (("rules",), {"supply_certainty": 1}, "rules.supply_certainty", "less than 1"),
    (("rules",), {"flow_spread": "5 %"}, "rules.flow_spread", "Write a plain number"),
]


@pytest.mark.parametrize(("path", "value", "place", "said"), SLIPS, ids=lambda v: str(v)[:30])
def test_each_slip_is_one_problem_that_names_place_value_and_remedy(path, value, place, said):
    found, words = the_problem(put(good(), path, value))
    assert found == place
    assert said.lower() in words.lower()


def test_limits_are_told_in_the_units_of_the_file():
    _, said = the_problem(put(good(units="US", supply=[]), ("areas", 0, "outline", 3), [0, 99_999]))
    assert "at most 65616.8 ft" in said


def test_many_problems_are_counted_not_listed():
    data = put(good(), ("areas", 0, "outline"), [["a", 0]] * 300)
    with pytest.raises(YardError) as caught:
        validated(data, source="test")
    assert len(caught.value.problems) == 26
    assert "275 more problems" in str(caught.value)


def test_suffix_picks_the_writer(tmp_path):
    yard = validated(good(origin={"lon": -30, "lat": 45}), source="test")
    for name in ("a.yard.json", "a.geojson"):
        save_yard(yard, tmp_path / name)
        assert load_yard(tmp_path / name).water_entry.at == pytest.approx((2, 10), abs=1e-4)
        with pytest.raises(InputError, match="exists and is kept"):
            save_yard(yard, tmp_path / name)
    with pytest.raises(InputError, match=r"use \.json or \.geojson"):
        save_yard(yard, tmp_path / "a.dxf")
    with pytest.raises(InputError, match="cannot be written"):
        save_yard(yard, tmp_path / "none" / "a.json")


def test_suffix_picks_the_reader(tmp_path):
    with pytest.raises(InputError, match="no kind of file"):
        load_yard(tmp_path / "yard.pdf")
    with pytest.raises(InputError, match="holds all facts itself"):
        load_yard(EXAMPLES[0], facts=EXAMPLES[0])
    with pytest.raises(InputError, match="give the file of yard facts"):
        load_yard(ROOT / "examples/shed.dxf")


JUNK = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**20), 10**400)
    | st.floats()
    | st.text(max_size=8)
    | st.sampled_from(["lawn", "static gauge", "bucket fill", "5 psi", "1/0 ft", "3/4 in", "-", "1e999 ft", "US"]),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=6,
)


def outcome(data):
    try:
        return validated(data, source="fuzz"), None
    except YardError as error:
        return None, error


def places(data, path=()):
    yield path
    steps = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for step, inner in steps:
        yield from places(inner, (*path, step))


@settings(max_examples=400, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_any_change_of_a_good_yard_is_a_yard_or_a_clear_error(data):
    document = good()
    for _ in range(data.draw(st.integers(1, 3))):
        path = data.draw(st.sampled_from(list(places(document))[1:]))
        act = data.draw(st.sampled_from(["put", "drop", "add"]))
        junk = data.draw(JUNK)
        if act == "put":
            document = put(document, path, junk)
            continue
        here = document
        for step in path[:-1]:
            here = here[step]
        if act == "drop":
            del here[path[-1]]
        elif isinstance(here, dict):
            here[data.draw(st.text(max_size=8))] = junk
        else:
            here.append(junk)
    yard, error = outcome(document)
    if yard is None:
        assert error.problems
        assert all(p.path and p.value and p.allowed for p in error.problems)
        str(error).encode("utf-8")
    else:
        assert validated(json.loads(yard_text(yard)), source="again") == yard
