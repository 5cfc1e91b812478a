"""Copper wire: size by gauge, and resistance by temperature."""

__all__ = ["GAUGES", "resistance", "wire_diameter"]

GAUGES = (18, 16, 14, 12, 10)  # American wire gauge, thinnest first: what control wire is sold in
_RESISTIVITY = 1.7241e-8  # [Ω m] of annealed copper at 20 °C, 100 % IACS: 10.371 ohm circular mil a foot
_WARMING = 0.00393  # [1/K] of its resistance, from 20 °C
_STATED = 293.15  # [K]
_QUARTER_PI = 0.7853981633974483


def wire_diameter(gauge: int) -> float:
    """Diameter [m] of a solid wire by its American gauge: 0.005 in · 92^((36 - n) / 39).

    Source: ASTM B258, from memory.

    >>> [round(wire_diameter(gauge) / 0.0254, 4) for gauge in (18, 16, 14, 12)]
    [0.0403, 0.0508, 0.0641, 0.0808]
    """
    return float(0.005 * 0.0254 * 92 ** ((36 - gauge) / 39))


def resistance(gauge: int, *, temperature: float) -> float:
    """Resistance [Ω/m] of a solid copper wire at a temperature [K], to direct current; at 60 Hz it is the same.

    Source: resistivity of the International Annealed Copper Standard and ASTM B258 diameters (NBS Handbook 100); its
    rise with temperature as in NEC chapter 9 table 8, which states 75 °C; from memory.

    >>> round(resistance(18, temperature=293.15) * 304.8, 3)  # ohm for 1,000 ft at 20 °C
    6.385
    """
    area = _QUARTER_PI * wire_diameter(gauge) ** 2
    return _RESISTIVITY / area * (1 + _WARMING * (temperature - _STATED))
