"""Fresh water against the table of ITTC 7.5-02-01-03 and the iapws library."""

from __future__ import annotations

import pytest

from sternwatch.water import properties as water

# ITTC 7.5-02-01-03 (from IAPWS-95): °C, kg/m3, 1e-6 m2/s
ITTC = [(4, 999.9749, 1.56733), (10, 999.7025, 1.30629), (15, 999.1026, 1.13859), (20, 998.2072, 1.00340)]


@pytest.mark.parametrize(("temperature", "density", "viscosity"), ITTC)
def test_against_ittc_7_5_02_01_03(temperature: float, density: float, viscosity: float) -> None:
    assert water.density_kg_m3(temperature) == pytest.approx(density, abs=0.01)
    assert water.viscosity_m2_s(temperature) * 1e6 == pytest.approx(viscosity, rel=1e-3)


@pytest.mark.parametrize("temperature", [0.5, 2.0, 7.5, 12.5, 18.0, 25.0, 32.0, 39.0])
def test_against_the_iapws_library(temperature: float) -> None:
    """iapws 1.5, IAPWS-95 and its 2008 viscosity at 0.101325 MPa."""
    from iapws import IAPWS95

    reference = IAPWS95(T=temperature + 273.15, P=0.101325)
    assert water.density_kg_m3(temperature) == pytest.approx(reference.rho, abs=0.01)
    assert water.dynamic_viscosity_Pa_s(temperature) == pytest.approx(reference.mu, rel=2e-3)


@pytest.mark.parametrize("temperature", [-0.1, 40.1, float("nan"), float("inf")])
def test_outside_its_range_it_says_what_is_accepted(temperature: float) -> None:
    with pytest.raises(water.OutOfRangeError, match="accepted are 0 to 40 °C"):
        water.fresh_water(temperature)


def test_fresh_water_carries_both() -> None:
    lake = water.fresh_water(10.0)
    assert lake.density_kg_m3 == water.density_kg_m3(10.0)
    assert lake.viscosity_m2_s == water.viscosity_m2_s(10.0)
