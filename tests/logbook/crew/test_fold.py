"""What the crew's actions amount to."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sternwatch.local_time import BoatTime
from sternwatch.logbook.actions.kinds import Action, parse
from sternwatch.logbook.crew.fold import apply, fold, start_state
from sternwatch.logbook.crew.state import Crew, RodDefaults, When
from sternwatch.logbook.crew.words import describe

Act = Callable[..., Action]
Rods = tuple[RodDefaults, ...]


def test_a_rod_goes_out_is_set_and_comes_in(act: Act, rods: Rods) -> None:
    crew = fold([], rods)
    assert [rod.state for rod in crew.rods.values()] == ["in", "in", "in"]
    assert crew.rods["3"].line_out_m == 50.0
    assert not any(rod.length_lost or rod.let_out_s for rod in crew.rods.values())
    crew = apply(crew, act("a", 10, "going out", "3", line_out_m=60.0))
    assert (crew.rods["3"].state, crew.rods["3"].line_out_m) == ("letting out", 60.0)
    crew = apply(crew, act("b", 70, "set", "3"))
    assert crew.rods["3"].state == "fishing"
    assert crew.rods["3"].set_at == When(act("x", 70, "bite").time, 70.0)
    crew = apply(crew, act("c", 100, "in", "3"))
    assert (crew.rods["3"].state, crew.rods["3"].set_at) == ("in", None)
    crew = apply(crew, act("d", 130, "going out", "3"))
    assert crew.rods["3"].line_out_m == 60.0, "without a length: the last one"


def test_lengths_settings_and_leads_of_a_rod_in_the_water_count_as_changes(act: Act, rods: Rods) -> None:
    crew = fold([act("a", 1, "lead", "5", lead_m=6.0), act("b", 2, "length", "5", line_out_m=18.0)], rods)
    assert (crew.rods["5"].lead_m, crew.rods["5"].line_out_m, crew.rods["5"].set_at) == (6.0, 18.0, None)
    crew = fold([act("a", 1, "set", "3"), act("b", 5, "setting", "3", setting="high")], rods)
    set_at = crew.rods["3"].set_at
    assert crew.rods["3"].setting == "high"
    assert set_at is not None
    assert set_at.elapsed_s == 5


@pytest.mark.parametrize(
    ("outcome", "after"), [("boxed", "in"), ("freed", "in"), ("dropped", "fishing"), ("no fish", "fishing")]
)
def test_a_hit_is_fought_until_its_outcome(act: Act, rods: Rods, outcome: str, after: str) -> None:
    crew = fold([act("a", 1, "set", "3"), act("h", 50, "hit", "3")], rods)
    assert crew.rods["3"].state == "fighting"
    assert [hit.id for hit in crew.open_fish("3")] == ["h"]
    assert crew.hits[0].line_out_m == 50.0
    assert crew.hits[0].setting == "low"
    assert not crew.hits[0].from_memory
    crew = apply(crew, act("o", 90, "outcome", of="h", outcome=outcome))
    assert crew.rods["3"].state == after
    assert crew.open_fish() == ()
    assert crew.hits[0].counts is (outcome != "no fish")
    assert (crew.last_hit("3") is None) is (outcome == "no fish")


def test_a_fish_lost_while_the_line_was_going_out_leaves_it_going_out(act: Act, rods: Rods) -> None:
    crew = fold([act("a", 1, "going out", "3"), act("h", 5, "hit", "3")], rods)
    assert crew.rods["3"].state == "fighting"
    crew = apply(crew, act("o", 9, "outcome", of="h", outcome="dropped"))
    assert crew.rods["3"].state == "letting out"


@pytest.mark.parametrize(
    ("outcome", "fought_s", "lost"),
    [("dropped", 220, True), ("dropped", 16, True), ("dropped", 15, False), ("no fish", 2.5, False),
     ("no fish", 40, False), ("no fish", 41, True)],
)  # fmt: skip
def test_after_a_fight_the_length_is_unknown_until_it_is_said(
    act: Act, rods: Rods, outcome: str, fought_s: float, lost: bool
) -> None:
    crew = fold([act("a", 1, "set", "3"), act("h", 50, "hit", "3")], rods)
    crew = apply(crew, act("o", 50 + fought_s, "outcome", of="h", outcome=outcome))
    assert crew.rods["3"].state == "fishing"
    assert crew.rods["3"].length_lost is lost
    if not lost:
        return
    again = apply(crew, act("i", 400, "hit", "3"))
    assert again.hits[1].line_out_m is None, "nobody knew it at the second hit"
    assert apply(again, act("p", 402, "outcome", of="i", outcome="no fish")).rods["3"].length_lost
    for kind, said in (
        ("length", {"line_out_m": 31.0}), ("set", {}), ("checked", {}), ("going out", {}), ("in", {}),
        ("put back", {"of": "h", "line_out_m": 31.0}),
    ):  # fmt: skip
        assert not apply(crew, act("s", 400, kind, "3", **said)).rods["3"].length_lost, kind
    assert not apply(crew, act("u", 400, "undo", of="o")).rods["3"].length_lost, "taken back, it still fights"


def test_a_fish_lost_after_a_fight_on_the_way_out_fishes_with_a_length_unknown(act: Act, rods: Rods) -> None:
    crew = fold([act("a", 1, "going out", "3"), act("h", 5, "hit", "3")], rods)
    crew = apply(crew, act("o", 225, "outcome", of="h", outcome="dropped"))
    assert (crew.rods["3"].state, crew.rods["3"].length_lost) == ("fishing", True)


def test_a_second_hit_on_a_fighting_rod_keeps_it_fighting(act: Act, rods: Rods) -> None:
    crew = fold([act("a", 1, "set", "3"), act("h", 5, "hit", "3"), act("i", 30, "hit", "3")], rods)
    crew = apply(crew, act("o", 40, "outcome", of="i", outcome="dropped"))
    assert crew.rods["3"].state == "fighting"
    crew = apply(crew, act("p", 50, "outcome", of="h", outcome="boxed"))
    assert crew.rods["3"].state == "in"


def test_a_later_outcome_replaces_the_first_without_moving_the_rod_again(act: Act, rods: Rods) -> None:
    crew = fold(
        [
            act("a", 1, "set", "3"), act("h", 5, "hit", "3"), act("o", 40, "outcome", of="h", outcome="boxed"),
            act("b", 60, "set", "3"), act("p", 70, "outcome", of="h", outcome="freed"),
        ],
        rods,
    )  # fmt: skip
    assert crew.hits[0].outcome == "freed"
    assert crew.rods["3"].state == "fishing"


def test_a_hit_on_a_rod_that_is_in_is_kept_and_flagged(act: Act, rods: Rods) -> None:
    crew = fold([act("h", 5, "hit", "3")], rods)
    assert crew.rods["3"].state == "in"
    assert (crew.hits[0].flag, crew.hits[0].counts) == ("rod was in", True)
    crew = fold([act("s", 9, "set", "3"), act("o", 12, "outcome", of="h", outcome="boxed")], rods)
    assert crew.rods["3"].state == "fishing", "a hit that did not stop the rod does not bring it in"


def test_a_doubtful_hit_counts_in_nothing_until_confirmed(act: Act, rods: Rods) -> None:
    crew = fold([act("a", 1, "set", "3"), act("h", 5, "hit", "3", doubtful=True, why="pressed with 4")], rods)
    assert crew.rods["3"].state == "fishing"
    assert (crew.hits[0].counts, crew.open_fish(), crew.hits[0].why) == (False, (), "pressed with 4")
    sure = apply(crew, act("c", 9, "confirm", of="h"))
    assert sure.rods["3"].state == "fighting"
    assert sure.hits[0].counts
    boxed = apply(crew, act("o", 9, "outcome", of="h", outcome="boxed"))
    assert boxed.hits[0].counts, "a fish in the box was there"
    nothing = apply(crew, act("o", 9, "outcome", of="h", outcome="no fish"))
    assert not nothing.hits[0].counts


def test_confirming_a_hit_after_the_rod_was_moved_does_not_stop_it(act: Act, rods: Rods) -> None:
    crew = fold(
        [
            act("a", 1, "set", "3"), act("h", 5, "hit", "3", doubtful=True), act("i", 9, "in", "3"),
            act("b", 60, "set", "3"), act("c", 90, "confirm", of="h"),
        ],
        rods,
    )  # fmt: skip
    assert crew.rods["3"].state == "fishing"


def test_a_hit_found_doubtful_gives_its_rod_back(act: Act, rods: Rods) -> None:
    crew = fold(
        [act("a", 1, "set", "3"), act("h", 5, "hit", "3"), act("d", 6, "doubt", of="h", why="three keys")], rods
    )
    assert crew.rods["3"].state == "fishing"
    assert not crew.hits[0].counts
    assert apply(crew, act("c", 9, "confirm", of="h")).hits[0].counts


def test_the_next_rod_key_takes_the_time_of_a_bite(act: Act, rods: Rods) -> None:
    crew = fold([act("a", 1, "set", "3"), act("b", 20, "bite")], rods)
    assert (crew.hits[0].rod, crew.hits[0].counts) == (None, False)
    crew = apply(crew, act("h", 75, "hit", "3", bite="b"))
    assert [(hit.id, hit.when.elapsed_s, hit.entered.elapsed_s) for hit in crew.hits] == [("h", 20.0, 75.0)]
    assert crew.hit("b") == crew.hit("h")
    crew = apply(crew, act("u", 80, "undo", of="h"))
    assert [(hit.id, hit.rod, hit.doubtful) for hit in crew.hits] == [("b", None, False)], "the bite waits again"


def test_catch_fields_come_one_by_one_and_correct_each_other(act: Act, rods: Rods) -> None:
    crew = fold(
        [
            act("h", 5, "hit", "3"), act("c", 9, "catch", of="h", species="coho", length_m=0.5),
            act("d", 99, "catch", of="h", species="lake trout", undersized=True, note="old hook in it"),
        ],
        rods,
    )  # fmt: skip
    hit = crew.hits[0]
    assert (hit.species, hit.length_m, hit.mass_kg, hit.undersized) == ("lake trout", 0.5, None, True)
    assert hit.note == "old hook in it"


def test_a_moved_hit_says_that_its_time_is_from_memory(act: Act, rods: Rods) -> None:
    at = act("x", 10, "bite").time
    crew = fold([act("h", 300, "hit", "3"), act("t", 320, "retime", of="h", to=at, to_elapsed_s=10.0)], rods)
    assert crew.hits[0].when == When(at, 10.0)
    assert crew.hits[0].entered.elapsed_s == 300
    assert crew.hits[0].from_memory
    earlier = apply(crew, act("i", 200, "hit", "3"))
    last = earlier.last_hit("3")
    assert last is not None
    assert last.id == "i", "last in time, not in order of entry"


def test_undo_takes_anything_back_and_restore_brings_it_again(act: Act, rods: Rods) -> None:
    acts = [
        act("a", 1, "set", "3"),
        act("l", 5, "length", "3", line_out_m=55.0),
        act("s", 6, "setting", "3", setting="high"),
        act("h", 9, "hit", "3"),
        act("o", 50, "outcome", of="h", outcome="boxed"),
    ]
    crew = fold(acts, rods)
    for index in range(len(acts) - 1, -1, -1):
        assert crew.newest is not None
        assert crew.newest.id == acts[index].id
        crew = apply(crew, act(f"u{index}", 60, "undo", of=crew.newest.id))
        bare = fold(acts[:index], rods)
        assert (crew.rods, crew.hits) == (bare.rods, bare.hits)
    assert crew.newest is None
    for index, action in enumerate(acts):
        assert crew.restorable is not None
        assert crew.restorable.id == action.id
        crew = apply(crew, act(f"y{index}", 70, "restore", of=crew.restorable.id))
        again = fold(acts[: index + 1], rods)
        assert (crew.rods, crew.hits) == (again.rods, again.hits)
    assert crew.restorable is None
    assert crew.problems == ()


def test_an_act_of_several_entries_is_taken_back_and_restored_whole(act: Act, rods: Rods) -> None:
    before = [act("a", 1, "set", "3"), act("g", 40, "hit", "3")]
    at = act("x", 20, "bite").time
    late = [
        act("h", 300, "hit", "3"),
        act("t", 300, "retime", of="h", to=at.isoformat(), to_elapsed_s=20.0, part_of="h"),
        act("d", 300, "doubt", of="g", part_of="h"),
    ]
    whole, bare = fold([*before, *late], rods), fold(before, rods)
    assert whole.newest is not None
    assert whole.newest.id == "h"
    assert list(whole.acts(whole.standing)) == ["h", "g", "a"]
    back = apply(whole, act("u", 301, "undo", of="h"))
    assert (back.hits, back.rods, back.problems) == (bare.hits, bare.rods, ())
    assert back.newest is not None
    assert back.newest.id == "g"
    assert list(back.acts(back.undone)) == ["h"]
    again = apply(back, act("y", 302, "restore", of="h"))
    assert (again.hits, again.rods, again.problems) == (whole.hits, whole.rods, ())


def test_a_part_that_was_taken_back_before_does_not_come_back_with_the_whole(act: Act, rods: Rods) -> None:
    """Found by the crew's machine: an undo and its restoring must leave everything as it was."""
    acts = [act("h", 30, "hit", "3"), act("d", 30, "doubt", of="h", part_of="h"), act("u", 40, "undo", of="d")]
    before = fold(acts, rods)
    assert list(before.undone) == ["d"]
    back = apply(before, act("v", 50, "undo", of="h"))
    again = apply(back, act("y", 60, "restore", of="h"))
    assert (set(again.standing), again.hits, set(again.undone)) == (set(before.standing), before.hits, {"d"})
    assert set(apply(again, act("z", 70, "restore", of="d")).standing) == {"h", "d"}


