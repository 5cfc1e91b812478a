"""Soil and ground: what a ring tells of the intake, and what spot heights change under the heads."""

import math
import uuid
from collections.abc import Iterator
from typing import Any

from rillwright.jobs.answers.answer import Answer, Book, Put, band_words
from rillwright.model.catalogue import slope_class
from rillwright.model.field_log import Entry, SoilIntake, SpotLevel
from rillwright.model.ground import resolve_ground
from rillwright.model.growing import TEXTURES, Texture
from rillwright.model.site import SpotHeight, Yard
from rillwright.model.soils import soil_kinds
from rillwright.report.workings import Given, Working
from rillwright.solvers.intake import Intake, ring_intake

__all__ = ["ground_answers"]

_INTAKE = "docs/theory/intake.md"
_MOVED = 0.02  # [m] from which a head's ground is told to have moved
_SPOT, _SAME = 0.1, 0.01  # [m] aside and in height, within which the yard holds a height of the log already


def ground_answers(book: Book) -> Iterator[Answer]:
    """One answer for each ring, and one for all spot heights."""
    rings = [entry for entry in book.entries if isinstance(entry.what, SoilIntake)]
    for number, entry in enumerate(rings, start=1):
        assert isinstance(entry.what, SoilIntake)
        yield _of_ring(f"soil intake {number}", entry, entry.what, book)
    spots = [entry for entry in book.entries if isinstance(entry.what, SpotLevel)]
    fresh = [entry for entry in spots if isinstance(entry.what, SpotLevel) and not _known(entry.what, book)]
    if fresh:
        yield _of_heights(fresh, book)
    elif spots:
        yield Answer("spot heights", f"{_heights(spots)}: the plan's yard has the same there.", entries=_ids(spots))


def _of_ring(subject: str, entry: Entry, what: SoilIntake, book: Book) -> Answer:
    looks = what.readings
    found = ring_intake([one.after for one in looks], [one.soaked for one in looks], error=what.depth_error)
    low, rate, high = found.band
    yard, table = book.plan.yard, book.catalogue.intake
    flat = slope_class(0.0)
    planned = table.get((yard.soil.texture, flat))
    says = [_standing(found, book)]
    if what.outer_ring is None:
        says.append("Without an outer ring some of the water went sideways: the lawn takes in less than this.")
    flats = {texture: table[texture, flat] for texture in TEXTURES if (texture, flat) in table}
    nearest = min(flats, key=lambda texture: abs(math.log(flats[texture] / rate)))
    do: tuple[str, ...] = ()
    put = None
    if planned is not None:
        says.append(f"The plan takes {yard.soil.texture}, which on flat ground takes in {book.show(planned, 'rate')}.")
        if not low <= planned <= high and nearest != yard.soil.texture:
            do = (f"Write '{nearest}' as the soil of the yard, which comes nearest, and plan again.",)
            says.append(_of_texture(nearest, planned, book))
            put = Put(f"{nearest} as the soil", texture=nearest)
    given = (
        Given("ring, inside", book.show(what.ring, "bore")),
        Given("looks", str(len(looks))),
        Given("soaked in", book.show(looks[-1].soaked, "depth")),
        Given("in", book.show(looks[-1].after, "minutes")),
        Given("power of time", f"{found.power:.2f}"),
        Given("curve misses the looks by", f"{1e3 * found.misfit:.1f} mm"),
    )
    formula = (
        "k · a · t^(a-1) with F = k t^a fitted by least squares; band with the spread of a lawn from place to place"
    )
    workings = tuple(
        Working(f"{subject}.rate-{end}", "Intake at the end of the watch", value, "rate", formula, given, _INTAKE)
        for end, value in zip(("low", "median", "high"), found.band, strict=True)
    )
    verdict = f"It takes in {book.show(rate, 'rate')} ({band_words(book, low, high, 'rate')}) once it is wet."
    workings = (*workings, *_stands(subject, found, given, book))
    return Answer(subject, verdict, tuple(says), do, workings, (entry.id,), put)


def _of_texture(texture: Texture, planned: float, book: Book) -> str:
    """What another soil in the yard changes in what a plan is made by."""
    yard, kinds = book.plan.yard, soil_kinds()
    then = book.catalogue.intake[texture, slope_class(0.0)]
    over = [[zone.id for zone in book.plan.zones if zone.precipitation > rate] for rate in (planned, then)]
    before, after = (", ".join(zones) or "none" for zones in over)
    words = (
        f"With {texture} in the yard the plan takes {book.show(then, 'rate')} on flat ground in place of "
        f"{book.show(planned, 'rate')} (zones that put on more, and so water in turns: {after}; before: {before})"
    )
    if yard.soil.field_capacity is not None and yard.soil.wilting_point is not None:
        return f"{words}; what it holds you have said yourself."
    held = [kinds[one].field_capacity - kinds[one].wilting_point for one in (yard.soil.texture, texture)]
    was, now = (book.show(share * yard.turf.root_depth, "depth") for share in held)
    return f"{words}, and the grass finds {now} of water in its roots' depth in place of {was}."


