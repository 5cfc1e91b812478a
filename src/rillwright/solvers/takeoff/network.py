"""Every node of the plan as an assembly, and every run between them as pieces of pipe.

The main and each zone's laterals are nets. At a node of a net meet ends of pipe and the threads of what stands there:
swing joints, valves, the device, drains, the fitting for compressed air. All of it is joined, or told of as open.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from rillwright.model.fittings import Mouth, Piece
from rillwright.model.parts import Catalogue
from rillwright.model.placed import AFTER_VALVES, MAIN_IN, MAIN_ON
from rillwright.model.plan import Head, Node, Pipe
from rillwright.model.site import HeadClass, PipeMaterial
from rillwright.solvers.joining import Joiner
from rillwright.solvers.mains import ring_of, root_of
from rillwright.solvers.takeoff.arms import Group, Meeting, Slot, join_meeting, pipe_arm, thread_arm
from rillwright.solvers.takeoff.benches import BenchParts
from rillwright.solvers.takeoff.devices import Devices, Joined, Setting
from rillwright.solvers.takeoff.facing import bearing_at, face, mains_at
from rillwright.solvers.takeoff.runs import LaidRun, lay_runs

__all__ = ["Network", "build_network", "swing_joint"]

IN_RING = "both sides of isolating valves in the ring"
WIDE_CLASSES: tuple[HeadClass, ...] = ("mid rotor",)  # whose inlet is 3/4 in; 1/2 in else


@dataclass(slots=True)
class Network:
    """What joins the pipes of a plan, and the pieces that they are laid in."""

    joined: list[Joined] = field(default_factory=list)
    runs: list[LaidRun] = field(default_factory=list)
    drains: list[tuple[str, str | None]] = field(default_factory=list)  # node and zone
    air: list[str] = field(default_factory=list)  # where compressed air is let in
    plugs: list[tuple[str, str]] = field(default_factory=list)  # where, and size


def swing_joint(head_class: HeadClass) -> str:
    """Size of the swing joint under a head of a class."""
    return "3/4 in" if head_class in WIDE_CLASSES else "1/2 in"


def build_network(
    setting: Setting,
    devices: Devices,
    *,
    heads: Sequence[Head],
    pipes: Sequence[Pipe],
    nodes: Sequence[Node],
    catalogue: Catalogue,
    joiner: Joiner,
) -> Network:
    """Join every node of every net, and cut every run."""
    found = Network()
    meetings = _Meetings(setting, pipes, found)
    meetings.meet_devices(devices)
    meetings.meet_heads(heads)
    meetings.drain(nodes, devices)
    backs: dict[tuple[str, bool], float] = {}
    uncut: dict[str, str] = {}
    for meeting in meetings.all.values():
        if len(meeting.slots) == 1:
            _plug(meeting, found)
        if len(meeting.slots) < 2:
            continue
        assembly, slots = join_meeting(meeting, joiner)
        found.joined.append(Joined(meeting.where, meeting.why, assembly))
        for slot, back in zip(slots, assembly.setbacks, strict=True):
            if slot.pipe is not None:
                backs[slot.pipe.id, slot.at_start] = back
        if assembly.uncut:
            before, after = sorted(slots[:2], key=lambda slot: slot.at_start)
            assert before.pipe is not None
            assert after.pipe is not None
            uncut[before.pipe.id] = after.pipe.id
    _valves_in_ring(pipes, found, joiner)
    longest: dict[PipeMaterial, float] = {}
    for stock in catalogue.stock:
        longest[stock.material] = max(longest.get(stock.material, 0.0), stock.length)
    found.runs = lay_runs(pipes, backs, uncut, longest=longest, joiner=joiner)
    return found


class _Meetings:
    """Gathers what meets at each node of each net."""

    def __init__(self, setting: Setting, pipes: Sequence[Pipe], found: Network) -> None:
        self.all: dict[Group, Meeting] = {}
        self._setting, self._found = setting, found
        self._zones = [zone.id for zone in setting.zones]
        self._mains = [pipe for pipe in pipes if pipe.role == "main"]
        self._pipes = pipes
        for pipe in pipes:
            for at_start, node in ((True, pipe.start), (False, pipe.end)):
                bearing = bearing_at(pipe, at_start=at_start)
                slot = Slot(pipe_arm((pipe.material, pipe.size)), "pipe", pipe, bearing, at_start)
                self._at((node, pipe.zone)).slots.append(slot)

    def meet_devices(self, devices: Devices) -> None:
        """The feed at the main's beginning, valves and devices at their places, the beginning of each zone."""
        places, manifolds = self._setting.places, devices.manifolds
        root = root_of(self._mains) if self._mains else places[0].id if places else None
        if root is None or devices.feed is None:
            return
        start = self._at((root, None))
        start.slots.insert(0, Slot(devices.feed, "feed"))
        if root not in {place.id for place in places}:
            start.where, start.why = "water entry", "where the main begins"
        if self._setting.at_places:
            self._found.air += manifolds
        else:
            self._blow_out(start, "water entry")
        for place, manifold in manifolds.items():
            header = face(place, self._setting.zones, self._pipes).header
            self._through(manifold, place, (place, None) if (place, None) in self.all else (root, None), header)
            for zone, outlet, way in manifold.outlets:
                meeting = self._at((place, zone))
                meeting.where, meeting.why = zone, AFTER_VALVES
                meeting.slots.insert(0, Slot(outlet, "feed", direction=header + way + math.pi))

    def meet_heads(self, heads: Sequence[Head]) -> None:
        """A swing joint under each head; one that stands on its valve place is joined there."""
        classes = {head.id: head.head_class for head in heads}
        for zone in self._setting.zones:
            for head in zone.heads:
                own = (head, zone.id)
                there = own in self.all
                meeting = self.all[own if there else (zone.place, zone.id)]
                if there:
                    meeting.why = "under heads"
                mouth = Mouth("thread", swing_joint(classes[head]), "male")
                meeting.slots.append(Slot(thread_arm(mouth, "swing joint"), "head"))

    def drain(self, nodes: Sequence[Node], devices: Devices) -> None:
        """A drain valve at the lowest point of every net; the main's is a leg of the manifold that stands there."""
        ground = {node.id: node.ground for node in nodes}
        lowest: dict[str | None, str] = {} if self._setting.drained is None else {None: self._setting.drained}
        for node, zone in self.all:
            if zone in self._zones and (zone not in lowest or ground[node] < ground[lowest[zone]]):
                lowest[zone] = node
        for zone in (None, *self._zones):
            if zone in lowest:
                node = lowest[zone]
                if zone is not None or node not in devices.manifolds:
                    mouth = Mouth("thread", "1/2 in", "male")
                    self.all[node, zone].slots.append(Slot(thread_arm(mouth, "drain valve"), "other"))
                self._found.drains.append((node, zone))

    def _at(self, group: Group) -> Meeting:
        if group not in self.all:
            why = "at branches of the main" if group[1] is None else "at branches of laterals"
            self.all[group] = Meeting(group[0], why, self._setting.main, [])
        return self.all[group]

    def _through(self, manifold: BenchParts, place: str, main: Group, header: float) -> None:
        """Join a manifold to the main that comes in, and the mains that go on to it."""
        meeting = self._at(main)
        if meeting.where != "water entry":
            meeting.where, meeting.why = place, MAIN_IN
            coming, _ = mains_at(place, self._mains)
            away = [slot for slot in meeting.slots if slot.pipe is not None and slot.pipe is not coming]
            meeting.slots = [slot for slot in meeting.slots if slot.pipe is None or slot.pipe is coming]
            for number, ((arm, way), slot) in enumerate(zip(manifold.onward, away, strict=True), start=1):
                slots = [Slot(arm, "feed", direction=header + way + math.pi), slot]
                self.all[place, f"onward {number}"] = Meeting(place, MAIN_ON, self._setting.main, slots)
        meeting.slots.append(Slot(manifold.inlet, "valve", direction=header))

    def _blow_out(self, meeting: Meeting, where: str) -> None:
        mouth = Mouth("thread", "3/4 in", "male")
        meeting.slots.append(Slot(thread_arm(mouth, "blow-out fitting"), "other"))
        self._found.air.append(where)


def _plug(meeting: Meeting, found: Network) -> None:
    """Stop the one end of a net that leads nowhere."""
    size = meeting.slots[0].arm.ends[0].size
    meeting.slots.append(Slot(thread_arm(Mouth("thread", size, "male"), "plug"), "other"))
    found.plugs.append((meeting.where, size))


def _valves_in_ring(pipes: Sequence[Pipe], found: Network, joiner: Joiner) -> None:
    """Both sides of the two isolating valves in each stretch of a ring."""
    for run in ring_of([pipe for pipe in pipes if pipe.role == "main"]):
        piece: Piece = (run.material, run.size)
        valve = thread_arm(Mouth("thread", run.size, "female"), "isolating valve")
        one = joiner.join((pipe_arm(piece), valve), row=piece)
        found.joined += [Joined(run.id, IN_RING, one)] * 4
