"""The real command line: bad input, exit codes, what is written and what is left alone."""

import json
import math
import os
import re
import signal
import subprocess
import sys
import time
from contextlib import chdir, closing, redirect_stderr, redirect_stdout
from io import StringIO
from pathlib import Path
from types import SimpleNamespace
from unittest.mock import patch

import jsonschema
import pytest

import rillwright.cli.commands
from plan_yards import CATALOGUE, EXAMPLES, planned, rectangle, small_yard
from rillwright.jobs.write import write_plan
from rillwright.store import Store

COMMAND = Path(sys.executable).with_name("rillwright")
ENVIRONMENT = os.environ | {"OMP_NUM_THREADS": "1", "COLUMNS": "200", "NO_COLOR": "1"}
SELF_CROSSING = [[0, 0], [9, 7], [9, 0], [0, 7]]
CIRCLE = [[20 + 9 * math.cos(i * math.tau / 10_000), 20 + 9 * math.sin(i * math.tau / 10_000)] for i in range(10_000)]


def run(*words, cwd):
    return subprocess.run(
        [COMMAND, *map(str, words)], cwd=cwd, env=ENVIRONMENT, capture_output=True, text=True, timeout=300
    )


def asked(*words, cwd):
    """The same in this process, which has all loaded already. One command of each kind is a real process, above."""
    from rillwright.cli.main import run as command

    out, err = StringIO(), StringIO()
    argv = ["rillwright", *map(str, words)]
    with (
        chdir(cwd),
        patch.object(sys, "argv", argv),
        patch.dict(os.environ, ENVIRONMENT),
        redirect_stdout(out),
        redirect_stderr(err),
        pytest.raises(SystemExit) as ended,
    ):
        command()
    return SimpleNamespace(returncode=ended.value.code, stdout=out.getvalue(), stderr=err.getvalue())


