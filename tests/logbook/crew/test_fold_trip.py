"""Lines put back and looked at, rods taken in by running, and what the crew says of the trip."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

import pytest

from sternwatch.logbook.actions.kinds import Action
from sternwatch.logbook.crew.facts import BoxCount, box_counts, rods_allowed
from sternwatch.logbook.crew.fold import apply, fold
from sternwatch.logbook.crew.state import RodDefaults
from sternwatch.logbook.crew.words import describe

Act = Callable[..., Action]


@pytest.fixture
def out(act: Act) -> list[Action]:
    """Rods 1 and 3 are set, rod 5 is in."""
    return [
        act("a", 0, "going out", "1"),
        act("b", 1, "set", "1"),
        act("c", 2, "going out", "3"),
        act("d", 3, "set", "3"),
    ]


class TestPutBack:
    def test_length_and_setting_return_and_the_rod_goes_out(
        self, act: Act, out: list[Action], rods: tuple[RodDefaults, ...]
    ) -> None:
        hit = [act("h", 60, "hit", "3"), act("o", 90, "outcome", of="h", outcome="boxed")]
        changed = [act("l", 100, "length", "3", line_out_m=70.0), act("s", 101, "setting", "3", setting="high")]
        back = act("p", 120, "put back", "3", of="h", line_out_m=50.0, setting="low")
        rod = fold([*out, *hit, *changed, back], rods).rods["3"]
        assert (rod.state, rod.line_out_m, rod.setting) == ("letting out", 50.0, "low")
        assert rod.set_at is not None
        assert rod.set_at.elapsed_s == 120

    def test_one_press_takes_all_of_it_back(self, act: Act, out: list[Action], rods: tuple[RodDefaults, ...]) -> None:
        back = act("p", 120, "put back", "3", of="h", line_out_m=20.0, setting="high")
        before = fold(out, rods)
        after = fold([*out, back, act("u", 121, "undo", of="p")], rods)
        assert after.rods == before.rods


class TestChecked:
    def test_a_checked_line_counts_from_then(
        self, act: Act, out: list[Action], rods: tuple[RodDefaults, ...]
    ) -> None:
        rod = fold([*out, act("k", 900, "checked", "3")], rods).rods["3"]
        assert rod.checked_at is not None
        assert rod.set_at is not None
        assert (rod.state, rod.checked_at.elapsed_s, rod.set_at.elapsed_s) == ("fishing", 900, 900)

    def test_going_out_again_forgets_it(self, act: Act, out: list[Action], rods: tuple[RodDefaults, ...]) -> None:
        rod = fold([*out, act("k", 900, "checked", "3"), act("g", 950, "going out", "3")], rods).rods["3"]
        assert rod.checked_at is None

    def test_a_line_in_the_boat_has_not_been_set(self, act: Act, rods: tuple[RodDefaults, ...]) -> None:
        rod = fold([act("k", 900, "checked", "3")], rods).rods["3"]
        assert (rod.state, rod.set_at, rod.checked_at) == ("in", None, None)


class TestRunning:
    def test_rods_are_in_from_when_the_speed_rose(
        self, act: Act, out: list[Action], rods: tuple[RodDefaults, ...], begin: datetime
    ) -> None:
        ran = act("r", 620, "ran", keys=["1", "3"], since=begin + timedelta(seconds=600), since_elapsed_s=600)
        crew = fold([*out, ran], rods)
        assert [crew.rods[key].state for key in "135"] == ["in", "in", "in"]
        since = crew.rods["3"].state_since
        assert since is not None
        assert since.elapsed_s == 600
        assert crew.rods["5"].state_since is None
        assert crew.newest is not None
        assert "rods 1 3 taken as in" in describe(crew.newest, crew)

    def test_one_press_takes_it_back_for_all(
        self, act: Act, out: list[Action], rods: tuple[RodDefaults, ...], begin: datetime
    ) -> None:
        ran = act("r", 620, "ran", keys=["1", "3"], since=begin + timedelta(seconds=600))
        crew = apply(fold([*out, ran], rods), act("u", 625, "undo", of="r"))
        assert crew.rods == fold(out, rods).rods


class TestFacts:
    def test_the_newest_word_on_each_counts(self, act: Act, rods: tuple[RodDefaults, ...]) -> None:
        said = [
            act("1", 0, "trip", people=3, target=["coho"], limits={"coho": 5}, wind="SW 8"),
            act("2", 9, "trip", people=4, sea="1 ft"),
        ]
        facts = fold(said, rods).facts
        assert (facts.people, facts.target, dict(facts.limits), facts.wind, facts.sea) == (
            4, ("coho",), {"coho": 5}, "SW 8", "1 ft",
        )  # fmt: skip
        assert fold([*said, act("u", 10, "undo", of="2")], rods).facts.people == 3
        assert apply(fold(said[:1], rods), said[1]).facts == facts

    def test_the_box_against_the_limits(self, act: Act, rods: tuple[RodDefaults, ...]) -> None:
        fish = []
        for n, (outcome, species) in enumerate(
            [("boxed", "coho"), ("boxed", "coho"), ("freed", "coho"), ("boxed", None), ("boxed", "chinook"),
             ("dropped", "coho"), ("dropped", "coho"), ("no fish", "coho"), ("boxed", "chinook")]
        ):  # fmt: skip
            fish.append(act(f"h{n}", n, "hit", "1"))
            fish.append(act(f"o{n}", n, "outcome", of=f"h{n}", outcome=outcome))
            if species:
                fish.append(act(f"c{n}", n, "catch", of=f"h{n}", species=species))
        crew = fold([act("t", 0, "trip", limits={"lake trout": 3, "coho": 1}), *fish], rods)
        counts = box_counts(crew.hits, crew.facts)
        assert counts == (
            BoxCount("lake trout", 0, 0, 3), BoxCount("coho", 2, 1, 1), BoxCount("chinook", 2, 0, None),
            BoxCount("unnamed fish", 1, 0, None),
        )  # fmt: skip
        assert [c.words for c in counts] == [
            "lake trout 0 of 3",
            "coho 2 of 1, 1 too many",
            "chinook 2",
            "unnamed fish 1",
        ]

    def test_a_full_box_is_not_too_many(self) -> None:
        assert BoxCount("coho", 5, 0, 5).words == "coho 5 of 5"
        assert BoxCount("coho", 6, 0, 5).words == "coho 6 of 5, 1 too many"

    def test_rods_allowed_need_both_numbers(self, act: Act, rods: tuple[RodDefaults, ...]) -> None:
        facts = fold([act("t", 0, "trip", people=3)], rods).facts
        assert rods_allowed(facts, 3) == 9
        assert rods_allowed(facts, None) is None
        assert rods_allowed(fold([], rods).facts, 3) is None
        assert rods_allowed(fold([], rods).facts, 3, people=2) == 6


def test_a_notebooks_word_stays_with_its_hit(act: Act, rods: tuple[RodDefaults, ...]) -> None:
    crew = fold([act("h", 0, "hit", "1"), act("n", 1, "noted", of="h", depth_m=18.0, lure="spoon")], rods)
    (hit,) = crew.hits
    assert hit.noted is not None
    assert (hit.noted.depth_m, hit.noted.lure) == (18.0, "spoon")


def test_new_entries_in_words(act: Act, out: list[Action], rods: tuple[RodDefaults, ...]) -> None:
    crew = fold([*out, act("h", 60, "hit", "3")], rods)
    assert describe(act("p", 61, "put back", "3", of="h"), crew).startswith("3 P LOW put back ")
    assert describe(act("k", 61, "checked", "3"), crew).startswith("3 P LOW line checked ")
    facts = act("t", 61, "trip", people=3, limits={"coho": 5}, wind="SW 8")
    assert describe(facts, crew).startswith("3 aboard, limits coho 5, wind SW 8 ")


class TestEnd:
    def test_rods_that_are_out_are_in_and_the_trip_is_over_from_then(
        self, act: Act, out: list[Action], rods: tuple[RodDefaults, ...]
    ) -> None:
        crew = fold([*out, act("e", 100, "end")], rods)
        assert {rod.state for rod in crew.rods.values()} == {"in"}
        assert not crew.facts.over_at(99.9)
        assert crew.facts.over_at(100.0)
        assert describe(act("e", 100, "end"), crew).startswith("trip ended ")

    def test_taken_back_it_goes_on_as_before(
        self, act: Act, out: list[Action], rods: tuple[RodDefaults, ...]
    ) -> None:
        crew = fold([*out, act("e", 100, "end"), act("u", 101, "undo", of="e")], rods)
        assert crew.rods == fold(out, rods).rods
        assert crew.facts.ended is None
