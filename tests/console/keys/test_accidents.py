"""Accidents on the rod keys."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sternwatch.console.keys.accidents import NEIGHBOUR_S, REPEAT_S, RodKeys, neighbours
from sternwatch.console.keys.acting import STATIONS


def presses(*keys_and_times):
    keys = RodKeys()
    verdicts = []
    for number, (key, t_s) in enumerate(keys_and_times):
        verdicts.append(keys.press(key, t_s))
        keys.entered(key, f"h{number}")
    return verdicts


def test_one_press_is_a_hit():
    (verdict,) = presses(("3", 10.0))
    assert not verdict.repeat
    assert not verdict.doubtful


def test_the_same_key_within_two_seconds_is_a_repeat():
    _, again = presses(("3", 10.0), ("3", 11.9))
    assert again.repeat


def test_the_same_key_after_two_seconds_is_a_second_hit():
    _, again = presses(("3", 10.0), ("3", 12.0))
    assert not again.repeat
    assert not again.doubtful


def test_a_key_held_down_stays_one_hit():
    verdicts = presses(*(("3", 10.0 + 0.03 * n) for n in range(200)))
    assert [v.repeat for v in verdicts] == [False] + [True] * 199


def test_a_neighbour_within_120_ms_is_doubtful_and_the_first_is_not():
    first, second = presses(("3", 10.0), ("4", 10.120))
    assert not first.doubtful
    assert second.doubtful
    assert second.also_doubt == ()
    assert "3" in second.why


def test_a_neighbour_after_120_ms_is_a_double():
    _, second = presses(("3", 10.0), ("4", 10.121))
    assert not second.doubtful


def test_a_far_key_within_120_ms_is_a_double():
    _, second = presses(("3", 10.0), ("7", 10.05))
    assert not second.doubtful


def test_three_within_a_second_are_all_doubtful_the_earlier_ones_too():
    first, second, third = presses(("1", 10.0), ("4", 10.5), ("8", 11.0))
    assert not first.doubtful
    assert not second.doubtful
    assert third.doubtful
    assert third.also_doubt == ("h0", "h1")


def test_an_earlier_one_already_doubtful_is_not_doubted_twice():
    _, second, third = presses(("3", 10.0), ("4", 10.1), ("5", 10.2))
    assert second.doubtful
    assert third.also_doubt == ("h0",)


def test_a_fourth_key_is_doubtful_and_doubts_nothing_again():
    *_, third, fourth = presses(("1", 10.0), ("4", 10.3), ("8", 10.6), ("2", 10.9))
    assert third.also_doubt == ("h0", "h1")
    assert fourth.doubtful
    assert fourth.also_doubt == ()


def test_three_over_more_than_a_second_are_hits():
    assert not any(v.doubtful for v in presses(("1", 10.0), ("4", 10.6), ("8", 11.1)))


def test_two_keys_one_of_them_twice_are_not_three():
    verdicts = presses(("1", 10.0), ("4", 10.4), ("1", 10.8))
    assert [v.repeat for v in verdicts] == [False, False, True]
    assert not any(v.doubtful for v in verdicts)


def test_neighbours_lie_side_by_side_in_the_number_row():
    assert all(neighbours(a, b) and neighbours(b, a) for a, b in pairwise(STATIONS))
    assert not neighbours("1", "0")
    assert not neighbours("3", "3")
    assert not neighbours("3", "5")


@pytest.mark.parametrize("gap", [0.0, NEIGHBOUR_S, REPEAT_S])
def test_the_rule_does_not_depend_on_when_the_clock_began(gap):
    early = presses(("3", 0.0), ("4", gap))
    late = presses(("3", 1e6), ("4", 1e6 + gap))
    assert [v.repeat for v in early] == [v.repeat for v in late]


@given(st.lists(st.tuples(st.sampled_from(STATIONS), st.floats(0.0, 3.0)), max_size=30))
def test_no_press_is_both_and_no_hit_is_doubted_twice(steps):
    keys = RodKeys()
    t_s, entered, doubted = 0.0, [], []
    for number, (key, gap) in enumerate(steps):
        t_s += gap
        verdict = keys.press(key, t_s)
        assert not (verdict.repeat and verdict.doubtful)
        assert set(verdict.also_doubt) <= set(entered)
        doubted += verdict.also_doubt
        if not verdict.repeat:
            entered.append(f"h{number}")
            keys.entered(key, f"h{number}")
            if verdict.doubtful:
                doubted.append(f"h{number}")
    assert len(doubted) == len(set(doubted))