def test_an_undo_that_came_twice_does_not_keep_the_parts_from_coming_back(act: Act, rods: Rods) -> None:
    acts = [act("h", 30, "hit", "3"), act("d", 30, "doubt", of="h", part_of="h")]
    twice = fold([*acts, act("u", 40, "undo", of="h"), act("v", 41, "undo", of="h")], rods)
    assert set(twice.undone) == {"h", "d"}
    assert set(apply(twice, act("y", 50, "restore", of="h")).standing) == {"h", "d"}


def test_undo_of_an_older_entry_leaves_the_later_ones(act: Act, rods: Rods) -> None:
    crew = fold(
        [
            act("a", 1, "set", "3"), act("h", 9, "hit", "3"), act("o", 50, "outcome", of="h", outcome="boxed"),
            act("n", 55, "note", text="calm"), act("u", 60, "undo", of="h"),
        ],
        rods,
    )  # fmt: skip
    assert crew.hits == ()
    assert crew.rods["3"].state == "fishing"
    assert crew.newest is not None
    assert crew.newest.id == "n"
    crew = apply(crew, act("v", 61, "undo", of="n"))
    assert crew.newest is not None
    assert crew.newest.id == "a", "the outcome of a hit that is taken back says nothing, so `u` passes over it"
    assert crew.problems == ()
    crew = apply(crew, act("y", 62, "restore", of="h"))
    assert crew.hits[0].outcome == "boxed"
    assert crew.newest is not None
    assert crew.newest.id == "h", "what was restored is the newest again"


