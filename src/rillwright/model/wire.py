"""The control wire of a plan: where it runs, how thick it is, and what voltage reaches each valve. SI."""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

__all__ = ["Gauge", "WirePlan", "WireRun", "WireTerms", "ZoneWire"]

Gauge = Literal[18, 16, 14, 12, 10]  # American wire gauge


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class WireTerms(_Frozen):
    """What the wire is to carry and what it is chosen from."""

    voltage: Annotated[float, Field(gt=0, le=30)] = 24.0  # [V] at the controller, that valves are made for
    least: Annotated[float, Field(gt=0, le=30)] = 20.0  # [V] at which a valve still opens; practice, no source
    inrush: Annotated[float, Field(gt=0, le=2)] = 0.45  # [A] of a valve as it opens; practice 0.35 to 0.50, no source
    holding: Annotated[float, Field(gt=0, le=2)] = 0.25  # [A] while it stays open; practice 0.19 to 0.30, no source
    at_once: Annotated[int, Field(ge=1, le=4)] = 1  # valves that may be open together
    transformer: Annotated[float, Field(gt=0, le=1000)] | None = None  # [VA] that it may give; None: not known
    temperature: Annotated[float, Field(ge=233, le=363)] = 313.15  # [K] of the wire; judgement: sunlit wall, warm soil
    gauges: Annotated[tuple[Gauge, ...], Field(min_length=1)] = (18, 16, 14, 12, 10)  # that can be bought
    spares: Annotated[int, Field(ge=0, le=10)] = 1  # strands laid for later
    reel: Annotated[float, Field(ge=10, le=2000)] = 152.4  # [m] of wire on a reel, 500 ft
    surge_ground: bool = False  # a ground rod and arrester at the controller, where local code asks


class WireRun(_Frozen):
    """Strands side by side in one trench, from a node to the next."""

    start: str  # 'controller', 'entry', a valve place or a junction
    end: str
    length: float  # [m]
    zones: tuple[str, ...]  # whose wires pass
    spares: int

    @property
    def strands(self) -> int:
        """Strands in it: one for each zone, the common, and spares."""
        return len(self.zones) + 1 + self.spares


class ZoneWire(_Frozen):
    """The circuit of one zone's valve, with the others that may be open beside it where that is worst."""

    zone: str
    length: float  # [m] one way
    beside: tuple[str, ...]  # zones held open meanwhile
    shared: float  # [m] sum over these zones of the common that they share with this one
    opening: float  # [V] at the valve as it opens
    holding: float  # [V] at the valve while it stays open


class WirePlan(_Frozen):
    """Control wire with the thinnest copper at the least cost that opens every valve."""

    terms: WireTerms
    station: Gauge  # of the strand of each zone, and of spares
    common: Gauge
    station_ohm: float  # [Ω/m]
    common_ohm: float  # [Ω/m]
    enough: bool  # whether every valve gets its least voltage
    runs: tuple[WireRun, ...]
    zones: tuple[ZoneWire, ...]
    station_metres: float  # [m] of strand, with spares and loops in boxes
    common_metres: float  # [m]
    splices: int  # waterproof connectors
    boxes: tuple[str, ...]  # junctions away from every valve place, where the common parts: a splice box each
    reel_splices: int  # strands longer than a reel, joined in boxes
    opening_load: float  # [VA] while one more valve opens
    holding_load: float  # [VA] with all open that may be
    cover: float  # [m] of ground over it
