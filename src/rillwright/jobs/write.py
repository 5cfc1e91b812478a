"""Write a plan's folder: all files are made first, then put in place, so that a failure overwrites nothing."""

import os
import tempfile
from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path

from rillwright.errors import InputError
from rillwright.jobs.export import plan_map, plan_workbook
from rillwright.jobs.money import make_ledger
from rillwright.jobs.picture import relative_depth
from rillwright.jobs.progress import Progress, silent
from rillwright.model.ground import resolve_ground
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.report.depth_drawing import draw_depth
from rillwright.report.page import render_page
from rillwright.report.parts_list import parts_csv
from rillwright.report.plan_drawing import draw_plan
from rillwright.report.plan_dxf import plan_dxf
from rillwright.report.sheet import pdf_of

__all__ = ["FILES", "check_folder", "plan_files", "read_plan", "write_files", "write_plan"]

FILES = (
    "plan.json",
    "report.html",
    "plan.svg",
    "plan.pdf",
    "plan.dxf",
    "depth.svg",
    "plan.geojson",
    "parts.csv",
    "parts.xlsx",
)


def check_folder(folder: Path, *, force: bool, names: Sequence[str] = FILES) -> None:
    """Refuse a folder that already holds files of these names, unless told to replace them."""
    if folder.exists() and not folder.is_dir():
        raise InputError(f"{folder} is a file: give a folder.")
    parent = next(place for place in (folder.absolute(), *folder.absolute().parents) if place.exists())
    if not parent.is_dir() or not os.access(parent, os.W_OK):
        raise InputError(f"{folder} cannot be made: {parent} is no folder that may be written to.")
    held = [name for name in names if (folder / name).exists()]
    if held and not force:
        raise InputError(f"{folder} already holds {', '.join(held)}: give another --out, or --force to replace them.")


def write_plan(
    plan: Plan, catalogue: Catalogue, folder: Path, *, force: bool, progress: Progress = silent
) -> tuple[Path, ...]:
    """Write every file of a plan into a folder and name them.

    Errors: InputError when the folder holds a plan already and force is not given, or cannot be written.
    """
    check_folder(folder, force=force)
    return write_files(plan_files(plan, catalogue, progress=progress), folder, force=force, names=FILES)


def write_files(content: Mapping[str, bytes], folder: Path, *, force: bool, names: Sequence[str]) -> tuple[Path, ...]:
    """Write files into a folder and name them; those of `names` that there is no content for are taken away.

    Errors: InputError as for `write_plan`.
    """
    check_folder(folder, force=force, names=names)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder, prefix=".making-") as made:
            for name, data in content.items():
                (Path(made) / name).write_bytes(data)
            for name in content:
                (Path(made) / name).replace(folder / name)
            for name in set(names) - set(content):
                (folder / name).unlink(missing_ok=True)
    except OSError as error:
        raise InputError(f"{folder} cannot be written: {error.strerror}.") from None
    return tuple(folder / name for name in content)


def read_plan(path: Path) -> Plan:
    """Read plan.json, or the folder that holds it. Errors: InputError when it is not a plan."""
    file = path / "plan.json" if path.is_dir() else path
    try:
        return Plan.model_validate_json(file.read_bytes())
    except OSError as error:
        raise InputError(f"{file} cannot be read: {error.strerror}.") from None
    except ValueError:
        raise InputError(f"{file} is not a plan of this version: make it again with `rillwright plan`.") from None


def plan_files(plan: Plan, catalogue: Catalogue, *, progress: Progress = silent) -> dict[str, bytes]:
    """Make every file of a plan, by name; a plan without heads has fewer."""
    tell = partial(progress, "drawings and report")
    tell(0.0)
    ground = resolve_ground(plan.yard)
    drawing = draw_plan(plan, ground)
    files = {"plan.json": plan.model_dump_json(indent=1).encode(), "plan.svg": drawing.encode()}
    tell(0.1)
    files["plan.dxf"] = plan_dxf(plan, ground)
    tell(0.4)
    sheets = [drawing]
    depth_drawing = None
    if plan.heads:
        depth, bounds = relative_depth(plan, ground, catalogue)
        depth_drawing = draw_depth(plan, ground, depth=depth, bounds=bounds)
        files["depth.svg"] = depth_drawing.encode()
        sheets.append(depth_drawing)
        tell(0.5)
    files["plan.pdf"] = pdf_of(sheets)
    tell(0.6)
    if plan.parts:
        files["parts.csv"] = parts_csv(plan).encode()
    if plan.cost is not None:
        files["parts.xlsx"] = plan_workbook(plan, catalogue)
        tell(0.8)
    files["plan.geojson"] = plan_map(plan, catalogue)
    files["report.html"] = render_page(
        plan, drawing=drawing, depth_drawing=depth_drawing, ledger=make_ledger(plan) if plan.cost else None
    ).encode()
    return files
