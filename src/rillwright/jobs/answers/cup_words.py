"""What catch cups say of the heads, in words."""

import math
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from rillwright.jobs.answers.answer import Book
from rillwright.solvers.cups import GROSS, Amend, Fault, Land, Picture, Setting, Suspect, next_cups

__all__ = ["TOLD", "amend_words", "driest", "error_told", "percent", "silence", "told", "unsure"]

TOLD = 0.25  # chance from which a head that is not named is told
_SAME = 0.003  # of DU, that nobody notices
_DIRECTIONS = ("right", "upper right", "top", "upper left", "left", "lower left", "bottom", "lower right")


def driest(picture: Picture, land: Land, book: Book) -> str:
    """Where the ground gets least."""
    x, y = land.grid.centres()
    k = int(np.argmin(picture.mean))
    at = (float(x[land.cells][k]), float(y[land.cells][k]))
    near = min(land.heads, key=lambda head: math.dist(head.at, at))
    share = book.show(max(float(picture.mean[k] / picture.mean.mean()), 0.0), "share")
    return f"Driest is the ground at {_place(at, book)} on the plan, nearest to {near.id}: {share} of the mean."


def silence(picture: Picture, land: Land, book: Book) -> Iterator[str]:
    """What these cups would not show, were it so."""
    found = []
    words: Mapping[Fault, str] = {
        "flow": "half the flow lost",
        "radius": "a throw a quarter short",
        "turn": f"a turn of {GROSS['turn']:.0f}°",
        "arc": f"an arc {GROSS['arc']:.0f}° off",
        "lean": f"a lean that shifts the water {book.show(GROSS['lean'], 'length')}",
    }
    for kind, what in words.items():
        heads = [head.id for head in land.heads if kind in picture.silent.get(head.id, ())]
        if heads:
            found.append(f"{what} at {'any head' if len(heads) == len(land.heads) else ', '.join(heads)}")
    if found:
        yield f"So many cups, standing so, would hardly show {'; '.join(found)}."


def amend_words(amend: Amend, land: Land, book: Book) -> str:
    """What to put right at a head, how sure that is, and what it gains."""
    first, *others = amend.what
    says = [f"{amend.head} {_wrong(first.setting, land, book)}."]
    says += [f"Or, nearly as likely: it {_wrong(other.setting, land, book)}." for other in others]
    points = f"{100 * abs(amend.gain):.1f} points"
    gain = f"DU gains {points}" if amend.gain > 0 else f"DU falls by {points} until the other heads are right too"
    return f"{' '.join(says)} Chance {_sure(amend.chance)}; {'DU stays' if abs(amend.gain) < _SAME else gain}."


def unsure(picture: Picture, amends: Sequence[Amend], land: Land, book: Book) -> Iterator[str]:
    """What the cups leave open, and where the next ones settle most of it."""
    named = {amend.head for amend in amends}
    chances = {head: chance for head, chance in picture.chances.items() if chance >= TOLD and head not in named}
    heads = ", ".join(f"{head} ({percent(chance)})" for head, chance in chances.items())
    if amends:
        if chances:
            yield f"Where that is as planned after all, look at {heads}."
        yield "Then set the cups out anew: what else stands wrong shows after it."
        return
    if chances:
        perhaps = next(one.setting for one in picture.suspects if one.setting.head == next(iter(chances)))
        yield (
            f"These cups do not settle whether a head stands wrong; suspect: {heads}. "
            f"Look there first: {perhaps.head} perhaps {_wrong(perhaps, land, book)}."
        )
    else:
        yield "The cups point to no single head; set them as the plan says."
    spots = "; ".join(_place(at, book) for at in next_cups(picture, land))
    yield f"To be surer, set more cups out, beside those that stand: they tell most at {spots} on the plan."


def _wrong(setting: Setting, land: Land, book: Book) -> str:
    """What is wrong with a head and what to do about it, after its name."""
    head, stands = land.head(setting.head), told(setting, book)
    more = bool(setting.by) and setting.by[0] > 0
    fixed = land.catalogue.nozzles[head.nozzle].fixed_arcs
    remedies: Mapping[Fault, str] = {
        "flow": f"see that its nozzle is {head.nozzle}; else put in the next smaller one"
        if more
        else f"rinse nozzle and screen, see that it is {head.nozzle}; else put in the next larger one",
        "nozzle": f"see that it is {head.nozzle} and its radius screw stands as planned; rinse nozzle and screen",
        "turn": "turn it back",
        "arc": f"put in the one of {head.arc:.0f}°" if fixed else f"set it to {head.arc:.0f}°",
        "radius": "turn its radius screw in"
        if more
        else "raise it if it stands low in the grass, open its radius screw, and read its pressure",
        "lean": "straighten it",
    }
    return f"{stands}: {remedies[setting.kind]}"


def told(setting: Setting, book: Book) -> str:
    """What is wrong with a head, after its name."""
    if setting.kind == "nozzle":
        return f"waters as if its nozzle were {setting.nozzle}"
    if setting.kind == "lean":
        away = book.show(math.hypot(*setting.by), "length")
        return f"leans, its water falls {away} towards the {_direction(setting.by)} of the plan"
    (size,) = setting.by
    more = size > 0
    words: Mapping[Fault, str] = {
        "flow": f"gives {percent(abs(size))} {'more' if more else 'less'} than planned",
        "turn": f"stands {abs(size):.0f}° too far {'counter-' if more else ''}clockwise",
        "arc": f"sweeps {abs(size):.0f}° too {'wide' if more else 'narrow'}",
        "radius": f"throws {percent(abs(size))} too {'far' if more else 'short'}",
    }
    return words[setting.kind]


def error_told(suspect: Suspect, book: Book) -> str:
    """Standard error of the size of what is wrong."""
    if suspect.setting.kind in ("turn", "arc"):
        return f"{suspect.error:.0f}°"
    return book.show(suspect.error, "length") if suspect.setting.kind == "lean" else percent(suspect.error)


def percent(share: float) -> str:
    """A share in whole parts of a hundred, as odds and sizes of faults are known no better."""
    return f"{100 * share:.0f} %"


def _place(at: Sequence[float], book: Book) -> str:
    return ", ".join(book.show(value, "length") for value in at)


def _direction(by: Sequence[float]) -> str:
    return _DIRECTIONS[round(math.atan2(by[1], by[0]) / (math.pi / 4)) % 8]


def _sure(chance: float) -> str:
    return f"over {percent(0.99)}" if chance > 0.99 else percent(chance)
