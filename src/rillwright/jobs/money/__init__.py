"""Money: the ledger of a plan, and building it in phases."""

from rillwright.jobs.money.ledger import make_ledger
from rillwright.jobs.money.phased import Phased, make_phases
from rillwright.jobs.money.prices import with_money_of

__all__ = ["Phased", "make_ledger", "make_phases", "with_money_of"]
