"""What two lines do, in words: outcome, near pass, and what not to reel in meanwhile."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.forecast.meeting_words import comes_to, deep, folded_words, near_passes, near_words, verb
from sternwatch.watch.picture.manoeuvre import Manoeuvre
from sternwatch.watch.picture.meetings import NearPass, Shares
from watch.made_outlooks import forecast, pair

US, METRIC = SYSTEMS["us"], SYSTEMS["metric"]
NAMES = {"1": "PORT", "2": "STBD"}
NEAR = NearPass("1", "2", 10.1, 70.0, 41.6)


def passing(**shares: float):
    """Rods 1 and 2, half a metre apart 12 m down."""
    own = Shares(**{"near_pass": 0.0, "touch": 0.0, "wrapped": 0.0, **shares})
    return replace(pair(("1", "2"), own.contact), shares=own, near_pass=NEAR)


def test_the_outcome_is_what_most_of_the_members_that_touch_do() -> None:
    assert verb(passing(touch=0.3, wrapped=0.3)) == "touch"
    assert verb(passing(touch=0.3, wrapped=0.31)) == "wrap"
    assert comes_to(passing(touch=0.25, wrapped=0.31)) == "wrap 56 %"
    assert comes_to(passing(near_pass=0.5)) == "near pass"
    assert comes_to(passing(near_pass=0.09)) == "no near pass"
    assert comes_to(replace(passing(), probability=None)) == "–"


def test_several_pairs_of_one_manoeuvre_in_one_line() -> None:
    turn, hold = forecast("turn"), forecast("hold")
    slower = replace(hold, manoeuvre=Manoeuvre("slow", 0.0, 0.0, to_speed_m_s=0.8))
    assert (
        folded_words(turn, ("1", "6"), "wrap", "slow to 180° in 2:13") == "This turn wraps 1, 6: slow to 180° in 2:13"
    )
    assert folded_words(hold, ("1", "6"), "touch", "") == "Holding on lets 1, 6 touch"
    assert folded_words(slower, ("1",), "wrap", "") == "This change of speed wraps 1"


def test_a_depth_may_be_above_the_water() -> None:
    assert deep(-0.01, METRIC) == "above the water"
    assert deep(0.0, METRIC).endswith(" down")
    assert deep(12.0, US) == "39 ft down"


def test_a_near_pass_says_how_near_where_and_who_is_over_whom() -> None:
    turn = replace(forecast("turn"), ends_s=60.0)
    text, reel = near_words(turn, passing(), NEAR, NAMES, METRIC)
    assert text == "1 PORT and 2 STBD pass 0.5 m apart, 12 m down, PORT over STBD, apart again 0:10 after the turn"
    assert reel == "Don't reel 2 in meanwhile: it lies under 1 for 0:42."
    assert near_words(turn, passing(), NEAR, {}, METRIC)[0].startswith(
        "1 and 2 pass 0.5 m apart, 12 m down, 1 over 2"
    )


@pytest.mark.parametrize(
    ("near", "said"),
    [
        (
            replace(NEAR, arc_m=10.0),
            "pass 0.5 m apart near the tips, PORT over STBD, apart again 0:10 after the turn",
        ),
        (replace(NEAR, apart_again_s=None), "12 m down, PORT over STBD"),
        (replace(NEAR, apart_again_s=59.0), "PORT over STBD, apart again in 0:59"),
        (replace(NEAR, apart_again_s=60.0), "PORT over STBD, apart again 0:00 after the turn"),
    ],
)
def test_where_and_when(near: NearPass, said: str) -> None:
    turn = replace(forecast("turn"), ends_s=60.0)
    assert near_words(turn, passing(), near, NAMES, METRIC)[0].endswith(said)


def test_times_count_from_the_manoeuvre_which_may_begin_later() -> None:
    turn = replace(forecast("turn"), ends_s=60.0)
    turn = replace(turn, manoeuvre=replace(turn.manoeuvre, wait_s=15.0))
    assert near_words(turn, passing(), NEAR, NAMES, METRIC)[0].endswith("apart again 0:25 after the turn")
    assert near_words(forecast("hold"), passing(), NEAR, NAMES, METRIC)[0].endswith("apart again in 1:10")


def test_one_that_lies_beside_the_other_may_be_reeled_in() -> None:
    assert near_words(forecast("hold"), passing(), replace(NEAR, over_until_s=None), NAMES, METRIC)[1] == ""


def test_pairs_are_told_that_come_near_in_half_of_the_members_and_hardly_ever_touch() -> None:
    def told(one, **more: float) -> int:
        return len(near_passes(forecast("turn", one), NAMES, METRIC, **more))

    assert told(passing(near_pass=0.5)) == 1
    assert told(passing(near_pass=0.49)) == 0
    assert told(passing(near_pass=0.7, touch=0.09)) == 1
    assert told(passing(near_pass=0.7, touch=0.1)) == 0
    assert told(passing(near_pass=0.7, touch=0.1), risk=0.11) == 1
    assert told(replace(passing(near_pass=0.7), near_pass=None)) == 0
    assert told(replace(passing(near_pass=0.7), probability=None)) == 1
    (one,) = near_passes(forecast("hold", passing(near_pass=0.7)), NAMES, METRIC)
    assert ". Don't reel 2 in" in one
    assert math.isclose(passing(touch=0.2, wrapped=0.3).shares.contact, 0.5)
