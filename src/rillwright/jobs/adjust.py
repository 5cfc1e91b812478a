"""A plan with some heads set otherwise than planned, asked for again and again while they are dragged.

A tray holds the workbench of one plan. Each question names every head that is set otherwise, so that questions do not
depend on those before; the bench goes from the last answer to the next, one move while one head is dragged.
"""

import threading
from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from rillwright.errors import InputError
from rillwright.jobs.move import Workbench
from rillwright.jobs.section import section
from rillwright.model.findings import Finding
from rillwright.model.parts import Catalogue
from rillwright.model.plan import Head, Plan
from rillwright.model.section import Section
from rillwright.report.depth_picture import LawnDepth, pack

__all__ = ["Adjusted", "HeadSetting", "Tray", "Trays"]

_MOST_TRAYS = 4

_Setting = tuple[tuple[float, float], float, float, float]  # place, arc's start and width, share of the radius


@dataclass(frozen=True, slots=True)
class HeadSetting:
    """How one head is set; what is None stays as planned."""

    head: str
    at: tuple[float, float] | None = None  # [m]
    arc_start: float | None = None  # [°]
    arc: float | None = None  # [°]
    radius_share: float | None = None  # of the full radius


@dataclass(frozen=True, slots=True)
class Adjusted:
    """What becomes of a plan."""

    plan: Plan  # parts, cost, trenches and certainty are those of the plan before
    new: tuple[Finding, ...]  # against the plan as it was made
    gone: tuple[Finding, ...]
    depths: tuple[LawnDepth, ...]  # of the lawns in whose zones a head is set otherwise


class Tray:
    """One plan and its workbench."""

    def __init__(self, plan: Plan, catalogue: Catalogue) -> None:
        self._planned = {head.id: head for head in plan.heads}
        self._bench = Workbench(plan, catalogue)
        self._new: list[Finding] = []
        self._gone: list[Finding] = []
        self._lock = threading.Lock()

    def adjust(self, settings: Sequence[HeadSetting]) -> Adjusted:
        """Set the named heads so, and all others as planned.

        Errors: InputError for heads, places and arcs that cannot be; the bench then stands as it got to.
        """
        with self._lock:
            self._set(settings)
            plan = self._bench.plan
            wet = {lawn for setting in settings for lawn in self._lawns_of_zone(setting.head)}
            return Adjusted(plan, tuple(self._new), tuple(self._gone), self._depths(plan, wet))

    def depths(self) -> tuple[LawnDepth, ...]:
        """The water on every lawn of the plan as it was made."""
        with self._lock:
            self._set(())
            return self._depths(self._bench.plan, {lawn.id for lawn in self._bench.plan.lawns})

    def section(self, settings: Sequence[HeadSetting], to: str, *, start: str | None = None) -> Section:
        """The long section to a head, valve place or pipe with heads set so; start as for `section`.

        Errors: InputError, from `adjust` and `section`.
        """
        with self._lock:
            self._set(settings)
            return section(self._bench, to, start=start)

    def _set(self, settings: Sequence[HeadSetting]) -> None:
        wanted = {setting.head: setting for setting in settings}
        unknown = sorted(set(wanted) - set(self._planned))
        if unknown:
            raise InputError(f"The plan has no head '{unknown[0]}': its heads are {', '.join(self._planned)}.")
        for head in self._bench.plan.heads:
            target = _set(self._planned[head.id], wanted.get(head.id))
            if _setting(head) != target:
                self._move(head, target)

    def _move(self, head: Head, target: _Setting) -> None:
        at, start, arc, share = target
        moved = self._bench.move(
            head.id,
            at=None if at == head.at else at,
            arc_start=None if start == head.arc_start else start,
            arc=None if arc == head.arc else arc,
            radius_share=None if share == head.radius_share else share,
        )
        back = set(moved.new) & set(self._gone)
        undone = set(moved.gone) & set(self._new)
        self._new = [f for f in (*self._new, *moved.new) if f not in undone | back]
        self._gone = [f for f in (*self._gone, *moved.gone) if f not in undone | back]

    def _lawns_of_zone(self, head: str) -> set[str]:
        zone = next(zone for zone in self._bench.plan.zones if head in zone.heads)
        return {self._planned[name].lawn for name in zone.heads}

    def _depths(self, plan: Plan, lawns: set[str]) -> tuple[LawnDepth, ...]:
        out: list[LawnDepth] = []
        for lawn in plan.lawns:
            if lawn.id in lawns:
                grid, rate = self._bench.water(lawn.id)
                out.append(pack(lawn, rate, x0=grid.x0, y0=grid.y0, cell=grid.cell))
        return tuple(out)


@dataclass(slots=True)
class _Slot:
    """Room for one tray, which is laid by whoever asks for it first."""

    lock: threading.Lock = field(default_factory=threading.Lock)
    tray: Tray | None = None


class Trays:
    """Trays of the plans that were asked about last."""

    def __init__(self, catalogue: Catalogue) -> None:
        self._catalogue = catalogue
        self._slots: OrderedDict[object, _Slot] = OrderedDict()
        self._lock = threading.Lock()

    def of(self, key: object, plan: Callable[[], Plan]) -> Tray:
        """The tray of a plan by its key, laid when it is new; meanwhile the other trays can be had.

        Errors: InputError, from Workbench.
        """
        with self._lock:
            slot = self._slots.setdefault(key, _Slot())
            self._slots.move_to_end(key)
            while len(self._slots) > _MOST_TRAYS:
                self._slots.popitem(last=False)
        with slot.lock:
            if slot.tray is None:
                slot.tray = Tray(plan(), self._catalogue)
            return slot.tray


def _setting(head: Head) -> _Setting:
    return head.at, head.arc_start, head.arc, head.radius_share


def _set(planned: Head, setting: HeadSetting | None) -> _Setting:
    if setting is None:
        return _setting(planned)
    return (
        setting.at or planned.at,
        planned.arc_start if setting.arc_start is None else setting.arc_start % 360,
        planned.arc if setting.arc is None else setting.arc,
        planned.radius_share if setting.radius_share is None else setting.radius_share,
    )
