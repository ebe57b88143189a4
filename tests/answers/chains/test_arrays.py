"""Chains from the spread file: lengths, bodies, names; numbers by hand and against our own reference cases."""

from __future__ import annotations

import math
from typing import Any

import pytest

from sternwatch.answers.chains.arrays import LINK_M, Rig, RodNow, rig_of, water_of
from sternwatch.answers.chains.bodies import body_of
from sternwatch.answers.depths.depth import depth_answer
from sternwatch.gear.spread_file.load import load_spread, spread_from
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.tackle import Attractor, Ball, Diver, Lure
from sternwatch.hydro.chain.model import Body, BodyKind, Line
from sternwatch.places import shipped

LINES = {
    "wire": {"material": "stainless steel", "diameter": "0.38 mm"},
    "mono": {"material": "nylon", "diameter": "0.45 mm"},
}
TACKLE = {
    "disc": {"kind": "diver", "diameter": "120 mm", "settings": {"straight": "0 deg", "high": "45 deg"}},
    "ball": {"kind": "ball", "mass": "4.5 kg"},
    "board": {"kind": "board"},
    "paddle": {"kind": "attractor"},
    "fly": {"kind": "lure"},
}
TIP = {"astern": "1 m", "abeam": "2 m", "height": "1.5 m"}


def _spread(chain: list[dict[str, Any]], *, water: dict[str, Any] | None = None, **rod: Any) -> Spread:
    filled = {"key": "1", "name": "R", "side": "port", "tip": TIP, **rod}
    return spread_from(
        {"water": water or {}, "line": LINES, "tackle": TACKLE, "rod": [{**filled, "chain": chain}]}, "test"
    )


def _rig(chain: list[dict[str, Any]], now: RodNow | None = None, **rod: Any) -> Rig:
    spread = _spread(chain, **rod)
    return rig_of(spread, spread.rods[0], now or RodNow())


DIVER = [
    {"line": "wire", "out": "50 m"},
    {"tackle": "disc", "setting": "high"},
    {"line": "mono", "length": "2 m"},
    {"tackle": "paddle"},
    {"line": "mono", "length": "0.5 m"},
    {"tackle": "fly"},
]
DOWNRIGGER = [
    {"line": "wire", "out": "20 m"},
    {"tackle": "ball"},
    {"line": "mono", "length": "8 m", "adjust": True},
    {"tackle": "fly"},
]


def test_a_diver_rig() -> None:
    rig = _rig(DIVER)
    assert rig.what == ("disc", "paddle", "fly")
    assert rig.kinds == ("diver", "attractor", "lure")
    assert (rig.lure, rig.adjust_item, rig.attach) == (2, None, None)
    assert rig.chain.tip_m == (-1.0, -2.0, -1.5)
    lengths = [item.length_m for item in rig.chain.items if isinstance(item, Line)]
    assert lengths == [50.0, 2.0, 0.5]
    assert rig.length_m == 52.5
    disc = rig.chain.items[1]
    assert isinstance(disc, Body)
    assert disc.kind is BodyKind.DIVER
    assert disc.roll_rad == pytest.approx(-math.pi / 4)


def test_a_submerged_wire_weighs_its_excess() -> None:
    # 0.38 mm stainless in water of 1000 kg/m3: 0.1134115 mm2 x 7000 kg/m3 x 9.80665, by hand.
    spread = _spread(DIVER, water={"density": "1000 kg/m^3"})
    line = rig_of(spread, spread.rods[0]).chain.items[0]
    assert isinstance(line, Line)
    assert line.wet_weight_N_m == pytest.approx(0.1134115e-6 * 7000 * 9.80665, rel=1e-6)


def test_now_overrides_the_file() -> None:
    rig = _rig(DIVER, RodNow(line_out_as_counter_m=30.0, setting="straight"))
    assert isinstance(rig.chain.items[0], Line)
    assert rig.chain.items[0].length_m == 30.0
    assert isinstance(rig.chain.items[1], Body)
    assert rig.chain.items[1].roll_rad == 0.0
    lead = _rig(DOWNRIGGER, RodNow(lead_m=12.0))
    assert lead.adjust_item == 2
    assert isinstance(lead.chain.items[2], Line)
    assert lead.chain.items[2].length_m == 12.0


def test_a_downrigger_counts_from_the_water() -> None:
    first = _rig(DOWNRIGGER).chain.items[0]
    assert isinstance(first, Line)
    assert first.length_m == 21.5


def test_a_tripped_diver_only_drags() -> None:
    disc = _rig(DIVER, RodNow(tripped=True)).chain.items[1]
    assert isinstance(disc, Body)
    assert disc.kind is BodyKind.BLUFF
    assert disc.drag_area_m2 == pytest.approx(0.002)
    assert disc.wet_weight_N == 0.5


