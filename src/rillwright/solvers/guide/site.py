"""What every step is made from, and how one is put together."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from rillwright.errors import SolverError
from rillwright.model.ground import Ground
from rillwright.model.guide import After, Item, Step, Work
from rillwright.model.labour import Labour
from rillwright.model.plan import Head, Pipe, Plan
from rillwright.physics.units import show
from rillwright.solvers.guide.keys import group, pipe_key
from rillwright.solvers.guide.materials import Materials
from rillwright.solvers.guide.nets import BEDDING, Dug, Nets

__all__ = ["GLUED", "Site", "named"]

GLUED = "PVC"  # materials whose name begins so are glued
RATED_COVER = 0.30  # [m] of the trenches that the packaged labour is stated for

Quantities = Mapping[tuple[str, str], float]  # by per and ground


@dataclass(slots=True)
class Site:
    """The plan with all that its steps are made from."""

    plan: Plan
    ground: Ground
    nets: Nets
    materials: Materials
    labour: Labour
    made: set[str] = field(default_factory=set)  # ids of the steps so far

    def step(
        self,
        kind: str,
        of: str = "",
        *,
        items: Sequence[Item],
        quantities: Quantities,
        after: Sequence[str | tuple[str, str]] = (),
        cautions: Sequence[str] = (),
        name: str = "",
        before: Sequence[str] = (),
        ends: str = "",
        assumed: Sequence[str] = (),
    ) -> Step:
        """Put a step together.

        Parameters: kind, a row of the packaged steps; of, what it is done to; quantities of its labour; after, ids of
        steps, each alone or with the name of a wait (steps that were not made are left out); cautions and before
        are added to the row's; name and ends fill the row's blanks.
        """
        words = self.labour.steps[kind]
        identity = f"{kind}:{of}" if of else kind
        known = [(a, "") if isinstance(a, str) else a for a in after]
        if identity in self.made:
            raise SolverError(f"step {identity} was made twice")
        self.made.add(identity)
        return Step(
            id=identity,
            kind=kind,
            title=words.title.format(name=name or of),
            items=tuple(items),
            parts=self.materials.of(identity),
            tools=words.tools,
            work=self._work(kind, quantities),
            hands=words.hands,
            after=tuple(
                After(step=step, wait=self.labour.waits[wait] if wait else None)
                for step, wait in dict(known).items()
                if step in self.made
            ),
            before=(*(b for b in words.before if not b.startswith("{")), *before),
            ends=words.ends.format(ends=ends),
            weather=words.weather,
            cautions=tuple(self.labour.cautions[c] for c in dict.fromkeys((*words.cautions, *cautions))),
            assumed=tuple(assumed),
            source=words.source,
        )

    def steps_of(self, kind: str) -> list[str]:
        """Ids of the steps of a kind made so far."""
        return [step for step in sorted(self.made) if step.split(":")[0] == kind]

    def shown(self, value: float, dimension: str = "length") -> str:
        """A quantity in the yard's units."""
        return show(value, dimension, self.plan.yard.units)

    @property
    def depth(self) -> float:
        """Depth of the trenches [m]."""
        return self.plan.yard.rules.trench_depth + BEDDING

    @property
    def volume_share(self) -> float:
        """Soil of a metre of trench against the trench that the labour is stated for."""
        return self.depth / (RATED_COVER + BEDDING)

    @property
    def glued_risers(self) -> bool:
        """Whether devices stand on glued pipe."""
        return any(part.part.startswith(f"pipe {GLUED}") for part in self.plan.parts)

    def heads_of(self, zone: str) -> list[Head]:
        """Heads of a zone that are not in the ground already."""
        members = next(z.heads for z in self.plan.zones if z.id == zone)
        return [head for head in self.plan.heads if head.id in members and head.id not in self.kept]

    @property
    def kept(self) -> set[str]:
        """Ids of heads and valve places that are in the ground already."""
        return {name for use in self.plan.existing if use.kind != "pipe" for name in use.kept_as}

    def pipe_items(self, net: str) -> list[Item]:
        """Runs of pipe to lay: not those that lie in the ground already along their whole length."""
        there = {p for dug in self.nets.dug for p in dug.trench.pipes}
        runs = [self._pipe_item(pipe) for pipe in self.nets.pipes[net] if pipe.id in there]
        if runs:
            return runs
        whose = group([pipe_key(pipe) for pipe in self.nets.pipes[net]])
        return [Item(key=f"pipes:{whose}", words="No pipe to lay in the ground: joints made at both ends")]

    def metres(self, net: str) -> float:
        """Length of pipe to lay [m]."""
        own = {pipe.id for pipe in self.nets.pipes[net]}
        return sum(dug.trench.length * len(own & set(dug.trench.pipes)) for dug in self.nets.dug)

    def cautions_of(self, pipes: Sequence[Pipe]) -> list[str]:
        """What joining these pipes calls for."""
        found = ["glue"] if any(pipe.material.startswith(GLUED) for pipe in pipes) else []
        return [*found, "torch"] if any(pipe.material.startswith("copper") for pipe in pipes) else found

    def digs_under(self, net: str) -> list[str]:
        """Steps that dig the trenches and sleeves in which a net has pipe."""
        return list(dict.fromkeys(dug_id(dug) for dug in self.nets.under(net)))

    def _pipe_item(self, pipe: Pipe) -> Item:
        return Item(
            key=pipe_key(pipe),
            words=f"{pipe.id}: {pipe.size} {pipe.material}, {self.shown(pipe.length)}",
            note=f"{pipe.start} to {pipe.end}",
            at=pipe.path[len(pipe.path) // 2],
            name=pipe.id,
        )

    def _work(self, kind: str, quantities: Quantities) -> tuple[Work, ...]:
        found = []
        for (per, ground), quantity in quantities.items():
            rate = self.labour.rates[kind, per, ground]
            if quantity > 0:
                found.append(Work(per=per, ground=ground, quantity=quantity, each=rate.each, source=rate.source))
        return tuple(found)


def dug_id(dug: Dug) -> str:
    """Id of the step that digs a stretch of trench."""
    return dug.how if dug.how == "sleeves" else f"{dug.how}:{dug.first}"


def named(number: int, one: str, more: str = "") -> str:
    """A number with its noun.

    >>> named(1, "head"), named(2, "trench", "trenches")
    ('1 head', '2 trenches')
    """
    return f"{number} {one if number == 1 else more or one + 's'}"
