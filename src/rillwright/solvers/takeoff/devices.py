"""What stands between pipes: shut-off, backflow devices on their risers, zone valves; how they are joined."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from rillwright.model.fittings import Body, Mouth, Piece, nominal
from rillwright.model.parts import BackflowDevice, Valve
from rillwright.model.plan import ValvePlace
from rillwright.model.site import PipeMaterial, Yard
from rillwright.solvers.joining import Arm, Assembly, Joiner
from rillwright.solvers.takeoff.arms import pipe_arm, thread_arm
from rillwright.solvers.takeoff.fed import FedZone

__all__ = ["AT_DEVICES", "RISER_MATERIAL", "Devices", "Joined", "elbows_of_riser", "place_devices"]

RISER_MATERIAL: PipeMaterial = "PVC schedule 40"  # stiff enough to stand alone
AT_DEVICES = "at risers and backflow devices"
_RISER_SIZES = ("1/2 in", "3/4 in", "1 in", "1-1/4 in", "1-1/2 in", "2 in", "2-1/2 in", "3 in", "4 in")


@dataclass(frozen=True, slots=True)
class Joined:
    """An assembly at a place, and why."""

    where: str
    why: str
    assembly: Assembly


@dataclass(slots=True)
class Devices:
    """Open threads that the nodes have still to join, and what is joined already."""

    feed: Arm | None = None  # of the main, at its beginning
    before: dict[str, list[Arm]] = field(default_factory=dict)  # by place: from the main to valves or devices
    manifold: dict[str, list[Arm]] = field(default_factory=dict)  # by place: device and valves after it
    after: dict[str, Arm] = field(default_factory=dict)  # by zone: where its laterals begin
    joined: list[Joined] = field(default_factory=list)
    uprights: list[tuple[str, str, float]] = field(default_factory=list)  # where, size, length [m] of each


@dataclass(frozen=True, slots=True)
class Setting:
    """What the devices are set by."""

    yard: Yard
    zones: Sequence[FedZone]
    places: Sequence[ValvePlace]
    valves: Mapping[str, Valve]  # by zone
    device: BackflowDevice
    main: Piece  # largest run of the main that begins at the entry, else the house pipe
    reducing: bool  # a pressure reducing valve stands at the entry

    @property
    def guard(self) -> str:
        """Trade size of a device before all valves."""
        return self.device.for_line(self.yard.backflow_line).trade_size

    @property
    def cover(self) -> float:
        """Depth [m] from which a riser comes up."""
        return self.yard.rules.trench_depth


def elbows_of_riser(kind: str) -> int:
    """Elbows from the trench up, over and down again; a device that is entered from below stands in for one.

    Vacuum breakers are entered from below and left at the side: common practice, no source.
    """
    return 3 if "vacuum breaker" in kind else 4


def place_devices(setting: Setting, joiner: Joiner) -> Devices:
    """Set the devices in the order in which water meets them, joined up to the threads that nodes have to reach."""
    found = Devices()
    device = setting.device
    chain = _Line(setting, joiner, found)
    at_entry = device.scope == "system" and device.above_outlets is None
    chain.entry(device if at_entry else None)
    for place in setting.places:
        if device.scope == "system" and not at_entry:
            inlet, outlet = chain.on_riser(place.id, setting.guard, device.kind, place.device_height or 0.0)
            found.before[place.id] = [inlet]
            found.manifold[place.id] = [outlet]
        found.before.setdefault(place.id, [])
    for zone in setting.zones:
        chain.zone(zone)
    return found


class _Line:
    """Joins devices one after another."""

    def __init__(self, setting: Setting, joiner: Joiner, found: Devices) -> None:
        self._setting, self._joiner, self._found = setting, joiner, found

    def entry(self, device: BackflowDevice | None) -> None:
        """House pipe, shut-off, what takes the pressure down, and the device where it stands here."""
        setting = self._setting
        size = _threaded(setting.main[1])
        house = setting.yard.water_entry.pipe
        open_end = pipe_arm((house.material, house.size))
        for name in ("isolating valve", *(("pressure reducing valve",) if setting.reducing else ())):
            open_end = self._through(open_end, thread_arm(_female(size), name), "water entry", "at the house pipe")
        if device is not None and device.above_ground <= 0:
            inlet = thread_arm(_female(setting.guard), device.kind, ("union",))
            open_end = self._through(open_end, inlet, "water entry", AT_DEVICES, out=("union",))
        elif device is not None:
            bottom, open_end_after = self.on_riser("water entry", setting.guard, device.kind, device.above_ground)
            self._join(open_end, bottom, "water entry", AT_DEVICES)
            open_end = open_end_after
        self._found.feed = open_end

    def zone(self, zone: FedZone) -> None:
        """A zone's valve, with its own breaker where the kind asks for one."""
        setting, found = self._setting, self._found
        valve, place = setting.valves[zone.id], zone.place
        height = next(p.device_height for p in setting.places if p.id == place) or 0.0
        name, size = f"{valve.kind} {valve.trade_size}", valve.trade_size
        group = found.manifold if place in found.manifold else found.before
        if valve.kind == "valve with vacuum breaker":
            inlet, found.after[zone.id] = self.on_riser(zone.id, size, name, height, unions=False)
        elif setting.device.scope == "zone":
            inlet = thread_arm(_female(size), name)
            bottom, found.after[zone.id] = self.on_riser(zone.id, size, setting.device.kind, height, unions=False)
            self._join(thread_arm(_female(size), name), bottom, zone.id, AT_DEVICES)
        else:
            inlet = found.after[zone.id] = thread_arm(_female(size), name)
        group[place].append(inlet)

    def on_riser(self, where: str, size: str, kind: str, above: float, *, unions: bool = True) -> tuple[Arm, Arm]:
        """A device on a riser: pipe up and down, joined to it; its two lower ends, an elbow before each."""
        found, riser = self._found, (RISER_MATERIAL, size)
        thread = _female(_threaded(size))
        union: tuple[Body, ...] = ("union",) if unions else ()
        below = elbows_of_riser(kind) == 3
        up: tuple[Body, ...] = union if below else ("elbow", *union)
        self._join(pipe_arm(riser), thread_arm(thread, kind, up), where, AT_DEVICES)
        self._join(thread_arm(thread, kind), pipe_arm(riser, (*union, "elbow")), where, AT_DEVICES)
        found.uprights += [(where, size, max(above, 0.0) + self._setting.cover)] * 2
        return pipe_arm(riser, ("elbow",)), pipe_arm(riser, ("elbow",))

    def _through(self, open_end: Arm, inlet: Arm, where: str, why: str, out: tuple[Body, ...] = ()) -> Arm:
        """Join a device to an open end. Returns its own other thread."""
        self._join(open_end, inlet, where, why)
        return thread_arm(inlet.ends[0], inlet.what, out)

    def _join(self, first: Arm, second: Arm, where: str, why: str) -> None:
        row = first.pipe or second.pipe or self._setting.main
        self._found.joined.append(Joined(where, why, self._joiner.join((first, second), row=row)))


def _female(size: str) -> Mouth:
    return Mouth("thread", size, "female")


def _threaded(size: str) -> str:
    """The size of thread that a device for pipe of a size has."""
    return next((known for known in _RISER_SIZES if nominal(known) >= nominal(size)), _RISER_SIZES[-1])
