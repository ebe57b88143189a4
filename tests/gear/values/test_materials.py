"""The materials table against the books named below; what is given is used as given."""

from __future__ import annotations

import math

import pytest
from pydantic import ValidationError

from sternwatch.gear.spread_file.lines import LineSpec, resolve_line
from sternwatch.gear.values.materials import MATERIALS, SHORT_NAMES, find_material

# Densities kg/m3 and moduli GPa. Callister & Rethwisch, Materials Science and Engineering (metals); Morton &
# Hearle, Physical Properties of Textile Fibres (nylon, UHMWPE fibre); fluorocarbon from memory.
IN_BOOKS = {
    "stainless steel": ((8000, 8000), (193, 193)),
    "steel": ((7850, 7850), (200, 210)),
    "copper": ((8900, 8960), (110, 130)),
    "nylon": ((1130, 1150), (1, 6)),
    "UHMWPE braid": ((960, 970), (0, 117)),
    "fluorocarbon": ((1770, 1790), (1, 4)),
}


@pytest.mark.parametrize("name", IN_BOOKS)
def test_density_and_modulus_lie_in_the_range_of_the_books(name: str) -> None:
    material = MATERIALS[name]
    (low, high), (soft, stiff) = IN_BOOKS[name]
    assert low <= material.density_kg_m3 <= high
    assert soft <= material.modulus_Pa / 1e9 <= stiff


def test_every_material_says_where_it_comes_from() -> None:
    assert all(m.source for m in MATERIALS.values())
    assert all(target in MATERIALS for target in SHORT_NAMES.values())
    assert find_material("unobtainium") is None


def _line(**given: object) -> LineSpec:
    return LineSpec.model_validate(given)


def test_a_solid_wire_weighs_its_circle() -> None:
    # 0.38 mm of 8000 kg/m3: area 0.113411 mm2, 0.907292 g/m; EA with 193 GPa 21.888 kN. By hand.
    line = resolve_line(_line(material="stainless steel", diameter="0.38 mm"))
    assert line.mass_kg_m == pytest.approx(0.907292e-3, rel=1e-5)
    assert line.stiffness_N == pytest.approx(21888.4, rel=1e-5)
    assert line.normal_drag is None
    assert line.drag_factor == 1.3  # it hums: the middle of what is believed


def test_water_stands_in_a_braid() -> None:
    # 70 % of the circle is fibre, and only fibre displaces: 0.3 mm, 0.0706858 mm2 x 0.7 x 970 kg/m3.
    line = resolve_line(_line(material="braid", diameter="0.3 mm"))
    assert line.mass_kg_m == pytest.approx(0.0706858e-6 * 0.7 * 970, rel=1e-5)
    assert line.displaced_m3_m == pytest.approx(line.mass_kg_m / 970)
    assert line.normal_drag is not None
    assert 1.2 <= line.normal_drag <= 1.8


def test_grades_bring_their_own_mass_and_diameter() -> None:
    lead = resolve_line(_line(material="lead-core"))
    assert (lead.mass_kg_m, lead.diameter_m) == (2.42e-3, 0.85e-3)
    assert lead.displaced_m3_m == pytest.approx(math.pi / 4 * 0.85e-3**2)
    copper = resolve_line(_line(material="copper 45 lb"))
    assert (copper.mass_kg_m, copper.diameter_m) == (4.8e-3, 0.94e-3)


def test_what_is_given_is_used_as_given() -> None:
    line = resolve_line(
        _line(
            material="steel",
            diameter="0.5 mm",
            density="7930 kg/m^3",
            stiffness="37895 N",
            normal_drag=1.2,
            tangential_drag=0.02,
        )
    )
    assert line.mass_kg_m == pytest.approx(7930 * math.pi / 4 * 0.5e-3**2)
    assert (line.stiffness_N, line.normal_drag, line.tangential_drag, line.drag_factor) == (37895, 1.2, 0.02, 1.0)
    by_mass = resolve_line(_line(mass_per_length="2.5 g/m", diameter="0.7 mm"))
    assert by_mass.mass_kg_m == 2.5e-3
    assert by_mass.displaced_m3_m == pytest.approx(math.pi / 4 * 0.7e-3**2)
    both = resolve_line(_line(mass_per_length="2 g/m", density="2000 kg/m^3", diameter="2 mm"))
    assert both.displaced_m3_m == pytest.approx(1e-6)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"material": "nylon"}, "diameter is missing"),
        ({"diameter": "1 mm"}, "neither material nor density nor mass_per_length"),
        ({"material": "mithril", "diameter": "1 mm"}, "not in the materials table"),
    ],
)
def test_too_little_is_refused(given: dict[str, object], words: str) -> None:
    with pytest.raises(ValidationError, match=words):
        LineSpec.model_validate(given)
