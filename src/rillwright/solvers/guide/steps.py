"""The steps that a plan asks for, with what each must wait for, in the order of a usual build.

Statement. Each step is made from the plan's quantities: trenches by ground and by how they are dug, fittings, heads,
valves and openings of the flush; the packaged tables give the words, the labour per unit and the waits. A trench is
dug with the first net that lies in it (the main, then the zones in order), and filled after the last; nothing is
filled before every net in it has been tested, and no nozzle is set before its line is flushed. What the yard does not
say is assumed, and told in `Step.assumed`. See docs/theory/building.md.
"""

from collections.abc import Iterator

from rillwright.model.ground import Ground
from rillwright.model.guide import BuildTerms, Step
from rillwright.model.labour import load_labour
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Plan
from rillwright.solvers.guide.ground_steps import dig_steps, fill_steps, sleeve_steps
from rillwright.solvers.guide.materials import materials_of
from rillwright.solvers.guide.nets import nets_of
from rillwright.solvers.guide.office_steps import closing_steps, first_steps
from rillwright.solvers.guide.site import Site
from rillwright.solvers.guide.water_steps import supply_steps, zone_steps

__all__ = ["build_steps"]


def build_steps(plan: Plan, ground: Ground, *, catalogue: Catalogue, terms: BuildTerms) -> tuple[Step, ...]:
    """List the steps of building a plan, each after all that it waits for; none for a plan without zones.

    Parameters: plan; its ground; catalogue, for the parts; terms, for how trenches are dug.
    """
    if not plan.zones:
        return ()
    nets = nets_of(plan, ground, terms.digging)
    site = Site(plan, ground, nets, materials_of(plan, catalogue), load_labour())
    return tuple(_numbered(step for part in _PARTS for step in part(site)))


_PARTS = (first_steps, sleeve_steps, dig_steps, supply_steps, zone_steps, fill_steps, closing_steps)


def _numbered(steps: Iterator[Step]) -> Iterator[Step]:
    """Steps in which no two items have one key: of several like ones at one place, the later get a number."""
    seen: dict[str, int] = {}
    for step in steps:
        items = []
        for item in step.items:
            before = seen[item.key] = seen.get(item.key, 0) + 1
            items.append(item if before == 1 else item.model_copy(update={"key": f"{item.key} {before}"}))
        yield step.model_copy(update={"items": tuple(items)})
