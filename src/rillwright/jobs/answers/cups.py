"""Catch cups: evenness with its band, what the ground got, and the heads to set anew."""

import math
from collections.abc import Iterator, Sequence

from rillwright.errors import InputError
from rillwright.jobs.answers.answer import Answer, Book, band_words
from rillwright.jobs.answers.cup_words import (
    TOLD,
    amend_words,
    driest,
    error_told,
    percent,
    silence,
    told,
    unsure,
)
from rillwright.jobs.zone_models import zone_of
from rillwright.model.field_log import CatchCups, Entry
from rillwright.model.ground import resolve_ground
from rillwright.model.plan import Zone
from rillwright.report.workings import Given, Working
from rillwright.solvers.coverage import scene_of, water_rate
from rillwright.solvers.coverage.grid import cells_of, grid_round
from rillwright.solvers.cups import (
    BAD,
    CUP_LEAST,
    CUP_SHARE,
    Amend,
    Cup,
    EvennessFound,
    Land,
    Picture,
    amends_of,
    cups_alone,
    evenness_found,
    picture_of,
)

__all__ = ["cup_answers"]

_SOURCE = "docs/theory/cups.md"
_CELLS = 900  # wanted on the ground that is judged
_OWN = 0.9  # share of the water as planned, from which a zone's cups judge a piece of ground
_SHALLOW = 5e-3  # [m] mean depth under which reading the cups is most of the error


def cup_answers(book: Book) -> Iterator[Answer]:
    """What each setting out of cups says."""
    number = 0
    for entry in book.entries:
        if isinstance(entry.what, CatchCups):
            number += 1
            subject = f"catch cups {number}"
            try:
                yield _answer(subject, entry, entry.what, book)
            except InputError as error:
                yield Answer(subject, f"Not used: {error}", entries=(entry.id,))


def _answer(subject: str, entry: Entry, what: CatchCups, book: Book) -> Answer:
    zone = zone_of(book.plan, what.zone)
    if what.ran <= 0:
        raise InputError(f"the cups of {zone.id} give no time that it ran: write it in 'ran'")
    readings = zip(what.cups, what.depths, what.errors, strict=True)
    cups = [Cup(cup.at, depth, error) for cup, depth, error in readings]
    if not any(cup.depth > 0 for cup in cups):
        raise InputError(f"all cups of {zone.id} stayed dry: see whether it ran, and where they stood")
    land = _land(zone, what.ran, book)
    picture = picture_of(cups, land)
    alone, found = cups_alone(cups, seed=book.seed), evenness_found(picture, seed=book.seed)
    amends = amends_of(picture, land)
    du, rate = found.du, tuple(depth / what.ran for depth in found.depth)
    says = [
        f"The {len(cups)} cups alone: DU {book.show(alone.du[1], 'share')} "
        f"({band_words(book, alone.du[0], alone.du[2], 'share')}), CU {book.show(alone.cu[1], 'share')}.",
        f"Net rate {book.show(rate[1], 'rate')} ({band_words(book, rate[0], rate[2], 'rate')}); the plan says "
        f"{book.show(zone.precipitation, 'rate')} before losses. Water by the net rate.",
        driest(picture, land, book),
        *silence(picture, land, book),
    ]
    if found.depth[1] < _SHALLOW and None in what.errors:
        says.append(
            f"The cups hold {book.show(found.depth[1], 'depth')} on the mean: the eye errs by a good part of that. "
            "Let the zone run longer for a sharper answer."
        )
    return Answer(
        subject,
        f"DU {book.show(du[1], 'share')} in {zone.id} ({band_words(book, du[0], du[2], 'share')} in nine of ten).",
        tuple(says),
        (*(amend_words(amend, land, book) for amend in amends), *unsure(picture, amends, land, book)),
        (*_workings(subject, what, alone, found, book), *_odds(subject, what, picture, amends, book)),
        (entry.id,),
    )


