"""What takes pressure along a way through a solved zone, in words and figures."""

from dataclasses import dataclass
from functools import cached_property

from rillwright.model.network import Link, Network
from rillwright.model.plan import LossStep
from rillwright.physics.losses import friction_factor
from rillwright.physics.pipes import velocity
from rillwright.physics.units import GRAVITY, System, show
from rillwright.physics.water import density, viscosity
from rillwright.solvers.devices import ZoneDevice
from rillwright.solvers.network import NetworkState
from rillwright.solvers.zone_network import ZoneParts, entry_node, pipe_link

__all__ = ["Losses", "Walked"]

_PIPE_FORMULA = "f · L/D · ρ v²/2 + K · ρ v²/2"
_PIPE_SOURCE = "Darcy-Weisbach; Colebrook-White (1939); K by Crane TP-410; docs/theory/hydraulics.md"
_RISER_SOURCE = "tee branch, three elbows, 0.45 m of riser: common practice, no source; " + _PIPE_SOURCE
Walked = list[tuple[Link, str, str]]  # links, each with its ends in the order of the walk


@dataclass(frozen=True)
class Losses:
    """What takes pressure along a way through a solved zone, told when it is asked for."""

    walked: Walked
    end: str
    parts: ZoneParts
    network: Network
    state: NetworkState
    system: System
    stands: float  # [Pa] before a head's regulator where the way ends at one, and behind it
    passes: float

    @cached_property
    def steps(self) -> tuple[LossStep, ...]:
        """A step is the pressure difference less the height in it, so the sum is exact whichever way is walked."""
        if not self.walked:
            return ()
        parts, network = self.parts, self.network
        pipes = {pipe_link(pipe): pipe for pipe in (*parts.main, *parts.laterals)}
        devices = {f"device {device.label}": device for device in (*parts.at_entry, *parts.at_place)}
        rho, thin = density(network.temperature), viscosity(network.temperature)
        weight = rho * GRAVITY
        steps: list[LossStep] = []
        for link, before, after in self.walked:
            climb = network.elevation[after] - network.elevation[before]
            lost = self.state.pressure[before] - self.state.pressure[after] - weight * climb
            flow = self.state.flow[link.id] if after == link.end else -self.state.flow[link.id]
            if link.id in devices:
                steps.append(_device_step(devices[link.id], flow, lost, self.system))
            elif link.id in pipes:
                pipe = pipes[link.id]
                label = f"{pipe.role} {pipe.id}, {pipe.material} {pipe.size}"
                steps.append(_pipe_step(label, link, flow, lost, self.system, thin))
            elif link.length > 0:
                label = f"riser of {self.end}"
                steps.append(_pipe_step(label, link, flow, lost, self.system, thin, _RISER_SOURCE))
        begin, last = self.walked[0][1], self.walked[-1][2]
        rise = network.elevation[last] - network.elevation[network.source if begin == entry_node(parts) else begin]
        steps.append(_height_step(rise, weight * rise, rho, self.system))
        return (*steps, *_held_step(self.stands, self.passes, self.system))


def _device_step(device: ZoneDevice, flow: float, lost: float, system: System) -> LossStep:
    if device.regulated_to is not None:
        inputs = {"flow": show(flow, "flow", system), "lets through": show(device.regulated_to, "pressure", system)}
        formula = "what stands before it over what it lets through"
        return LossStep(label=device.label, pressure=lost, formula=formula, inputs=inputs, source=device.source)
    inputs = {
        "flow": show(flow, "flow", system),
        "threshold": show(device.loss.threshold, "pressure", system),
        "factor · Q²": show(device.loss.factor * flow**2, "pressure", system),
    }
    return LossStep(
        label=device.label, pressure=lost, formula="threshold + factor · Q²", inputs=inputs, source=device.source
    )


def _pipe_step(
    label: str, link: Link, flow: float, lost: float, system: System, thin: float, source: str = _PIPE_SOURCE
) -> LossStep:
    """Words for the loss of a pipe; thin [m²/s] is the viscosity of its water."""
    speed = velocity(flow, inside_diameter=link.bore)
    reynolds = abs(speed) * link.bore / thin
    inputs = {
        "flow Q": show(flow, "flow", system),
        "bore D": show(link.bore, "bore", system),
        "length L": show(link.length, "length", system),
        "velocity v": show(speed, "velocity", system),
        "Reynolds number": f"{reynolds:.0f}",
        "friction factor f": f"{friction_factor(reynolds, link.roughness / link.bore):.4f}" if reynolds > 0 else "none",
        "fittings K": f"{link.minor:.2f}",
    }
    return LossStep(label=label, pressure=lost, formula=_PIPE_FORMULA, inputs=inputs, source=source)


def _held_step(stands: float, passes: float, system: System) -> tuple[LossStep, ...]:
    """What the regulator in a head takes off before its nozzle."""
    if stands <= passes:
        return ()
    inputs = {"before it": show(stands, "pressure", system), "lets through": show(passes, "pressure", system)}
    source = "regulator in the head; docs/theory/water.md"
    formula = "what stands before it over what it lets through"
    label = "regulator in the head"
    return (LossStep(label=label, pressure=stands - passes, formula=formula, inputs=inputs, source=source),)


def _height_step(rise: float, pressure: float, rho: float, system: System) -> LossStep:
    inputs = {"rise along the way": show(rise, "length", system), "density ρ": f"{rho:.1f} kg/m³"}
    return LossStep(label="height", pressure=pressure, formula="ρ g · rise", inputs=inputs, source="hydrostatics")
