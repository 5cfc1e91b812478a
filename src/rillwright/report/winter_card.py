"""The winter card: the season's work in order, with its figures, for page, paper and terminal."""

import json
from collections.abc import Iterator, Sequence
from datetime import date
from importlib import resources
from pathlib import Path
from typing import Any

import matplotlib as mpl
import typst

from rillwright.model.plan import Plan
from rillwright.model.winter import MOST_RUN, BlowOut, Drained, FreezeDates, LowPoint, Winter, WinterClimate, ZoneBlow
from rillwright.model.winter_card import CardPart, CardTable, WinterCard
from rillwright.physics.units import System, show
from rillwright.report.guide_words import long_date

__all__ = ["blow_words", "card_pdf", "emptied", "winter_card"]

_MOST_LOWS = 12
_PAPER = {"US": "us-letter", "metric": "a4"}
_AIR = (
    "Compressed air can maim and kill: eye protection for everybody, and nobody stands over a head or a valve box, or "
    "bends over a fitting, while the line is under air.",
    "Never blow through the backflow protection: join the hose to the fitting behind it, the way to the house shut.",
    "Open a zone's valve before the air comes, and shut the air before the valve: a closed pipe full of air bursts.",
    "The compressor stays with somebody; a hose that whips is held by its safety wire.",
)
_COCKS = "Open the test cocks of the {}, and stand its ball valves half open: water behind a closed ball bursts it."
_FLOATS = "Vacuum breakers empty when their valves are shut: lift the float of each {} to be sure."


def winter_card(winter: Winter, plan: Plan) -> WinterCard:
    """Write the card."""
    return WinterCard(
        yard=plan.yard.name,
        headline=_headline(winter),
        tonight=_tonight(winter, plan),
        parts=(*_autumn(winter, plan), _spring(winter, plan)),
        tables=tuple(_tables(winter, plan)),
        assumed=winter.says,
    )


def card_pdf(card: WinterCard, plan: Plan) -> bytes:
    """Lay the card out on paper."""
    words = card.model_dump() | {"paper": _PAPER[plan.yard.units]}
    template = resources.files("rillwright.report") / "templates" / "winter.typ"
    files: Any = {"card.json": json.dumps(words).encode(), "main": template.read_bytes()}
    fonts = Path(mpl.get_data_path()) / "fonts" / "ttf"
    return bytes(typst.compile(files, font_paths=[str(fonts)], ignore_system_fonts=True, timestamp=0))


def _headline(winter: Winter) -> str:
    never = [one.part for one in winter.dates if one.midsummer]
    if never:
        return (
            f"By this record {', '.join(never)} can be harmed at midsummer too: no day is safe to fill the system, and "
            "no date is told. Look at the weather file's units and place."
        )
    if winter.drain_by is None:
        hard = [one for one in winter.freezes if one.freezes]
        return (
            f"Frost reaches {len(hard)} of {len(winter.freezes)} pipes in a hard winter; the record tells no date."
            if winter.freezes
            else "Drain before the first night of frost: without a weather record no date is told."
        )
    early = min((one.first_low for one in winter.dates if one.first_low is not None), default=None)
    few = f" Band from {_day(early)}." if early is not None and early <= winter.drain_by else ""
    spring = f" Start up after {long_date(winter.start_after)}." if winter.start_after else ""
    return f"Drain by {long_date(winter.drain_by)}: in 1 year of 20 frost does harm earlier.{few}{spring}"


def _tonight(winter: Winter, plan: Plan) -> CardPart | None:
    night = winter.tonight
    if night is None:
        return None
    low = show(night.low, "temperature", plan.yard.units)
    told = tuple(
        f"{one.part}: {one.ice:.0%} of its water freezes"
        + (
            f", past the {one.bursts_at:.0%} that it bears {_hours(one.hours)} after six in the evening"
            if one.hours is not None
            else ""
        )
        + "."
        for one in night.parts
    )
    return CardPart(title=f"Tonight {low}: do this", says=told, steps=night.do)


def _autumn(winter: Winter, plan: Plan) -> Iterator[CardPart]:
    system = plan.yard.units
    drains = [
        f"{one.line}: open the drain at {one.drain}; {show(one.runs_out, 'volume', system)} run out, "
        f"{_stays(one, system)}."
        for one in winter.drained
    ]
    yield CardPart(
        title="Shut and drain",
        says=_reached(winter),
        steps=(
            "Switch the controller to off; leave it under power, so that it keeps dry.",
            "Shut the isolating valve before the main, where frost does not reach it.",
            *drains,
            emptied(plan),
        ),
    )
    yield _blowing(winter.blow_out, plan)
    yield CardPart(
        title="Leave for the winter",
        steps=(
            "All drains and test cocks stay open; valves that air has passed stay half open.",
            "Take off and bring in: gauges, filter cups, vacuum relief bonnets, a pump that can be carried.",
            "Write in the log what was done, and the date.",
        ),
    )