def content(folder):
    return {path.relative_to(folder): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def lawn(outline):
    return [{"id": "lawn", "kind": "lawn", "outline": outline}]


def without(key):
    return json.dumps({k: v for k, v in small_yard().items() if k != key})


def static(pressure):
    return {"kind": "static gauge", "pressure": pressure}


def bucket(**changes):
    return {"kind": "bucket fill", "volume": 20, "seconds": [15]} | changes


# the file, and words that its error must hold
BAD_YARDS = {
    "self-crossing": (json.dumps(small_yard(areas=lawn(SELF_CROSSING))), r"areas\[0\]\.outline"),
    "zero flow": (
        json.dumps(small_yard(supply=[{"kind": "gauge at a flow", "pressure": 300, "flow": 0}])),
        r"supply\[0\]\S*flow",
    ),
    "negative time": (json.dumps(small_yard(supply=[bucket(seconds=[-15])])), r"supply\[0\]\S*seconds"),
    "negative pressure": (json.dumps(small_yard(supply=[static(-5)])), r"supply\[0\]\S*pressure"),
    "text for a number": (json.dumps(small_yard(supply=[static("lots")])), r"supply\[0\]\S*pressure"),
    "no units": (without("units"), r"at units: missing"),
    "no water entry": (without("water_entry"), r"water_entry"),
    "unknown key": (json.dumps(small_yard(sprinklers=3)), r"sprinklers"),
    "unknown kind": (
        json.dumps(small_yard(areas=[{"id": "a", "kind": "swamp", "outline": rectangle(0, 0, 5, 5)}])),
        r"areas\[0\]\.kind",
    ),
    "10,000 vertices": (json.dumps(small_yard(areas=lawn(CIRCLE))), r"areas\[0\]\.outline.*10000"),
    "no lawn": (
        json.dumps(small_yard(areas=[{"id": "h", "kind": "building", "outline": rectangle(0, -4, 9, 11)}])),
        r"no area of kind 'lawn'",
    ),
    "no size": (json.dumps(small_yard(areas=lawn([[0, 0], [0, 0], [0, 0]]))), r"at areas"),
    "bad JSON": ('{"format": "rillwright-yard",', r"line 1"),
    "a list": ("[1, 2]", r"not an object"),
    "huge": (json.dumps(small_yard(note="x" * 20_100_000)), r"MB"),
    "newer version": (json.dumps(small_yard(version=2)), r"version"),
}


@pytest.mark.parametrize("fault", BAD_YARDS)
def test_a_bad_yard_gets_one_clear_error_and_nothing_is_written(fault, tmp_path):
    text, words = BAD_YARDS[fault]
    (tmp_path / "my.yard.json").write_text(text)
    refused(asked("plan", "my.yard.json", "--out", "out", cwd=tmp_path), words, tmp_path, ["my.yard.json"])


def test_a_real_process_refuses_a_bad_yard_alike(tmp_path):
    (tmp_path / "my.yard.json").write_text("[1, 2]")
    refused(run("plan", "my.yard.json", "--out", "out", cwd=tmp_path), "not an object", tmp_path, ["my.yard.json"])


def refused(result, words, folder, files):
    assert result.returncode == 2, result.stderr
    assert result.stderr.startswith(("Error: ", "Usage: "))
    assert "Traceback" not in result.stderr
    assert result.stderr.count("Error: ") == 1
    assert re.search(words, result.stderr), result.stderr
    assert result.stdout == ""
    assert sorted(str(path) for path in content(folder)) == sorted(files)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("nothing.yard.json",), r"nothing.yard.json cannot be read"),
        (("my.txt",), r"my.txt is no kind of file"),
        (("folder.json",), r"not a file"),
        (("my.yard.json", "--charts", "none.csv"), r"none.csv"),
        (("my.yard.json", "--charts", "my.txt"), r"my.txt"),
        (("my.yard.json", "--prices", "none.csv"), r"none.csv"),
        (("my.yard.json", "--prices", "my.txt"), r"my.txt"),
        (("my.yard.json", "--facts", "my.yard.json"), r"holds all facts itself"),
        ((str(EXAMPLES / "shed.dxf"),), r"file of yard facts"),
        (("my.yard.json", "--seed", "-1"), r"--seed"),
        (("my.yard.json", "--layer", "GRASS=lawn"), r"my.yard.json has no layers"),
        ((str(EXAMPLES / "shed.dxf"), "--layer", "GRASS"), r"--layer GRASS: write NAME=KIND"),
        (("my.yard.json", "--out", "my.txt"), r"my.txt is a file"),
        (("my.yard.json", "--out", "my.txt/below"), r"my.txt is no folder"),
    ],
)
def test_bad_options_of_plan_get_one_clear_error(options, words, tmp_path):
    (tmp_path / "my.yard.json").write_text(json.dumps(small_yard()))
    (tmp_path / "my.txt").write_text("part;price\nsand;three\n")
    (tmp_path / "folder.json").mkdir()
    out = () if "--out" in options else ("--out", "out")
    refused(asked("plan", *options, *out, cwd=tmp_path), words, tmp_path, ["my.txt", "my.yard.json"])


@pytest.mark.skipif(os.geteuid() == 0, reason="a superuser reads every file")
def test_an_unreadable_file_is_named(tmp_path):
    (tmp_path / "my.yard.json").write_text(json.dumps(small_yard()))
    (tmp_path / "my.yard.json").chmod(0)
    assert "Permission denied" in run("plan", "my.yard.json", cwd=tmp_path).stderr


