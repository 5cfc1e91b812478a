"""Workings of the choice between few heads and even water."""

from collections.abc import Iterator

from rillwright.model.front import HEAD_MONEY, KEPT_MONEY, PEAK_WEEKS, ZONE_MONEY, FrontPoint, season_depth
from rillwright.model.plan import Plan
from rillwright.physics.units import show
from rillwright.report.workings.working import COVERAGE, Given, Working

__all__ = ["front_workings"]

_FRONT = "docs/theory/coverage.md"
_EXTRA = (
    "area-weighted mean over the lawns of (3/4 / (0.4 + 0.6 DU) + 1/4 scheduling coefficient up to 2) x water / water "
    "on the lawn, less 1"
)


def front_workings(plan: Plan) -> Iterator[Working]:
    """Workings of each layout of the front."""
    chosen = next((point for point in plan.front if point.chosen), None)
    for number, point in enumerate(plan.front, start=1):
        key, name = f"choice.{number}", point.aim or f"choice {number}"
        classes = tuple(Given(lawn, head_class) for lawn, head_class in point.classes)
        yield Working(f"{key}.heads", f"{name}: heads", point.heads, "count", "heads of this layout", classes, _FRONT)
        yield Working(
            f"{key}.zones",
            f"{name}: zones, estimated",
            point.zones,
            "count",
            "for each class and hydrozone: flow of its heads / what the supply allows a zone, rounded up",
            classes,
            _FRONT,
        )
        if chosen is not None:
            yield _money(key, name, point, chosen, plan.yard.currency)
        for part, title, value, dimension, formula, source in (
            ("du-worst", "DU low quarter, worst lawn", point.du_worst, "share", "least over the lawns", COVERAGE),
            ("du-mean", "DU low quarter, mean", point.du_mean, "share", "mean over the lawns by area", COVERAGE),
            ("scheduling", "scheduling coefficient", point.scheduling, "number", "greatest over the lawns", COVERAGE),
            ("extra-water", "extra water", point.extra_water, "share", _EXTRA, _FRONT),
        ):
            yield Working(f"{key}.{part}", f"{name}: {title}", value, dimension, formula, classes, source)
        yield _season(key, name, point, plan)


def _season(key: str, name: str, point: FrontPoint, plan: Plan) -> Working:
    """Water that all lawns take in a season."""
    depth, area = season_depth(plan.yard), sum(lawn.area for lawn in plan.lawns)
    system = plan.yard.units
    return Working(
        f"{key}.season-water",
        f"{name}: water a season",
        point.season_water,
        "season volume",
        f"{PEAK_WEEKS:.0f} weeks of the peak's need · area of the lawns · (1 + extra water)",
        (
            Given("depth a season", show(depth, "depth", system)),
            Given("area", show(area, "area", system)),
            Given("extra water", f"{100 * point.extra_water:.0f} %", f"{key}.extra-water"),
        ),
        "judgement, no source",
        depth * area * (1 + point.extra_water),
    )


def _money(key: str, name: str, point: FrontPoint, chosen: FrontPoint, currency: str) -> Working:
    """About how much more a layout costs than the one that the plan builds."""
    more_kept, more_zones = point.kept - chosen.kept, point.zones - chosen.zones
    more_new, standing = point.heads - chosen.heads - more_kept, point.standing - chosen.standing
    return Working(
        f"{key}.cost",
        f"{name}: about how much more than this plan ({currency})",
        point.cost - chosen.cost,
        "money",
        f"{HEAD_MONEY:.0f} for each new head more, {ZONE_MONEY:.0f} for each zone more, and what the heads in the "
        f"ground cost more: {KEPT_MONEY:.0f} for a lateral to one kept that has none, the moving cost of one given "
        "up; only the plan built is priced part by part",
        (
            Given("new heads more", f"{more_new:+d}", f"{key}.heads"),
            Given("heads in the ground more", f"{standing:+.0f}"),
            Given("zones more, estimated", f"{more_zones:+d}", f"{key}.zones"),
        ),
        "judgement, no source",
        HEAD_MONEY * more_new + standing + ZONE_MONEY * more_zones,
    )
