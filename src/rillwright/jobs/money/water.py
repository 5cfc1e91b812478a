"""What a season's water costs, and what the choices between few heads and even water cost to build and to water."""

from collections.abc import Iterable, Mapping, Sequence

from rillwright.data.tables import read_table
from rillwright.model.front import SEASONS, season_depth
from rillwright.model.ledger import ChoiceCost, WaterBill, WaterMonth
from rillwright.model.money import Tariff, TariffUnit
from rillwright.model.plan import Plan
from rillwright.model.site import Yard
from rillwright.physics.units import FOOT, GALLON
from rillwright.solvers.money.tariff import block_bill, top_price

__all__ = ["SOURCE", "choice_costs", "season_shares", "season_volume", "usual_shares", "water_bill"]

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

UNIT: dict[TariffUnit, float] = {"m³": 1.0, "1000 gal": 1000 * GALLON, "100 ft³": 100 * FOOT**3}  # [m³]
SOURCE = "plan: 12 weeks of the peak's need, with the extra water that its evenness asks for; months by judgement"


def season_volume(plan: Plan) -> float:
    """Water that a plan's lawns take in a season [m³]; 0 without lawns."""
    chosen = next((point for point in plan.front if point.chosen), None)
    if chosen is not None:
        return chosen.season_water
    return season_depth(plan.yard) * sum(lawn.area for lawn in plan.lawns)


def season_shares(by_month: Mapping[int, float]) -> tuple[float, list[float]]:
    """A season's water [m³] and its shares by month from January on; by_month [m³], by number of the month."""
    volume = sum(by_month.values())
    return volume, [by_month.get(month, 0.0) / volume if volume else 0.0 for month in range(1, 13)]


def usual_shares(yard: Yard) -> list[float]:
    """Shares of a season's water from January on, where no programme tells them: half a year on in the south."""
    shares = [row.number("share", low=0.0, high=1.0) for row in read_table("season")]
    southern = yard.origin is not None and yard.origin.lat < 0
    return shares[6:] + shares[:6] if southern else shares


def water_bill(tariff: Tariff, volume: float, *, by_month: Sequence[float], source: str = SOURCE) -> WaterBill:
    """Bill a season's water.

    Parameters: tariff; volume [m³]; by_month, shares of it from January on; source, where the volume comes from.
    """
    unit = UNIT[tariff.unit]
    ends = [block.up_to for block in tariff.blocks if block.up_to is not None]
    prices = [block.price / unit for block in tariff.blocks]
    periods = []
    for start in range(0, 12, tariff.months):
        months = range(start, min(start + tariff.months, 12))
        yard, house = volume * sum(by_month[m] for m in months), tariff.house * len(months)
        if yard <= 0:
            continue
        both, alone = (block_bill(v, ends=ends, prices=prices) for v in (house + yard, house))
        named = ", ".join(MONTHS[m] for m in months)
        top = top_price(house + yard, ends=ends, prices=prices)
        periods.append(WaterMonth(months=named, yard=yard, house=house, more=both - alone, top_price=top))
    return WaterBill(
        volume=volume,
        cost=sum(period.more for period in periods),
        fixed=tariff.fixed * len(periods),
        periods=tuple(periods),
        tariff=_told(tariff),
        source=source,
    )


def choice_costs(
    plan: Plan, tariff: Tariff | None, *, by_month: Sequence[float], times: float = 1.0
) -> Iterable[ChoiceCost]:
    """The front of the plan in money: to build, by the season, and over the life of a system.

    Parameters: times, what a season takes against what the plan itself reckons; by_month as for `water_bill`.
    """
    chosen = next((point for point in plan.front if point.chosen), None)
    if chosen is None:
        return
    here = water_bill(tariff, times * chosen.season_water, by_month=by_month).cost if tariff else 0.0
    for point in plan.front:
        water = times * point.season_water
        season = water_bill(tariff, water, by_month=by_month).cost if tariff else None
        more = point.cost - chosen.cost
        yield ChoiceCost(
            aim=point.aim,
            chosen=point.chosen,
            heads=point.heads,
            more=more,
            season_water=water,
            season_cost=season,
            lasting=None if season is None else more + SEASONS * (season - here),
        )


def _told(tariff: Tariff) -> str:
    """The tariff in words, volumes in its own unit."""
    unit = UNIT[tariff.unit]
    words = []
    for block in tariff.blocks:
        end = "over that" if block.up_to is None else f"up to {block.up_to / unit:.4g}"
        words.append(f"{block.price:g} {end}")
    period = "month" if tariff.months == 1 else f"{tariff.months} months"
    return f"per {tariff.unit} in a {period}: {', '.join(words)}; fixed {tariff.fixed:g}"