@pytest.mark.parametrize("pressure", ["45", "45 gpm", "high", "-5 psi", "nan kPa", "5000 psi"])
def test_a_bad_pressure_of_supply_gets_one_clear_error(pressure, tmp_path):
    result = asked("supply", EXAMPLES / "triangle.yard.json", "--pressure", pressure, cwd=tmp_path)
    refused(result, re.escape(pressure), tmp_path, [])


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A folder with a small yard and its plan."""
    place = tmp_path_factory.mktemp("planned")
    (place / "my.yard.json").write_text(json.dumps(small_yard()))
    write_plan(planned(small_yard()), CATALOGUE, place / "out", force=False)
    return place


def test_a_folder_that_holds_a_plan_is_kept_unless_forced(folder):
    before = content(folder / "out")
    result = asked("plan", "my.yard.json", "--out", "out", cwd=folder)
    assert result.returncode == 2
    assert "already holds" in result.stderr
    assert "--force" in result.stderr
    assert content(folder / "out") == before


def test_the_same_yard_and_seed_write_the_same_plan_over_another(folder, tmp_path):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_text("{}")
    result = run("plan", folder / "my.yard.json", "--out", "out", "--force", cwd=tmp_path)
    assert result.returncode == 0, result.stderr
    assert "Fits." in result.stdout
    assert "out/report.html" in result.stdout
    assert content(tmp_path / "out") == content(folder / "out")


def test_explain_lists_every_number_and_shows_one(folder):
    listing = asked("explain", "out", cwd=folder)
    assert listing.returncode == 0
    assert "supply.safe-flow" in listing.stdout
    one = run("explain", "out/plan.json", "supply.safe-flow", cwd=folder)
    assert one.returncode == 0
    assert "formula" in one.stdout
    assert "source" in one.stdout


def test_explain_of_an_unknown_number_names_the_list(folder):
    result = asked("explain", "out", "supply.save-flow", cwd=folder)
    assert result.returncode == 2
    assert "supply.safe-flow" in result.stderr
    assert "Traceback" not in result.stderr


@pytest.mark.parametrize(
    ("own", "command"),
    [
        ("water", "water PLAN"),
        ("so-far", "water PLAN --recent"),
        ("what-if", "water PLAN --what-if"),
        ("new-lawn", "new-lawn PLAN"),
        ("winter", "winter PLAN"),
        ("record", "record PLAN --log"),
    ],
)
def test_a_number_of_another_command_names_it(folder, own, command):
    result = asked("explain", "out", f"{own}.x", cwd=folder)
    assert result.returncode == 2
    assert f"rillwright {command}" in result.stderr


def test_a_plan_of_another_version_is_refused(folder, tmp_path):
    plan = json.loads((folder / "out" / "plan.json").read_text()) | {"version": 2}
    (tmp_path / "plan.json").write_text(json.dumps(plan))
    refused(asked("explain", ".", cwd=tmp_path), "not a plan of this version", tmp_path, ["plan.json"])


def test_a_yard_that_does_not_fit_ends_in_3_with_a_valid_plan(tmp_path):
    areas = [*lawn(rectangle(0, 0, 5, 4)), {"id": "house", "kind": "building", "outline": rectangle(0, -4, 9, 4)}]
    yard = small_yard(areas=areas, heads={"allowed": ["mid rotor"]})
    (tmp_path / "my.yard.json").write_text(json.dumps(yard))
    result = run("plan", "my.yard.json", "--out", "out", cwd=tmp_path)
    assert result.returncode == 3, result.stderr
    assert "Does not fit." in result.stdout
    assert "Ways out" in result.stdout
    plan = json.loads((tmp_path / "out" / "plan.json").read_text())
    assert plan["verdict"] == "does not fit"
    assert any(way["fits"] for way in plan["ways_out"])
    assert asked("explain", "out", cwd=tmp_path).returncode == 0


def test_a_yard_goes_to_geojson_and_back(tmp_path):
    source = EXAMPLES / "wgs84.geojson"
    assert asked("convert", source, "there.yard.json", cwd=tmp_path).returncode == 0
    assert asked("convert", "there.yard.json", "back.geojson", cwd=tmp_path).returncode == 0
    assert asked("convert", "back.geojson", "again.yard.json", cwd=tmp_path).returncode == 0
    there, again = (json.loads((tmp_path / f"{name}.yard.json").read_text()) for name in ("there", "again"))
    assert close(there, again)
    before = content(tmp_path)
    kept = asked("convert", source, "there.yard.json", cwd=tmp_path)
    assert kept.returncode == 2
    assert "exists" in kept.stderr
    assert content(tmp_path) == before
    assert asked("convert", source, "there.yard.json", "--force", cwd=tmp_path).returncode == 0


def close(a, b):
    """Equal but for a millimetre of rounding."""
    if isinstance(a, dict):
        return a.keys() == b.keys() and all(close(a[key], b[key]) for key in a)
    if isinstance(a, list):
        return len(a) == len(b) and all(map(close, a, b))
    if isinstance(a, float) or isinstance(b, float):
        return math.isclose(a, b, abs_tol=2e-3)
    return a == b


def test_schema_is_a_schema_that_the_examples_meet(tmp_path):
    schema = json.loads(asked("schema", cwd=tmp_path).stdout)
    jsonschema.Draft202012Validator.check_schema(schema)
    for path in EXAMPLES.glob("*.yard.json"):
        jsonschema.validate(json.loads(path.read_text()), schema)


def test_supply_says_what_the_pipe_gives(tmp_path):
    result = asked("supply", EXAMPLES / "triangle.yard.json", "--pressure", "45 psi", cwd=tmp_path)
    assert result.returncode == 0
    assert "310 kPa" in result.stdout
    assert "Safe working flow" in result.stdout


def test_version_and_help(tmp_path):
    assert re.fullmatch(r"\d+\.\d+\.\d+\n", run("--version", cwd=tmp_path).stdout)
    for words in (("--help",), ("plan", "--help"), ("supply", "--help")):
        result = run(*words, cwd=tmp_path)
        assert result.returncode == 0
        assert "Usage: rillwright" in result.stdout


def test_help_lists_every_command_in_the_order_of_the_work(tmp_path):
    listed = re.findall(r"^  ([a-z][a-z-]*) {2,}\w", asked("--help", cwd=tmp_path).stdout, re.M)
    work = ["supply", "plan", "parts", "guide", "log", "answer", "replan", "water", "winter", "record", "serve"]
    assert [name for name in listed if name in work] == work
    here = Path(rillwright.cli.commands.__file__).parent
    modules = {path.stem.removesuffix("_head").replace("_", "-") for path in here.glob("[a-z]*.py")}
    assert sorted(listed) == sorted(modules)


def test_help_imports_nothing_heavy(tmp_path):
    script = (
        "import sys; sys.argv = ['rillwright', '--help']\n"
        "from rillwright.cli.main import run\n"
        "try: run()\n"
        "except SystemExit: pass\n"
        "heavy = {'numpy', 'scipy', 'shapely', 'ortools', 'pydantic', 'matplotlib', 'typst', 'rich'}\n"
        "print('heavy:', sorted(heavy & set(sys.modules)), file=sys.stderr)\n"
    )
    result = subprocess.run(
        [sys.executable, "-c", script], cwd=tmp_path, env=ENVIRONMENT, capture_output=True, text=True, timeout=60
    )
    assert "Usage: rillwright" in result.stdout
    assert result.stderr.strip() == "heavy: []"


def group_members(group):
    """Processes of a group, zombies left out; Linux tells them in /proc."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            state, _, pgrp = stat.read_text().rsplit(")", 1)[1].split()[:3]
        except (FileNotFoundError, ProcessLookupError):
            continue
        if int(pgrp) == group and state != "Z":
            found.append(int(stat.parent.name))
    return found


