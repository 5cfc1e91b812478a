"""The plan as one self-contained HTML page that a person can read and print."""

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape

from rillwright.model.plan import PartLine, Plan
from rillwright.physics.units import show, to_system, unit_name
from rillwright.report.charts import depth_scale, draw_supply
from rillwright.report.legend import CAUTIONS
from rillwright.report.palette import zone_colour
from rillwright.report.workings import all_workings

__all__ = ["render_page"]


def render_page(plan: Plan, *, drawing: str | None, depth_drawing: str | None) -> str:
    """Write the report; drawing and depth_drawing are SVG texts, None when there is nothing to draw."""
    system = plan.yard.units
    workings = all_workings(plan)

    def number(key: str) -> Markup:
        working = workings[key]
        return Markup('<a class="n" href="#w-{}">{}</a>').format(escape(key), working.printed(plan))

    def place(at: tuple[float, float]) -> str:
        return f"{to_system(at[0], 'length', system):.1f}, {to_system(at[1], 'length', system):.1f}"

    def unit_price(line: PartLine) -> float:
        return line.price * (1 / to_system(1.0, "length", system) if line.unit == "m" else 1.0)

    def length_unit(line: PartLine) -> str:
        return f"/{unit_name('length', system)}" if line.unit == "m" else ""

    environment = Environment(
        loader=PackageLoader("rillwright.report"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
    )
    return environment.get_template("report.html").render(
        plan=plan,
        cautions=CAUTIONS,
        colour=zone_colour,
        depth_drawing=_inline(depth_drawing),
        depth_scale=depth_scale() if depth_drawing else "",
        drawing=_inline(drawing),
        length_unit=length_unit,
        number=number,
        place=place,
        show=lambda value, dimension: show(value, dimension, system),
        supply_chart=draw_supply(plan),
        unit_price=unit_price,
        workings=list(workings.values()),
    )


def _inline(svg: str | None) -> str | None:
    """Drop the paper size so that the drawing takes the page's width."""
    if svg is None:
        return None
    head, rest = svg.split(">", 1)
    kept = [part for part in head.split(" ") if not part.startswith(("width=", "height="))]
    return " ".join(kept) + ">" + rest