def _land(zone: Zone, ran: float, book: Book) -> Land:
    """The lawn that this zone waters, all but alone."""
    plan = book.plan
    ground = resolve_ground(plan.yard)
    scene = scene_of(ground, plan.yard)
    heads = tuple(head for head in plan.heads if head.id in zone.heads)
    lawns = sorted({head.lawn for head in heads})
    shape = ground.lawns[lawns[0]]
    for name in lawns[1:]:
        shape = shape.union(ground.lawns[name])
    cell = min(max(math.sqrt(zone.area / _CELLS), 0.15), 0.5)
    grid = grid_round(shape.bounds, cell=cell, margin=0.5)
    own = water_rate(heads, catalogue=book.catalogue, grid=grid, scene=scene)
    others = [head for head in plan.heads if head.lawn in lawns and head.id not in zone.heads]
    rest = water_rate(others, catalogue=book.catalogue, grid=grid, scene=scene)
    cells = cells_of(shape, grid) & (own > 0) & (own >= _OWN * (own + rest))
    if cells.sum() < 20:
        raise InputError(
            f"no piece of lawn is watered by {zone.id} nearly alone, so that its cups judge no evenness: let all zones "
            "of the lawn run over the same cups, and add the depths up"
        )
    return Land(heads, ran, grid, cells, book.catalogue, scene)


def _workings(
    subject: str, what: CatchCups, alone: EvennessFound, found: EvennessFound, book: Book
) -> Iterator[Working]:
    given = _given(what, book)
    middle = ("low", "median", "high")
    kriged = "depth by model, wrongs of heads and a smooth rest, conditioned on the cups and drawn 500 times; quantile"
    again = "cups drawn again with replacement 2,000 times, turned about the cups' own value; quantile"
    for title, formula, one in (("", kriged, found), ("cups alone, ", again, alone)):
        stem = f"{subject}.alone" if title else subject
        for name, band, words in (
            ("du", one.du, "mean of the driest quarter / mean"),
            ("cu", one.cu, "1 - mean deviation / mean"),
        ):
            for end, value in zip(middle, band, strict=True):
                key, said = f"{stem}.{name}-{end}", f"{title}{name.upper()}"
                yield Working(key, said, value, "share", f"{words}; {formula}", given, _SOURCE)
    for end, depth in zip(middle, found.depth, strict=True):
        inputs = (*given, Given("mean depth", book.show(depth, "depth")))
        key = f"{subject}.rate-{end}"
        yield Working(key, "Net rate", depth / what.ran, "rate", "mean depth / time", inputs, _SOURCE, depth / what.ran)


def _given(what: CatchCups, book: Book) -> tuple[Given, ...]:
    known = sorted({error for error in what.errors if error is not None})
    by_eye = [f"{percent(CUP_SHARE)}, at least {book.show(CUP_LEAST, 'bore')}"] if None in what.errors else []
    errors = [*(f"{book.show(error, 'bore')}, as written" for error in known), *by_eye]
    return (
        Given("cups", str(len(what.cups))),
        Given("ran", book.show(what.ran, "minutes")),
        Given("standard error of a cup", "; ".join(errors)),
    )


def _odds(subject: str, what: CatchCups, picture: Picture, amends: Sequence[Amend], book: Book) -> Iterator[Working]:
    """How likely heads stand wrong, where that is told, and what DU gains by putting right those that are named."""
    formula = (
        f"weight of all states with it badly wrong / weight of all states; before the cups {percent(BAD)} each; "
        "weight: likelihood of the cups · chance before them"
    )
    for head, chance in picture.chances.items():
        if chance >= TOLD or head in {amend.head for amend in amends}:
            sizes = tuple(
                Given(told(one.setting, book), percent(one.chance))
                for one in picture.suspects
                if one.setting.head == head and one.chance >= TOLD
            )
            inputs = (*_given(what, book), *sizes)
            yield Working(
                f"{subject}.{head}.chance",
                f"Chance that {head} stands wrong",
                chance,
                "share",
                formula,
                inputs,
                _SOURCE,
            )
    for amend in amends:
        first = amend.what[0]
        gained = "DU with the head as planned, the rest as found, less DU as found"
        wrong = (Given("stands", told(first.setting, book)), Given("its error", error_told(first, book)))
        key = f"{subject}.{amend.head}.{first.setting.kind}"
        yield Working(key, f"Gain of DU at {amend.head}", amend.gain, "share", gained, wrong, _SOURCE)