def _standing(found: Intake, book: Book) -> str:
    """How long each zone may run before water stands."""
    words = []
    for zone in book.plan.zones:
        stands = found.stands_after(zone.precipitation)
        words.append(
            f"{zone.id} {book.show(stands, 'minutes')}" if stands < 12 * 3600 else f"{zone.id} as long as it likes"
        )
    return f"Before water stands on dry flat ground a zone may run: {', '.join(words)}; slopes less."


def _stands(subject: str, found: Intake, given: tuple[Given, ...], book: Book) -> Iterator[Working]:
    for zone in book.plan.zones:
        stands = found.stands_after(zone.precipitation)
        if math.isfinite(stands):
            rate = Given("precipitation rate", book.show(zone.precipitation, "rate"), f"zone.{zone.id}.precipitation")
            formula = "F / rate, with F = k (rate / (a k))^(a/(a-1))"
            title = f"Longest run of {zone.id} before water stands"
            key = f"{subject}.run.{zone.id}"
            yield Working(key, title, stands, "minutes", formula, (*given, rate), _INTAKE, stands)


def _known(what: SpotLevel, book: Book) -> bool:
    return any(abs(spot.height - what.height) < _SAME for spot in _beside(what, book.plan.yard))


def _beside(what: SpotLevel, yard: Yard) -> list[SpotHeight]:
    return [spot for spot in yard.spot_heights if math.dist(spot.at, what.place) < _SPOT]


def _heights(entries: list[Entry]) -> str:
    return f"{len(entries)} height{'s' if len(entries) > 1 else ''} of the log"


def _instead(read: list[SpotLevel], book: Book) -> list[tuple[SpotLevel, SpotHeight]]:
    """Heights of the log at a spot where the yard has another."""
    return [(one, spot) for one in read for spot in _beside(one, book.plan.yard)]


def _of_heights(entries: list[Entry], book: Book) -> Answer:
    yard = book.plan.yard
    read = [entry.what for entry in entries if isinstance(entry.what, SpotLevel)]
    more = [SpotHeight(at=one.place, height=one.height, error=one.error) for one in read]
    instead = _instead(read, book)
    gone = [spot for _, spot in instead]
    heights = [*(spot for spot in yard.spot_heights if spot not in gone), *more]
    before, after = (resolve_ground(one).terrain for one in (yard, yard.model_copy(update={"spot_heights": heights})))
    off = max((abs(one.height - before.at(*one.place)) for one in read), default=0.0)
    moved = {head.id: after.at(*head.at) - before.at(*head.at) for head in book.plan.heads}
    far = {name: rise for name, rise in moved.items() if abs(rise) >= _MOVED}
    number = _heights(entries)
    put = Put(
        number,
        heights=tuple(_typed(one, yard) for one in more),
        replaced=tuple(tuple(_typed(spot, yard)["at"]) for spot in gone),
    )
    twice = [
        f"The log's {book.show(one.height, 'length')} at {', '.join(book.show(v, 'length') for v in spot.at)} stand in "
        f"for the yard's {book.show(spot.height, 'length')}."
        for one, spot in instead
    ]
    verdict = f"{number}: at most {book.show(off, 'length')} off the ground that the plan took."
    if not far:
        little = "No head's ground moves by more than an eye sees."
        return Answer("spot heights", verdict, (little, *twice), (), (), _ids(entries), put)
    weight = yard.water_entry.weight
    most = max(far, key=lambda name: abs(far[name]))
    words = "higher" if far[most] > 0 else "lower"
    says = (
        f"{len(far)} heads stand otherwise, {most} most: {book.show(abs(far[most]), 'length')} {words}, which "
        f"{'takes' if far[most] > 0 else 'gives'} {book.show(weight * abs(far[most]), 'pressure')}.",
        *twice,
    )
    workings = tuple(
        Working(
            f"spot heights.{name}",
            f"Pressure that the ground under {name} changes",
            -weight * rise,
            "pressure",
            "-density · g · (ground with the log's heights - ground of the plan)",
            (Given("rise of its ground", book.show(rise, "length")),),
            "docs/theory/hydraulics.md",
            -weight * rise,
        )
        for name, rise in far.items()
    )
    do = (
        "Put the heights into the yard, with their error, and plan again. If the job is half built and needs a change, "
        "look for changes first: they go by the ground that was planned on.",
    )
    return Answer("spot heights", verdict, says, do, workings, _ids(entries), put)


def _typed(spot: SpotHeight, yard: Yard) -> dict[str, Any]:
    """A spot height as the yard's document has it."""
    return spot.model_dump(mode="json", exclude_defaults=True, context={"units": yard.units})


def _ids(entries: list[Entry]) -> tuple[uuid.UUID, ...]:
    return tuple(entry.id for entry in entries)
