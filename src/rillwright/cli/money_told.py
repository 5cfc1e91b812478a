"""What the `money` command prints."""

import difflib
from datetime import date
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.table import Table

from rillwright.cli.summary import print_working
from rillwright.cli.tables import plain_table
from rillwright.errors import InputError
from rillwright.jobs.money import Phased
from rillwright.model.ledger import Ledger
from rillwright.model.plan import Plan
from rillwright.model.site import MOST_PHASES
from rillwright.model.watering import WaterPlan
from rillwright.physics.units import show, to_system, unit_name
from rillwright.report.workings.money import each_price, ledger_workings
from rillwright.solvers.money import Split

__all__ = ["explain_money", "print_apart", "print_ledger", "print_phases", "read_day", "read_phases", "read_season"]


def read_phases(text: str, *, yearly: float | None, split: str) -> dict[str, Any] | None:
    """Read how a job is to be split; None when it is not. Errors: InputError that names the option."""
    if split not in ("lawns", "zones"):
        raise InputError(f"--split {split}: write lawns or zones")
    if not text and yearly is None:
        return None
    terms: dict[str, Any] = {"yearly": yearly, "whole_lawns": split == "lawns"}
    text = text.strip() or "2"
    if text.isdigit():
        if not 2 <= int(text) <= MOST_PHASES:
            raise InputError(f"--phases {text}: write 2 to {MOST_PHASES}, or names such as 'front, side / back'")
        return terms | {"phases": int(text)}
    given = [[name.strip() for name in phase.split(",") if name.strip()] for phase in text.split("/")]
    if not all(given):
        raise InputError(f"--phases '{text}': name at least one zone or lawn on each side of '/'")
    return terms | {"given": given, "phases": min(max(2, len(given)), MOST_PHASES)}


def read_day(text: str) -> date | None:
    """Read the first day of work; None for no text. Errors: InputError for another text."""
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise InputError(f"--start {text}: write a date as YEAR-MONTH-DAY, such as 2027-05-08") from None


def read_season(path: Path) -> dict[int, float]:
    """Read a season's water [m³] by month off a watering programme. Errors: InputError when it is none."""
    file = path / "water.json" if path.is_dir() else path
    try:
        programme = WaterPlan.model_validate_json(file.read_bytes())
    except OSError as error:
        raise InputError(f"--water {file} cannot be read: {error.strerror}.") from None
    except ValueError:
        raise InputError(f"--water {file} is no watering programme: make it with `rillwright water`.") from None
    return {month.month: month.water for month in programme.months}


def explain_money(ledger: Ledger, plan: Plan, what: str) -> None:
    """Print the working of one number. Errors: InputError that names keys near a wrong one."""
    workings = {working.key.lower(): working for working in ledger_workings(ledger, plan)}
    wanted = what.strip().lower()
    if wanted not in workings:
        near = [key for key in workings if key.startswith(wanted)] or difflib.get_close_matches(wanted, workings, n=8)
        raise InputError(f"the ledger holds no number named '{what}'. Near it: {', '.join(near[:8]) or 'none'}.")
    print_working(plan, workings[wanted])


def print_ledger(ledger: Ledger, plan: Plan) -> None:
    """Print the whole first, then where it comes from, then what is to be bought."""
    console = Console()
    coin, band = ledger.currency, ledger.band
    _say(console, f"Money: {plan.yard.name}", "bold")
    _say(
        console,
        f"The whole comes to {ledger.total:.0f} {coin} as priced; of {band.samples} draws 10 in 100 come to less than "
        f"{band.low:.0f}, 50 to less than {band.middle:.0f}, 90 to less than {band.high:.0f}.",
    )
    if ledger.budget is not None and ledger.left is not None and band.within is not None:
        left = f"{ledger.left:.0f} under" if ledger.left >= 0 else f"{-ledger.left:.0f} over"
        _say(console, f"Budget {ledger.budget:.0f}: {left} it as priced; it holds {_chance(band.within)}.")
    _say(console, f"Paid {ledger.paid:.2f}, still to pay {ledger.due:.2f}.")
    if abs(ledger.planned - ledger.total) > 0.5:
        _say(console, f"The plan itself counts {ledger.planned:.0f}: parts, and every trench by the metre.", "dim")
    console.print(_kinds(ledger))
    console.print(_parts(ledger, plan))
    if ledger.parts:
        _say(console, _price_sources(ledger), "dim")
    _water(console, ledger, plan)
    _choices(console, ledger)
    for day in ledger.spent:
        _say(console, f"{day.day}: {day.paid:.2f} paid in all{_left(ledger, day.paid)} ({day.what})")
    for day in ledger.coming:
        _say(console, f"{day.day}: {day.paid:.2f} in all by then{_left(ledger, day.paid)} ({day.what})")
    for text in ledger.doubts:
        _say(console, f"Look again: {text}")
    for text in ledger.assumed:
        _say(console, f"Assumed: {text}", "dim")
    within = "" if ledger.budget is None else "money.within, "
    _say(console, f"Working of a number: --explain money.total, {within}money.part.L1.due ...", "dim")


