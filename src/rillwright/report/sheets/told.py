"""What a drawing set is made of: a plan, what was worked out from it, and the user's paper."""

from dataclasses import dataclass, field

from rillwright.model.as_built import BuiltMark, Corner
from rillwright.model.ground import Ground
from rillwright.model.guide import Step
from rillwright.model.manifold import Manifold
from rillwright.model.plan import Plan
from rillwright.model.section import Section
from rillwright.model.winter_card import WinterCard
from rillwright.report.scale import Scale, Sheet

__all__ = ["Taped", "Told"]


@dataclass(frozen=True, slots=True)
class Taped:
    """Where things stand, by tape from lettered corners."""

    corners: tuple[Corner, ...] = ()
    places: dict[str, BuiltMark] = field(default_factory=dict)  # by the id of a head or valve place


@dataclass(frozen=True, slots=True)
class Told:
    """Everything that the sheets print."""

    plan: Plan
    ground: Ground
    paper: Sheet  # lying on its long side
    scale: Scale | None = None  # of the drawings; None: the largest at which they can be read
    date: str = ""  # as it is printed; a line to write on when empty
    address: str = ""  # of the plan in the page
    mark: str = ""  # that tells this plan from others
    taped: Taped = Taped()
    sections: tuple[Section, ...] = ()
    steps: tuple[Step, ...] = ()
    manifolds: tuple[Manifold, ...] = ()
    winter: WinterCard | None = None
    left_out: tuple[str, ...] = ()  # sheets that could not be worked out, with why

    @property
    def invented(self) -> bool:
        """Whether the yard says of itself that it is invented."""
        return self.plan.yard.note.casefold().startswith("invented")
