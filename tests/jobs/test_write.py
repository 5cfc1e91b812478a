import csv
import re

import pypdf
import pytest

from drawn_plans import CATALOGUE, plan_named
from rillwright.errors import InputError
from rillwright.jobs import write
from rillwright.jobs.write import FILES, read_plan, write_plan


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    out = tmp_path_factory.mktemp("out") / "plan"
    write_plan(plan_named("small"), CATALOGUE, out, force=False)
    return out


def content(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_the_folder_holds_every_file_and_nothing_else(folder):
    assert set(content(folder)) == set(FILES)
    assert len(pypdf.PdfReader(folder / "plan.pdf").pages) == 2
    with (folder / "parts.csv").open(newline="") as file:
        assert len(list(csv.reader(file))) == len(plan_named("small").parts) + 2


def test_a_plan_is_read_back_as_it_was(folder):
    assert read_plan(folder) == plan_named("small")
    assert read_plan(folder / "plan.json") == plan_named("small")


def test_the_same_plan_gives_the_same_bytes(folder, tmp_path):
    write_plan(plan_named("small"), CATALOGUE, tmp_path / "again", force=False)
    assert content(tmp_path / "again") == content(folder)


def test_no_file_carries_the_day_it_was_made(folder):
    """PDF and DXF must state a date: ours state the first second of 1970 and of 2000, always."""
    for name, data in content(folder).items():
        left = data.replace(b"D:19700101000000Z", b"").replace(b"2000-01-01T00:00:00.000000+00:00", b"")
        assert not re.search(rb"\b20\d\d-\d\d-\d\d|D:\d{8}|ModifyDate>20", left), name


def test_nothing_is_overwritten_without_force(folder):
    before = content(folder)
    with pytest.raises(InputError, match=r"already holds plan\.json"):
        write_plan(plan_named("crowded"), CATALOGUE, folder, force=False)
    assert content(folder) == before


@pytest.mark.parametrize("name", ["draw_plan", "draw_depth", "render_page", "parts_csv", "plan_workbook", "pdf_of"])
def test_a_failure_leaves_the_old_files_as_they_were(folder, monkeypatch, name):
    def fail(*_args, **_kwargs):
        raise RuntimeError("no ink")

    before = content(folder)
    monkeypatch.setattr(write, name, fail)
    with pytest.raises(RuntimeError, match="no ink"):
        write_plan(plan_named("small"), CATALOGUE, folder, force=True)
    assert content(folder) == before


def test_force_replaces_all_and_drops_what_the_new_plan_lacks(tmp_path):
    write_plan(plan_named("small"), CATALOGUE, tmp_path, force=False)
    (tmp_path / "notes.txt").write_text("mine")
    bare = plan_named("small").model_copy(update={"parts": (), "cost": None})
    written = write_plan(bare, CATALOGUE, tmp_path, force=True)
    assert {"parts.csv", "parts.xlsx"}.isdisjoint(path.name for path in written)
    assert set(content(tmp_path)) == {*FILES, "notes.txt"} - {"parts.csv", "parts.xlsx"}
    assert read_plan(tmp_path).parts == ()


def test_a_plan_without_heads_still_gives_a_sheet_and_a_report(tmp_path):
    plan = plan_named("small").model_copy(
        update=dict.fromkeys(
            ("heads", "lawns", "zones", "places", "nodes", "pipes", "trenches", "parts", "nozzles"), ()
        )
        | {"cost": None, "certainty": None}
    )
    names = {path.name for path in write_plan(plan, CATALOGUE, tmp_path, force=False)}
    assert names == {"plan.json", "plan.svg", "plan.pdf", "plan.dxf", "plan.geojson", "report.html"}


def test_a_file_where_the_folder_should_be_is_refused(tmp_path):
    (tmp_path / "out").write_text("")
    with pytest.raises(InputError, match="give a folder"):
        write_plan(plan_named("small"), CATALOGUE, tmp_path / "out", force=True)


@pytest.mark.parametrize("text", [b"{}", b"no json", b"\xff\xfe"])
def test_what_is_no_plan_is_said_to_be_none(tmp_path, text):
    (tmp_path / "plan.json").write_bytes(text)
    with pytest.raises(InputError, match="not a plan of this version"):
        read_plan(tmp_path)
    with pytest.raises(InputError, match="cannot be read"):
        read_plan(tmp_path / "missing")
