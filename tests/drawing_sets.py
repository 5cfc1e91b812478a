"""Drawing sets for the tests: yards that are small, crowded, in parts, in feet and in metres, on every paper."""

from functools import cache

from defusedxml import ElementTree

from drawn_plans import CATALOGUE, plan_named
from printed import POINT, SVG, letters, pages_of
from rillwright.jobs.as_built import taped_from
from rillwright.jobs.sheets import SetTerms, drawn_sheets
from rillwright.model.ground import resolve_ground
from rillwright.report.sheet import pdf_of
from rillwright.report.sheets import Taped, Told, drawing_set, paper_named, scale_named

SETS = (  # plan, paper, scale
    ("small", "a4", None),
    ("crowded", "a4", None),
    ("crowded US", "letter", "1 in = 5 ft"),  # in parts
    ("crowded", "a3", "1:40"),  # in parts
    ("crowded US", "tabloid", None),
    ("too little water", "letter", None),
)
ADDRESS = "http://192.0.2.7:8765/#/00000000-0000-4000-8000-000000000000/plan"  # RFC 5737: no machine has it


def told_of(name, paper, scale):
    """Told with what a plan drawn up by hand has: no sections, no steps."""
    plan = plan_named(name)
    corners, marks = taped_from(plan, [(head.id, head.at) for head in plan.heads])
    return Told(
        plan=plan,
        ground=resolve_ground(plan.yard),
        paper=paper_named(paper),
        scale=scale_named(scale) if scale else None,
        date="2027-05-08",
        address=ADDRESS,
        mark="0123abcd",
        taped=Taped(corners, {mark.what: mark for mark in marks}),
    )


@cache
def drawn_set(name, paper, scale):
    """The SVG texts of a set: all its sheets where the plan is a real one."""
    if name == "crowded" or name == "crowded US":
        return drawing_set(told_of(name, paper, scale))
    terms = SetTerms(paper=paper_named(paper), scale=scale_named(scale) if scale else None, address=ADDRESS)
    return drawn_sheets(plan_named(name), CATALOGUE, terms)


@cache
def paper_of(name, paper, scale):
    """The set as a PDF."""
    return pdf_of(drawn_set(name, paper, scale))


@cache
def letters_of(name, paper, scale):
    """Of each page of the PDF its width and height [mm] and its letters."""
    pages = pages_of(paper_of(name, paper, scale))
    return [(page.get_width() * POINT, page.get_height() * POINT, letters(page)) for page in pages]


def titles(svg):
    """Title and number of a sheet, as its title block has them."""
    words = block(svg)
    return words[3], words[words.index("sheet") + 1]


def block(svg):
    """The words of a sheet's title block."""
    groups = ElementTree.fromstring(svg).iter(f"{SVG}g")
    group = next(g for g in groups if g.get("id").endswith("title-block"))
    return [element.text for element in group.iter(f"{SVG}text") if element.text]
