"""The check finds each kind of fault where one is made, and only there."""

from __future__ import annotations

import copy
import tomllib
from typing import Any

import pytest

from sternwatch.answers.belief.answer import believed_answer
from sternwatch.answers.chains.arrays import RodNow
from sternwatch.answers.checks.check import Check, check_spread
from sternwatch.answers.checks.layout import hanging_length_m
from sternwatch.gear.spread_file.load import spread_from
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.places import shipped

SPEED = 2.3 * 0.44704
FILED: dict[str, Any] = tomllib.loads((shipped("demo_logs") / "evening.toml").read_text(encoding="utf-8"))


def _data() -> dict[str, Any]:
    data = copy.deepcopy(FILED)
    data["tackle"]["board"]["release_pull"] = "10 lbf"
    return data


def _check(data: dict[str, Any], **more: Any) -> Check:
    return check_spread(spread_from(data), more.pop("speed", SPEED), **more)


def _kinds(found: Check) -> list[tuple[str, tuple[str, ...]]]:
    return [(f.kind, f.keys) for f in found.findings]


def test_the_demo_spread_has_nothing_to_be_found_and_lacks_only_the_bottom() -> None:
    found = _check(_data())
    assert found.findings == ()
    assert found.unchecked == ("the bottom: the depth of the water at the place is not given",)
    assert [loads.key for loads in found.loads] == list("12345678")
    assert found.cautions == ("Wire and cable under load cut: gloves, cutters at hand, no wraps round a hand.",)


def test_every_finding_says_what_where_why_and_the_cure() -> None:
    data = _data()
    data["line"]["leader"]["strength"] = "0.5 lbf"
    data["rod"][0]["rod_length"] = "2 ft"
    found = _check(data, bottom_m=10.0)
    assert len(found.findings) > 5
    for finding in found.findings:
        assert finding.what
        assert finding.where
        assert finding.why
        assert finding.cure


def test_steady_pull_against_strength_names_the_weakest_link() -> None:
    data = _data()
    data["line"]["leader"]["strength"] = "1.5 lbf"
    found = _check(data, fish_kg=0.01)
    assert _kinds(found) == [("strength", (key,)) for key in "2367"]
    assert all(loads.weakest is not None for loads in found.loads)
    low = found.loads[2]
    assert low.weakest is not None
    assert low.weakest.what == "leader"
    assert low.weakest.margin == pytest.approx(1.5 * 4.4482216 / (low.weakest.pull_N or 0), rel=1e-6)
    assert found.findings[0].what == "leader bears 0.8 lb, and breaks at 1.5 lb"
    # Line pulls harder the nearer to the tip.
    pulls = [part.pull_N or 0 for part in low.parts if part.line]
    assert pulls == sorted(pulls, reverse=True)


def test_unknown_strength_is_told_not_passed() -> None:
    data = _data()
    del data["line"]["leader"]["strength"]
    found = _check(data)
    assert "3 P LOW: no strength is given for leader" in found.unchecked
    assert found.findings == ()


def test_a_strike_on_wire_is_cut_by_a_snubber() -> None:
    """Common practice, no source: an elastic snubber cuts the peak of a strike on wire."""
    data = _data()
    without = copy.deepcopy(data)
    for rod in without["rod"]:
        rod["chain"] = [item for item in rod["chain"] if item.get("tackle") != "snub"]
    for key in "2367":
        with_it = next(loads for loads in _check(data).loads if loads.key == key)
        bare = next(loads for loads in _check(without).loads if loads.key == key)
        assert with_it.strike_peak_N is not None
        assert with_it.strike_without_snubber_N is not None
        assert with_it.strike_peak_N < 0.75 * with_it.strike_without_snubber_N
        assert bare.strike_peak_N == bare.strike_without_snubber_N
        assert bare.strike_with_usual_snubber_N == pytest.approx(with_it.strike_peak_N, rel=0.05)


