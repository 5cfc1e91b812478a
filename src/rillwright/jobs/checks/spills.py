"""Checks of a finished plan that look at water on the wrong ground, and at water in the wind."""

from collections.abc import Iterator

from rillwright.jobs.checks.inspection import Inspection
from rillwright.model.findings import Finding

__all__ = ["heads_keep_home", "paving_kept_dry", "wind_is_bearable"]

_STRAY = 0.001  # of a lawn's water
_LONG_THROW = 0.15  # share of one head's water off the site from which it throws at a neighbour; judgement, no source


def paving_kept_dry(case: Inspection) -> Iterator[Finding]:
    """No water reaches paving that the user marked to stay dry, but for what strays."""
    for lawn in case.plan.lawns:
        if lawn.keep_dry > _STRAY * lawn.water:
            heads = ", ".join(spill.head for spill in lawn.spills if spill.keep_dry > 0)
            yield Finding(
                rule="keep-dry",
                severity="must",
                where=lawn.id,
                what=f"{case.show(lawn.keep_dry / lawn.water, 'share')} of its water, "
                f"{case.show(lawn.keep_dry, 'flow')}, lands on paving that is to stay dry"
                + (f", from {heads}" if heads else ""),
                do="Turn or shorten those heads, allow another head class there, or let that paving get wet.",
            )


def heads_keep_home(case: Inspection) -> Iterator[Finding]:
    """No single head throws much of its water off the drawn ground, however little it is of the lawn's."""
    for lawn in case.plan.lawns:
        for spill in lawn.spills:
            if spill.share_off_site > _LONG_THROW:
                yield Finding(
                    rule="head-off-site",
                    severity="should",
                    where=spill.head,
                    what=f"{case.show(spill.share_off_site, 'share')} of its water, "
                    f"{case.show(spill.off_site, 'flow')}, lands beyond the drawn ground",
                    do="Turn its arc or turn down its throw; draw what lies there if it may be wet.",
                )


def wind_is_bearable(case: Inspection) -> Iterator[Finding]:
    """Lawns that are even in still air stay so in the wind of the watering hours; one finding names all that do not."""
    least = case.plan.yard.rules.lowest_du
    worse = [(lawn, wind) for lawn in case.plan.lawns if (wind := lawn.in_wind) and wind.du < least <= lawn.evenness.du]
    if worse:
        falls = ", ".join(
            f"{lawn.id} from {case.show(lawn.evenness.du, 'share')} to {case.show(wind.du, 'share')}"
            for lawn, wind in worse
        )
        yield Finding(
            rule="evenness-in-wind",
            severity="know",
            where="wind",
            what=f"in a wind of {case.show(worse[0][1].speed, 'wind')} DU of the low quarter falls: {falls}",
            do="Water when it is still, mostly before sunrise; in windy places state where the wind blows from.",
            source="docs/theory/coverage.md",
        )