def _stays(one: Drained, system: System) -> str:
    count = len(one.low_points)
    if not count:
        return "none stays"
    return f"{show(one.trapped, 'volume', system)} stay in {count} low point{'s' if count > 1 else ''}"


def _reached(winter: Winter) -> tuple[str, ...]:
    if not winter.freezes:
        return ()
    hard = sum(one.freezes for one in winter.freezes)
    return (f"Frost reaches {hard} of {len(winter.freezes)} pipes in the design winter.",)


def _blowing(blow: BlowOut, plan: Plan) -> CardPart:
    system = plan.yard.units
    setting = show(blow.regulator, "pressure", system)
    steps = [
        f"Join the hose to the blow-out fitting ({blow.fitting}), the way to the house shut.",
        f"Set the compressor's regulator to {setting}, no more.",
        *(f"{zone.turn}. {zone.zone}: {blow_words(zone, plan)}" for zone in blow.zones),
        "Once round again, a few seconds for each zone: what ran together in low points comes out.",
    ]
    says = [
        f"{blow.compressor.name} compressor: {show(blow.compressor.tank, 'volume', system)} tank, "
        f"{show(blow.compressor.air, 'air flow', system)}. At most {setting}: {blow.weakest}.",
        f"{blow.most_dry:.0f} s of air alone at the most, then let it cool; {MOST_RUN:.0f} s of air at a stretch.",
    ]
    if blow.through_breakers:
        says.append(
            "This plan's breakers stand behind the valves, so air from the main passes them: take their insides out "
            "first, or join the hose behind each breaker instead."
        )
    if blow.not_blown:
        says.append(
            f"Air does not come through {', '.join(blow.not_blown)}: open its drain; in a ring shut the stops on one "
            "side, then on the other, so that air takes each way once."
        )
    stuck = [zone.zone for zone in blow.zones if zone.status != "cleared"]
    if stuck:
        more = max(blow.zones, key=lambda zone: zone.needs_air)
        says.append(
            f"This compressor does not clear {', '.join(stuck)}: rent one that gives "
            f"{show(more.needs_air, 'air flow', system)} at {show(more.needs_pressure, 'pressure', system)}, or cap "
            "the heads that blow first and go on."
        )
    return CardPart(title="Blow out", says=tuple(says), cautions=_AIR, steps=tuple(steps))


def emptied(plan: Plan) -> str:
    """How the backflow protection is emptied, in a sentence."""
    return (_FLOATS if plan.backflow == "atmospheric vacuum breaker" else _COCKS).format(plan.backflow)


def blow_words(zone: ZoneBlow, plan: Plan) -> str:
    """How one zone is blown out, in a sentence."""
    system = plan.yard.units
    runs = ", ".join(f"{run:.0f} s" for run in zone.runs[:6]) + (", and so on" if zone.cycles > 6 else "")
    times = f"air for {runs}"
    if zone.cycles > 1:
        times = f"{zone.cycles} times air ({runs}), the tank filled in between ({_minutes(zone.rests)} in all)"
    last = (
        f"the last head blows air after {zone.last_air:.0f} s of it"
        if zone.last_air is not None
        else f"{zone.far_head} or another head never blows air"
    )
    left = show(zone.left, "volume", system)
    done = {"cleared": "cleared", "stalled": "NOT cleared", "too many cycles": "NOT cleared"}[zone.status]
    return f"{times}; {last}; {left} of {show(zone.volume, 'volume', system)} stay as film: {done}."


def _spring(winter: Winter, plan: Plan) -> CardPart:
    system = plan.yard.units
    after = f" after {long_date(winter.start_after)}" if winter.start_after else ""
    fills = [
        f"{one.line}: crack its valve until about {show(one.fill_flow, 'flow', system)} run; "
        f"{_minutes(one.fill_seconds)} until it is full, then open over {one.open_seconds:.0f} s."
        for one in winter.fills
    ]
    slam = max((one.slam for one in winter.fills), default=0.0)
    return CardPart(
        title=f"Spring{after}",
        says=(
            f"A valve thrown open slams water against closed ends with up to {show(slam, 'pressure', system)} "
            "over the standing pressure: fill slowly.",
        ),
        cautions=(
            "Close up the backflow protection before water comes: heads lay open all winter. Where the law says so, a "
            "certified tester tests it before it is used.",
            "Snow that lies can hold frost in the ground for weeks longer, and no date counts it: wait until it is "
            "gone and a rod goes in as deep as the pipes lie.",
        ),
        steps=(
            "Close drains and test cocks; put back what was taken in.",
            "Open the highest head or fitting of each line, so that air gets out ahead of the water.",
            *fills,
            "Read the static pressure, then flow and pressure at the worst head of each zone; write them in the log.",
            "Compare with last year's first readings: the yearly record says what drifted.",
        ),
    )


