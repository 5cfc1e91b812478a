"""The plan as one self-contained HTML page that a person can read and print."""

from collections import Counter
from collections.abc import Mapping

from markupsafe import Markup, escape

from rillwright.model.ledger import Ledger
from rillwright.model.plan import Plan
from rillwright.model.site import HOUSE_FLOWS
from rillwright.physics.units import show, unit_name
from rillwright.report.charts import draw_front, draw_supply
from rillwright.report.column import CAUTIONS
from rillwright.report.flush_words import flush_words
from rillwright.report.palette import zone_colour, zone_dash
from rillwright.report.templating import render
from rillwright.report.workings import Working, all_workings
from rillwright.report.workings.money import ledger_workings

__all__ = ["anchor", "render_page"]

_MOST_WORKINGS = 20_000  # on the page; some 500 heads have so many

VAPOUR = "Solvent cement and primer give off harmful, flammable vapour: work in moving air, away from flames."


def anchor(key: str) -> str:
    """Id of a working on the page; ids may hold no space, and no id of ours holds '~'."""
    return f"w-{key.replace(' ', '~')}"


def render_page(plan: Plan, *, drawing: str, depth_drawing: str | None, ledger: Ledger | None = None) -> str:
    """Write the report.

    Parameters: drawing and depth_drawing, SVG texts, the latter None when there are no heads; ledger, None when there
    are no parts.
    """
    system = plan.yard.units
    workings = all_workings(plan)
    if ledger is not None:
        workings |= {working.key: working for working in ledger_workings(ledger, plan)}
    told, left = _told(workings)
    rows = _rows(plan)

    def number(key: str) -> Markup:
        printed = workings[key].printed(plan)
        if key not in told:
            return Markup('<span title="rillwright explain {}">{}</span>').format(key, printed)
        return Markup('<a class="n" href="#{}">{}</a>').format(anchor(key), printed)

    def where(name: str) -> Markup:
        row = rows.get(name)
        return Markup('<a href="#{}">{}</a>').format(row, name) if row else escape(name)

    return render(
        "report.html",
        plan=plan,
        anchor=anchor,
        cautions=(*CAUTIONS, VAPOUR),
        depth_drawing=_inline(depth_drawing) if depth_drawing else None,
        drawing=_inline(drawing),
        house_uses=tuple(HOUSE_FLOWS),
        front_chart=Markup(draw_front(plan)) if len(plan.front) > 1 else None,
        known=workings.__contains__,
        ledger=ledger,
        length_unit=unit_name("length", system),
        number=number,
        row=rows.__getitem__,
        show=lambda value, dimension: show(value, dimension, system),
        supply_chart=Markup(draw_supply(plan)),
        where=where,
        told=told,
        left=left,
        zone_key=_zone_key,
        **flush_words(plan),
    )


def _told(workings: Mapping[str, Working]) -> tuple[dict[str, Working], list[str]]:
    """The workings that the page holds, and the things whose workings are left to `rillwright explain`.

    A page with too many opens slowly, so on a large site those of the things that have the most are left out.
    """
    count = Counter(key.split(".")[0] for key in workings)
    left: list[str] = []
    while sum(number for thing, number in count.items() if thing not in left) > _MOST_WORKINGS:
        left.append(max((thing for thing in count if thing not in left), key=lambda thing: count[thing]))
    return {key: working for key, working in workings.items() if key.split(".")[0] not in left}, left


def _rows(plan: Plan) -> dict[str, str]:
    """Anchor of the row or part of the page that tells about a thing which a finding may name."""
    rows = {"supply": "supply", "controller": "zones", "trenches": "pipes", "flushing": "flushing", "main": "pipes"}
    for kind, things in (
        ("zone", plan.zones),
        ("head", plan.heads),
        ("lawn", plan.lawns),
        ("place", plan.places),
        ("pipe", plan.pipes),
        ("trench", plan.trenches),
    ):
        for thing in things:
            rows.setdefault(thing.id, f"{kind}-{thing.id.replace(' ', '~')}")
    return rows


def _zone_key(index: int) -> Markup:
    """A short line in a zone's colour and dash."""
    path = Markup('<path d="M0 1H9" stroke="{}" stroke-width="1.2" stroke-dasharray="{}"/>')
    line = path.format(zone_colour(index), zone_dash(index))
    return Markup('<svg class="key" viewBox="0 0 9 2" aria-hidden="true">{}</svg>').format(line)


def _inline(svg: str) -> Markup:
    """Drop the paper size so that the drawing takes the page's width."""
    head, rest = svg.split(">", 1)
    kept = [part for part in head.split(" ") if not part.startswith(("width=", "height="))]
    return Markup(" ".join(kept) + ">" + rest)
