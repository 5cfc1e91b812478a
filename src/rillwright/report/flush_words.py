"""What the chapter on filling and flushing says beside its numbers."""

from collections.abc import Callable
from typing import TypedDict

from rillwright.model.flushing import FILL_VELOCITY, FLUSH_VELOCITY, FlushStep
from rillwright.model.plan import Plan
from rillwright.physics.units import GALLON, System, show

__all__ = ["BUCKET", "FlushWords", "flush_words"]

BUCKET: dict[System, float] = {"US": 5 * GALLON, "metric": 20e-3}  # [m³] that people have at hand


class FlushWords(TypedDict):
    """Words and rules of the chapter."""

    wash: str
    fill: str
    bucket: str
    runs_to: Callable[[FlushStep], str]


def flush_words(plan: Plan) -> FlushWords:
    """The chapter's words in the yard's units."""
    system = plan.yard.units
    ways = {way.end: way for way in plan.flushing.runoff} if plan.flushing else {}

    def runs_to(step: FlushStep) -> str:
        """Where the water of a step goes, each place once."""
        met = {str(ways[end].surface) for end in step.ends if end in ways and ways[end].surface}
        return ", ".join(sorted(met)) or ("the lawn" if step.line != "service" else "where you lead it")

    return FlushWords(
        wash=show(FLUSH_VELOCITY, "velocity", system),
        fill=show(FILL_VELOCITY, "velocity", system),
        bucket=show(BUCKET[system], "volume", system),
        runs_to=runs_to,
    )
