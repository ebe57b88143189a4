"""Tips from holders, lines from labels: geometry, materials' own densities, and typical values told as such."""

from __future__ import annotations

import math

import pytest

from sternwatch.gear.asking.holders import BUTT_M, LAYS, Lay, tip_of
from sternwatch.gear.asking.labels import (
    GRADES,
    KINDS,
    WEIGHED_M,
    line_from_label,
    typical_diameter_m,
    weighed_diameter_m,
)
from sternwatch.gear.spread_file.lines import LineSpec, resolve_line

POUND_N = 4.4482216152605  # by definition: 0.45359237 kg × 9.80665 m/s²


@pytest.mark.parametrize("lay", LAYS)
def test_the_tip_is_as_far_from_its_holder_as_the_bent_rod_is_long(lay: Lay) -> None:
    tip = tip_of(0.3, 1.2, 0.9, 2.6, lay)
    from_holder = math.dist((tip.astern_m, tip.abeam_m, tip.height_m), (-0.3, 1.2, 0.9))
    assert from_holder == pytest.approx(0.92 * 2.2)


def test_a_rod_laid_flat_reaches_out_and_one_upright_reaches_up() -> None:
    flat, up = tip_of(0, 1.2, 0.9, 2.6, "flat, out to the side"), tip_of(0, 1.2, 0.9, 2.6, "upright")
    aft = tip_of(0, 1.2, 0.9, 2.6, "flat, straight aft")
    assert flat.abeam_m > up.abeam_m > 1.2
    assert up.height_m > flat.height_m > 0.9
    assert (aft.abeam_m, flat.astern_m) == (pytest.approx(1.2), pytest.approx(0.0, abs=1e-9))
    assert aft.astern_m == pytest.approx(flat.abeam_m - 1.2)


def test_at_the_centre_a_rod_points_aft_whatever_its_lay() -> None:
    for lay in LAYS:
        tip = tip_of(0.5, 0.0, 1.0, 2.6, lay, centre=True)
        assert tip.abeam_m == 0.0
        assert tip.astern_m > -0.5


def test_a_rod_is_longer_than_its_butt() -> None:
    with pytest.raises(ValueError, match="longer than its butt"):
        tip_of(0, 1, 1, BUTT_M, "upright")


def test_the_diameter_that_a_test_tells_is_where_typical_spools_print_it() -> None:
    """Stainless wire of 30 lb is sold at 0.35–0.42 mm, nylon of 20 lb at 0.41–0.50: from memory, no source."""
    assert 0.35e-3 < typical_diameter_m("wire", 30 * POUND_N) < 0.42e-3
    assert 0.41e-3 < typical_diameter_m("mono", 20 * POUND_N) < 0.50e-3
    for kind in KINDS:
        assert typical_diameter_m(kind, 4 * POUND_N) == pytest.approx(2 * typical_diameter_m(kind, POUND_N))


def test_a_weighed_length_tells_the_diameter_by_density_alone() -> None:
    """Type 304 steel has 8000 kg/m³ (Callister): 20 ft of 0.40 mm weigh π/4 d² ρ L."""
    mass = math.pi / 4 * 0.40e-3**2 * 8000.0 * 6.096
    assert weighed_diameter_m("wire", mass) == pytest.approx(0.40e-3)
    made = line_from_label("wire", 30, weighed_kg=mass)
    assert made.table["diameter"] == "0.4 mm"
    assert "6.12" in made.table["note"]
    low, high = made.priors["diameter"]["low"], made.priors["diameter"]["high"]
    assert high - low < 2 * KINDS["wire"].share  # better than the label


@pytest.mark.parametrize(
    ("kind", "test_lb"), [*((k, 30) for k in KINDS), *(("lead-core", g) for g in GRADES["lead-core"])]
)
def test_every_kind_makes_a_line_that_a_spread_takes(kind: str, test_lb: float) -> None:
    made = line_from_label(kind, test_lb)
    spec = LineSpec.model_validate(made.table)
    assert spec.strength_N == pytest.approx(test_lb * POUND_N)
    assert "typical, from memory" in made.table["note"]
    if kind in KINDS:
        assert made.priors["diameter"]["high"] - made.priors["diameter"]["low"] == pytest.approx(
            2 * KINDS[kind].share
        )


def test_printed_and_weighed_are_used_as_given() -> None:
    made = line_from_label("copper", 45, diameter_m=0.94e-3, weighed_kg=0.029)
    numbers = resolve_line(LineSpec.model_validate(made.table))
    assert numbers.diameter_m == pytest.approx(0.94e-3)
    assert numbers.mass_kg_m == pytest.approx(0.029 / 6.096, rel=2e-3)
    assert "diameter" not in made.priors
    assert made.priors["weight"]["high"] == pytest.approx(1.044, abs=0.001)


def test_a_weighed_core_keeps_its_grade() -> None:
    made = line_from_label("lead-core", 27, weighed_kg=0.016)
    numbers = resolve_line(LineSpec.model_validate(made.table))
    assert numbers.mass_kg_m == pytest.approx(0.016 / WEIGHED_M, rel=2e-3)
    assert numbers.diameter_m == pytest.approx(0.85e-3)


def test_a_gram_more_or_less_is_too_much_for_thin_nylon() -> None:
    by_label = line_from_label("mono", 20)
    assert line_from_label("mono", 20, weighed_kg=0.0011).table["diameter"] == by_label.table["diameter"]


def test_a_weight_that_cannot_be_is_said() -> None:
    with pytest.raises(ValueError, match="should weigh about 5 g, not 55 g"):
        line_from_label("wire", 30, weighed_kg=0.055)
    with pytest.raises(ValueError, match="should weigh about 15 g"):
        line_from_label("lead-core", 27, weighed_kg=0.15)
    with pytest.raises(ValueError, match="comes in 18, 27, 36 lb"):
        line_from_label("lead-core", 30)
