"""Prices: the packaged ones, and those of a user's file over them; what the user's shop does not have."""

from pathlib import Path

from rillwright.data.tables import Row, read_table, read_user_table
from rillwright.model.fittings import FittingTable
from rillwright.model.parts import Price

__all__ = ["NOT_SOLD", "load_prices"]

NOT_SOLD = "none"  # stands for the price of a fitting that cannot be had
_EACH = ("piece", "m")
_COLUMNS = (("part",), ("price",), ("source",))


def load_prices(shelf: FittingTable, own: Path | None) -> tuple[dict[str, Price], FittingTable]:
    """Read prices by part, and the fittings that can be had.

    Parameters: shelf, the packaged fittings; own, a user's CSV file, whose prices replace packaged ones; a fitting
    whose price is the word 'none' is taken off the shelf. Errors: TableError.
    """
    known = {
        fitting.part: Price(fitting.part, "piece", fitting.price, "invented, replace")
        for fitting in shelf.fittings
        if fitting.price is not None
    }
    known |= {price.part: price for price in map(_packaged, read_table("prices"))}
    if own is None:
        return known, shelf
    rows = read_user_table(own, _COLUMNS)
    fittings = {fitting.part for fitting in shelf.fittings if fitting.price is not None}
    found: dict[str, Price] = {}
    gone: set[str] = set()
    for row in rows:
        part = row.choice("part", tuple(known))
        if part in found or part in gone:
            raise row.error("part", "this part has a price already, higher up in the file; keep one")
        if row.cells["price"] == NOT_SOLD:
            if part not in fittings:
                raise row.error("price", "only a fitting can be left out; write the price of one")
            gone.add(part)
        else:
            found[part] = Price(part, known[part].each, row.number("price", low=0.0, high=1e6), row.text("source"))
    return known | found, shelf.without(gone)


def _packaged(row: Row) -> Price:
    each = row.choice("each", _EACH)
    return Price(row.text("part"), "m" if each == "m" else "piece", row.number("price", low=0.0), row.text("source"))
