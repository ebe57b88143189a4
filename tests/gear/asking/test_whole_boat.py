"""Setting up in some twenty questions: how many, what is assumed, and that no two rods share a holder."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sternwatch.gear.asking.boat_questions import PASSES
from sternwatch.gear.asking.interview import Stand, stand_of
from sternwatch.gear.asking.rig_questions import PART
from sternwatch.gear.asking.whole_boat import NARROW, OTHERS, SIDES, WAYS, script, sketch
from sternwatch.gear.shelf.pieces import parse_shelf
from sternwatch.gear.spread_file.counter import true_line_m
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import LineItem
from sternwatch.gear.values.units import COLOUR_M, FOOT_M, SYSTEMS

SHELF = parse_shelf("")


def interview(said: dict[str, str], units: str = "us") -> tuple[Stand[str], dict[str, str]]:
    """Answer by ``said``, with what is offered where it says nothing."""
    answers: dict[str, str] = {}
    for _ in range(200):
        stand = stand_of(script(SYSTEMS[units], SHELF), answers)
        if stand.open is None:
            return stand, answers
        answers[stand.open.id] = stand.open.checked(said.get(stand.open.id, "" if stand.open.default else "9 ft"))
    raise AssertionError("no end of questions")


def test_six_mirrored_rods_take_twenty_questions_and_keys_stand_port_to_starboard() -> None:
    stand, answers = interview({})
    assert len(answers) == 20
    assert stand.made is not None
    spread = parse_spread(stand.made)
    assert [rod.name for rod in spread.rods] == ["P BOARD", "P LOW", "P DOWN", "S DOWN", "S LOW", "S BOARD"]
    assert [rod.key for rod in spread.rods] == list("123456")
    assert "# assumed: up 3 ft, rod length 8.5 ft" in stand.made
    assert sketch(answers)["starboard"] == ["BOARD", "LOW", "DOWN"]


def test_six_rods_of_six_kinds_take_at_most_twenty_five() -> None:
    kinds = ("a low diver", "a downrigger", "lead-core", "copper behind a board", "a flat line", "an in-line weight")
    said = {"same": OTHERS} | {f"{n}.way": kind for n, kind in enumerate(kinds, 1)}
    stand, answers = interview(said)
    assert len(answers) <= 25
    assert stand.made is not None
    assert len(parse_spread(stand.made).rods) == 6


def test_how_many_will_come_is_told_from_the_first_question_on() -> None:
    first = stand_of(script(SYSTEMS["us"], SHELF), {})
    _, answers = interview({})
    assert first.about == len(answers)
    last = stand_of(script(SYSTEMS["us"], SHELF), {**answers, "how many port": "6"})
    assert last.about > len(answers)


def test_going_on_asks_what_narrows_depths_most() -> None:
    stand, answers = interview({"how many port": "1", "end": NARROW, "1.taped": "yes, it is off", "1.tape": "93"})
    assert stand.made is not None
    counters = [rod.counter for rod in parse_spread(stand.made).rods]
    assert counters[0].scale == pytest.approx(0.93)
    assert counters[0].taped
    assert "1.known" in answers


def test_passes_are_asked_once_for_every_rig() -> None:
    stand, answers = interview({"zero": PASSES, "how many port": "2", "1.way": "a low diver", "2.way": "a low diver"})
    assert stand.made is not None
    assert "1.per pass" in answers
    assert "2.per pass" not in answers
    assert all(rod.counter.per_pass_m for rod in parse_spread(stand.made).rods)


@pytest.mark.parametrize("zero", ["at the rod tip", "at the water", "with the lure at the water"])
def test_the_usual_line_out_is_as_long_however_the_counters_are_zeroed(zero: str) -> None:
    """A counter zeroed with the lure at the water reads the core and the leader too; a cable's is not zeroed so."""
    said = {"how many port": "4", "zero": zero, "4.whole": PART} | {
        f"{n}.way": way
        for n, way in enumerate(("lead-core behind a board", "copper", "a downrigger", "lead-core"), 1)
    }
    stand, _ = interview(said)
    assert stand.made is not None
    spread = parse_spread(stand.made)
    past_tip_ft = {
        rod.name: true_line_m(spread, rod, rod.line_out_m) / FOOT_M for rod in spread.rods[:4] if rod.line_out_m
    }
    high = {rod.name: rod.tip.height_m / FOOT_M for rod in spread.rods[:4] if rod.tip}
    for name, usual in {"P BOARD": 60.0, "P COPPER": 50.0, "P LEAD": 210.0}.items():
        more = 0.0 if zero == "at the rod tip" else high[name]
        assert past_tip_ft[name] == pytest.approx(usual + more, abs=0.1)
    assert past_tip_ft["P DOWN"] == pytest.approx(50.0 + high["P DOWN"], abs=0.1)


def test_of_a_long_core_a_part_may_be_out() -> None:
    """The core itself is let out then, without backing, and its length is what the counter reads."""
    stand, answers = interview({"how many port": "1", "1.way": "lead-core", "1.whole": PART, "1.colours": "6"})
    assert stand.made is not None
    rod = parse_spread(stand.made).rods[0]
    first = rod.chain[0]
    assert isinstance(first, LineItem)
    assert (first.line, rod.out_index) == ("lead-core 27 lb", 0)
    assert rod.line_out_m == pytest.approx(6 * COLOUR_M, abs=0.01)
    assert answers["1.out"] == "180 ft"


def test_behind_a_board_the_core_has_backing_even_if_the_first_rod_has_none() -> None:
    ways = {"1.way": "lead-core", "1.whole": PART, "1.colours": "8", "2.way": "lead-core behind a board"}
    stand, _ = interview({"how many port": "2", "2.colours": "5", **ways})
    assert stand.made is not None
    lines = [[item.line for item in rod.chain if isinstance(item, LineItem)] for rod in parse_spread(stand.made).rods]
    assert lines[0][0] == "lead-core 27 lb"
    assert lines[1][:3] == ["braid 30 lb", "braid 30 lb", "lead-core 27 lb"]
    board = parse_spread(stand.made).rods[1]
    assert [item.length_m for item in board.chain if isinstance(item, LineItem)][2] == pytest.approx(5 * COLOUR_M)


@settings(max_examples=6, deadline=None)
@given(st.data())
def test_every_way_through_makes_a_boat_whose_rods_stand_apart(data: st.DataObject) -> None:
    units = data.draw(st.sampled_from(sorted(SYSTEMS)))
    answers: dict[str, str] = {}
    for _ in range(120):
        stand = stand_of(script(SYSTEMS[units], SHELF), answers)
        if stand.open is None:
            break
        question = stand.open
        drawn = data.draw(st.sampled_from(question.choices)) if question.choices else question.default
        answers[question.id] = question.checked(drawn or ("2.6 m" if question.id == "beam" else "30 m"))
    assert stand.made is not None
    assert stand.about == len(answers)
    spread = parse_spread(stand.made)
    places = [(rod.tip.astern_m, rod.tip_abeam_m, rod.tip.height_m) for rod in spread.rods]
    assert len(set(places)) == len(places)
    assert sum(len(side) for side in sketch(answers).values()) == len(places)


def test_every_rig_has_a_picture() -> None:
    from sternwatch.console.ashore.rig_pictures import PICTURES, WIDTH

    assert set(PICTURES) == set(WAYS)
    assert set(SIDES) <= set(WAYS)
    assert all(row.isascii() and len(row) <= WIDTH for rows in PICTURES.values() for row in rows)
