"""What stands between pipes: shut-off and backflow device at the entry, a manifold at each valve place."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from rillwright.errors import InputError
from rillwright.model.fittings import Body, Mouth, Piece, nominal
from rillwright.model.parts import BackflowDevice, Valve
from rillwright.model.placed import AT_DEVICES
from rillwright.model.plan import ValvePlace
from rillwright.model.site import Yard
from rillwright.solvers.joining import Arm, Assembly, Joiner
from rillwright.solvers.manifold import Bench
from rillwright.solvers.takeoff.arms import pipe_arm, thread_arm
from rillwright.solvers.takeoff.benches import STIFF, BenchParts, bench_parts
from rillwright.solvers.takeoff.fed import FedZone

__all__ = ["Devices", "Joined", "Setting", "place_devices"]

_RISER_SIZES = ("1/2 in", "3/4 in", "1 in", "1-1/4 in", "1-1/2 in", "2 in", "2-1/2 in", "3 in", "4 in")


@dataclass(frozen=True, slots=True)
class Joined:
    """An assembly at a place, and why."""

    where: str
    why: str
    assembly: Assembly


@dataclass(slots=True)
class Devices:
    """Open ends that the nodes have still to join, and what is joined already."""

    feed: Arm | None = None  # of the main, at its beginning
    manifolds: dict[str, BenchParts] = field(default_factory=dict)  # by place
    joined: list[Joined] = field(default_factory=list)
    uprights: list[tuple[str, str, float]] = field(default_factory=list)  # where, size, length [m] of each
    open: list[tuple[str, str]] = field(default_factory=list)  # places whose manifold cannot be put together, and why


@dataclass(frozen=True, slots=True)
class Setting:
    """What the devices are set by."""

    yard: Yard
    zones: Sequence[FedZone]
    places: Sequence[ValvePlace]
    valves: Mapping[str, Valve]  # by zone
    device: BackflowDevice
    main: Piece  # largest run of the main that begins at the entry, else the house pipe
    benches: Sequence[Bench]  # by place
    drained: str | None  # where the main's drain valve stands
    reducing: bool  # a pressure reducing valve stands at the entry

    @property
    def guard(self) -> str:
        """Trade size of a device before all valves."""
        return self.device.for_line(self.places[0].backflow_size or self.yard.backflow_line).trade_size

    @property
    def cover(self) -> float:
        """Depth [m] from which a riser comes up."""
        return self.yard.rules.trench_depth

    @property
    def at_places(self) -> bool:
        """Whether a backflow device for more than one zone stands at each valve place."""
        return self.device.scope == "system" and self.device.above_outlets is not None


def place_devices(setting: Setting, joiner: Joiner) -> Devices:
    """Set the devices at the entry in the order in which water meets them, and the manifolds."""
    found = Devices()
    device = setting.device
    _Line(setting, joiner, found).entry(device if device.above_outlets is None else None)
    for bench in setting.benches:
        try:
            found.manifolds[bench.place] = bench_parts(bench)
        except InputError as error:
            found.open.append((bench.place, f"the manifold: {error}"))
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

    def on_riser(self, where: str, size: str, kind: str, above: float) -> tuple[Arm, Arm]:
        """A device on a riser: pipe up and down, joined to it; its two lower ends, an elbow before each."""
        found, riser = self._found, (STIFF, size)
        thread = _female(_threaded(size))
        self._join(pipe_arm(riser), thread_arm(thread, kind, ("elbow", "union")), where, AT_DEVICES)
        self._join(thread_arm(thread, kind), pipe_arm(riser, ("union", "elbow")), where, AT_DEVICES)
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