def _left(ledger: Ledger, paid: float) -> str:
    """What a day leaves of the budget, in words; nothing without one."""
    if ledger.budget is None:
        return ""
    left = ledger.budget - paid
    return f", {left:.2f} of the budget left" if left >= 0 else f", {-left:.2f} over the budget"


def print_phases(phased: Phased, plan: Plan) -> None:
    """Print all at once against phases."""
    console = Console()
    coin = plan.yard.currency
    _say(console, f"\nIn phases ({coin})", "bold")
    table = plain_table("what", ">whole", ">more than at once", ">dearest phase", "phases")
    once = phased.at_once
    rows = [("at once", once)]
    rows += [("as you split it", phased.given)] if phased.given else []
    rows += [("cheapest" if phased.yearly is None else "cheapest within the limit", phased.best)] if phased.best else []
    rows += [("or", split) for split in phased.front if phased.best is None or split.phases != phased.best.phases]
    for name, split in rows:
        zones = " / ".join(f"{', '.join(phase.zones)}: {phase.total:.0f}" for phase in split.phases)
        if split.status == "feasible" and split.bound is not None:
            name += f", not proven: none under {split.bound:.0f}"
        table.add_row(name, f"{split.total:.0f}", f"{split.total - once.total:+.0f}", f"{split.dearest:.0f}", zones)
    console.print(table)
    if phased.best is None:
        even = phased.least_yearly
        least = "" if even is None else f" The dearest phase of the most even split found costs {even:.0f}."
        _say(
            console,
            f"No split was found that keeps every phase within {phased.yearly:.0f}.{least} "
            "Allow more phases, or --split zones.",
        )
    if len(once.phases[0].zones) == 1:
        _say(console, "There is one zone: nothing to split.")
    elif len(phased.units) == 1:
        _say(
            console,
            "Zones that share a lawn tie all of them together: --split zones lets them go apart; --apart FOLDER with "
            "lawns in --phases plans again, no zone over lawns of two phases.",
        )
    if phased.tied:
        _say(
            console,
            f"{', '.join(phased.tied)}: over lawns that the yard now puts in two phases. Plan again, and no zone is.",
        )
    shown = phased.given or phased.best
    if shown is not None:
        _phase_details(console, shown, phased)


def print_apart(before: Phased, phased: Phased, plan: Plan, folder: Path) -> None:
    """Print a plan made with lawns of different phases apart against the plan as it was."""
    console, coin, once = Console(), plan.yard.currency, before.at_once
    zones = len(once.phases[0].zones), len(plan.zones)
    if plan.verdict == "does not fit" or not phased.given:
        _say(console, f"\nNo plan was found that keeps lawns of two phases apart: see what {folder} says.", "bold")
        return
    whole, split = phased.at_once.total - once.total, phased.given.total - once.total
    _say(
        console,
        f"\nPlanned again with no zone over lawns of two phases: {folder}, {zones[1]} zones for {zones[0]}",
        "bold",
    )
    _say(
        console,
        f"Built at once it costs {phased.at_once.total:.0f} {coin}, {whole:+.0f} against {once.total:.0f} as planned; "
        f"in phases {phased.given.total:.0f}, {split:+.0f}. To keep it, write the `phase` of each lawn in the yard.",
    )
    print_phases(phased, plan)


def _phase_details(console: Console, split: Split, phased: Phased) -> None:
    for number, phase in enumerate(split.phases, start=1):
        costs = {
            "parts": phase.parts,
            "trenches": phase.trenches,
            f"rent of {phase.days} day{'s' if phase.days != 1 else ''}": phase.rental,
            "delivery": phase.delivery,
            "fees and trades": phase.other,
            "stubs": phase.caps,
        }
        words = ", ".join(f"{name} {cost:.0f}" for name, cost in costs.items() if cost)
        _say(console, f"Phase {number}, {', '.join(phase.zones)}: {words}")
        if phase.stubs:
            _say(console, f"  Cap, ready for later: {'; '.join(cap.what for cap in phase.stubs)}")
    if phased.open_now and len(split.phases) > 1:
        _say(
            console,
            f"Open in the first phase: {', '.join(phased.open_now)}. Everything that will lie in them, pipe, wire and "
            "sleeves of later zones too, is laid then: no trench is dug twice.",
        )
    _say(console, "Before each phase, have buried services marked anew: old marks and old lines do not last.", "bold")