def test_an_acknowledgement_is_no_entry_to_take_back(act: Act, rods: Rods) -> None:
    crew = fold([act("a", 1, "set", "3"), act("k", 5, "acknowledge", alert="bottom 3")], rods)
    assert crew.acknowledged == {"bottom 3"}
    assert crew.newest is not None
    assert crew.newest.id == "a"


@pytest.mark.parametrize(
    ("kind", "rod", "fields", "said"),
    [
        ("set", "9", {}, "set x: no rod '9'; the spread has 1, 3, 5"),
        ("lead", "3", {"lead_m": 3.0}, "lead x: rod 3 has no lead that can be changed"),
        ("setting", "3", {"setting": "wide"}, "setting x: rod 3 has no setting 'wide'; it has straight, low, high"),
        ("setting", "5", {"setting": "low"}, "setting x: rod 5 has no setting 'low'; it has none"),
        ("outcome", None, {"of": "nix", "outcome": "boxed"}, "outcome x: 'nix' is not an earlier hit"),
        ("undo", None, {"of": "nix"}, "undo x: 'nix' is not an earlier entry"),
        ("restore", None, {"of": "nix"}, "restore x: 'nix' is not an earlier entry"),
    ],
)
def test_what_does_not_fit_is_said_and_changes_nothing(
    act: Act, rods: Rods, kind: str, rod: str | None, fields: dict[str, object], said: str
) -> None:
    crew = fold([act("x", 5, kind, rod, **fields)], rods)
    assert crew.problems == (said,)
    assert crew.rods == fold([], rods).rods


