"""The drawing set: every kind of sheet by its name, in the order in which they are bound."""

from collections.abc import Callable, Mapping, Sequence
from typing import Literal, get_args

from rillwright.errors import InputError
from rillwright.report.sheets.book import Book
from rillwright.report.sheets.cover import covers_of
from rillwright.report.sheets.form import commissioning_form
from rillwright.report.sheets.manifolds import manifold_sheets
from rillwright.report.sheets.maps import head_sheets, pipe_sheets, trench_sheets
from rillwright.report.sheets.parts import cutting_sheets, part_sheets, place_sheets
from rillwright.report.sheets.schedules import schedule_sheets
from rillwright.report.sheets.sections import section_sheets
from rillwright.report.sheets.steps import step_sheets
from rillwright.report.sheets.told import Told
from rillwright.report.sheets.winter import winter_sheets
from rillwright.report.sheets.wires import wire_sheets

__all__ = ["COVER", "KINDS", "Kind", "drawing_set", "kinds_named"]

Kind = Literal[
    "cover",
    "heads",
    "pipes",
    "trenches",
    "wire",
    "manifolds",
    "sections",
    "schedules",
    "parts",
    "steps",
    "commissioning",
    "winter",
]
COVER: Kind = "cover"
KINDS: tuple[Kind, ...] = get_args(Kind)
_SHEETS: Mapping[Kind, tuple[Callable[[Book], None], ...]] = {  # each adds its sheets, or none where it has nothing
    "heads": (head_sheets,),
    "pipes": (pipe_sheets,),
    "trenches": (trench_sheets,),
    "wire": (wire_sheets,),
    "manifolds": (manifold_sheets,),
    "sections": (section_sheets,),
    "schedules": (schedule_sheets,),
    "parts": (part_sheets, place_sheets, cutting_sheets),
    "steps": (step_sheets,),
    "commissioning": (commissioning_form,),
    "winter": (winter_sheets,),
}


def kinds_named(names: Sequence[str]) -> tuple[Kind, ...]:
    """Kinds of sheets by their names, in the order of the set; all when none is named.

    Errors: InputError for a name that is none.
    """
    wrong = [name for name in names if name not in KINDS]
    if wrong:
        raise InputError(f"there are no sheets '{wrong[0]}': choose from {', '.join(KINDS)}")
    return tuple(kind for kind in KINDS if kind in names) or KINDS


def drawing_set(told: Told, kinds: Sequence[Kind] = KINDS) -> list[str]:
    """Draw the sheets of some kinds, numbered, as SVG texts.

    Errors: InputError when there is nothing to draw of them, or the scale asked for takes too many sheets.
    """
    book = Book(told)
    for kind in kinds:
        for draw in _SHEETS.get(kind, ()):
            draw(book)
    cover = covers_of(book, [leaf.title for leaf in book.leaves]) if COVER in kinds else Book(told)
    count = len(cover.leaves) + len(book.leaves)
    if not count:
        why = "; ".join(told.left_out) or "see its findings for what is missing"
        raise InputError(f"this plan has nothing to draw of {', '.join(kinds)}: {why}")
    cover.number(first=1, of=count)
    book.number(first=1 + len(cover.leaves), of=count)
    return [leaf.svg.render() for leaf in (*cover.leaves, *book.leaves)]
