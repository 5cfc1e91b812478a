"""What a field test concludes, and the book of everything that it is read by."""

import math
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from rillwright.jobs.refit import Refit, refit
from rillwright.jobs.zone_models import regulators_of
from rillwright.model.field_log import Entry, supply_tests
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head, Plan
from rillwright.model.site import Yard
from rillwright.physics.units import show
from rillwright.report.workings import Working
from rillwright.solvers.certainty import YardDraws, draw_yard
from rillwright.solvers.supply import SupplyFit, boosted, fit_supply

__all__ = ["Answer", "Book", "Put", "band_words", "put_into"]

DRAWS = 64  # of the yard, for covariances
_SAME_PLACE = 1e-6  # in the yard's units


@dataclass(frozen=True, slots=True)
class Put:
    """What a conclusion would write into the yard's document, in the yard's units."""

    words: str  # what it is, e.g. '2 heights of the log'
    heights: tuple[Mapping[str, Any], ...] = ()  # spot heights that are added
    replaced: tuple[tuple[float, float], ...] = ()  # places of spot heights that they stand in for
    texture: str = ""  # the soil's from then on; empty: as it is


@dataclass(frozen=True, slots=True)
class Answer:
    """One conclusion."""

    subject: str  # short name and stem of its workings' keys, e.g. 'leak watch 1'
    verdict: str  # one sentence
    says: tuple[str, ...] = ()  # what it rests on and what it means
    do: tuple[str, ...] = ()  # what to do next
    workings: tuple[Working, ...] = ()
    entries: tuple[uuid.UUID, ...] = ()  # of the log, that it rests on
    put: Put | None = None  # into the yard, when its owner takes it for true


@dataclass(frozen=True)
class Book:
    """A plan, its catalogue and what counts of its field log."""

    plan: Plan
    catalogue: Catalogue
    entries: Sequence[Entry]
    seed: int = 0

    @cached_property
    def refitted(self) -> Refit:
        """The supply with the log's tests, as re-planning fits it too."""
        tests = [test for _, test in supply_tests(self.entries)]
        return refit(self.plan.yard, tests, self.catalogue, seed=self.seed)

    @property
    def yard(self) -> Yard:
        """The yard with the measurements of the supply that count."""
        return self.refitted.yard

    @property
    def service(self) -> SupplyFit:
        """The supply by all that counts, before a booster pump."""
        return self.refitted.fit

    @cached_property
    def fit(self) -> SupplyFit:
        """The supply as the yard's pipes see it."""
        pump = self.yard.water_entry.booster
        return self.service if pump is None else boosted(self.service, pump=pump)

    def draws(self, heads: Sequence[Head], zones: Sequence[str], *, count: int = DRAWS) -> YardDraws:
        """The yard drawn, nobody in the house drawing water."""
        return draw_yard(
            self.yard,
            fit=self.fit,
            heads=heads,
            zones=zones,
            seed=self.seed,
            regulators=regulators_of(self.plan),
            count=count,
        )

    def as_planned(self, count: int) -> YardDraws:
        """The yard drawn as before any entry of the log, all its heads and zones."""
        pump, fit = self.plan.yard.water_entry.booster, fit_supply(self.plan.yard, self.catalogue, seed=self.seed)
        return draw_yard(
            self.plan.yard,
            fit=fit if pump is None else boosted(fit, pump=pump),
            heads=self.plan.heads,
            zones=[zone.id for zone in self.plan.zones],
            seed=self.seed,
            regulators=regulators_of(self.plan),
            count=count,
        )

    def show(self, value: float, dimension: str) -> str:
        """A value in the yard's units."""
        return show(value, dimension, self.plan.yard.units)


def put_into(document: Mapping[str, Any], put: Put) -> dict[str, Any]:
    """A yard's document with what a conclusion would write into it; what stands there already is not written twice."""
    found = dict(document)
    there = document.get("spot_heights", [])
    fresh = [dict(one) for one in put.heights if one not in there]
    if fresh:
        found["spot_heights"] = [*(one for one in there if one in put.heights or not _replaced(one, put)), *fresh]
    if put.texture:
        found["soil"] = {**document.get("soil", {}), "texture": put.texture}
    return found


def _replaced(height: Mapping[str, Any], put: Put) -> bool:
    at = height.get("at", ())
    plain = len(at) == 2 and all(isinstance(value, int | float) for value in at)
    return plain and any(math.dist(at, place) < _SAME_PLACE for place in put.replaced)


def band_words(book: Book, low: float, high: float, dimension: str) -> str:
    """A band in words."""
    return f"{book.show(low, dimension)} to {book.show(high, dimension)}"
