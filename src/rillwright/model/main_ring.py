"""What a plan says of its main: a tree or a ring, what each costs, and what is left when a stretch is shut. SI."""

from typing import Literal

from pydantic import BaseModel, ConfigDict

from rillwright.model.site import MainLayout

__all__ = ["MainChoice", "MainTrial", "ShutStretch"]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class MainTrial(_Frozen):
    """The yard planned with one layout of the main."""

    layout: Literal["branched", "looped"]
    fits: bool
    cost: float | None  # [currency] of the whole plan; None when it could not be made
    head: str | None  # the one with least pressure on the cautious supply, flow controls open
    least: float | None  # [Pa] there


class ShutStretch(_Frozen):
    """One stretch of the ring shut, the cautious supply, flow controls open."""

    pipe: str
    zone: str  # the one that then has the head with the least pressure
    head: str
    before: float  # [Pa] at that head with the whole ring open
    least: float  # [Pa] at that head

    @property
    def fall(self) -> float:
        """Pressure lost by shutting it [Pa]."""
        return self.before - self.least


class MainChoice(_Frozen):
    """How the main was asked for and how it is laid."""

    asked: MainLayout
    laid: Literal["branched", "looped"]
    why: str  # in words
    trials: tuple[MainTrial, ...] = ()  # branched, then looped, where both were planned
    shut: tuple[ShutStretch, ...] = ()  # each stretch of the ring that is laid
