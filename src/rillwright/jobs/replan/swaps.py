"""Nozzles of a zone changed for ones that pass less water, or turned down by their screws, as far as they still reach.

Spray, rotary and strip nozzles fit the same bodies; a rotor takes nozzles of its own class. Common practice, no source.
"""

from collections.abc import Iterator
from dataclasses import replace

from rillwright.jobs.replan.job import Job
from rillwright.jobs.replan.system import Line
from rillwright.model.catalogue import flow_at, radius_at
from rillwright.model.parts import Nozzle
from rillwright.model.plan import Head
from rillwright.model.site import HeadClass

__all__ = ["SWAP", "Swapped", "Swaps"]

SWAP = "swap nozzles"
REACHES = (1.0, 0.9, 0.8)  # shares of the present throw that are still accepted, evenness permitting
_ONE_BODY: tuple[HeadClass, ...] = ("spray", "rotary", "strip")
_SAME_FLOW = 0.98  # a nozzle that passes more than this share of the present flow changes nothing


Swapped = tuple[Line, tuple[str, ...], str]  # the zone, heads set by their screws, and words


class Swaps:
    """The other nozzles of a job's heads; what a head gets is looked up once for each reach."""

    def __init__(self, job: Job) -> None:
        self._job = job
        self._lowered: dict[tuple[str, float], Head] = {}

    def of(self, line: Line) -> Iterator[Swapped]:
        """The zone with every head that is not pinned set to pass the least water at each accepted reach."""
        known: set[tuple[tuple[str, float], ...]] = {tuple((h.nozzle, h.radius_share) for h in line.heads)}
        for reach in REACHES:
            heads = tuple(self._lower(head, reach) for head in line.heads)
            key = tuple((head.nozzle, round(head.radius_share, 6)) for head in heads)
            before = sum(head.flow for head in line.heads)
            if key in known or sum(head.flow for head in heads) > _SAME_FLOW * before:
                continue
            known.add(key)
            changed = [(new, old) for new, old in zip(heads, line.heads, strict=True) if new != old]
            screws = tuple(new.id for new, old in changed if new.nozzle == old.nozzle)
            number = len(changed) - len(screws)
            done = (_counted(number, "nozzle", "changed"), _counted(len(screws), "throw", "turned down"))
            words = f"{line.zone}: {' and '.join(one for one in done if one)}, {reach:.0%} of the reach"
            yield replace(line, heads=heads), screws, words

    def _lower(self, head: Head, reach: float) -> Head:
        if head.pin is not None:
            return head
        if (head.id, reach) not in self._lowered:
            self._lowered[head.id, reach] = _lower(head, reach, self._job)
        return self._lowered[head.id, reach]


def _counted(number: int, thing: str, what: str) -> str:
    return f"{number} {thing}{'' if number == 1 else 's'} {what}" if number else ""


def _lower(head: Head, reach: float, job: Job) -> Head:
    """A head with the nozzle and screw that pass the least at its pressure and throw at least a share of its reach."""
    best = head
    for nozzle in job.case.catalogue.nozzles.values():
        if not _fits(nozzle, head, job):
            continue
        full = radius_at(nozzle, head.pressure)
        share = max(reach * head.radius / full, 1 - nozzle.shorten)
        if share > 1 + 1e-9:
            continue
        share = min(share, 1.0)
        flow = flow_at(nozzle, head.pressure, head.arc, radius_share=share)
        if flow < best.flow * (1 - 1e-6):
            update = {
                "nozzle": nozzle.id,
                "head_class": nozzle.head_class,
                "radius_share": share,
                "radius": full * share,
                "flow": flow,
            }
            best = head.model_copy(update=update)
    return best


def _fits(nozzle: Nozzle, head: Head, job: Job) -> bool:
    """Whether a nozzle goes on the head's body, throws its pattern and arc, and works at its pressure."""
    now = job.case.catalogue.nozzles[head.nozzle]
    same_body = nozzle.head_class == head.head_class or {nozzle.head_class, head.head_class} <= set(_ONE_BODY)
    if not same_body or nozzle.pattern != now.pattern or (nozzle.pattern != "sector" and nozzle.width != now.width):
        return False
    if not nozzle.lowest_pressure <= head.pressure <= nozzle.highest_pressure:
        return False
    if nozzle.pattern != "sector":
        return True
    if nozzle.fixed_arcs:
        return any(abs(arc - head.arc) < 1.0 for arc in nozzle.fixed_arcs)
    return nozzle.arc_low <= head.arc <= nozzle.arc_high