def _chance(share: float) -> str:
    """A share of the draws in words: no draw fails, or holds, for certain.

    >>> _chance(1.0), _chance(0.843)
    ('in more than 99 of 100 draws', 'in 84 of 100 draws')
    """
    if share > 0.99:
        return "in more than 99 of 100 draws"
    return "in fewer than 1 of 100 draws" if share < 0.01 else f"in {100 * share:.0f} of 100 draws"


def _kinds(ledger: Ledger) -> Table:
    table = plain_table("what", ">paid", ">still to pay", ">10 to 90 in 100 of that", "of what")
    bands = {one.kind: one for one in ledger.kinds}
    left = sum(part.to_buy > 0 for part in ledger.parts)
    to_buy = f"{left} line{'' if left == 1 else 's'} to buy"
    rows = [("parts", ledger.parts_paid, ledger.parts_due, to_buy)]
    rows += [(charge.kind, charge.paid, charge.due, charge.what) for charge in ledger.charges]
    for kind, paid, due, what in rows:
        band = bands.get(kind)  # type: ignore[call-overload]
        table.add_row(kind, f"{paid:.2f}", f"{due:.2f}", f"{band.low:.0f} to {band.high:.0f}" if band else "", what)
    return table


def _parts(ledger: Ledger, plan: Plan) -> Table:
    """Lines of parts; a column that no line fills is left out, and lengths stand under their unit once."""
    system = plan.yard.units

    def amount(value: float, unit: str) -> str:
        return "" if value == 0 else f"{to_system(value, 'length', system):.2f}" if unit == "m" else f"{value:g}"

    columns = {
        "needed": [amount(one.needed, one.unit) for one in ledger.parts],
        "owned": [amount(one.owned, one.unit) for one in ledger.parts],
        "bought": [amount(one.bought, one.unit) for one in ledger.parts],
        "returned": [amount(one.returned, one.unit) for one in ledger.parts],
        "to buy": [amount(one.to_buy, one.unit) for one in ledger.parts],
        "cost": [f"{one.due:.2f}" if one.due else "" for one in ledger.parts],
        "each": [f"{each_price(one, plan):.2f}" for one in ledger.parts],
    }
    filled = {name: cells for name, cells in columns.items() if any(cells)}
    table = plain_table("part", *(f">{name}" for name in filled))
    for one, *cells in zip(ledger.parts, *filled.values(), strict=True):
        unit = f" ({unit_name('length', system)})" if one.unit == "m" else ""
        table.add_row(f"{one.part}{unit}", *cells)
    return table


def _price_sources(ledger: Ledger) -> str:
    """Where prices come from: the source of most lines, then each other one with its parts."""
    lines: dict[str, list[str]] = {}
    for one in ledger.parts:
        lines.setdefault(one.price_source, []).append(one.part)
    most, *others = sorted(lines, key=lambda source: -len(lines[source])) or [""]
    told = [f"{source}: {', '.join(lines[source])}" for source in others]
    return "; ".join([f"Prices: {most}", *told])


def _water(console: Console, ledger: Ledger, plan: Plan) -> None:
    bill = ledger.water
    if bill is None:
        return
    water = show(bill.volume, "season volume", plan.yard.units)
    dearest = max(bill.periods, key=lambda one: one.more)
    _say(
        console,
        f"Water of a season: {water}, which adds {bill.cost:.0f} {ledger.currency} to the bills, {dearest.more:.0f} of "
        f"it in {dearest.months}; the fixed charge of those periods, {bill.fixed:.0f}, is paid anyway.",
    )


def _choices(console: Console, ledger: Ledger) -> None:
    if len(ledger.choices) < 2:
        return
    table = plain_table("layout", ">heads", ">more to build", ">water a season", ">more over twenty years")
    for one in ledger.choices:
        name = f"{one.aim or 'between'}{' (this plan)' if one.chosen else ''}"
        season = "" if one.season_cost is None else f"{one.season_cost:.0f}"
        lasting = "" if one.lasting is None else f"{one.lasting:+.0f}"
        table.add_row(name, str(one.heads), f"{one.more:+.0f}", season, lasting)
    console.print(table)


def _say(console: Console, text: str, style: str = "") -> None:
    console.print(text, highlight=False, markup=False, soft_wrap=True, style=style)
