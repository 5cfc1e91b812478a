"""The drawing set of a plan: what its sheets need is worked out here, then drawn and put on paper."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from hashlib import sha256
from pathlib import Path
from typing import Any

from rillwright.errors import InputError
from rillwright.jobs.as_built import taped_from
from rillwright.jobs.guide import plan_steps
from rillwright.jobs.manifold import make_manifolds
from rillwright.jobs.move import Workbench
from rillwright.jobs.section import section
from rillwright.jobs.winter import WinterTerms, make_winter
from rillwright.jobs.write import check_folder
from rillwright.model.ground import resolve_ground
from rillwright.model.guide import BuildTerms, Step
from rillwright.model.manifold import Manifold
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.model.section import Section
from rillwright.model.winter_card import WinterCard
from rillwright.model.winter_tables import load_winter
from rillwright.report.scale import Scale, Sheet
from rillwright.report.sheet import pdf_of
from rillwright.report.sheets import KINDS, Kind, Taped, Told, drawing_set, paper_for
from rillwright.report.winter_card import winter_card

__all__ = ["PDF", "SetTerms", "check_set", "drawn_sheets", "set_files"]

PDF = "sheets.pdf"

_UNDATED = date(2000, 1, 1)  # the steps of a set carry no dates
_COMPRESSOR = "workshop"  # that the winter card is reckoned with: `rillwright winter` takes any
_MARK = 8  # hexadecimal digits that tell one plan from others


@dataclass(frozen=True, slots=True)
class SetTerms:
    """How a set is printed."""

    paper: Sheet | None = None  # None: letter or A4, by the yard's units
    scale: Scale | None = None  # None: the largest at which the drawings can be read
    kinds: tuple[Kind, ...] = KINDS
    day: date | None = None  # None: a line to write it on
    address: str = ""  # of the plan in the page
    winter: WinterTerms | None = None  # None: a card without dates


def check_set(folder: Path, *, force: bool) -> list[str]:
    """Names of a set's files that a folder holds, which a new set replaces. Errors: InputError without force."""
    held = [PDF, *sorted(path.name for path in folder.glob("sheet-*.svg"))]
    check_folder(folder, force=force, names=held)
    return held


def set_files(plan: Plan, catalogue: Catalogue, terms: SetTerms, *, svg: bool = False) -> dict[str, bytes]:
    """The set as a PDF, and as one SVG for each sheet when asked. Errors: InputError as for `drawn_sheets`."""
    sheets = drawn_sheets(plan, catalogue, terms)
    files = {PDF: pdf_of(sheets)}
    if svg:
        files |= {f"sheet-{number:02d}.svg": sheet.encode() for number, sheet in enumerate(sheets, start=1)}
    return files


def drawn_sheets(plan: Plan, catalogue: Catalogue, terms: SetTerms) -> list[str]:
    """The sheets of a set as SVG texts.

    What cannot be worked out, such as sections with nozzles that the catalogue lacks, is left out, and the cover says
    so. Errors: InputError when nothing is left to draw, or a scale takes too many sheets.
    """
    asked = set(terms.kinds)
    told = Told(
        plan=plan,
        ground=resolve_ground(plan.yard),
        paper=terms.paper or paper_for(plan.yard.units),
        scale=terms.scale,
        date="" if terms.day is None else terms.day.isoformat(),
        address=terms.address,
        mark=sha256(plan.model_dump_json().encode()).hexdigest()[:_MARK],
        taped=_taped(plan) if asked & {"heads", "schedules"} else Taped(),
    )
    found: dict[str, Any] = {}
    left_out: list[str] = []
    if "wire" in asked and plan.zones and plan.wire is None:
        left_out.append("wire: this plan holds none, for it was made by an earlier version: plan its yard again")
    ways = _WORKED_OUT | {"winter": ("winter", partial(_winter, terms=terms.winter))}
    for kind, (name, work_out) in ways.items():
        if kind in asked and plan.zones:
            try:
                found[name] = work_out(plan, catalogue)
            except InputError as error:
                left_out.append(f"{kind}: {error}")
    return drawing_set(replace(told, left_out=tuple(left_out), **found), terms.kinds)


def _taped(plan: Plan) -> Taped:
    """Heads and valve places by tape from the corners of the yard."""
    things = {place.id: place.at for place in plan.places} | {head.id: head.at for head in plan.heads}
    corners, marks = taped_from(plan, list(things.items()))
    return Taped(corners, dict(zip(things, marks, strict=True)))


def _sections(plan: Plan, catalogue: Catalogue) -> tuple[Section, ...]:
    bench = Workbench(plan, catalogue)
    return tuple(section(bench, zone.worst_head) for zone in plan.zones)


def _steps(plan: Plan, catalogue: Catalogue) -> tuple[Step, ...]:
    return plan_steps(plan, catalogue, BuildTerms(start=_UNDATED))


def _manifolds(plan: Plan, catalogue: Catalogue) -> tuple[Manifold, ...]:
    return make_manifolds(plan, catalogue)


def _winter(plan: Plan, catalogue: Catalogue, *, terms: WinterTerms | None) -> WinterCard:
    undated = WinterTerms(compressor=load_winter().compressors[_COMPRESSOR])
    found, _ = make_winter(plan, catalogue, terms or undated)
    return winter_card(found, plan)


_WORKED_OUT: dict[Kind, tuple[str, Callable[[Plan, Catalogue], object]]] = {  # and where Told keeps it
    "manifolds": ("manifolds", _manifolds),
    "sections": ("sections", _sections),
    "steps": ("steps", _steps),
}
