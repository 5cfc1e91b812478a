"""What is bought, owned, kept to spare and paid for."""

from dataclasses import replace

import pytest

from rillwright.model.site import BACKFLOW_KINDS, PIPE_MATERIALS
from rillwright.solvers.takeoff import cost_of, unpriced
from small_takeoff import CATALOGUE, TRENCHES, counts, parts, runs, yard


def test_spares_are_a_share_of_small_parts_to_the_nearest_whole():
    plain, spared = counts(parts()), {line.part: line for line in parts(spare=0.1)}
    assert spared["clamp 1/2 in"].quantity == plain["clamp 1/2 in"] + 1  # 0.6 of one
    assert spared["clamp 1/2 in"].spare == 1
    assert "1 spare" in spared["clamp 1/2 in"].why
    assert spared["coupling PVC 1 in"].spare == 0  # 0.4 of one
    assert spared["in-line valve 3/4 in"].spare == spared["head rotary"].spare == 0


@pytest.mark.parametrize("kind", BACKFLOW_KINDS)
@pytest.mark.parametrize("material", PIPE_MATERIALS)
def test_enough_is_bought_and_every_part_is_priced(kind, material):
    """Pipe bought is no less than runs and risers, by whole sticks and coils; the packaged prices hold every part."""
    small = "3/4 in" if material == "PVC SDR-21" else "1/2 in"
    pipes = runs(main=material, lateral=material, small=small)
    height = 0.5 if kind in ("atmospheric vacuum breaker", "pressure vacuum breaker") else None
    found = parts(kind, pipes=pipes, height=height)
    bought = sum(line.quantity for line in found if line.part.startswith("pipe "))
    risers = {"atmospheric vacuum breaker": 3 * 1.6, "pressure vacuum breaker": 2 * 1.6}.get(kind, 0.0)
    if kind == "reduced pressure zone":
        risers = 2 * (12 * 0.0254 + 0.3)
    fittings = 2.0  # [m] that they take at the most
    assert bought >= sum(p.length for p in pipes) + risers - fittings
    assert bought / 3.048 == pytest.approx(round(bought / 3.048))
    assert unpriced(found) == ()
    assert all(line.price > 0 and line.why and line.quantity > 0 for line in found)
    assert len({line.part for line in found}) == len(found) == len({line.id for line in found})
    assert {line.unit for line in found if line.part.split()[0] in ("pipe", "wire", "sleeve")} == {"m"}


def test_every_fitting_has_a_price():
    assert all(CATALOGUE.prices[fitting.part].price > 0 for fitting in CATALOGUE.fittings.fittings)


def test_what_is_owned_is_listed_and_not_charged():
    of = yard(valves={"owned": 2}, backflow={"allowed": list(BACKFLOW_KINDS), "owned": "double check"})
    lines = parts(of=of)
    by_part = {line.part: line for line in lines}
    assert by_part["in-line valve 3/4 in"].owned == 2
    assert by_part["in-line valve 3/4 in"].quantity == 3
    assert by_part["double check"].owned == 1
    saved = cost_of(parts(), TRENCHES, yard()).total - cost_of(lines, TRENCHES, of).total
    assert saved == pytest.approx(2 * by_part["in-line valve 3/4 in"].price + by_part["double check"].price)
    more = {line.part: line for line in parts(of=yard(valves={"owned": 9}))}
    assert more["in-line valve 3/4 in"].owned == 3
    other = parts(of=yard(backflow={"allowed": list(BACKFLOW_KINDS), "owned": "reduced pressure zone"}))
    assert all(line.owned == 0 for line in other)


def test_owned_valves_are_used_up_over_the_sizes():
    """Z1 needs a larger valve than Z2 and Z3: of two owned, each is charged off once."""
    of = yard(valves={"owned": 2})
    found = {line.part: line for line in parts(of=of, flow={"Z1": 9e-4, "Z2": 2e-4, "Z3": 2e-4})}
    assert (found["in-line valve 1 in"].quantity, found["in-line valve 1 in"].owned) == (1, 1)
    assert (found["in-line valve 3/4 in"].quantity, found["in-line valve 3/4 in"].owned) == (2, 1)


def test_owned_valves_are_of_the_first_kind_allowed():
    """Owned in-line valves do not pay for valves with a breaker."""
    found = {line.part: line for line in parts("atmospheric vacuum breaker", height=0.5, of=yard(valves={"owned": 2}))}
    assert found["valve with vacuum breaker 3/4 in"].owned == 0


def test_cost_adds_parts_and_trenches():
    lines = parts()
    cost = cost_of(lines, TRENCHES, yard(budget=5000))
    assert cost.trenches == 154.0
    assert cost.parts == pytest.approx(sum(line.quantity * line.price for line in lines))
    assert cost.total == cost.parts + cost.trenches
    assert cost.budget == 5000


def test_a_part_without_a_price_is_kept_and_found():
    prices = {name: price for name, price in CATALOGUE.prices.items() if name != "wire"}
    lines = parts(catalogue=replace(CATALOGUE, prices=prices))
    (line,) = unpriced(lines)
    assert line.part == "wire"
    assert line.price == 0
    assert line.quantity > 0
    assert "price file" in line.price_source
