"""Which step uses up which parts, from the same take-off that makes the parts list."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from rillwright.model.guide import PartTaken
from rillwright.model.parts import Catalogue
from rillwright.model.placed import PlacedPart
from rillwright.model.plan import Plan
from rillwright.solvers.guide.nets import MAIN
from rillwright.solvers.takeoff import Tally, take_off_plan

__all__ = ["FITTINGS", "Materials", "materials_of"]

FITTINGS = (
    "tee ", "elbow ", "coupling ", "reducer ", "bushing ", "adapter ", "nipple ", "union ", "saddle ", "plug ",
)  # fmt: skip
_OF_WIRE = ("splice", "splice box", "surge ground")
_OF_HEADS = ("head ", "nozzle ", "swing joint", "check valve in a head", "regulator in a head")


@dataclass(frozen=True, slots=True)
class Materials:
    """Parts by step id."""

    by_step: Mapping[str, tuple[PartTaken, ...]]

    def of(self, step: str) -> tuple[PartTaken, ...]:
        """Parts of a step."""
        return self.by_step.get(step, ())

    def number(self, step: str, *names: str) -> int:
        """Pieces of a step whose name begins with one of these."""
        return round(sum(p.quantity for p in self.of(step) if p.unit == "piece" and p.part.startswith(names)))


def materials_of(plan: Plan, catalogue: Catalogue) -> Materials:
    """Share a plan's parts among its steps.

    Every piece goes to the step at its place; pipe to the step that lays it, with its share of what is left of sticks
    and coils. Parts that are counted in bulk (clamps, glue, tape) and spares belong to no step.
    """
    tally = take_off_plan(plan, catalogue)
    counts: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    pieces = tally.placed()
    sorter = _Sorter(plan, apart=any(placed.part.startswith(str(plan.backflow)) for placed in pieces))
    for placed in pieces:
        counts[sorter.step(placed)][placed.part] += placed.number
    metres = _metres(plan, tally, sorter)
    by_step = {
        step: (
            *(PartTaken(part=part, quantity=number, unit="m") for part, number in metres.get(step, {}).items()),
            *(PartTaken(part=part, quantity=number, unit="piece") for part, number in counts.get(step, {}).items()),
        )
        for step in {*counts, *metres}
    }
    return Materials(by_step)


def _metres(plan: Plan, tally: Tally, sorter: "_Sorter") -> dict[str, dict[str, float]]:
    """Pipe to the step that lays it, each with its share of what is left of sticks and coils; wire and sleeves."""
    found: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    laid = tally.laid()
    drawn: dict[str, float] = defaultdict(float)
    for placed, length in laid:
        drawn[placed.part] += length
    bought = {line.part: line.quantity for line in plan.parts if line.unit == "m"}
    for placed, length in laid:
        if drawn[placed.part] > 0:
            share = length / drawn[placed.part]
            found[sorter.step(placed)][placed.part] += share * bought.get(placed.part, drawn[placed.part])
    wires = [part for part in bought if part.split()[0] == "wire"]
    for part, step in (*((wire, "wire") for wire in wires), ("sleeve", "sleeves")):
        if part in bought:
            found[step][part] += bought[part]
    return found


class _Sorter:
    """Says to which step a piece at a place belongs."""

    def __init__(self, plan: Plan, *, apart: bool) -> None:
        self.apart = apart  # whether backflow devices stand apart from the valves
        self._backflow = plan.backflow
        self._zone_of = {head: zone.id for zone in plan.zones for head in zone.heads}
        self._place_of = {zone.id: zone.place for zone in plan.zones}
        self._places = {place.id for place in plan.places}
        self._runs = {pipe.id: pipe.zone for pipe in plan.pipes}
        self._nets: dict[str, list[str | None]] = defaultdict(list)
        for pipe in plan.pipes:
            self._nets[pipe.start].append(pipe.zone)
            self._nets[pipe.end].append(pipe.zone)

    def step(self, placed: PlacedPart) -> str:
        """Id of the step that uses it up."""
        part, why, where = placed.part, placed.why, placed.where
        if part in _OF_WIRE:
            return "wire"
        if part.startswith(_OF_HEADS) and where in self._zone_of:
            return f"heads:{self._zone_of[where]}"
        if part.startswith(str(self._backflow)) or (self.apart and ("backflow devices" in why or "riser" in why)):
            return "backflow"
        if where == "water entry":
            return "join"
        if where in self._place_of or where in self._places:
            return f"valves:{self._place_of.get(where, where)}"
        zone = self._runs[where] if where in self._runs else next(iter(self._nets[where]))
        return MAIN if zone is None else f"lay:{zone}"
