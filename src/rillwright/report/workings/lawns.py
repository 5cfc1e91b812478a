"""Workings of the lawns: area, evenness, and where the water lands."""

from collections.abc import Iterator

from rillwright.model.lawn_water import WindyWater
from rillwright.model.plan import Head, Lawn, LawnPart, Plan
from rillwright.physics.units import System, show
from rillwright.report.workings.working import COVERAGE, Given, Working

__all__ = ["lawn_workings"]


def lawn_workings(plan: Plan) -> Iterator[Working]:
    """Workings of every lawn."""
    for lawn in plan.lawns:
        own = [head for head in plan.heads if head.lawn == lawn.id]
        for one in (lawn, *lawn.parts):
            yield from _evenness(one, own)
        yield from _water(lawn, own, plan)


def _evenness(lawn: LawnPart, own: list[Head]) -> Iterator[Working]:
    key, e = f"lawn.{lawn.id}", lawn.evenness
    heads = (Given("heads", str(len(own))),)
    formula = "outline less what lies on it and the trunks of trees"
    yield Working(f"{key}.area", f"{lawn.id}: lawn really watered", lawn.area, "area", formula, (), "yard")
    for name, title, value, dimension, formula in (
        ("cu", "CU", e.cu, "share", "CU = 1 - sum |x - mean| / sum x over the lawn's cells (Christiansen 1942)"),
        ("du", "DU low quarter", e.du, "share", "mean of the driest quarter of the cells / mean (NEH 623 ch. 11)"),
        (
            "scheduling",
            "scheduling coefficient",
            e.scheduling,
            "number",
            "mean depth / mean depth of the driest square window that holds 5 % of the area",
        ),
        ("rate", "mean rate", e.mean_rate, "rate", "mean precipitation rate over the lawn's cells, all zones running"),
    ):
        yield Working(f"{key}.{name}", f"{lawn.id}: {title}", value, dimension, formula, heads, COVERAGE)


def _water(lawn: Lawn, own: list[Head], plan: Plan) -> Iterator[Working]:
    key, system = f"lawn.{lawn.id}", plan.yard.units
    given = tuple(Given(h.id, show(h.flow, "flow", system), f"head.{h.id}.flow") for h in own)
    total = sum(h.flow for h in own)
    title = f"{lawn.id}: water out of its nozzles"
    yield Working(f"{key}.water", title, lawn.water, "flow", "sum of its heads", given, COVERAGE, total)
    for name, value in (
        ("on-lawn", lawn.on_lawn),
        ("on-paving", lawn.on_paving),
        ("on-building", lawn.on_building),
        ("off-site", lawn.off_site),
        ("elsewhere", lawn.elsewhere),
    ):
        share = Given("share of its water", f"{100 * value / max(lawn.water, 1e-12):.1f} %", f"{key}.water")
        title = f"{lawn.id}: water {name.replace('-', ' ')}"
        yield Working(f"{key}.{name}", title, value, "flow", "sum over the parcels that land there", (share,), COVERAGE)
    yield from _missed(lawn)
    if lawn.in_wind is not None:
        yield from _windy(lawn.id, lawn.in_wind, system)


def _missed(lawn: Lawn) -> Iterator[Working]:
    """Water that misses the lawn's own ground, in an hour of running, and how the search weighs it."""
    value = 3600 * (lawn.on_paving + lawn.off_site)
    given = (
        Given("on paving", f"{3.6e6 * lawn.on_paving:.1f} L/h", f"lawn.{lawn.id}.on-paving"),
        Given("off the site", f"{3.6e6 * lawn.off_site:.1f} L/h", f"lawn.{lawn.id}.off-site"),
        Given("weight on paving", "1.0 of unevenness for each share, 20 more over 0.9 of the limit"),
        Given("weight off the site", "1.2 of unevenness for each share, 12 more over 0.8 of the limit"),
        Given("weight on buildings and paving to keep dry", "200"),
    )
    title, formula = f"{lawn.id}: water lost to paving and neighbours in an hour", "(on paving + off the site) · 1 h"
    yield Working(f"lawn.{lawn.id}.lost-hourly", title, value, "volume", formula, given, COVERAGE, value)


def _windy(name: str, wind: WindyWater, system: System) -> Iterator[Working]:
    given = (Given("wind", show(wind.speed, "wind", system)), Given("from", f"{wind.blows_from:.0f}° from north"))
    for key, title, value in (("cu-in-wind", "CU in the wind", wind.cu), ("du-in-wind", "DU in the wind", wind.du)):
        formula = "as in still air, drops drifted by the wind; of eight directions the worst where none is stated"
        yield Working(f"lawn.{name}.{key}", f"{name}: {title}", value, "share", formula, given, COVERAGE)
