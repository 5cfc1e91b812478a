"""The compressor as the line sees it: tank, regulator, hose."""

from dataclasses import dataclass

from rillwright.model.winter import Compressor
from rillwright.physics.closed_pipe import ATMOSPHERE
from rillwright.physics.compressed_air import AIR_CONSTANT, FREE_AIR, lead_through, pipe_air
from rillwright.physics.pipes import area

__all__ = ["AirSource"]

_HOSE_FITTINGS = 6.0  # [-] K of couplings and valve of a hose; judgement


@dataclass(frozen=True, slots=True)
class AirSource:
    """Tank, regulator and hose."""

    tank: float  # [m³]
    full: float  # [Pa] gauge, at which the compressor stops
    starts: float  # [Pa] gauge, at which it starts
    delivery: float  # [kg/s] while it runs
    regulator: float  # [Pa] gauge, the most that leaves it
    resistance: float  # [1/m⁴] of the hose
    narrowest: float  # [m²]
    hose: float  # [m³]
    temperature: float  # [K] of the air where it reaches the pipe

    @classmethod
    def of(cls, compressor: Compressor, *, regulator: float, temperature: float = 283.15) -> "AirSource":
        """Make the source of a compressor with its regulator set to a pressure [Pa].

        The delivery is that at its stated pressure, all the way: it gives some more at less.
        """
        bore = compressor.hose_bore
        return cls(
            tank=compressor.tank,
            full=compressor.cut_out,
            starts=compressor.cut_in,
            delivery=FREE_AIR * compressor.air,
            regulator=min(regulator, compressor.cut_out),
            resistance=lead_through(length=compressor.hose_length, bore=bore, fittings=_HOSE_FITTINGS),
            narrowest=area(bore),
            hose=area(bore) * compressor.hose_length,
            temperature=temperature,
        )

    def flow(self, tank: float, line: float, *, resistance: float) -> float:
        """Give the air [kg/s] from a tank at one pressure to a line at another [Pa], both absolute.

        resistance [1/m⁴] is that of the pipes after the hose.
        """
        before = min(tank, self.regulator + ATMOSPHERE)
        return pipe_air(
            before,
            line,
            resistance=self.resistance + resistance,
            temperature=self.temperature,
            area=self.narrowest,
        )

    def mass(self, pressure: float) -> float:
        """Mass [kg] of air in the tank at an absolute pressure [Pa]."""
        return pressure * self.tank / (AIR_CONSTANT * self.temperature)

    def pressure(self, mass: float) -> float:
        """Absolute pressure [Pa] of so much air [kg] in the tank."""
        return mass * AIR_CONSTANT * self.temperature / self.tank

    def refill(self, mass: float) -> float:
        """Time [s] until the tank is full again, from so much air [kg] in it."""
        return max(self.mass(self.full + ATMOSPHERE) - mass, 0.0) / self.delivery
