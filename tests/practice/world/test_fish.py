"""Fish as a Poisson process, planned strikes, fights, and what counts as written down."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from scipy import stats

from sternwatch.logbook.actions.kinds import parse
from sternwatch.logbook.crew.fold import apply, fold
from sternwatch.logbook.crew.state import Crew, RodDefaults
from sternwatch.practice.drills.model import FishSpec, StrikeSpec
from sternwatch.practice.world.fish import KEY_WITHIN_S, Fish, keyed, landed, right
from sternwatch.practice.world.truth import TruePlace

BEGIN = datetime(2025, 7, 19, 11, 0, tzinfo=UTC)
RODS = tuple(RodDefaults(key=key, name=f"R{key}", line_out_m=30.0) for key in "123")


def place(temperature: float = 10.0, vertical: float = 0.0, speed: float = 1.0) -> TruePlace:
    return TruePlace(0.0, 15.0, 40.0, 0.0, temperature, 20.0, speed, vertical, 10.0)


def crew(*acts: dict[str, Any]) -> Crew:
    made = fold((), RODS, "fishing")
    for number, act in enumerate(acts):
        moment = BEGIN + timedelta(seconds=act["elapsed_s"])
        made = apply(made, parse({"id": f"a{number}", "time": moment} | act))
    return made


def spec(**fields: Any) -> FishSpec:
    return FishSpec.model_validate({"per_hour": 6, "zone": ("8 degC", "12 degC"), **fields})


def first_strike_s(seed: int, given: FishSpec, where: TruePlace) -> float:
    fish, hands, k = Fish(given, (), seed), crew(), 0
    while not fish.strikes:
        k += 1
        fish.step(2.0 * k, 2.0, 2.0 * k, 0.0, 1.0, {"1": where}, hands)
    return 2.0 * k


def test_waiting_times_follow_the_exponential_law() -> None:
    # Of a Poisson process of 6 an hour: exponential with mean 600 s (Kolmogorov-Smirnov).
    waits = [first_strike_s(seed, spec(), place()) for seed in range(250)]
    assert stats.kstest(waits, stats.expon(scale=600.0).cdf).pvalue > 0.01


def test_outside_the_zone_and_on_a_rising_lure() -> None:
    seeds = range(120)
    inside = sum(first_strike_s(s, spec(), place()) for s in seeds)
    outside = sum(first_strike_s(s, spec(), place(temperature=14.0)) for s in seeds)
    rising = sum(first_strike_s(s, spec(), place(vertical=-0.1)) for s in seeds)
    sinking = sum(first_strike_s(s, spec(), place(vertical=0.1)) for s in seeds)
    assert outside == pytest.approx(inside * 2.43, rel=0.05)  # exp(-(2 / 1.5)^2 / 2) of the rate
    assert rising == pytest.approx(inside / 2.2, rel=0.05)  # 1 + 12 x 0.1 times the rate
    assert sinking == inside


def test_how_the_boat_is_steered_does_not_change_the_draws() -> None:
    assert first_strike_s(3, spec(), place()) == first_strike_s(3, spec(), place(speed=1.4))


def test_one_strike_wakes_others() -> None:
    fish, hands = Fish(spec(per_hour=0.6), (StrikeSpec.model_validate({"rod": "1", "at": "10 s"}),), 5), crew()
    alone = Fish(spec(per_hour=0.6), (), 5)
    for k in range(120):
        for one in (fish, alone):
            one.step(0.5 * k, 0.5, 0.5 * k, 0.0, 1.0, {"1": place(), "2": place()}, hands)
    assert fish._owed["2 fish"] < alone._owed["2 fish"]


def planned(*plans: dict[str, Any]) -> Fish:
    return Fish(spec(per_hour=0), tuple(StrikeSpec.model_validate(plan) for plan in plans), 1)


def run(fish: Fish, hands: Crew, seconds: int, speed: float = 1.0, start: int = 0, turned: float = 0.0) -> None:
    for t in range(start + 1, start + seconds + 1):
        fish.step(float(t), 1.0, float(t), turned, speed, {"1": place(), "2": place()}, hands)


def test_planned_strikes_come_at_their_time_or_turn_and_once() -> None:
    fish = planned({"rod": "1", "at": "10 s"}, {"rod": "2", "turned": "port 50 deg", "kind": "false release"})
    run(fish, crew(), 30, turned=-40.0)
    assert [(s.key, s.t_s) for s in fish.strikes] == [("1", 10.0)]
    run(fish, crew(), 5, start=30, turned=-55.0)
    assert [(s.key, s.kind) for s in fish.strikes] == [("1", "fish"), ("2", "false release")]


def test_a_rod_that_is_in_catches_nothing() -> None:
    fish = planned({"rod": "1", "at": "10 s"})
    run(fish, crew({"kind": "in", "rod": "1", "elapsed_s": 2.0}), 30)
    assert fish.strikes == []


def test_a_lure_on_its_way_out_is_struck_too() -> None:
    fish = planned({"rod": "1", "at": "10 s"})
    run(
        fish,
        crew({"kind": "in", "rod": "1", "elapsed_s": 2.0}, {"kind": "going out", "rod": "1", "elapsed_s": 8.0}),
        30,
    )
    assert [(strike.key, strike.t_s) for strike in fish.strikes] == [("1", 10.0)]


def hit(at: float, rod: str = "1") -> dict[str, Any]:
    return {"kind": "hit", "rod": rod, "elapsed_s": at}


def outcome(at: float, how: str, of: str = "a0") -> dict[str, Any]:
    return {"kind": "outcome", "of": of, "outcome": how, "elapsed_s": at}


@pytest.mark.parametrize(
    ("after", "kept"), [(3.0, True), (KEY_WITHIN_S, True), (KEY_WITHIN_S + 1, False), (-5.0, False)]
)
def test_a_hit_counts_about_the_time_of_its_strike(after: float, kept: bool) -> None:
    fish = planned({"rod": "1", "at": "10 s"})
    hands = crew(hit(10.0 + after))
    run(fish, crew(), 11)
    assert (keyed(fish.strikes[0], hands) is not None) == kept


def test_a_fish_comes_to_the_net_sooner_from_a_slow_boat() -> None:
    ready = {}
    for speed in (0.7, 1.1):
        fish = planned({"rod": "1", "at": "10 s", "fight": "60 s"})
        hands = crew(hit(11.0))
        run(fish, crew(), 10)
        run(fish, hands, 400, speed, start=10)
        ready[speed] = fish.strikes[0].ready_s
    assert ready[0.7] == pytest.approx(71.0, abs=2.0)
    assert ready[1.1] == pytest.approx(11.0 + 60.0 * 0.7 / 0.4, abs=3.0)


def test_what_is_right_to_write_down() -> None:
    fish = planned({"rod": "1", "at": "10 s", "fight": "30 s"}, {"rod": "2", "at": "12 s", "kind": "false release"})
    run(fish, crew(), 12)
    both = crew(hit(13.0), hit(14.0, "2"))
    run(fish, both, 60, 0.7, start=12)
    caught, false = fish.strikes
    good = crew(hit(13.0), hit(14.0, "2"), outcome(60.0, "boxed"), outcome(62.0, "no fish", "a1"))
    assert right(caught, good)
    assert landed(caught, good)
    assert right(false, good)
    assert false.off_s is not None
    wrong = crew(hit(13.0), hit(14.0, "2"), outcome(60.0, "no fish"), outcome(62.0, "boxed", "a1"))
    assert not right(caught, wrong)
    assert not right(false, wrong)
    assert not landed(caught, wrong)


def test_a_fish_that_nobody_attends_shakes_off_and_a_fast_boat_tears_it_off() -> None:
    fish = planned({"rod": "1", "at": "10 s"})
    run(fish, crew(), 90)
    assert fish.strikes[0].off_s == pytest.approx(71.0, abs=1.0)
    lost = 0
    for seed in range(40):
        fish = Fish(
            spec(per_hour=0), (StrikeSpec.model_validate({"rod": "1", "at": "10 s", "fight": "900 s"}),), seed
        )
        run(fish, crew(), 10)
        run(fish, crew(hit(11.0)), 40, 1.8, start=10)
        lost += fish.strikes[0].off_s is not None
    # 40 s at one in 40 s: 1 - 1/e of them, within three standard deviations of a binomial of 40.
    assert lost == pytest.approx(40 * 0.632, abs=3 * 3.05)
