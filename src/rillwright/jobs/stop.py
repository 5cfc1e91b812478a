"""How a long job is asked to end early and keep what it has."""

from dataclasses import dataclass

__all__ = ["Stop"]


@dataclass(slots=True)
class Stop:
    """Shared by a job and whoever may end it.

    The job sets `worth_keeping` once it holds a complete result; from then on whoever wants it to end sets `asked`
    instead of breaking it off, and the job ends at its next step with the best it has. `broken_off` says that the
    job was to end at once: Python drops an interrupt inside a finalizer, so whoever shows progress raises it again.
    """

    asked: bool = False
    worth_keeping: bool = False
    broken_off: bool = False