def test_a_hit_on_a_rod_that_the_spread_does_not_have_is_kept(act: Act, rods: Rods) -> None:
    crew = fold([act("h", 5, "hit", "9")], rods)
    assert (crew.hits[0].rod, crew.hits[0].flag) == ("9", "no such rod")
    assert len(crew.problems) == 1


def test_gauge_readings_are_kept_in_order_and_can_be_taken_back(act: Act, rods: Rods) -> None:
    acts = [
        act("g1", 10, "gauge", depth_m=18.288, temperature_c=10.0),
        act("g2", 20, "gauge", "5", depth_m=24.384, temperature_c=8.0, speed_m_s=0.9),
    ]
    crew = fold(acts, rods)
    assert [(gauge.depth_m, gauge.temperature_c) for gauge in crew.gauges] == [(18.288, 10.0), (24.384, 8.0)]
    assert describe(acts[0], crew, BoatTime(0)) == "50.0 °F at 60 ft 23:00"
    assert describe(acts[1], crew, BoatTime(0), "m") == "8.0 °C and 3.2 km/h at 24.4 m 23:00"
    crew = apply(crew, act("u", 30, "undo", of="g2"))
    assert [gauge.id for gauge in crew.gauges] == ["g1"]
    crew = apply(crew, act("y", 40, "restore", of="g2"))
    assert [gauge.id for gauge in crew.gauges] == ["g1", "g2"]


