"""Workings of the ledger: every sum, charge, part, band, bill and choice."""

from collections.abc import Iterator

from rillwright.model.ledger import Charge, ChoiceCost, KindBand, Ledger, PartMoney, WaterBill
from rillwright.model.plan import Plan
from rillwright.physics.units import show, to_system, unit_name
from rillwright.report.workings.working import Given, Working

__all__ = ["each_price", "ledger_workings"]

_BAND = "docs/theory/money.md"


def each_price(part: PartMoney, plan: Plan) -> float:
    """Price of one unit as the yard counts it: a piece, a foot or a metre."""
    return part.price / to_system(1.0, "length", plan.yard.units) if part.unit == "m" else part.price


def ledger_workings(ledger: Ledger, plan: Plan) -> Iterator[Working]:
    """Workings of a ledger of a plan, sums first."""
    yield from _sums(ledger)
    yield from _band(ledger)
    for kind in ledger.kinds:
        yield from _kind(kind, ledger)
    for charge in ledger.charges:
        yield from _charge(charge, ledger)
    for part in ledger.parts:
        yield from _part(part, plan)
    if ledger.water is not None:
        yield from _water(ledger.water, ledger.currency, plan)
    for number, choice in enumerate(ledger.choices, start=1):
        yield from _choice(number, choice, ledger.currency)


def _money(
    key: str, title: str, value: float, formula: str, inputs: tuple[Given, ...], source: str, again: float | None
) -> Working:
    return Working(key, title, value, "money", formula, inputs, source, again)


def _sums(ledger: Ledger) -> Iterator[Working]:
    money = f"({ledger.currency})"
    parts = tuple(Given(one.part, f"{one.due:.2f}", f"money.part.{one.id}.due") for one in ledger.parts if one.due)
    yield _money(
        "money.parts", f"Parts still to buy {money}", ledger.parts_due, "sum over the parts", parts, "prices", None
    )
    for name, title, value, own in (
        ("paid", "Paid", ledger.paid, ledger.parts_paid),
        ("due", "Still to pay", ledger.due, ledger.parts_due),
    ):
        terms = [Given("parts", f"{own:.2f}", "money.parts" if name == "due" else "")]
        terms += [
            Given(c.kind, f"{getattr(c, name):.2f}", f"money.{c.kind}") for c in ledger.charges if getattr(c, name)
        ]
        again = own + sum(getattr(c, name) for c in ledger.charges)
        formula = "parts and charges by the log, less what came back" if name == "paid" else "parts + charges"
        yield _money(f"money.{name}", f"{title} {money}", value, formula, tuple(terms), "", again)
    both = (Given("paid", f"{ledger.paid:.2f}", "money.paid"), Given("still to pay", f"{ledger.due:.2f}", "money.due"))
    yield _money(
        "money.total", f"The whole {money}", ledger.total, "paid + still to pay", both, "", ledger.paid + ledger.due
    )
    if ledger.budget is not None and ledger.left is not None:
        yield _money("money.budget", f"Budget {money}", ledger.budget, "stated by the owner", (), "yard", None)
        terms = [
            Given("budget", f"{ledger.budget:.2f}", "money.budget"),
            Given("the whole", f"{ledger.total:.2f}", "money.total"),
        ]
        yield _money(
            "money.left",
            f"Left of the budget {money}",
            ledger.left,
            "budget - the whole",
            tuple(terms),
            "",
            ledger.budget - ledger.total,
        )


def _band(ledger: Ledger) -> Iterator[Working]:
    band, money = ledger.band, f"({ledger.currency})"
    drawn = f"prices, losses, hours of digging and fees drawn together, {band.samples} times, over what is paid"
    kinds = tuple(
        Given(kind.kind, f"{kind.low:.2f} to {kind.high:.2f}", f"money.{kind.kind}.middle") for kind in ledger.kinds
    )
    for name, title, value in (
        ("low", "The whole, 10 of 100 come to less", band.low),
        ("middle", "The whole, 50 of 100 come to less", band.middle),
        ("high", "The whole, 90 of 100 come to less", band.high),
        ("mean", "The whole, mean", band.mean),
    ):
        yield _money(f"money.band.{name}", f"{title} {money}", value, drawn, kinds, _BAND, None)
    if band.within is not None:
        formula = "share of the draws that stay within the budget"
        given = (Given("budget", f"{ledger.budget:.2f}", "money.budget"),)
        yield Working("money.within", "Chance to stay within the budget", band.within, "share", formula, given, _BAND)


