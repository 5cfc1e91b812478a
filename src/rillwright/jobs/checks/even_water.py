"""Checks of a finished plan that look at the water on the ground: how even it is, and what the soil takes."""

from collections.abc import Iterator

from rillwright.jobs.checks.inspection import Inspection
from rillwright.model.catalogue import slope_class
from rillwright.model.findings import Finding
from rillwright.model.plan import Lawn, Zone

__all__ = ["evenness", "intake"]


_BUILDING_SHARE = 0.002  # of a lawn's water: under this it is the grid's own blur at a wall


def evenness(case: Inspection) -> Iterator[Finding]:
    """Each lawn is watered evenly enough, and water stays off buildings and paving."""
    rules = case.plan.yard.rules
    for lawn in case.plan.lawns:
        for one in (part for part in (lawn, *lawn.parts) if part.evenness.du < rules.lowest_du):
            driest = ", ".join(case.show(c, "length") for c in one.evenness.driest)
            yield Finding(
                rule="evenness",
                severity="should",
                where=one.id,
                what=f"DU of the low quarter is {case.show(one.evenness.du, 'share')}, wanted "
                f"{case.show(rules.lowest_du, 'share')} or more; driest near {driest}",
                do="Allow another head class there, or water that corner by hand.",
                source="NEH 623 ch. 11",
            )
        if lawn.on_building > _BUILDING_SHARE * lawn.water:
            yield Finding(
                rule="water-on-building",
                severity="must",
                where=lawn.id,
                what=f"{case.show(lawn.on_building / lawn.water, 'share')} of its water lands on a building",
                do="Turn the arcs away from the wall or shorten the throw.",
            )
        for rule, spilt, onto, advice in (
            (
                "overspray",
                lawn.on_paving,
                "on paving",
                "Shorten the throw along the paving, or allow strip patterns there.",
            ),
            (
                "overspray-off-site",
                lawn.off_site,
                "beyond the drawn ground",
                "Turn down the heads along that edge; draw what lies there if it may be wet.",
            ),
        ):
            if spilt > rules.overspray_paving * lawn.water:
                yield Finding(
                    rule=rule,
                    severity="should",
                    where=lawn.id,
                    what=f"{case.show(spilt / lawn.water, 'share')} of its water lands {onto}, allowed "
                    f"{case.show(rules.overspray_paving, 'share')}",
                    do=_spilt(lawn, advice),
                )


def _spilt(lawn: Lawn, advice: str) -> str:
    """What to do about water beside a lawn; a strip pattern cannot be turned narrower."""
    if lawn.head_class != "strip":
        return advice
    return (
        "The strip reaches past the lawn: shift its heads, add a narrower or shorter one to your nozzle chart, or make "
        "a bed of that lawn."
    )


def intake(case: Inspection) -> Iterator[Finding]:
    """Water goes on no faster than the soil takes it up; else it must be split in cycles."""
    heads = {h.id: h for h in case.plan.heads}
    fast: list[tuple[float, float, float, Zone]] = []  # times too fast, intake [m/s], slope, zone
    for zone in case.plan.zones:
        slope = float(case.ground.terrain.slope([heads[h].at for h in zone.heads]).mean())
        takes = case.catalogue.intake.get((case.plan.yard.soil.texture, slope_class(slope)))
        if takes is not None and zone.precipitation > takes:
            fast.append((zone.precipitation / takes, takes, slope, zone))
    if fast:
        _, takes, slope, worst = max(fast, key=lambda one: one[0])
        others = [zone.id for *_, zone in fast if zone.id != worst.id]
        too = f"; too fast for the soil as well: {' '.join(others)}" if others else ""
        yield Finding(
            rule="intake",
            severity="know",
            where=worst.id,
            what=f"{case.show(worst.precipitation, 'rate')} goes on and {case.plan.yard.soil.texture} on this slope "
            f"({case.show(slope, 'share')}) takes in about {case.show(takes, 'rate')}{too}",
            do="Water in short cycles with pauses, so that nothing runs off.",
            source="USDA maximum precipitation rates, as reprinted",
        )
