"""Parts: the list with its costs, what each place takes, and how every stick and coil is cut."""

from rillwright.model.plan import Plan
from rillwright.physics.units import show
from rillwright.report.parts_list import manifold_note, parts_by_place
from rillwright.report.sheets.book import Book
from rillwright.report.sheets.flow import Cell, Flow
from rillwright.report.workings.costs import part_cost

__all__ = ["cutting_sheets", "part_sheets", "place_sheets"]


def part_sheets(book: Book) -> None:
    """The parts list with what it costs, and a box for each part in hand."""
    plan = book.told.plan
    if not plan.parts:
        return
    money = plan.yard.currency
    flow = Flow(book, "Parts")
    cells = (
        Cell("line"),
        Cell("part", stretch=2),
        Cell("needed", right=True),
        Cell("owned", right=True),
        Cell(f"cost ({money})", right=True),
        Cell("why so many", stretch=3),
        Cell("in hand", tick=True),
    )
    rows = []
    for line in plan.parts:
        needed, owned = (_quantity(value, line.unit, plan) for value in (line.quantity, line.owned))
        cost = f"{part_cost(line):.2f}"
        rows.append((line.id, line.part, needed, owned if line.owned else "", cost, line.why, ""))
    flow.table(cells, rows)
    if plan.cost:
        dug = f", trenches {plan.cost.trenches:.2f}" + (f", moving {plan.cost.moving:.2f}" if plan.cost.moving else "")
        budget = "" if plan.cost.budget is None else f"; budget {plan.cost.budget:.2f}"
        flow.paragraph(f"Parts {plan.cost.parts:.2f}{dug}, together {plan.cost.total:.2f} {money}{budget}.")
    sources = sorted({line.price_source for line in plan.parts})
    flow.paragraph(f"Prices: {'; '.join(sources)}.")


def _quantity(value: float, unit: str, plan: Plan) -> str:
    system = plan.yard.units
    return f"{show(value, 'length', system)}" if unit == "m" else f"{value:g}"


def place_sheets(book: Book) -> None:
    """The fittings of each head, junction, run and valve place, with a box for what is laid out there."""
    places = parts_by_place(book.told.plan)
    if not places:
        return
    flow = Flow(book, "Parts by place", columns=2)
    cells = (Cell("place"), Cell("parts", stretch=1), Cell("laid out", tick=True))
    flow.table(cells, [(where, ", ".join(parts), "") for where, parts in places.items()])
    if note := manifold_note(book.told.plan):
        flow.paragraph(note)


def cutting_sheets(book: Book) -> None:
    """Each stick and coil with its pieces, cut from one end in this order."""
    plan = book.told.plan
    cuttings = [cutting for cutting in plan.cutting if cutting.cuts]
    if not cuttings:
        return
    flow = Flow(book, "Cutting plan")
    for cutting in cuttings:
        laid, bought = (show(length, "length", plan.yard.units) for length in (cutting.laid, cutting.bought))
        flow.heading(f"{cutting.part}: {laid} laid of {bought} bought")
        rows = [
            (
                f"{cut.form} {number}",
                show(cut.length, "length", plan.yard.units),
                "; ".join(f"{show(piece.length, 'length', plan.yard.units)} {piece.where}" for piece in cut.pieces),
                show(cut.left, "length", plan.yard.units),
                "",
            )
            for number, cut in enumerate(cutting.cuts, start=1)
        ]
        cells = (
            Cell("from"),
            Cell("long", right=True),
            Cell("pieces, in this order", stretch=1),
            Cell("left over", right=True),
            Cell("cut", tick=True),
        )
        flow.table(cells, rows)
