"""Water entry, controller and valve places on a drawing, and labels near a point."""

from collections.abc import Iterable, Sequence

from rillwright.model.as_built import Corner
from rillwright.model.plan import Plan, ValvePlace
from rillwright.report.labels import NEAR, LabelBoard
from rillwright.report.marks import MARK_HALF, controller_mark, entry_mark, place_mark
from rillwright.report.palette import CAUTION, INK, MAIN, SOFT
from rillwright.report.scale import View
from rillwright.report.svg import Svg
from rillwright.report.text import TEXT, text_width, wrap

__all__ = ["draw_corners", "draw_label", "draw_places", "zones_named"]

Point = tuple[float, float]

_PLACE_LABEL = 34.0  # [mm] widest label of a valve place


def draw_places(svg: Svg, plan: Plan, view: View, board: LabelBoard) -> None:
    """Draw entry, controller and valve places in the board's field.

    A mark that would cover another stands aside on a leader.
    """
    svg.layer("marks")
    for mark, true in ((entry_mark, plan.yard.water_entry.at), (controller_mark, plan.yard.controller.at)):
        if true is not None and board.holds(view.xy(*true)):
            mark(svg, *_stand(svg, board, view.xy(*true)))
    placed = [place for place in plan.places if board.holds(view.xy(*place.at))]
    spots = [(place, _stand(svg, board, view.xy(*place.at))) for place in placed]
    for place, spot in spots:
        place_mark(svg, *spot)
        lines = wrap(f"{place.id}: {zones_named(place, plan)}", TEXT, _PLACE_LABEL, bold=True)
        draw_label(svg, board, spot, lines, TEXT, bold=True)


def draw_corners(svg: Svg, corners: Iterable[Corner], view: View, board: LabelBoard) -> None:
    """Draw the corners that tapes are held to, with their letters, where they lie in the board's field."""
    for corner in corners:
        x, y = view.xy(*corner.at)
        if not board.holds((x, y)):
            continue
        svg.circle(x, y, 0.6, fill=CAUTION)
        spot = board.place(x, y, [corner.letter], TEXT, bold=True)
        if spot:
            svg.text(*spot, corner.letter, TEXT, halo=True, fill=CAUTION, font_weight="bold")


def _stand(svg: Svg, board: LabelBoard, at: Point) -> Point:
    spot = board.claim_mark(*at, MARK_HALF)
    if spot != at:
        svg.line([at, spot], stroke=MAIN, stroke_width=0.25)
        svg.circle(*at, 0.45, fill=MAIN)
    return spot


def draw_label(
    svg: Svg, board: LabelBoard, at: Point, lines: Sequence[str], size: float, *, bold: bool = False
) -> bool:
    """Print a label near a point, with a leader when only a far place is free; say whether there was any room."""
    spot = board.place(*at, lines, size, bold=bold)
    if spot is None:
        return False
    wide = max(text_width(line, size, bold=bold) for line in lines)
    left, low = spot[0], spot[1] - 0.35 * size
    near = (min(max(at[0], left), left + wide), min(max(at[1], low - 0.4 * size), low + 0.4 * size))
    if ((near[0] - at[0]) ** 2 + (near[1] - at[1]) ** 2) ** 0.5 > NEAR[-1] + 0.6:
        svg.line([at, near], stroke=SOFT, stroke_width=0.18)
    weight: dict[str, str | float] = {"font_weight": "bold"} if bold else {}
    for number, line in enumerate(lines):
        svg.text(left, spot[1] + 1.2 * size * number, line, size, halo=True, fill=MAIN if bold else INK, **weight)
    return True


def zones_named(place: ValvePlace, plan: Plan) -> str:
    """The zones of a place, runs of neighbours put together: 'Z1 to Z5, Z8'."""
    order = [zone.id for zone in plan.zones]
    runs: list[list[int]] = []
    for index in sorted(order.index(zone) for zone in place.zones):
        if runs and index == runs[-1][-1] + 1:
            runs[-1].append(index)
        else:
            runs.append([index])
    short = [
        [f"{order[run[0]]} to {order[run[-1]]}"] if len(run) > 2 else [order[index] for index in run] for run in runs
    ]
    return ", ".join(name for names in short for name in names)