def _tables(winter: Winter, plan: Plan) -> Iterator[CardTable]:
    system = plan.yard.units
    yield _blow_table(winter.blow_out, system)
    if winter.climate is not None and winter.frost:
        yield _frost_table(winter, winter.climate, system)
    if winter.bodies:
        yield CardTable(
            title="Over the ground",
            columns=("part", "number", "ice begins", "harm"),
            rows=tuple((b.name, str(b.count), _hours(b.hours_to_ice), _hours(b.hours_to_harm)) for b in winter.bodies),
            keys=tuple(f"winter.body.{b.kind}.harm" for b in winter.bodies),
            note=f"In still air of {show(268.15, 'temperature', system)}, from {show(283.15, 'temperature', system)}.",
        )
    if winter.dates:
        yield _date_table(winter.dates)
    lows = [low for line in winter.drained for low in line.low_points]
    if lows:
        yield _low_table(lows, system)


def _blow_table(blow: BlowOut, system: System) -> CardTable:
    return CardTable(
        title="Blow-out by zone",
        columns=("zone", "water", "air wanted", "pressure wanted", "cycles", "air in all", "rests", "stays", "outcome"),
        rows=tuple(
            (
                f"{z.turn}. {z.zone}",
                show(z.volume, "volume", system),
                show(z.needs_air, "air flow", system),
                show(z.needs_pressure, "pressure", system),
                str(z.cycles),
                f"{sum(z.runs):.0f} s",
                _minutes(z.rests),
                show(z.left, "volume", system),
                z.status,
            )
            for z in blow.zones
        ),
        keys=tuple(f"winter.blow.{z.zone}.needs-air" for z in blow.zones),
        note="Wanted: what keeps the far head up while every head blows air.",
    )


def _frost_table(winter: Winter, climate: WinterClimate, system: System) -> CardTable:
    return CardTable(
        title="Frost in the ground",
        columns=("under", "usual winter", "design winter", "never deeper than"),
        rows=tuple(
            (one.surface, *(show(d, "depth", system) for d in (one.usual, one.design, one.most)))
            for one in winter.frost
        ),
        keys=tuple(f"winter.frost.{one.surface}.design" for one in winter.frost),
        note=f"{winter.soil}; design winter {show(climate.design, 'freezing index', system)}: {climate.design_is}.",
    )


def _date_table(dates: Sequence[FreezeDates]) -> CardTable:
    return CardTable(
        title="Dates",
        columns=("part", "first harm, 1 in 20", "90 % band", "usual", "last harm, 1 in 20", "90 % band", "rests on"),
        rows=tuple(_date_row(one) for one in dates),
        keys=tuple(f"winter.date.{n}.first" if one.first_safe else "" for n, one in enumerate(dates, start=1)),
    )


def _low_table(lows: Sequence[LowPoint], system: System) -> CardTable:
    """The low points that hold the most, as many as a card has room for."""
    shown = sorted(lows, key=lambda low: (-low.volume, low.pipe, low.at))[:_MOST_LOWS]
    more = f" {len(lows) - len(shown)} smaller ones are not listed." if len(lows) > len(shown) else ""
    return CardTable(
        title="Low points that gravity leaves full",
        columns=("line", "pipe", "at", "water", "length"),
        rows=tuple(
            (
                low.line,
                low.pipe,
                f"{show(low.at[0], 'length', system)}, {show(low.at[1], 'length', system)}",
                show(low.volume, "volume", system),
                show(low.length, "length", system),
            )
            for low in shown
        ),
        note=f"x and y on the plan. Each wants a drain of its own, or air.{more}",
    )


def _date_row(one: FreezeDates) -> tuple[str, ...]:
    def band(low: date | None, high: date | None) -> str:
        return f"{_day(low)} to {_day(high)}" if low and high else "-"

    return (
        one.part,
        _day(one.first_safe),
        band(one.first_low, one.first_high),
        _day(one.first_median),
        _day(one.last_safe),
        band(one.last_low, one.last_high),
        one.says,
    )


def _day(day: date | None) -> str:
    return "-" if day is None else f"{day.day} {day:%b}"


def _hours(seconds: float | None) -> str:
    if seconds is None:
        return "-"
    return f"{seconds / 3600:.1f} h"


def _minutes(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 100 else f"{seconds / 60:.0f} min"
