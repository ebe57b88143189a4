"""Fresh water: density and viscosity against temperature, at the pressure of the surface.

Sources: density M. Tanaka et al., Metrologia 38 (2001) 301; viscosity IAPWS SR6-08(2011), the supplementary release
on liquid water at 0.1 MPa. Both agree with IAPWS-95 far within what trolling needs (a lake's pressure at 100 m adds
0.05 % of density and is left out).
"""

from __future__ import annotations

from dataclasses import dataclass

LOWEST_C = 0.0
HIGHEST_C = 40.0


class OutOfRangeError(ValueError):
    """Raised for a temperature at which the formulas do not hold."""


@dataclass(frozen=True, slots=True)
class Water:
    """Water for the physics: density [kg/m3] and kinematic viscosity [m2/s]."""

    density_kg_m3: float
    viscosity_m2_s: float


def _checked(temperature_c: float) -> float:
    if not LOWEST_C <= temperature_c <= HIGHEST_C:
        raise OutOfRangeError(
            f"water temperature {temperature_c:g} °C: accepted are {LOWEST_C:g} to {HIGHEST_C:g} °C (32 to 104 °F)"
        )
    return temperature_c


def density_kg_m3(temperature_c: float) -> float:
    """Density of fresh water [kg/m3] at ``temperature_c``, 0-40 °C (Tanaka 2001); outside raises OutOfRangeError."""
    t = _checked(temperature_c)
    shifted = t - 3.983035
    return 999.974950 * (1.0 - shifted * shifted * (t + 301.797) / (522528.9 * (t + 69.34881)))


def dynamic_viscosity_Pa_s(temperature_c: float) -> float:
    """Dynamic viscosity of fresh water [Pa s] at ``temperature_c``, 0-40 °C (IAPWS SR6-08(2011))."""
    ratio = (_checked(temperature_c) + 273.15) / 300.0
    terms = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))
    return 1e-6 * sum(float(a * ratio**b) for a, b in terms)


def viscosity_m2_s(temperature_c: float) -> float:
    """Kinematic viscosity of fresh water [m2/s] at ``temperature_c``, 0-40 °C."""
    return dynamic_viscosity_Pa_s(temperature_c) / density_kg_m3(temperature_c)


def fresh_water(temperature_c: float) -> Water:
    """Fresh water at one temperature, for the physics; outside 0-40 °C raises OutOfRangeError."""
    return Water(density_kg_m3(temperature_c), viscosity_m2_s(temperature_c))
