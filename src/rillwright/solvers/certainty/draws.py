"""The whole yard drawn many times: every uncertain thing of every draw at once.

What all zones share (supply, charts, fittings, weather) lies on one scrambled Sobol sequence, which spreads evenly
where it matters most. What each head or zone has of its own (nozzles as made, heights, settings, the house) is drawn by
a seeded generator: there are too many for a low-discrepancy sequence to help. Same seed, same draws.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import special

from rillwright.model.plan import Head
from rillwright.model.site import HeadClass, Yard
from rillwright.solvers.certainty.heights import height_errors
from rillwright.solvers.certainty.spreads import (
    AIR_LOSS,
    AIR_LOSS_SPREAD,
    CHART_SPREAD,
    CONTROL_SPREAD,
    DEVICE_SPREAD,
    ENTRY_ERROR,
    EVENNESS_LOST,
    EVENNESS_SPREAD,
    FITTINGS_MEDIAN,
    FITTINGS_SPREAD,
    HOUSE_CHANCE,
    HOUSE_FLOW,
    INTAKE_SPREAD,
    LEAST_HEIGHT_ERROR,
    MAINS,
    NOZZLE_SPREAD,
    REGULATOR_SPREAD,
    ROUGHNESS_SPREAD,
    TEMPERATURE_SPREAD,
)
from rillwright.solvers.supply import SupplyFit
from rillwright.solvers.supply.prior import Supplies

__all__ = ["AT_ENTRY", "DRAWS", "YardDraws", "draw_yard", "further_zone"]

Floats = NDArray[np.float64]

DRAWS = 2048  # a power of two, as the Sobol sequence wants
AT_ENTRY = "water entry"  # where a regulator stands before the main
_DEVICES = 3  # backflow device, valve, and whatever else stands in the way


@dataclass(frozen=True, slots=True)
class YardDraws:
    """One row or entry for each draw. Factors multiply, shifts add."""

    supplies: Supplies
    roughness: Floats  # (n,) factor
    fittings: Floats  # (n,) factor
    devices: Floats  # (n, 3) factor of each device in a zone's way, in order
    temperature: Floats  # (n,) [K] of the water
    nozzle: Mapping[str, Floats]  # (n,) factor on a head's flow, by head: its chart's and its own
    chart: Mapping[HeadClass, Floats]  # (n,) the chart's part of it
    rise: Mapping[str, Floats]  # (n,) [m] shift of a head's height over the entry
    control: Mapping[str, Floats]  # (n,) factor on the flow that a zone's control is set to, by zone
    house: Mapping[str, Floats]  # (n,) [m³/s] drawn in the house while a zone runs
    regulator: Mapping[str, Floats]  # (n,) factor on what a regulator is set to, by zone, head or AT_ENTRY
    moment: Mapping[str, Floats]  # (n,) in 0 to 1: where a well's pump stands from cut-in to cut-out, by zone
    need: Floats  # (n,) standard normal: weekly need of water
    landing: Floats  # (n,) share of the water that lands
    evenness: Floats  # (n,) shift of DU
    wind: Floats  # (n,) in 0 to 1: which of the winds blows
    intake: Floats  # (n,) factor

    def among(self, heads: Collection[str], zones: Collection[str]) -> "YardDraws":
        """The same draws of some heads and zones."""
        return replace(
            self,
            nozzle={head: self.nozzle[head] for head in heads},
            rise={head: self.rise[head] for head in heads},
            control={zone: self.control[zone] for zone in zones},
            house={zone: self.house[zone] for zone in zones},
            regulator={k: self.regulator[k] for k in (*heads, *zones, AT_ENTRY) if k in self.regulator},
            moment={zone: self.moment[zone] for zone in zones},
        )

    def rows(self, numbers: NDArray[np.intp]) -> "YardDraws":
        """Some of the draws, by their numbers."""

        def cut(held: Any) -> Any:
            if isinstance(held, Supplies):
                return held.take(numbers)
            if isinstance(held, Mapping):
                return {name: values[numbers] for name, values in held.items()}
            return held[numbers]

        return replace(self, **{part.name: cut(getattr(self, part.name)) for part in fields(self)})

    @property
    def count(self) -> int:
        """Number of draws."""
        return len(self.need)


def draw_yard(
    yard: Yard,
    *,
    fit: SupplyFit,
    heads: Sequence[Head],
    zones: Sequence[str],
    seed: int,
    regulators: Sequence[str] = (),
    count: int = DRAWS,
) -> YardDraws:
    """Draw a yard.

    Parameters: yard; fit, its supply; heads and zones of its plan; seed; regulators, the zones and heads that have
    one, and AT_ENTRY; count, a power of two. Returns: the draws.
    """
    from scipy.stats import qmc  # takes a fifth of a second to import

    classes = sorted({head.head_class for head in heads})
    cube = qmc.Sobol(10 + _DEVICES + len(classes), scramble=True, rng=np.random.default_rng([seed, 1]))
    even = np.clip(cube.random(count), 1e-12, 1 - 1e-12)
    z = np.asarray(special.ndtri(even))
    own = np.random.default_rng([seed, 2])
    chart = {kind: np.asarray(1 + CHART_SPREAD * z[:, 9 + _DEVICES + k]) for k, kind in enumerate(classes)}
    spread = CONTROL_SPREAD[yard.valves.control_set]
    return YardDraws(
        supplies=_supplies(fit, even[:, 0]),
        roughness=np.exp(ROUGHNESS_SPREAD * z[:, 1]),
        fittings=FITTINGS_MEDIAN * np.exp(FITTINGS_SPREAD * z[:, 2]),
        devices=np.exp(DEVICE_SPREAD * z[:, 9 : 9 + _DEVICES]),
        temperature=np.clip(yard.water_entry.temperature + TEMPERATURE_SPREAD * z[:, 3], *MAINS),
        nozzle={h.id: chart[h.head_class] * _normal(own, count, NOZZLE_SPREAD) for h in heads},
        chart=chart,
        rise=_rises(yard, heads, z[:, 4], own),
        control={zone: _normal(own, count, spread).clip(0.5) for zone in zones},
        house={zone: np.where(own.random(count) < HOUSE_CHANCE, HOUSE_FLOW, 0.0) for zone in zones},
        regulator={name: _normal(own, count, REGULATOR_SPREAD).clip(0.5) for name in regulators},
        moment={zone: own.random(count) for zone in zones},
        need=z[:, 5],
        landing=1 - np.clip(AIR_LOSS + AIR_LOSS_SPREAD * z[:, 6], 0.0, 0.3),
        evenness=-EVENNESS_LOST + EVENNESS_SPREAD * z[:, 7],
        wind=even[:, -1],
        intake=np.exp(INTAKE_SPREAD * z[:, 8]),
    )


def further_zone(draws: YardDraws, zone: str, *, yard: Yard, seed: int) -> YardDraws:
    """The same draws with one more zone of the same heads; what is its own is drawn by its name."""
    own, count = np.random.default_rng([seed, 3, *zone.encode()]), draws.count
    return replace(
        draws,
        control={**draws.control, zone: _normal(own, count, CONTROL_SPREAD[yard.valves.control_set]).clip(0.5)},
        house={**draws.house, zone: np.where(own.random(count) < HOUSE_CHANCE, HOUSE_FLOW, 0.0)},
        moment={**draws.moment, zone: own.random(count)},
    )


def _normal(own: np.random.Generator, count: int, spread: float) -> Floats:
    """Factors about 1."""
    return np.asarray(1 + spread * own.standard_normal(count), dtype=float)


def _supplies(fit: SupplyFit, even: Floats) -> Supplies:
    """Pick supplies along their order by loss and static pressure, so that even numbers give an even spread of them."""
    order = np.argsort(fit.flows(0.5 * float(np.median(fit.static))), kind="stable")
    return fit.supplies.take(order[np.minimum((even * len(order)).astype(np.intp), len(order) - 1)])


def _rises(yard: Yard, heads: Sequence[Head], entry: Floats, own: np.random.Generator) -> dict[str, Floats]:
    """Errors of the heads' heights over the entry, alike where heads stand near each other."""
    if not heads:
        return {}
    spots = yard.spot_heights
    errors = [max(spot.error, LEAST_HEIGHT_ERROR) for spot in spots]
    normal = own.standard_normal((len(entry), len(heads)))
    ground = height_errors([h.at for h in heads], spots=[s.at for s in spots], errors=errors, normal=normal)
    return {head.id: ground[:, k] - ENTRY_ERROR * entry for k, head in enumerate(heads)}
