"""The build guide: steps from a plan's quantities, their order, dates and finish band."""

from rillwright.solvers.guide.calendar import Calendar
from rillwright.solvers.guide.critical import Chain, longest_chain
from rillwright.solvers.guide.finish import Finish, sample_finish
from rillwright.solvers.guide.order import Order, Task, order_steps
from rillwright.solvers.guide.rent import least_rent
from rillwright.solvers.guide.steps import build_steps

__all__ = [
    "Calendar",
    "Chain",
    "Finish",
    "Order",
    "Task",
    "build_steps",
    "least_rent",
    "longest_chain",
    "order_steps",
    "sample_finish",
]