def test_an_action_that_comes_twice_counts_once(act: Act, rods: Rods) -> None:
    hit = act("h", 5, "hit", "3")
    crew = fold([hit, hit], rods)
    assert len(crew.hits) == 1
    assert apply(crew, hit) is crew


def test_rods_begin_fishing_where_nobody_says_in_or_out(act: Act, rods: Rods) -> None:
    assert start_state([]) == "fishing"
    assert start_state([act("h", 5, "hit", "3")]) == "fishing"
    assert start_state([act("h", 5, "set", "3")]) == "in"
    crew = fold([act("h", 5, "hit", "3")], rods, "fishing")
    assert [rod.state for rod in crew.rods.values()] == ["fishing", "fighting", "fishing"]


def test_entries_in_words(act: Act, rods: Rods) -> None:
    there = BoatTime(-240)
    acts = [
        (act("a", 0, "going out", "3"), "3 P LOW going out 19:00"),
        (act("b", 0, "length", "3", line_out_m=50.292), "3 P LOW line out 165 ft 19:00"),
        (act("c", 0, "setting", "3", setting="high"), "3 P LOW setting high 19:00"),
        (act("h", 42 * 60, "hit", "3"), "hit on 3 P LOW 19:42"),
        (act("d", 60, "outcome", of="h", outcome="no fish"), "hit on 3 P LOW no fish 19:01"),
        (act("e", 60, "catch", of="h", species="coho", length_m=0.508), "hit on 3 P LOW: coho, 20.0 in 19:01"),
        (act("f", 60, "bite"), "bite, rod not known yet 19:01"),
        (act("g", 60, "retime", of="h", to=act("x", 120, "bite").time), "hit on 3 P LOW moved to 19:02"),
        (act("u", 60, "undo", of="h"), "hit on 3 P LOW taken back 19:01"),
        (act("i", 60, "hit", "9"), "hit on 9 19:01"),
    ]
    crew = fold([action for action, _ in acts], rods)
    for action, words in acts:
        assert describe(action, crew, there) == words
    assert describe(acts[1][0], crew, there, "m") == "3 P LOW line out 50.3 m 19:00"
    assert crew.newest is not None
    assert describe(crew.newest, crew, BoatTime(0)) == "hit on 9 23:01"
    assert crew.restorable is not None
    assert describe(crew.restorable, crew, BoatTime(0)) == "hit on 3 P LOW 23:42"
    assert fold([], rods).newest is None


# --- properties, over acts of every kind in any order ------------------------------------------------------------

_IDS = [f"a{number}" for number in range(30)]
_KINDS: tuple[tuple[str, dict[str, st.SearchStrategy[object]]], ...] = (
    ("going out", {"rod": st.sampled_from("135")}),
    ("set", {"rod": st.sampled_from("135")}),
    ("in", {"rod": st.sampled_from("1359")}),
    ("length", {"rod": st.sampled_from("135"), "line_out_m": st.floats(0, 100)}),
    ("setting", {"rod": st.sampled_from("13"), "setting": st.sampled_from(["low", "high", "wide"])}),
    ("lead", {"rod": st.sampled_from("35"), "lead_m": st.floats(1, 20)}),
    ("hit", {"rod": st.sampled_from("1359"), "doubtful": st.booleans(), "bite": st.sampled_from(_IDS)}),
    ("bite", {}),
    ("confirm", {"of": st.sampled_from(_IDS)}),
    ("doubt", {"of": st.sampled_from(_IDS)}),
    ("outcome", {"of": st.sampled_from(_IDS), "outcome": st.sampled_from(["boxed", "freed", "dropped", "no fish"])}),
    ("catch", {"of": st.sampled_from(_IDS), "species": st.sampled_from(["coho", "lake trout"])}),
    ("retime", {"of": st.sampled_from(_IDS), "to": st.just("2026-07-18T23:00:00Z")}),
    ("undo", {"of": st.sampled_from(_IDS)}),
    ("restore", {"of": st.sampled_from(_IDS)}),
    ("acknowledge", {"alert": st.just("bottom 3")}),
    ("note", {"text": st.just("calm")}),
)


