"""Money: the bands of what a job may cost, block tariffs, and building in phases."""

from rillwright.solvers.money.contingency import DRAWS, Digging, Fee, Priced, Totals, draw_totals
from rillwright.solvers.money.phases import Cap, Item, Job, Split, cheapest_split, price_split
from rillwright.solvers.money.tariff import block_bill, top_price

__all__ = [
    "DRAWS",
    "Cap",
    "Digging",
    "Fee",
    "Item",
    "Job",
    "Priced",
    "Split",
    "Totals",
    "block_bill",
    "cheapest_split",
    "draw_totals",
    "price_split",
    "top_price",
]