def _kind(kind: KindBand, ledger: Ledger) -> Iterator[Working]:
    for name in ("low", "middle", "high"):
        share = {"low": 10, "middle": 50, "high": 90}[name]
        title = f"{kind.kind.capitalize()} still to pay, {share} of 100 come to less ({ledger.currency})"
        yield _money(f"money.{kind.kind}.{name}", title, getattr(kind, name), "as the whole is drawn", (), _BAND, None)


def _charge(charge: Charge, ledger: Ledger) -> Iterator[Working]:
    inputs = tuple(Given(name, value) for name, value in charge.inputs.items())
    title = f"{charge.kind.capitalize()}: {charge.what} ({ledger.currency})"
    yield _money(f"money.{charge.kind}", title, charge.whole, charge.formula, inputs, charge.source, None)


def _part(part: PartMoney, plan: Plan) -> Iterator[Working]:
    key, system = f"money.part.{part.id}", plan.yard.units
    dimension = "length" if part.unit == "m" else "count"
    listed = part.id.startswith("L")
    amounts = {
        "needed": (part.needed, f"part.{part.id}.quantity" if listed else ""),
        "owned": (part.owned, f"part.{part.id}.owned" if listed else ""),
        "bought": (part.bought, ""),
        "returned": (part.returned, ""),
    }
    inputs = tuple(Given(name, show(value, dimension, system), link) for name, (value, link) in amounts.items())
    buy = max(0.0, part.needed - part.owned - part.bought + part.returned)
    yield Working(
        f"{key}.to-buy",
        f"{part.part}: still to buy",
        part.to_buy,
        dimension,
        "needed - owned - bought + returned, never less than 0",
        inputs,
        "plan, yard and field log",
        buy,
    )
    each, unit = each_price(part, plan), unit_name("length", system) if part.unit == "m" else "piece"
    given = (
        Given("still to buy", show(part.to_buy, dimension, system), f"{key}.to-buy"),
        Given(f"price of one {unit}", f"{each:.4g}"),
    )
    again = to_system(part.to_buy, dimension, system) * each
    yield _money(
        f"{key}.due",
        f"{part.part}: still to pay ({plan.yard.currency})",
        part.due,
        "still to buy · price",
        given,
        part.price_source,
        again,
    )


def _water(bill: WaterBill, currency: str, plan: Plan) -> Iterator[Working]:
    system = plan.yard.units
    yield Working("money.water.volume", "Water of a season", bill.volume, "season volume", bill.source, (), _BAND)
    periods = tuple(
        Given(
            one.months,
            f"{show(one.yard, 'season volume', system)} over the house's "
            f"{show(one.house, 'season volume', system)}: {one.more:.2f}",
        )
        for one in bill.periods
    )
    title = f"Water of a season: what it adds to the bills ({currency})"
    formula = f"sum over the periods of bill(house + yard) - bill(house); {bill.tariff}"
    again = sum(one.more for one in bill.periods)
    yield _money("money.water.cost", title, bill.cost, formula, periods, "the owner's tariff", again)


def _choice(number: int, choice: ChoiceCost, currency: str) -> Iterator[Working]:
    name = choice.aim or f"choice {number}"
    key = f"money.choice.{number}"
    if choice.season_cost is not None and choice.lasting is not None:
        given = (Given("water", "", f"choice.{number}.season-water"),)
        formula = "the season's water of this layout by the tariff"
        yield _money(
            f"{key}.season", f"{name}: water a season ({currency})", choice.season_cost, formula, given, _BAND, None
        )
        terms = (
            Given("more to build", f"{choice.more:.2f}", f"choice.{number}.cost"),
            Given("water a season", f"{choice.season_cost:.2f}", f"{key}.season"),
        )
        formula = "more to build + 14.9 · (water a season - that of this plan): twenty years at 3 % over inflation"
        yield _money(
            f"{key}.lasting",
            f"{name}: more than this plan, over twenty years ({currency})",
            choice.lasting,
            formula,
            terms,
            _BAND,
            None,
        )
