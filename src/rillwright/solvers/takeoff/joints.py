"""What the joints of a plan use up: clamps or rings, glue and primer, solder, thread tape."""

import math
from collections import Counter
from collections.abc import Iterator

from rillwright.solvers.joining import Assembly
from rillwright.solvers.takeoff.devices import Devices
from rillwright.solvers.takeoff.network import Network
from rillwright.solvers.takeoff.tally import Tally

__all__ = ["count_joints"]

JOINTS_TO_A_CAN = 60  # of glue, primer, or solder and flux; judgement, no source
THREADS_TO_A_ROLL = 30  # judgement, no source
CLOSERS = {"barb": "clamp", "crimp": "crimp ring"}


def count_joints(tally: Tally, network: Network, devices: Devices) -> None:
    """Count by the joints made, each once: a clamp or ring each, the rest by the can or roll."""
    joints: Counter[tuple[str, str]] = Counter()
    for assembly in _assemblies(network, devices):
        joints.update((mouth.join, mouth.size) for mouth in assembly.joints)
    for manifold in devices.manifolds.values():
        joints.update(dict(manifold.joints))
    tally.joints = joints
    for (join, size), number in joints.items():
        if join in CLOSERS:
            tally.bulk(f"{CLOSERS[join]} {size}", number, "one for each joint")
    made = Counter[str]()
    for (join, _), number in joints.items():
        made[join] += number
    share = {
        join: f"for {made[join]} joint{'s' if made[join] != 1 else ''}, {JOINTS_TO_A_CAN} to one"
        for join in ("slip", "solder")
    }
    for part in ("primer", "glue"):
        note = "; the vapour harms and burns: work in open air, no flame"
        tally.bulk(part, math.ceil(made["slip"] / JOINTS_TO_A_CAN), share["slip"] + note)
    note = "; open flame: clear the ground, keep water at hand"
    tally.bulk("solder and flux", math.ceil(made["solder"] / JOINTS_TO_A_CAN), share["solder"] + note)
    threads = f"for {made['thread']} threads, {THREADS_TO_A_ROLL} to a roll"
    tally.bulk("thread tape", math.ceil(made["thread"] / THREADS_TO_A_ROLL), threads)


def _assemblies(network: Network, devices: Devices) -> Iterator[Assembly]:
    for joined in (*devices.joined, *network.joined):
        yield joined.assembly
    for run in network.runs:
        yield from run.bends
        yield from run.couplings
