"""What a head class offers at one pressure: throws to choose from, and how far apart heads may stand."""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rillwright.model.catalogue import MATCHED, flow_at, radius_at
from rillwright.model.parts import Catalogue, Nozzle, Profile
from rillwright.model.site import HeadClass

__all__ = ["FLOW_CARE", "STEP", "Family", "Kit", "Throw", "make_kit", "spacing_share"]

Floats = NDArray[np.float64]

STEP = 2  # [°] arcs and their ends are whole steps

_SHARES = (1.0, 0.95, 0.9, 0.85, 0.8, 0.75, 0.7)
FLOW_CARE = 0.25  # cost of a rate off the family's, per logarithm
_MISMATCH_CARE = 1.5  # the same, past half the tolerance of the class
_WIND = (2.235, 4.470, 6.706)  # [m/s] 5, 10 and 15 mph
_SPACING = (1.0, 0.9, 0.8)  # of the radius
_WIDEST_PART = 330  # [°] a circle is not set short by a wedge thinner than 30°; common practice, no source


def spacing_share(wind: float) -> float:
    """Largest spacing of heads as a share of their radius, for a wind [m/s]; never rises with the wind.

    Head to head (the radius, half the wetted diameter) up to 5 mph, nine tenths of it at 10 mph, eight tenths from
    15 mph. Source: common practice; inside the limits of NRCS Practice Standard 442, from memory.

    >>> spacing_share(0.0), round(spacing_share(4.47), 3)
    (1.0, 0.9)
    """
    return float(np.interp(wind, _WIND, _SPACING))


@dataclass(frozen=True, slots=True, eq=False)
class Throw:
    """A nozzle with its radius turned down to a share. A kit makes each once: they are told apart as objects."""

    nozzle: Nozzle
    share: float
    radius: float  # [m] thrown; of a strip its length


@dataclass(frozen=True, slots=True, eq=False)
class Family:
    """Heads meant to work together: the radius they stand by and the flow that each degree of it should pass."""

    radius: float  # [m]
    flow_per_degree: float  # [m³/s/°]

    def wanted_flow(self, reach: float) -> float:
        """Flow for each degree [m³/s/°] that gives a sector of a reach [m] the same precipitation as the others."""
        return self.flow_per_degree * (reach / self.radius) ** 2


@dataclass(frozen=True)
class Kit:
    """One head class at one pressure."""

    head_class: HeadClass
    pressure: float  # [Pa]
    nozzles: tuple[Nozzle, ...]
    catalogue: Catalogue

    @cached_property
    def throws(self) -> tuple[Throw, ...]:
        """Every nozzle of the class at every share to which it may be turned down, least radius first."""
        out = []
        for nozzle in self.nozzles:
            full = radius_at(nozzle, self.pressure)
            lowest = 1.0 - nozzle.shorten
            shares = [share for share in _SHARES if share > lowest + 1e-9]
            out += [Throw(nozzle, share, full * share) for share in [*shares, lowest] if share > 0]
        return tuple(sorted(out, key=lambda throw: (throw.radius, throw.nozzle.id)))

    @property
    def matched(self) -> float:
        """Greatest ratio of precipitation between the heads of a zone that still counts as matched."""
        return MATCHED[self.head_class]

    @cached_property
    def alike(self) -> float:
        """The same as a logarithm: how far those of the heads' rates may lie apart."""
        return math.log(self.matched)

    @property
    def least_radius(self) -> float:
        """Least radius [m] that the class can be turned down to."""
        return self.throws[0].radius

    @property
    def greatest_radius(self) -> float:
        """Greatest radius [m] of the class."""
        return self.throws[-1].radius

    @cached_property
    def families(self) -> tuple[Family, ...]:
        """One family for each nozzle, largest radius first.

        Where the flow follows the arc the nozzle serves every arc. Else it is the half circle of its family, so that
        smaller nozzles can serve the corners and larger ones the middle.
        """
        made = []
        for nozzle in self.nozzles:
            arc = 360.0 if nozzle.flow_follows_arc else 180.0
            made.append(Family(radius_at(nozzle, self.pressure), flow_at(nozzle, self.pressure, arc) / arc))
        return tuple(sorted(made, key=lambda family: -family.radius))

    def flow(self, throw: Throw, arc: float) -> float:
        """Flow [m³/s] of a nozzle, turned down to its throw and set to an arc [°]."""
        if (throw, arc) not in self._flows:
            self._flows[throw, arc] = flow_at(throw.nozzle, self.pressure, arc, radius_share=throw.share)
        return self._flows[throw, arc]

    def profile(self, nozzle: Nozzle) -> Profile:
        """Radial profile of a nozzle."""
        return self.catalogue.profiles[nozzle.profile]

    def arcs(self, nozzle: Nozzle) -> tuple[int, ...]:
        """Arcs to set the nozzle to, in whole steps, least first; none that is a circle but for a thin wedge."""
        if nozzle.id not in self._arcs:
            self._arcs[nozzle.id] = self._settable(nozzle)
        return self._arcs[nozzle.id]

    def _settable(self, nozzle: Nozzle) -> tuple[int, ...]:
        if nozzle.fixed_arcs:
            return tuple(round(arc / STEP) for arc in sorted(nozzle.fixed_arcs))
        low, high = math.ceil(nozzle.arc_low / STEP - 1e-9), math.floor(nozzle.arc_high / STEP + 1e-9)
        return tuple(arc for arc in range(low, high + 1) if arc * STEP <= _WIDEST_PART or arc == high)

    @cached_property
    def _arcs(self) -> dict[str, tuple[int, ...]]:
        return {}

    @cached_property
    def _flows(self) -> dict[tuple[Throw, float], float]:
        return {}

    @cached_property
    def _cares(self) -> dict[tuple[Family, tuple[Throw, ...]], tuple[Floats, Floats]]:
        return {}

    def flow_cares(self, family: Family, throws: tuple[Throw, ...]) -> tuple[Floats, Floats]:
        """Radius [m] of each throw, and cost of its rate off the family's at every arc from one step to the circle.

        Shapes (throws,) and (throws, arcs); infinite at arcs that the nozzle cannot be set to.
        """
        known = self._cares.get((family, throws))
        if known is None:
            radii = np.array([throw.radius for throw in throws])
            known = radii, np.stack([self._flow_care(family, throw) for throw in throws])
            self._cares[family, throws] = known
        return known

    def _flow_care(self, family: Family, throw: Throw) -> Floats:
        care, steps = np.full(360 // STEP, np.inf), np.array(self.arcs(throw.nozzle))
        arcs = steps * float(STEP)
        circle = self.flow(throw, 360.0)
        flows = circle * arcs / 360 if throw.nozzle.flow_follows_arc else circle
        off = np.abs(np.log(flows / (arcs * family.wanted_flow(throw.radius))))
        care[steps - 1] = FLOW_CARE * off + _MISMATCH_CARE * np.maximum(0.0, off - self.alike / 2)
        return care


def make_kit(head_class: HeadClass, *, catalogue: Catalogue, pressure: float) -> Kit:
    """Gather the nozzles of a class in the catalogue, in the order of their ids."""
    chosen = (nozzle for nozzle in catalogue.nozzles.values() if nozzle.head_class == head_class)
    return Kit(head_class, pressure, tuple(sorted(chosen, key=lambda nozzle: nozzle.id)), catalogue)
