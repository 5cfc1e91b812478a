"""Water: density and viscosity by temperature, at about one atmosphere.

Pressure hardly matters in a yard: 700 kPa make water denser by 0.03 %.
"""

from rillwright.errors import InputError

__all__ = ["STANDARD_TEMPERATURE", "compressibility", "density", "dynamic_viscosity", "viscosity"]

STANDARD_TEMPERATURE = 288.15  # [K] 15 °C, ground water in a watering summer; common practice, no source

_FREEZING = 273.15  # [K]
_WARMEST = 313.15  # [K]
_SQUEEZE_TERMS = (50.88496, 0.6163813, 1.459187e-3, 20.08438e-6, -58.47727e-9, 410.4110e-12)
_VISCOSITY_TERMS = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))


def _checked(temperature: float) -> float:
    if not _FREEZING <= temperature <= _WARMEST:
        raise InputError(
            f"water at {temperature:g} K is outside the range of the correlations: give {_FREEZING:g} to {_WARMEST:g} K"
        )
    return temperature


def density(temperature: float = STANDARD_TEMPERATURE) -> float:
    """Density of air-free water.

    Parameters: temperature [K]. Returns: density [kg/m³].
    Valid 273.15 to 313.15 K at 101.325 kPa, to 0.001 kg/m³; tap water with air and salts differs by up to 1 kg/m³.
    Errors: InputError outside that range.
    Source: Tanaka and others, Metrologia 38 (2001) 301, equation 1 (from memory).

    >>> round(density(293.15), 3)
    998.207
    """
    celsius = _checked(temperature) - 273.15
    return 999.974950 * (1 - (celsius - 3.983035) ** 2 * (celsius + 301.797) / (522528.9 * (celsius + 69.34881)))


def dynamic_viscosity(temperature: float = STANDARD_TEMPERATURE) -> float:
    """Dynamic viscosity of water.

    Parameters: temperature [K]. Returns: viscosity [Pa·s].
    Valid here 273.15 to 313.15 K at 0.1 MPa, to 1 %. Errors: InputError outside that range.
    Source: IAPWS supplementary release on properties of liquid water at 0.1 MPa (2008), equation 7 (from memory).

    >>> round(dynamic_viscosity(293.15) * 1e3, 3)
    1.002
    """
    reduced = _checked(temperature) / 300
    return 1e-6 * float(sum(scale * reduced**power for scale, power in _VISCOSITY_TERMS))


def viscosity(temperature: float = STANDARD_TEMPERATURE) -> float:
    """Kinematic viscosity of water: dynamic viscosity over density.

    Parameters: temperature [K]. Returns: viscosity [m²/s]. Range and errors as for the two above.

    >>> round(viscosity(293.15) * 1e6, 3)
    1.003
    """
    return dynamic_viscosity(temperature) / density(temperature)


def compressibility(temperature: float = STANDARD_TEMPERATURE) -> float:
    """Isothermal compressibility of air-free water, one over its bulk modulus.

    Parameters: temperature [K]. Returns: compressibility [1/Pa].
    Valid 273.15 to 313.15 K at 101.325 kPa, to 0.1 %. Errors: InputError outside that range.
    Source: Kell, Journal of Chemical and Engineering Data 20 (1975) 97-105, equation 20 (from memory).

    >>> round(1 / compressibility(293.15) / 1e9, 3)  # [GPa]
    2.179
    """
    celsius = _checked(temperature) - 273.15
    top = sum(term * celsius**power for power, term in enumerate(_SQUEEZE_TERMS))
    return 1e-11 * top / (1 + 19.67348e-3 * celsius)