def until(holds, seconds):
    end = time.monotonic() + seconds
    while not holds() and time.monotonic() < end:
        time.sleep(0.1)
    return holds()


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs /proc to see the processes")
@pytest.mark.parametrize("moment", [0.05, 3.0])  # [s] after the helpers were started: while they load; at work
def test_ctrl_c_stops_everything_without_a_trace(moment, tmp_path):
    """The terminal sends the interrupt to the command and to its helper processes alike."""
    with subprocess.Popen(
        [COMMAND, "plan", EXAMPLES / "demo.yard.json", "--out", "out"],
        cwd=tmp_path,
        env=ENVIRONMENT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # a runner may have had it ignored
    ) as command:
        if (os.cpu_count() or 1) > 1:
            assert until(lambda: len(group_members(command.pid)) > 2, 60)
        time.sleep(moment)
        os.killpg(command.pid, signal.SIGINT)
        _, error = command.communicate(timeout=60)
    assert command.returncode == 130
    assert "Traceback" not in error
    assert "Stopped." in error
    assert content(tmp_path) == {}
    assert until(lambda: not group_members(command.pid), 10)


def test_layers_of_a_drawing_may_be_named_on_the_command_line(tmp_path):
    words = ("convert", EXAMPLES / "shed.dxf", "own.yard.json", "--facts", EXAMPLES / "shed.facts.json")
    assert asked(*words, "--layer", "BUILDING=paving", cwd=tmp_path).returncode == 0
    kinds = {area["kind"] for area in json.loads((tmp_path / "own.yard.json").read_text())["areas"]}
    assert "paving" in kinds
    assert "building" not in kinds