@st.composite
def some_acts(draw: st.DrawFn) -> list[Action]:
    acts = []
    for number in range(draw(st.integers(0, 30))):
        kind, fields = draw(st.sampled_from(_KINDS))
        begin = parse({"id": "x", "time": "2026-07-18T23:00:00Z", "kind": "bite"}).time
        given = {"id": _IDS[number], "time": begin + timedelta(seconds=number), "elapsed_s": number, "kind": kind}
        acts.append(parse(given | {name: draw(values) for name, values in fields.items()}))
    return acts


def _rods() -> Sequence[RodDefaults]:
    return (
        RodDefaults("1"),
        RodDefaults("3", "P LOW", 50.0, "low", None, ("low", "high")),
        RodDefaults("5", lead_m=9.0),
    )


def _same(one: Crew, two: Crew) -> None:
    assert one == two
    assert list(one.standing) == list(two.standing)
    assert list(one.undone) == list(two.undone)
    assert [hit.id for hit in one.hits] == [hit.id for hit in two.hits]


@given(some_acts())
def test_folding_one_by_one_is_folding_at_once(acts: list[Action]) -> None:
    crew = fold([], _rods())
    for action in acts:
        crew = apply(crew, action)
    _same(crew, fold(acts, _rods()))


@given(some_acts())
def test_taking_back_is_as_if_it_had_never_been(acts: list[Action]) -> None:
    crew = fold(acts, _rods())
    taken = crew.newest
    if taken is None:
        return
    undo = parse({"id": "u", "time": taken.time, "kind": "undo", "of": taken.id})
    without = fold([a for a in acts if a.id != taken.id and getattr(a, "of", None) != taken.id], _rods())
    after = apply(crew, undo)
    assert (after.rods, after.hits) == (without.rods, without.hits)
    again = apply(after, parse({"id": "y", "time": taken.time, "kind": "restore", "of": taken.id}))
    assert (again.rods, again.hits) == (crew.rods, crew.hits)


@given(some_acts())
def test_a_rod_fights_exactly_what_nobody_has_ended(acts: list[Action]) -> None:
    crew = fold(acts, _rods())
    open_fish = {hit.id for hit in crew.open_fish()}
    for rod in crew.rods.values():
        assert (rod.state == "fighting") == bool(rod.fights)
        assert set(rod.fights) <= open_fish


@pytest.mark.parametrize(
    ("kind", "given", "feet", "metres"),
    [
        ("note", {"text": "x" * 40}, f"note “{'x' * 40}”", f"note “{'x' * 40}”"),
        ("note", {"text": "x" * 41}, f"note “{'x' * 39}…”", f"note “{'x' * 39}…”"),
        ("helm", {"rudder_deg": 0.0}, "helm amidships", "helm amidships"),
        ("helm", {"rudder_deg": -12.0}, "helm 12° port", "helm 12° port"),
        ("helm", {"rudder_deg": 0.8}, "helm 1° starboard", "helm 1° starboard"),
    ],
)
def test_notes_and_the_helm_in_words(
    act: Act, rods: Rods, kind: str, given: dict[str, object], feet: str, metres: str
) -> None:
    action = act("a", 60, kind, **given)
    crew = fold([action], rods)
    assert describe(action, crew, BoatTime(0)) == f"{feet} 23:01"
    assert describe(action, crew, BoatTime(0), "m") == f"{metres} 23:01"


def test_a_catch_in_words_has_the_units_asked_for(act: Act, rods: Rods) -> None:
    catch = act("c", 60, "catch", of="h", length_m=0.762, mass_kg=2.0)
    crew = fold([act("h", 0, "hit", "3"), catch], rods)
    assert "30.0 in" in describe(catch, crew, BoatTime(0))
    assert "4.4 lb" in describe(catch, crew, BoatTime(0))
    assert "76 cm" in describe(catch, crew, BoatTime(0), "m")
    assert "2.0 kg" in describe(catch, crew, BoatTime(0), "m")
