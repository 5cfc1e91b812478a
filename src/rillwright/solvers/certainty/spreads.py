"""What is uncertain in a yard besides its supply, by how much, and who says so."""

from rillwright.model.certainty import Spread
from rillwright.model.site import HOUSE_FLOWS, Yard
from rillwright.physics.units import show
from rillwright.solvers.certainty.heights import DATUM, UNEVEN

__all__ = [
    "AIR_LOSS",
    "AIR_LOSS_SPREAD",
    "CHART_SPREAD",
    "CONTROL_SPREAD",
    "DEVICE_SPREAD",
    "ENTRY_ERROR",
    "EVENNESS_LOST",
    "EVENNESS_SPREAD",
    "FITTINGS_MEDIAN",
    "FITTINGS_SPREAD",
    "HOUSE_CHANCE",
    "HOUSE_FLOW",
    "INTAKE_SPREAD",
    "LEAST_HEIGHT_ERROR",
    "MAINS",
    "NOZZLE_SPREAD",
    "REGULATOR_SPREAD",
    "ROUGHNESS_SPREAD",
    "TEMPERATURE_SPREAD",
    "spreads_of",
]

ROUGHNESS_SPREAD = 1.0  # of the logarithm
FITTINGS_MEDIAN = 1.2  # times Crane's K
FITTINGS_SPREAD = 0.35  # of the logarithm
DEVICE_SPREAD = 0.10  # of the logarithm
TEMPERATURE_SPREAD = 4.0  # [K]
MAINS = (274.15, 313.15)  # [K] no colder or warmer
CHART_SPREAD = 0.03  # of the flow, the same for all heads of a class
NOZZLE_SPREAD = 0.04  # of the flow, each head's own
CONTROL_SPREAD = {"by gauge": 0.03, "by eye": 0.10}  # of the zone's flow
REGULATOR_SPREAD = 0.05  # of the pressure that a regulator or a pump's switch is set to
HOUSE_CHANCE = 0.05  # that somebody in the house draws water while a zone runs
HOUSE_FLOW = HOUSE_FLOWS["a shower"]  # [m³/s]
ENTRY_ERROR = 0.03  # [m] of the entry's height
LEAST_HEIGHT_ERROR = 0.005  # [m] no survey is exact
AIR_LOSS = 0.08  # share of the water that never lands: drift and evaporation
AIR_LOSS_SPREAD = 0.04
EVENNESS_LOST = 0.03  # of DU between plan and yard
EVENNESS_SPREAD = 0.03
INTAKE_SPREAD = 0.35  # of the logarithm

_JUDGED = "judgement"
_MEMORY = "from memory"


def spreads_of(yard: Yard, *, regulated: bool) -> tuple[Spread, ...]:
    """List what was drawn, in words and the yard's units; regulated, whether the plan has regulators."""
    house = show(HOUSE_FLOW, "flow", yard.units)
    uneven = show(UNEVEN, "length", yard.units)
    ground = f"survey error of each spot, and unevenness of {uneven} far from all of them"
    if not yard.spot_heights:
        ground = f"no spot ties the ground to the entry: {show(DATUM, 'length', yard.units)} and a slope of 4 %"
    warm = show(yard.water_entry.temperature, "temperature", yard.units)
    rows = (
        ("supply", "equally likely curves that fit the measurements", "docs/theory/supply.md"),
        ("pipe roughness", "lognormal about the table, a factor 2.7 either way", _JUDGED),
        ("fittings", "lognormal, median 1.2 times Crane's K, 0.7 to 2.1 in nine of ten", f"{_JUDGED}; insert fittings"),
        ("devices", "lognormal about the chart, 10 %", f"{_JUDGED}; makers' charts differ by about that"),
        ("water", f"{warm}, spread {TEMPERATURE_SPREAD:.0f} K", "common practice, no source"),
        ("nozzle charts", "normal, 3 % of the flow, alike for one head class", _JUDGED),
        (
            "nozzles as made",
            "normal, 4 % of the flow, each head its own",
            f"{_MEMORY}: coefficients of variation of 3 to 5 % are called good in sprinkler and emitter standards",
        ),
        ("heights", ground, f"{_JUDGED}, docs/theory/certainty.md"),
        (
            "flow control",
            f"set {yard.valves.control_set}, {100 * CONTROL_SPREAD[yard.valves.control_set]:.0f} % of the flow",
            f"{_JUDGED}: a gauge of 2 psi at 40 psi",
        ),
        *_regulators(yard, regulated=regulated),
        ("house", f"{house} drawn in {100 * HOUSE_CHANCE:.0f} of 100 runs of a zone", f"a shower; chance: {_JUDGED}"),
        ("water lost in the air", "8 %, spread 4 %", f"NEH 623 ch. 11, {_MEMORY}"),
        ("evenness as built", "DU less by 3 points, spread 3, for tilt, wear and arcs", _JUDGED),
        ("wind", _wind(yard), f"{_MEMORY}: hourly winds"),
        *_hours(yard),
        ("soil intake", "lognormal about the table, a factor 1.4 either way", _JUDGED),
    )
    return tuple(Spread(name=name, drawn=drawn, source=source) for name, drawn, source in rows)


def _regulators(yard: Yard, *, regulated: bool) -> list[tuple[str, str, str]]:
    spread = f"normal, {100 * REGULATOR_SPREAD:.0f} % of the pressure it is set to, each its own"
    rows = [("regulators", spread, "common practice, no source")] if regulated else []
    if yard.water_entry.well is not None:
        moment = "a moment between cut-in and cut-out, all alike, where the pump cycles; else the pump's curve"
        rows.append(("pump's switch", f"{moment}; {spread}", f"balance of the tank; spread: {_JUDGED}"))
    return rows


def _hours(yard: Yard) -> list[tuple[str, str, str]]:
    """What nobody can draw without readings at several hours."""
    if yard.water_entry.well is not None:
        return []
    words = "not drawn: readings are taken to hold in the hours of watering; where the street sags then, read it then"
    return [("street by the hour", words, "docs/theory/certainty.md")]


def _wind(yard: Yard) -> str:
    if yard.wind.speed == 0:
        return "none: the yard states none"
    way = "from all round" if yard.wind.blows_from is None else "from the stated direction"
    return f"speeds about {show(yard.wind.speed, 'wind', yard.units)} by Rayleigh's law, {way}"