def test_many_yards_are_planned_and_a_bad_one_stops_no_other(tmp_path):
    (tmp_path / "good.yard.json").write_text(json.dumps(small_yard()))
    (tmp_path / "bad.yard.json").write_text(json.dumps(small_yard(version=2)))
    made = run("plan-many", "bad.yard.json", "good.yard.json", cwd=tmp_path)
    assert made.returncode == 2
    assert re.search(r"bad\.yard\.json +failed", made.stdout)
    assert re.search(r"good\.yard\.json +fits", made.stdout)
    assert "bad.yard.json: " in made.stdout
    assert (tmp_path / "plans" / "good" / "report.html").exists()
    assert not (tmp_path / "plans" / "bad").exists()


def test_many_yards_may_not_share_a_folder(tmp_path):
    (tmp_path / "other").mkdir()
    for folder in (tmp_path, tmp_path / "other"):
        (folder / "home.yard.json").write_text(json.dumps(small_yard()))
    made = asked("plan-many", "home.yard.json", "other/home.yard.json", cwd=tmp_path)
    assert made.returncode == 2
    assert "2 of the files would be planned into" in made.stderr
    assert not (tmp_path / "plans").exists()


def test_a_head_is_tried_elsewhere_and_the_plan_stays(folder):
    before = content(folder)
    tried = asked("try", "out", "H1", "--at", "0.5 m,0.5", cwd=folder)
    assert tried.returncode == 0
    assert re.search(r"lawn DU +\S+ % +\S+ %", tried.stdout)
    for words in (["--at", "0.5"], ["--at", "a,b"], [], ["--arc", "999"]):
        refused = asked("try", "out", "H1", *words, cwd=folder)
        assert refused.returncode == 2
        assert "Error: " in refused.stderr
        assert "Traceback" not in refused.stderr
    assert content(folder) == before


def test_devices_let_in_are_listed_and_turned_out(tmp_path):
    with closing(Store(tmp_path / "data")) as store:
        tokens = {name: store.devices.let_in(name) for name in ("phone", "old phone")}
        twin = store.devices.let_in("phone")
        shown = asked("devices", "--data", "data", cwd=tmp_path)
        assert "old phone" in shown.stdout
        refused = asked("devices", "--data", "data", "--turn-out", "phone", cwd=tmp_path)
        assert (refused.returncode, refused.stdout) == (2, "")
        assert "2 devices have that name" in refused.stderr
        done = asked("devices", "--data", "data", "--turn-out", "old phone", cwd=tmp_path)
        assert "Turned out: old phone" in done.stdout
        assert not store.devices.knows(tokens["old phone"])
        assert store.devices.knows(tokens["phone"])
        assert store.devices.knows(twin)
        again = asked("devices", "--data", "data", "--turn-out", "old phone", cwd=tmp_path)
        assert "no device of that name" in again.stderr