def test_an_unknown_setting_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match=r'rod 1 \(R\) has no setting "wide"; accepted: straight, high'):
        _rig(DIVER, RodNow(setting="wide"))


def test_tackle_next_to_tackle_gets_a_link_between() -> None:
    rig = _rig([{"line": "wire", "out": "9 m"}, {"tackle": "ball"}, {"tackle": "paddle"}])
    kinds = [type(item) for item in rig.chain.items]
    assert kinds == [Line, Body, Line, Body]
    assert isinstance(rig.chain.items[2], Line)
    assert rig.chain.items[2].length_m == LINK_M
    assert rig.what == ("ball", "paddle")


def test_a_bare_line_has_no_lure() -> None:
    rig = _rig([{"line": "wire", "out": "9 m"}])
    assert (rig.what, rig.lure) == ((), None)


def test_the_rods_line_to_the_release_sits_on_the_ball() -> None:
    rig = _rig(DOWNRIGGER, rod_line={"line": "mono", "tip": {"abeam": "1 m", "height": "2 m"}, "pull": "15 N"})
    ball = rig.chain.items[1]
    assert isinstance(ball, Body)
    assert ball.rod_line is not None
    assert ball.rod_line.tip_m == (0.0, -1.0, -2.0)
    assert (ball.rod_line.pull_N, ball.rod_line.diameter_m) == (15.0, pytest.approx(0.45e-3))


def test_a_ball_of_lead_by_hand() -> None:
    # V = 4.5/11340 = 3.968254e-4 m3, D = (6V/pi)^(1/3) = 0.0911729 m, Cd A = 0.47 pi/4 D^2, W = (4.5 - V rho) g.
    ball = body_of(
        Ball.model_validate({"kind": "ball", "mass": "4.5 kg"}), 1000.0, pulls=0, setting=None, tripped=False
    )
    diameter = (6 * 3.968254e-4 / math.pi) ** (1 / 3)
    assert ball.wet_weight_N == pytest.approx((4.5 - 0.3968254) * 9.80665, rel=1e-6)
    assert ball.drag_area_m2 == pytest.approx(0.47 * math.pi / 4 * diameter**2, rel=1e-6)
    assert ball.added_mass_kg == pytest.approx(0.1984127, rel=1e-6)


def test_a_ball_by_its_wet_weight_keeps_it() -> None:
    given = Ball.model_validate({"kind": "ball", "wet_weight": "40 N", "drag_area": "0.003 m^2"})
    ball = body_of(given, 1000.0, pulls=0, setting=None, tripped=False)
    assert (ball.wet_weight_N, ball.drag_area_m2) == (40.0, 0.003)
    assert ball.mass_kg == pytest.approx(40 / 9.80665 / (1 - 1000 / 11340))


@pytest.mark.parametrize(("ring", "factor"), [(False, 1.0), (True, 1.4)])
def test_a_ring_adds_to_the_plate(ring: bool, factor: float) -> None:
    disc = body_of(
        Diver.model_validate({"kind": "diver", "diameter": "100 mm", "ring": ring}),
        1000.0, pulls=1, setting=None, tripped=False,
    )  # fmt: skip
    assert disc.plate_area_m2 == pytest.approx(math.pi / 4 * 0.01 * factor)


def test_an_attractor_grows_with_its_length_squared() -> None:
    small = Attractor.model_validate({"kind": "attractor", "length": "8 in"})
    large = Attractor.model_validate({"kind": "attractor", "length": "16 in"})
    areas = [body_of(t, 1000.0, pulls=0, setting=None, tripped=False).drag_area_m2 for t in (small, large)]
    assert areas == [pytest.approx(0.006), pytest.approx(0.024)]


def test_a_lip_lifts_downward_and_a_lift_given_counts() -> None:
    lipped = Lure.model_validate({"kind": "lure", "form": "lipped plug"})
    given = Lure.model_validate({"kind": "lure", "lift_area": "0.003 m^2"})
    bodies = [body_of(t, 1000.0, pulls=0, setting=None, tripped=False) for t in (lipped, given)]
    assert [b.kind for b in bodies] == [BodyKind.LIPPED, BodyKind.LIPPED]
    assert bodies[1].lift_area_m2 == 0.003


def test_every_default_lies_between_its_bounds() -> None:
    from sternwatch.gear.values import defaults

    found = [d for d in vars(defaults).values() if isinstance(d, defaults.Default)]
    found += [form.drag_area for form in defaults.LURES.values()]
    assert len(found) > 20
    assert all(d.low <= d.value <= d.high and d.source for d in found)


