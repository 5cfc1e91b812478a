"""Prices that the owner has typed, over the catalogue's."""

import pytest

from plan_yards import small_yard
from rillwright.errors import InputError
from rillwright.exchange.yard_file import validated
from rillwright.model.catalogue import load_catalogue
from rillwright.model.own_prices import with_own_prices

CATALOGUE = load_catalogue()
FITTING = "coupling PE 1/2 in"


def priced(units, *prices):
    feet = 1 / 0.3048 if units == "US" else 1.0
    lawn = {"id": "lawn", "kind": "lawn", "outline": [[0, 0], [9 * feet, 0], [9 * feet, 7 * feet], [0, 7 * feet]]}
    document = small_yard(units=units, areas=[lawn], supply=[], money={"prices": list(prices)})
    document["water_entry"] |= {"at": [1, 1]}
    return with_own_prices(CATALOGUE, validated(document, source="test"))


def test_a_typed_price_counts_wherever_a_price_is_looked_up():
    found = priced("metric", {"part": FITTING, "price": 9.0}, {"part": "nozzle rotary 15 ft", "price": 4.5})
    assert found.prices[FITTING].price == 9.0
    assert found.fittings.of(FITTING).price == 9.0
    assert found.prices["nozzle rotary 15 ft"].price == 4.5  # of one nozzle, where the list prices its class
    other = "coupling PE 1 in"
    assert found.fittings.of(other).price == CATALOGUE.fittings.of(other).price
    assert priced("metric") is CATALOGUE


@pytest.mark.parametrize(("units", "metres"), [("US", 0.3048), ("metric", 1.0)])
def test_pipe_is_priced_by_the_foot_or_metre_of_the_yard(units, metres):
    """NIST SP 811: 1 ft is 0.3048 m exactly."""
    part = "pipe PE 3/4 in"
    assert priced(units, {"part": part, "price": 0.6}).prices[part].price == pytest.approx(0.6 / metres)
    assert priced(units, {"part": part, "price": 0.6, "each": "m"}).prices[part].price == 0.6
    with pytest.raises(InputError, match="goes by length"):
        priced(units, {"part": part, "price": 0.6, "each": "piece"})
