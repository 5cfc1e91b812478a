"""Cups on an invented ground with one fault that is known, and how plainly it shows in them.

Beside the fault every head stands as a careful person leaves it: flow 3 %, throw 2 %, edges of the arc 2°, its water
5 cm off each way. 92 ± 5 % of the water lands, with a smooth rest of 5 % and a reach of some 2 m; cups are read as by
eye. The law that reads the cups has wider figures and another rest.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy.spatial.distance import cdist

from rillwright.jobs.answers.cup_words import TOLD
from rillwright.solvers.cups import Cup, Land, Setting, amends_of, picture_of, stands
from rillwright.solvers.cups.law import CUP_LEAST, CUP_SHARE, LANDS, at_points
from rillwright.solvers.cups.wrongs import Wrong, faults_of, set_wrong, slopes_of, wrongs_of

SHOWS = 10.0  # chi-squared from which a fault shows
CAREFUL = {"flow": 0.03, "radius": 0.02, "turn": 2.0, "arc": 2.0, "lean x": 0.05, "lean y": 0.05}
LANDING, REST = 0.05, 0.05
REMEDIES = {"turn": "arc", "arc": "arc", "flow": "nozzle", "nozzle": "nozzle", "radius": "raise", "lean": "straighten"}
FAULTS = ("arc turned 25°", "arc 25° narrow", "half the flow", "wrong nozzle", "sunk, a fifth short", "leans 0.6 m")


class Tried(NamedTuple):
    """What the tool makes of one fault, or of heads as planned."""

    shows: bool  # the fault moves chi-squared of the cups by SHOWS
    first: bool  # its head is the likeliest of all
    remedy: bool  # and so is its remedy
    told: bool  # likely enough to be told, as suspect or named; of sound heads: any told
    named: bool
    other: bool  # a head that is right is named


@dataclass(frozen=True)
class Ground:
    """A land with what small errors of its heads do to its water."""

    land: Land
    wrongs: tuple[Wrong, ...]
    slopes: np.ndarray  # (1 + wrongs, ny, nx) [m], less what does not land

    @classmethod
    def of(cls, land: Land) -> "Ground":
        """Draw them."""
        wrongs = wrongs_of(land)
        return cls(land, wrongs, LANDS * slopes_of(land, wrongs))


def fault_of(land: Land, name: str, dice: np.random.Generator) -> Setting | None:
    """A fault of a kind at a head drawn from those that can have it; None when none can."""
    found = [(head.id, setting) for head in land.heads for setting in _faults(land, name, head)]
    heads = sorted({head for head, _ in found})
    if not heads:
        return None
    bad = heads[int(dice.integers(len(heads)))]
    own = [setting for head, setting in found if head == bad]
    return own[int(dice.integers(len(own)))]


def _faults(land: Land, name: str, head) -> Iterator[Setting]:
    kinds = dict(faults_of(land, head))
    if name.startswith("arc turned") and "turn" in kinds:
        yield from (Setting(head.id, "turn", (by,)) for by in (-25.0, 25.0))
    elif name.startswith("arc") and "arc" in kinds:
        yield Setting(head.id, "arc", (-25.0,))
    elif name == "half the flow":
        yield Setting(head.id, "flow", (-0.5,))
    elif name == "wrong nozzle":
        yield from kinds.get("nozzle", ())
    elif name.startswith("sunk"):
        yield Setting(head.id, "radius", (-0.2,))
    elif name.startswith("leans"):
        yield from (
            Setting(head.id, "lean", (float(0.6 * np.cos(a)), float(0.6 * np.sin(a)))) for a in 0.4 + np.arange(6)
        )


def caught(ground: Ground, fault: Setting | None, *, count: int, dice: np.random.Generator):
    """Cups at spots drawn, the depth on the ground [m], and by how much the fault moves chi-squared of the cups."""
    land, planned = ground.land, LANDS * ground.land.water(ground.land.heads)
    pick = dice.choice(int(land.cells.sum()), count, replace=False)
    x, y = land.grid.centres()
    at = np.column_stack([x[land.cells][pick], y[land.cells][pick]])
    sound = at_points(planned, at, land.grid)
    heads = {head.id: head for head in land.heads}
    shift = np.zeros(count)
    if fault is not None:
        heads[fault.head] = stands(fault, land)
        bad, right = land.water([heads[fault.head]]), land.water([land.head(fault.head)])
        shift = at_points(LANDS * (bad - right), at, land.grid)
    for wrong in ground.wrongs:
        by = CAREFUL[wrong.kind] * float(dice.standard_normal())
        heads[wrong.head] = set_wrong(heads[wrong.head], wrong.kind, by, land.catalogue)
    waves = (np.cos(dice.normal(0, 0.5) * x + dice.normal(0, 0.5) * y + dice.uniform(0, 6.28)) for _ in range(20))
    lands = LANDS * (1 + LANDING * dice.standard_normal())
    truth = lands * land.water(tuple(heads.values())) * (1 + REST * np.sqrt(0.1) * sum(waves))
    read = at_points(truth, at, land.grid)
    read = np.maximum(read + np.maximum(CUP_SHARE * read, CUP_LEAST) * dice.standard_normal(count), 0.0)
    cups = [Cup((float(a), float(b)), float(d)) for (a, b), d in zip(at, read, strict=True)]
    return cups, truth[land.cells], _gain(ground, at, sound, shift)


def _gain(ground: Ground, at: np.ndarray, sound: np.ndarray, shift: np.ndarray) -> float:
    careful = np.array([[CAREFUL[wrong.kind]] for wrong in ground.wrongs])
    little = careful * np.array([at_points(layer, at, ground.land.grid) for layer in ground.slopes[1:]])
    cover = (
        LANDING**2 * np.outer(sound, sound) + little.T @ little + np.diag(np.maximum(CUP_SHARE * sound, CUP_LEAST) ** 2)
    )
    cover += REST**2 * np.outer(sound, sound) * np.exp(-(cdist(at, at) ** 2) / 8)
    return float(shift @ np.linalg.solve(cover, shift))


def tried(ground: Ground, name: str | None, *, count: int, dice: np.random.Generator) -> Tried | None:
    """Set cups out over a fault drawn, or over sound heads (None), and read them; None when no head can have it."""
    fault = None if name is None else fault_of(ground.land, name, dice)
    if fault is None and name is not None:
        return None
    cups, _, gain = caught(ground, fault, count=count, dice=dice)
    picture = picture_of(cups, ground.land)
    named = {amend.head for amend in amends_of(picture, ground.land)}
    likeliest, chance = next(iter(picture.chances.items()), ("", 0.0))
    if fault is None:
        return Tried(False, False, False, chance >= TOLD, False, bool(named))
    first = likeliest == fault.head
    kinds = [one.setting.kind for one in picture.suspects if one.setting.head == fault.head]
    remedy = first and REMEDIES[kinds[0]] == REMEDIES[fault.kind]
    return Tried(
        gain > SHOWS,
        first,
        remedy,
        picture.chances.get(fault.head, 0.0) >= TOLD,
        fault.head in named,
        bool(named - {fault.head}),
    )