def test_a_strike_that_parts_the_leader_is_found_with_its_cure() -> None:
    data = _data()
    for rod in data["rod"]:
        rod["chain"] = [item for item in rod["chain"] if item.get("tackle") != "snub"]
    found = _check(data, fish_kg=12.0, fish_m_s=5.0, units=SYSTEMS["metric"])
    strikes = {f.keys[0]: f for f in found.findings if f.kind == "strike"}
    assert set(strikes) >= set("2367")
    assert "a fish of 12 kg running at 18.0 km/h brings" in strikes["3"].what
    assert "a snubber (it makes the peak" in strikes["3"].cure
    assert strikes["3"].values["load_N"] > strikes["3"].values["strength_N"]  # type: ignore[operator]
    assert "upper bound" in strikes["3"].why


def test_a_downriggers_strike_goes_up_the_rods_own_line_not_the_cable() -> None:
    found = _check(_data(), fish_kg=60.0, fish_m_s=8.0)
    down = next(loads for loads in found.loads if loads.key == "4")
    assert [part.struck for part in down.parts] == [False, False, True, True, True]
    assert [part.what for part in down.parts] == ["cable", "ball", "mono", "spoon", "mono"]
    strike = next(f for f in found.findings if f.kind == "strike" and f.keys == ("4",))
    assert "brings mono to" in strike.what


@pytest.mark.parametrize(("setting", "words"), [("2.2 N", "release likely"), ("4.2 N", "release near")])
def test_a_divers_release(setting: str, words: str) -> None:
    data = _data()
    data["tackle"]["disc"]["release_pull"] = setting
    found = _check(data)
    low = next(f for f in found.findings if f.keys == ("3",))
    assert low.kind == "release"
    assert low.what.startswith(words)


def test_a_ball_release_bears_lure_and_rod_and_a_board_clip_the_line() -> None:
    data = _data()
    data["tackle"]["ball"]["release_pull"] = "12 N"
    data["tackle"]["board"]["release_pull"] = "7 N"
    found = _check(data)
    assert [(f.kind, f.keys) for f in found.findings] == [("release", (key,)) for key in "1458"]
    del data["tackle"]["disc"]["release_pull"]
    assert "3 P LOW: the pull that opens the diver's release is not given (release_pull)" in _check(data).unchecked


def test_a_leader_longer_than_rod_and_net_reach() -> None:
    data = _data()
    data["rod"][2]["chain"][3]["length"] = "17 ft"
    spread = spread_from(data)
    # 17 ft, 22 in and the snubber's 0.3 m hang from the disc at the tip; rod 8.5 ft and net 9 ft reach 17.5 ft.
    assert hanging_length_m(spread, spread.rods[2]) == pytest.approx(17 * 0.3048 + 22 * 0.0254 + 0.3)
    found = _check(data)
    assert _kinds(found) == [("leader", ("3",))]
    assert "19.8 ft from the tip to the lure, and 17.5 ft can be netted" in found.findings[0].what
    del data["rod"][2]["rod_length"]
    assert any("3 P LOW" in line and "rod_length" in line for line in _check(data).unchecked)
    assert hanging_length_m(spread, spread.rods[3]) is None  # a ball: the lead is out of its release


def test_a_diver_for_the_other_side_is_told_even_when_meant() -> None:
    data = _data()
    data["rod"][2]["chain"][1] |= {"side": "starboard", "crossing": True}
    found = _check(data)
    assert _kinds(found) == [("wrong_side", ("3",))]
    assert "pull to starboard, across the stern" in found.findings[0].what


def test_more_rods_than_the_crew_may_have() -> None:
    data = _data()
    data["boat"] |= {"people": 2, "rods_per_person": 3}
    found = _check(data)
    assert _kinds(found) == [("rods", ())]
    assert found.findings[0].what == "8 rods; 2 people at 3 each"
    del data["boat"]["people"]
    assert any("people" in line for line in _check(data).unchecked)


def test_two_rods_in_one_holder_are_told() -> None:
    data = _data()
    data["rod"][1]["tip"] = dict(data["rod"][2]["tip"])
    told = [found for found in _check(data).findings if found.kind == "one_holder"]
    assert [found.keys for found in told] == [("2", "3")]
    assert told[0].what == "their tips stand 0.0 ft apart, as in one holder"
    data["rod"][1]["tip"] |= {"abeam": "8 ft"}
    assert "one_holder" not in {found.kind for found in _check(data).findings}