# --- reference cases, all coefficients given in the file -------------------------------------------------------


def _reference(end: dict[str, Any], line: dict[str, Any], out: str, *, setting: str | None = None) -> Spread:
    item: dict[str, Any] = {"tackle": "end"} | ({"setting": setting} if setting else {})
    return spread_from(
        {
            "water": {"density": "1000 kg/m^3"},
            "line": {"a": line},
            "tackle": {"end": end},
            "rod": [
                {
                    "key": "1",
                    "name": "REF",
                    "side": "starboard",
                    "tip": {"height": "0 m"},
                    "counter": {"zero": "tip"},
                    "chain": [{"line": "a", "out": out}, item],
                }
            ],
        }
    )


@pytest.mark.parametrize(
    ("speed_m_s", "depth_m", "aft_m", "tension_N"),
    # Our own independent computation: `independent` in tests/hydro/steady/test_steady_independent.py, with stretch.
    [(1.2, 55.7855, 20.1546, 41.2253), (0.8, 59.0871, 9.7106, 41.0574)],
)
def test_the_reference_wire_and_ball(speed_m_s: float, depth_m: float, aft_m: float, tension_N: float) -> None:
    spread = _reference(
        {"kind": "ball", "mass": "4.5 kg", "density": "11340 kg/m^3"},
        {
            "diameter": "0.5 mm",
            "density": "7930 kg/m^3",
            "stiffness": f"{193e9 * math.pi / 4 * 0.5e-3**2} N",
            "normal_drag": 1.2,
            "tangential_drag": 0.02,
        },
        "60 m",
    )
    rod = depth_answer(spread, speed_m_s).rods[0]
    assert rod.depth_m == pytest.approx(depth_m, abs=1e-3)
    assert rod.astern_m == pytest.approx(aft_m, abs=1e-3)
    assert rod.tension_N == pytest.approx(tension_N, abs=1e-3)


@pytest.mark.parametrize("speed_m_s", [0.6, 1.2, 2.0])
def test_a_weightless_lifter_lies_the_same_at_any_speed(speed_m_s: float) -> None:
    # Neutral line of 40 m x 0.8 mm, Cn 1.2, Ct 0.01, end force 0.5 rho U^2 x 0.02 m2 x (0.5 aft, 0.3 abeam, 1.2
    # down): closed-form oracle, aft 28.28631336, abeam 6.59635139, depth 26.38540555.
    spread = _reference(
        {
            "kind": "diver",
            "lift_area": f"{0.02 * math.hypot(1.2, 0.3)} m^2",
            "drag_area": f"{0.02 * 0.5} m^2",
            "wet_weight": "0 N",
            "settings": {"s": f"{math.degrees(math.atan2(0.3, 1.2))} deg"},
        },
        {
            "diameter": "0.8 mm",
            "density": "1000 kg/m^3",
            "stiffness": "1e8 N",
            "normal_drag": 1.2,
            "tangential_drag": 0.01,
        },
        "40 m",
        setting="s",
    )
    rod = depth_answer(spread, speed_m_s).rods[0]
    assert rod.astern_m == pytest.approx(28.28631336, rel=1e-5)
    assert rod.abeam_m == pytest.approx(6.59635139, rel=1e-5)
    assert rod.depth_m == pytest.approx(26.38540555, rel=1e-5)


def test_water_as_the_file_has_it() -> None:
    plain = water_of(_spread(DIVER, water={"temperature": "15 degC"}))
    # ITTC 7.5-02-01-03 at 15 degC: 999.1026 kg/m3, 1.13859e-6 m2/s.
    assert plain.density_kg_m3 == pytest.approx(999.1026, abs=0.01)
    assert plain.viscosity_m2_s == pytest.approx(1.13859e-6, rel=2e-3)
    given = water_of(_spread(DIVER, water={"density": "1025 kg/m^3", "kinematic_viscosity": "1.2 mm^2/s"}))
    assert (given.density_kg_m3, given.viscosity_m2_s) == (1025.0, pytest.approx(1.2e-6))


def test_the_demo_spread_mirrors() -> None:
    demo = load_spread(shipped("demo_logs") / "evening.toml")
    port, starboard = demo.rods[1], demo.rods[6]
    now = RodNow(line_out_as_counter_m=50.0)
    a, b = (rig_of(demo, rod, now).chain for rod in (port, starboard))
    assert a.tip_m == (b.tip_m[0], -b.tip_m[1], b.tip_m[2])
    for left, right in zip(a.items, b.items, strict=True):
        if isinstance(left, Body) and isinstance(right, Body):
            assert left.roll_rad == -right.roll_rad
        else:
            assert left == right
