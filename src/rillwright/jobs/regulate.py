"""Where to take down a pressure that makes heads mist: by the flow controls, at the source, the valves or the heads.

The flow control of each zone is set for the expected supply. With the supply at the top of its band, and the controls
left as they are, some head may get more than the end of its chart, where spray turns to mist. Then the ways that the
yard allows are compared by the price of their parts, and the cheapest that works is built in and solved.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from rillwright.jobs.case import Case
from rillwright.jobs.checks.inspection import SLACK
from rillwright.jobs.settle import Settled, ZoneSolver
from rillwright.jobs.zoned import Draft
from rillwright.model.regulation import REGULATORS, Fitted, Regulation, RegulationOption, ZoneRegulation
from rillwright.model.site import RegulationPlace
from rillwright.solvers.devices import ZoneDevice
from rillwright.solvers.flow_control import controlled, flow_control, valve_regulator
from rillwright.solvers.hydraulics import ZoneHydraulics
from rillwright.solvers.supply import pump_curve

__all__ = ["regulate"]

States = Mapping[str, ZoneHydraulics]


@dataclass(frozen=True, slots=True)
class _Task:
    """A settled system, and what each zone's heads stand."""

    solver: ZoneSolver
    settled: Settled
    limit: Mapping[str, float]  # [Pa] by zone

    @property
    def case(self) -> Case:
        """What the system was planned with."""
        return self.solver.case

    @property
    def steady(self) -> bool:
        """Whether every zone keeps within its limit on the expected supply."""
        return all(s.pressure_high <= self.limit[z] * SLACK for z, s in self.settled.expected.items())

    def top(self) -> dict[str, ZoneHydraulics]:
        """Each zone with the supply at the top of its band and the flow control as set."""
        return {
            zone: self.solver.solve(zone, self.case.limits.top, 0.0, _as_set(state))
            for zone, state in self.settled.expected.items()
        }

    def misting(self, states: States) -> list[str]:
        """Zones whose highest head stands over its limit."""
        return [zone for zone, state in states.items() if state.pressure_high > self.limit[zone] * SLACK]


def regulate(draft: Draft, case: Case) -> tuple[Draft, Case, Regulation | None]:
    """Choose and build in regulation; the draft and the case as they then are. None where nothing was solved."""
    if draft.settled is None or draft.pipework is None:
        return draft, case, None
    members = {zone.id: zone.heads for zone in draft.zones}
    nozzles = case.catalogue.nozzles
    limit = {zone: min(nozzles[h.nozzle].highest_pressure for h in heads) for zone, heads in members.items()}
    task = _Task(ZoneSolver(members, draft.places, draft.pipework, case), draft.settled, limit)
    by_hand = task.top()
    after: States = by_hand
    misting = task.misting(by_hand)
    options = _options(task, misting) if misting else ()
    working = [option for option in options if option.works]
    chosen = min(working, key=lambda option: option.cost, default=None)
    settled, pump, well = draft.settled, case.yard.water_entry.booster, case.yard.water_entry.well
    if chosen is not None:
        case, settled, after = _built(chosen.at, task, misting)
    regulation = Regulation(
        at=None if chosen is None else chosen.at,
        by_code=_capped(task.case),
        lets_through=case.limits.expected.cap if well is None else None,
        static=well.cut_out if well else case.limits.expected.static - (pump_curve(pump)[0] if pump else 0.0),
        fitted=_fitted(task, chosen, misting),
        zones=tuple(
            ZoneRegulation(
                zone=zone, limit=limit[zone], by_hand=by_hand[zone].pressure_high, after=after[zone].pressure_high
            )
            for zone in members
        ),
        options=options,
    )
    return replace(draft, settled=settled), case, regulation


def _capped(case: Case) -> bool:
    """Whether a pressure reducing valve was planned from the start, as codes ask."""
    return case.limits.expected.cap is not None and case.yard.water_entry.well is None


def _fitted(task: _Task, chosen: RegulationOption | None, misting: list[str]) -> tuple[Fitted, ...]:
    entry = Fitted(at="source", where=("water entry",))
    fitted = [entry] if _capped(task.case) else []
    if chosen is not None and chosen.at == "source":
        fitted.append(entry)
    elif chosen is not None:
        heads = [head.id for zone in misting for head in task.solver.members[zone]]
        fitted.append(Fitted(at=chosen.at, where=tuple(misting if chosen.at == "valve" else heads)))
    return tuple(fitted)


def _options(task: _Task, misting: list[str]) -> tuple[RegulationOption, ...]:
    prices, allowed = task.case.catalogue.prices, task.case.yard.regulation.allowed
    expected = task.settled.expected
    needed = max(state.entry_pressure - controlled(state) for state in expected.values())
    least = min(state.entry_pressure for state in expected.values())
    heads = sum(len(task.solver.members[zone]) for zone in misting)
    spread = "" if task.steady else "heads of one zone stand too far apart in height"
    found: dict[RegulationPlace, tuple[int, str]] = {
        "source": (1, spread or ("" if needed <= least else "no one pressure serves every zone")),
        "valve": (len(misting), spread),
        "head": (heads, ""),
    }
    if task.case.limits.expected.cap is not None:
        del found["source"]
    return tuple(
        RegulationOption(
            at=at,
            pieces=pieces,
            price=prices[REGULATORS[at]].price,
            works=not fault and at in allowed,
            note=fault or ("" if at in allowed else "not allowed by the yard"),
        )
        for at, (pieces, fault) in found.items()
    )


def _built(at: RegulationPlace, task: _Task, misting: list[str]) -> tuple[Case, Settled, States]:
    """The case, the settled zones and the zones at the top of the band, with regulation built in."""
    if at == "source":
        least = min(state.entry_pressure for state in task.settled.expected.values())
        case = replace(task.case, limits=task.case.limits.capped(least))
        solver = task.solver.under(case)
        again = replace(task, solver=solver, settled=solver.settle())
        return case, again.settled, again.top()
    expected, top = dict(task.settled.expected), task.top()
    for zone in misting:
        state = task.settled.expected[zone]
        devices, regulated = _as_set(state), None
        if at == "valve":
            devices = valve_regulator(state.after_valve)
        else:
            nozzles = task.case.catalogue.nozzles
            regulated = {h.id: nozzles[h.nozzle].design_pressure for h in task.solver.members[zone]}
        limits = task.case.limits
        expected[zone] = task.solver.solve(zone, limits.expected, 0.0, devices, regulated)
        top[zone] = task.solver.solve(zone, limits.top, 0.0, devices, regulated)
    return task.case, replace(task.settled, expected=expected), top


def _as_set(state: ZoneHydraulics) -> tuple[ZoneDevice, ...]:
    """The flow control as it was set for a state."""
    return flow_control(controlled(state), flow=state.flow)
