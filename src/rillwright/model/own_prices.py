"""Prices that the owner has typed, laid over the catalogue's."""

from dataclasses import replace
from typing import Literal

from rillwright.errors import InputError
from rillwright.model.money import OwnPrice
from rillwright.model.parts import Catalogue, Price
from rillwright.model.site import Yard
from rillwright.physics.units import FOOT, System

__all__ = ["price_of_one", "with_own_prices"]


def with_own_prices(catalogue: Catalogue, yard: Yard) -> Catalogue:
    """The catalogue with the owner's typed prices over its own. Errors: InputError, see `price_of_one`."""
    if not yard.money.prices:
        return catalogue
    prices = dict(catalogue.prices)
    for own in yard.money.prices:
        known = prices.get(own.part)
        each = known.each if known else ("m" if own.each in ("ft", "m") else "piece")
        prices[own.part] = Price(own.part, each, price_of_one(own, each, yard.units), own.source)
    by_part = {part: price.price for part, price in prices.items()}
    shelf = catalogue.fittings.priced(by_part, [(pipe.material, pipe.trade_size) for pipe in catalogue.pipes])
    return replace(catalogue, prices=prices, fittings=shelf)


def price_of_one(own: OwnPrice, unit: Literal["piece", "m"], system: System) -> float:
    """Price of one piece or one metre of a part that goes so.

    Errors: InputError for a price of a piece where the part goes by length, or the other way round.
    """
    if unit == "piece":
        if own.each in ("ft", "m"):
            raise InputError(
                f"money.prices: '{own.part}' goes by pieces; write its price of a piece, not of 1 {own.each}"
            )
        return own.price
    each = own.each or ("ft" if system == "US" else "m")
    if each == "piece":
        raise InputError(f"money.prices: '{own.part}' goes by length; write its price of 1 ft or 1 m in 'each'")
    return own.price / (FOOT if each == "ft" else 1.0)