def test_a_counter_that_leaves_no_line_past_the_tip_is_told() -> None:
    """Five colours and the leader hang behind the board's 90 ft: zeroed with the lure at the water it reads more."""
    data = _data()
    data["rod"][0]["counter"] = {"zero": "lure at water"}
    told = [found for found in _check(data).findings if found.kind == "counter"]
    assert [found.keys for found in told] == [("1",)]
    assert told[0].what == "its counter reads 90.0 ft, zeroed with the lure at the water"
    behind = told[0].values["behind_m"]
    assert behind is not None
    now = {"2": RodNow(line_out_as_counter_m=0.0)}  # not out yet; its counter was zeroed at the tip
    assert [found.keys for found in _check(data, now=now).findings if found.kind == "counter"] == [("1",)]
    now = {"1": RodNow(line_out_as_counter_m=behind + 10.0)}
    assert "counter" not in {found.kind for found in _check(data, now=now).findings}
    data["rod"][0]["chain"][0]["out"] = f"{behind + 10.0} m"
    assert "counter" not in {found.kind for found in _check(data).findings}


def test_neighbours_that_come_too_close_on_a_straight_course() -> None:
    data = _data()
    data["rod"][1]["chain"] = copy.deepcopy(data["rod"][2]["chain"])
    data["rod"][1]["tip"] = dict(data["rod"][2]["tip"]) | {"abeam": "7 ft"}
    found = _check(data)
    assert ("neighbours", ("2", "3")) in _kinds(found)
    close = next(f for f in found.findings if f.kind == "neighbours")
    assert close.values["separation_m"] is not None
    assert close.values["required_m"] is not None
    assert close.values["separation_m"] < close.values["required_m"]
    assert "rod 2 (P HIGH) and rod 3 (P LOW)" in close.where


def test_a_lure_deeper_than_the_water() -> None:
    found = _check(_data(), bottom_m=22.5)
    assert _kinds(found) == [("bottom", ("3",)), ("bottom", ("4",)), ("bottom", ("6",))]
    data = _data()
    data["rod"][2] |= {"bottom": "on purpose", "clearance": "1 ft"}
    assert _kinds(_check(data, bottom_m=26.5)) == []
    assert _kinds(_check(data, bottom_m=25.2)) == [("bottom", ("3",))]


def test_a_clipped_rod_lies_as_deep_as_its_carrier_is_now() -> None:
    """Against the answer that ``depth`` gives of the same rods now."""
    data = _data()
    stack = {
        "key": "9", "name": "STACK", "side": "port", "clipped_to": {"rod": "4", "above_ball": "15 ft"},
        "chain": [{"line": "mono", "length": "20 ft"}, {"tackle": "spoon"}],
    }  # fmt: skip
    data["rod"] = [*(one for one in data["rod"] if one["key"] == "4"), stack]
    spread = spread_from(data)
    now = {"4": RodNow(line_out_as_counter_m=30.0)}
    deep = believed_answer(spread, SPEED, now=now).rods[-1].depth_m
    assert deep is not None
    assert deep > 22.0  # with 30 m of cable; about 19 m as filed
    for bottom_m, touches in ((deep - 0.2, True), (deep + 0.5, False)):
        found = check_spread(spread, SPEED, now=now, bottom_m=bottom_m)
        assert (("bottom", ("9",)) in _kinds(found)) == touches


def test_a_board_pulled_under_a_slack_diver_and_a_lure_in_the_air() -> None:
    data = _data()
    chain = data["rod"][0]["chain"]
    data["rod"][0]["chain"] = [*chain[:3], {"tackle": "disc", "setting": "low"}, *chain[4:]]
    assert ("pulled_under", ("1",)) in _kinds(_check(data))
    assert ("slack", ("3",)) in _kinds(_check(_data(), speed=0.2))
    data = _data()
    data["rod"][4]["chain"][0]["out"] = "0.1 ft"
    data["rod"][4]["counter"] = {"zero": "tip"}
    data["rod"][4]["chain"][2]["length"] = "1 ft"
    assert ("in_air", ("5",)) in _kinds(_check(data))


