"""The parts list as a workbook (Office Open XML, ECMA-376): what to buy, where it goes, what it costs.

Costs are formulas over quantities and prices, so that a price typed into the sheet counts at once. No file carries the
day it was made: the same plan gives the same bytes.
"""

import io
import re
import zipfile
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from rillwright.model.ledger import Ledger
from rillwright.model.plan import Plan
from rillwright.physics.units import to_system, unit_name

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["Cell", "Sheet", "parts_workbook"]


class Formula(str):
    """What a spreadsheet works out; any other text stays one, whatever it begins with."""

    __slots__ = ()


Cell = str | float | int | None
Sheet = tuple[str, Sequence[Sequence[Cell]]]  # its name, and its rows, the header first

NO_DAY = datetime(1980, 1, 1)  # the first that a zip archive can state
_WIDEST = 60
_SAVED = re.compile(rb"(<dcterms:modified[^>]*>)[^<]*")
_MONEY, _NUMBER, _SHARE = "#,##0.00", "#,##0.##", "0 %"


def parts_workbook(plan: Plan, ledger: Ledger, others: Iterable[Sheet] = ()) -> bytes:
    """Write the workbook.

    Parameters: plan; ledger of it; others, more sheets by name, such as parts by place or the cutting plan.
    Returns: the bytes of an .xlsx file, lengths in the yard's unit, money in its currency.
    """
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.worksheets[0])
    last = _parts(book.create_sheet("Parts"), plan, ledger)
    _money(book.create_sheet("Money"), ledger, last, plan.yard.money.tax or 0.0)
    for name, rows in others:
        _filled(book.create_sheet(name[:31]), rows)
    book.properties.creator = "Rillwright"
    book.properties.title = f"{plan.yard.name}: parts"
    book.properties.created = book.properties.modified = NO_DAY
    return _dateless(book)


def _parts(sheet: "Worksheet", plan: Plan, ledger: Ledger) -> int:
    """One row for each part, and the sum. Returns the number of the row with the sum."""
    coin, length = ledger.currency, unit_name("length", plan.yard.units)
    head = ["part", "unit", "needed", "owned", "bought", "returned", "to buy", "spare"]
    rows: list[list[Cell]] = [
        [*head, f"price of one ({coin})", f"to pay ({coin})", "price from", "why", "spares in needed"]
    ]
    lines = {line.id: line for line in plan.parts}
    for number, part in enumerate(ledger.parts, start=2):
        unit = to_system(1.0, "length", plan.yard.units) if part.unit == "m" else 1.0
        counts = (n * unit for n in (part.needed, part.owned, part.bought, part.returned, part.to_buy, part.spare))
        rows.append(
            [
                part.part,
                length if part.unit == "m" else "piece",
                *(round(n, 6) for n in counts),
                round(part.price / unit, 6),
                Formula(f"=G{number}*I{number}"),
                part.price_source,
                lines[part.id].why if part.id in lines else "bought besides",
                lines[part.id].spare if part.id in lines and part.unit == "piece" else None,
            ]
        )
    last = len(rows) + 1
    rows.append(["parts still to buy", *[None] * 8, Formula(f"=SUM(J2:J{last - 1})"), None, None, None])
    _filled(sheet, rows)
    for row in sheet.iter_rows(min_row=2):
        for cell in row:
            cell.number_format = _MONEY if cell.column_letter in "IJ" else _NUMBER
    return last


def _money(sheet: "Worksheet", ledger: Ledger, last: int, tax: float) -> None:
    """Charges and sums; what is still to pay for parts is that of the first sheet, as it stands there."""
    coin = ledger.currency
    rows: list[list[Cell]] = [["what", f"paid ({coin})", f"still to pay ({coin})", f"together ({coin})", "of what"]]
    rows.append(["parts", ledger.parts_paid, Formula(f"=Parts!J{last}"), Formula("=B2+C2"), "the sheet Parts"])
    kinds = [charge.kind for charge in ledger.charges]
    taxed = ["C2", *(f"C{3 + kinds.index(kind)}" for kind in ("rental",) if kind in kinds)]
    for number, charge in enumerate(ledger.charges, start=3):
        due: Cell = Formula(f"={tax}*({'+'.join(taxed)})") if charge.kind == "tax" and tax else charge.due
        rows.append(
            [charge.kind, charge.paid, due, Formula(f"=B{number}+C{number}"), f"{charge.what}: {charge.formula}"]
        )
    end = len(rows)
    rows.append(["the whole", *(Formula(f"=SUM({column}2:{column}{end})") for column in "BCD"), None])
    if ledger.budget is not None:
        rows.append(["budget", None, None, ledger.budget, "stated by the owner"])
        rows.append(["left", None, None, Formula(f"=D{end + 2}-D{end + 1}"), None])
    band = ledger.band
    rows.append([None])
    for words, value in (
        ("10 of 100 come to less than", band.low),
        ("50 of 100 come to less than", band.middle),
        ("90 of 100 come to less than", band.high),
    ):
        rows.append([words, None, None, value, f"{band.samples} draws at the prices of the plan"])
    if band.within is not None:
        rows.append(["chance to stay within the budget", None, None, band.within, "share of the draws"])
    for text in (*ledger.doubts, *ledger.assumed):
        rows.append([text])
    _filled(sheet, rows)
    for row in sheet.iter_rows(min_row=2, min_col=2, max_col=4):
        for cell in row:
            cell.number_format = (
                _SHARE if sheet.cell(cell.row, 1).value == "chance to stay within the budget" else _MONEY
            )
    sheet.column_dimensions["A"].width = 34


def _filled(sheet: "Worksheet", rows: Iterable[Sequence[Cell]]) -> None:
    """Fill a sheet: header in bold and fixed, columns as wide as what stands in them."""
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    widths: dict[int, int] = {}
    for number, row in enumerate(rows, start=1):
        for column, value in enumerate(row, start=1):
            cell = sheet.cell(number, column)
            cell.value = value
            if isinstance(value, str):
                cell.data_type = "f" if isinstance(value, Formula) else "s"
            if number == 1:
                cell.font = Font(bold=True)
            widths[column] = max(widths.get(column, 8), min(len(str(value or "")) + 1, _WIDEST))
    for column, width in widths.items():
        sheet.column_dimensions[get_column_letter(column)].width = width
    sheet.freeze_panes = "B2"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.print_title_rows = "1:1"


def _dateless(book: "Workbook") -> bytes:
    """The file with every entry dated alike, and no hour of saving in its properties."""
    made, out = io.BytesIO(), io.BytesIO()
    book.save(made)
    with zipfile.ZipFile(made) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for name in source.namelist():
            data = source.read(name)
            if name == "docProps/core.xml":
                data = _SAVED.sub(rb"\g<1>" + NO_DAY.strftime("%Y-%m-%dT%H:%M:%SZ").encode(), data)
            entry = zipfile.ZipInfo(name, date_time=NO_DAY.timetuple()[:6])
            target.writestr(entry, data, zipfile.ZIP_DEFLATED)
    return out.getvalue()