def test_sentences_are_in_the_units_chosen() -> None:
    us, metric = (_check(_data(), bottom_m=24.0, units=SYSTEMS[name]) for name in ("us", "metric"))
    assert "78.7 ft deep" in us.findings[0].what
    assert "24.0 m deep" in metric.findings[0].what
    assert us.findings[0].values == metric.findings[0].values


def test_over_another_bottom_no_median_is_computed_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of the same spread: another length, speed or heading, a carrier's length, and another spread ask anew."""
    from sternwatch.answers.checks import check as module

    asked: list[str] = []
    monkeypatch.setattr(module, "_median_m", lambda _, rod, *__: (asked.append(rod.key), 20.0)[1])
    spread, earlier = spread_from(_data()), module.Earlier()

    def of(bottom_m: float, *, speed: float = SPEED, over: Any = spread, **more: Any) -> list[str]:
        asked.clear()
        check_spread(over, speed, bottom_m=bottom_m, earlier=earlier, **more)
        return list(asked)

    assert of(30.0) == list("12345678")
    assert of(12.0) == []
    assert of(30.0, now={"3": RodNow(50.0)}) == ["3"]
    assert of(12.0, now={"3": RodNow(50.0)}) == []
    assert of(12.0, speed=SPEED + 0.1) == list("12345678")
    assert of(12.0, heading_rad=1.0) == list("12345678")
    assert of(12.0) == []
    assert of(12.0, over=spread_from(_data())) == list("12345678"), "equal, but not the same"
    asked.clear()
    check_spread(spread, SPEED, bottom_m=30.0)
    assert asked == list("12345678"), "by itself a check keeps nothing"


def test_over_another_bottom_the_rods_hang_as_before(monkeypatch: pytest.MonkeyPatch) -> None:
    """Another length, speed, heading or unit, and another spread, are solved anew."""
    from sternwatch.answers.checks import check as module

    solved: list[float] = []
    steady_rigs = module.steady_rigs
    monkeypatch.setattr(module, "_median_m", lambda *_: 20.0)
    monkeypatch.setattr(
        module, "steady_rigs", lambda rigs, speed, **of: (solved.append(speed), steady_rigs(rigs, speed, **of))[1]
    )
    spread, earlier = spread_from(_data()), module.Earlier()

    def solves(bottom_m: float, speed: float = SPEED, over: Any = spread, **more: Any) -> bool:
        solved.clear()
        made = check_spread(over, speed, bottom_m=bottom_m, earlier=earlier, **more)
        again = bool(solved)
        assert made == check_spread(over, speed, bottom_m=bottom_m, **more), "as if nothing were kept"
        return again

    assert [solves(30.0), solves(12.0), solves(3.0)] == [True, False, False]
    longer = {"3": RodNow(50.0)}
    assert [solves(3.0, now=longer), solves(12.0, now=dict(longer)), solves(12.0)] == [True, False, True]
    assert [solves(12.0, SPEED + 0.1), solves(12.0, heading_rad=1.0), solves(30.0, heading_rad=1.0)] == [
        True,
        True,
        False,
    ]
    assert [solves(30.0, units=SYSTEMS["metric"]), solves(12.0, units=SYSTEMS["metric"])] == [True, False]
    assert solves(12.0, over=spread_from(_data()), units=SYSTEMS["metric"]), "equal, but not the same"


def test_a_kept_median_is_the_one_that_is_computed() -> None:
    from sternwatch.answers.checks.check import Earlier

    earlier, data = Earlier(), _data()
    spread = spread_from(data)
    first = check_spread(spread, SPEED, bottom_m=10.0, earlier=earlier)
    assert (
        check_spread(spread, SPEED, bottom_m=10.0, earlier=earlier)
        == first
        == check_spread(spread, SPEED, bottom_m=10.0)
    )
