"""The sensor board: three states, learned time-outs, priorities, fail-over, one source for position and velocity."""

import copy

import pytest

from sternwatch.feed.readings import Quantity, Reading, SensorState
from sternwatch.feed.sensors.board import SensorBoard

HERE, THERE = (47.0, -90.0), (47.1, -90.0)


def _say(board, t_s, source, value, quantity=Quantity.SOG, sentence="RMC", talker="GP", reference=""):
    board.take(Reading(t_s, source, quantity, value, sentence, "", talker, reference))


def _sog(board, t_s):
    return board.table(t_s)[Quantity.SOG]


def test_never_fresh_none_silent():
    board = SensorBoard()
    assert _sog(board, 0.0).state is SensorState.NEVER
    assert set(board.table(0.0)) == set(Quantity)
    _say(board, 1.0, "a", 1.2)
    value = _sog(board, 1.5)
    assert (value.state, value.value, value.age_s, value.source, value.sentence) == (
        SensorState.FRESH, 1.2, 0.5, "a", "RMC",
    )  # fmt: skip
    _say(board, 2.0, "a", None)
    value = _sog(board, 2.5)
    # The last value known stays with its age, but it is not fresh.
    assert (value.state, value.value, value.age_s) == (SensorState.NONE, 1.2, 1.5)
    value = _sog(board, 30.0)
    assert (value.state, value.value, value.age_s) == (SensorState.SILENT, 1.2, 29.0)


def test_a_sensor_that_only_ever_says_none_has_no_value_and_no_age():
    board = SensorBoard()
    _say(board, 1.0, "a", None)
    value = _sog(board, 1.5)
    assert (value.state, value.value, value.age_s) == (SensorState.NONE, None, None)


@pytest.mark.parametrize(
    ("quantity", "rhythm_s", "fresh_s", "silent_s"),
    [
        (Quantity.SOG, 1.0, 3.9, 4.1),  # four times its rhythm
        (Quantity.SOG, 0.1, 2.9, 3.1),  # never under 3 s
        (Quantity.BOTTOM, 12.0, 47.0, 49.0),
        (Quantity.BOTTOM, 40.0, 59.0, 61.0),  # never over 60 s
        (Quantity.WATER_TEMPERATURE, 20.0, 79.0, 81.0),
    ],
)
def test_time_outs_are_learned_from_the_rhythm(quantity, rhythm_s, fresh_s, silent_s):
    board = SensorBoard()
    last = 0.0
    for i in range(50):
        last = i * rhythm_s
        _say(board, last, "a", 5.0, quantity)
    assert board.table(last + fresh_s)[quantity].state is SensorState.FRESH
    assert board.table(last + silent_s)[quantity].state is SensorState.SILENT


def test_the_preferred_source_wins_and_the_other_takes_over_when_it_is_silent():
    board = SensorBoard({"good": 0, "spare": 1})
    for i in range(10):
        _say(board, i + 0.0, "good", 1.0)
        _say(board, i + 0.5, "spare", 2.0)
    assert _sog(board, 9.6).source == "good"
    for i in range(10, 20):
        _say(board, i + 0.5, "spare", 2.0)
    # The time-out runs against the winner's own last word (at 9 s, rhythm 1 s).
    assert _sog(board, 12.9).source == "good"
    assert _sog(board, 13.1).source == "spare"
    # Back again, it must have spoken for 5 s before it is preferred.
    for i in range(20, 27):
        _say(board, i + 0.0, "good", 1.0)
        _say(board, i + 0.5, "spare", 2.0)
        assert _sog(board, i + 0.9).source == ("spare" if i < 25 else "good")


def test_an_outage_is_not_taken_for_a_slower_rhythm_but_a_slower_rhythm_is():
    board = SensorBoard()
    for i in range(20):
        _say(board, float(i), "a", 1.0)
    for t in (28.0, 29.0, 30.0):
        _say(board, t, "a", 1.0)
    assert board.entries(30.0)[0].timeout_s == 4.0
    for i in range(1, 5):
        _say(board, 30.0 + 3.5 * i, "a", 1.0)
    _say(board, 50.0, "a", 1.0)
    _say(board, 56.0, "a", 1.0)
    assert 12.0 < board.entries(56.0)[0].timeout_s <= 15.0


def test_fail_over_at_once_on_a_lost_fix():
    board = SensorBoard({"good": 0, "spare": 1})
    for i in range(10):
        _say(board, i + 0.0, "good", 1.0)
        _say(board, i + 0.5, "spare", 2.0)
    _say(board, 10.0, "good", None)
    value = _sog(board, 10.1)
    assert (value.source, value.state) == ("spare", SensorState.FRESH)


def test_who_is_back_is_taken_at_once_if_there_is_no_other():
    board = SensorBoard()
    _say(board, 0.0, "a", 1.0)
    _say(board, 60.0, "a", 1.1)
    assert _sog(board, 60.5).state is SensorState.FRESH


def test_position_and_velocity_come_from_one_source():
    board = SensorBoard({"good": 0, "spare": 1})
    for i in range(10):
        t = float(i)
        _say(board, t, "good", HERE, Quantity.POSITION, "GLL")  # the preferred one gives no velocity
        _say(board, t, "spare", THERE, Quantity.POSITION)
        _say(board, t, "spare", 2.0, Quantity.SOG)
        _say(board, t, "spare", 90.0, Quantity.COG)
    table = board.table(9.5)
    assert {table[q].source for q in (Quantity.POSITION, Quantity.SOG, Quantity.COG)} == {"spare"}
    # With velocity from the preferred one too, all three come from it.
    for i in range(10, 20):
        for quantity, value in ((Quantity.POSITION, HERE), (Quantity.SOG, 1.0), (Quantity.COG, 10.0)):
            _say(board, float(i), "good", value, quantity)
            _say(board, float(i), "spare", value, quantity)
    table = board.table(19.5)
    assert {table[q].source for q in (Quantity.POSITION, Quantity.SOG, Quantity.COG)} == {"good"}


def test_no_course_of_another_source_fills_in():
    board = SensorBoard({"good": 0, "spare": 1})
    for i in range(10):
        for quantity, value in ((Quantity.POSITION, HERE), (Quantity.SOG, 0.1), (Quantity.COG, None)):
            _say(board, float(i), "good", value, quantity)
        for quantity, value in ((Quantity.POSITION, THERE), (Quantity.SOG, 0.1), (Quantity.COG, 77.0)):
            _say(board, float(i), "spare", value, quantity)
    assert board.table(9.5)[Quantity.COG].state is SensorState.NONE


def test_each_from_its_own_best_if_nobody_has_both():
    board = SensorBoard()
    _say(board, 0.0, "a", HERE, Quantity.POSITION, "GLL", "GP")
    _say(board, 0.0, "a", 2.0, Quantity.SOG, "VTG", "II")
    table = board.table(0.5)
    assert table[Quantity.POSITION].value == HERE
    assert table[Quantity.SOG].value == 2.0


def test_a_true_heading_is_preferred_to_a_magnetic_one_of_the_same_source():
    board = SensorBoard()
    for i in range(10):
        _say(board, float(i), "a", 80.0, Quantity.HEADING, "HDG", reference="magnetic")
        _say(board, float(i), "a", 82.0, Quantity.HEADING, "VHW", reference="true")
    value = board.table(9.5)[Quantity.HEADING]
    assert (value.value, value.reference) == (82.0, "true")


def test_asking_often_changes_nothing():
    asked, unasked = SensorBoard({"b": 0}), SensorBoard({"b": 0})
    for i in range(200):
        t = i * 0.7
        for board in (asked, unasked):
            if i % 50 < 30:
                _say(board, t, "a", 1.0 + i)
            if i % 40 < 20:
                _say(board, t, "b", 100.0 + i)
        asked.table(t)
        asked.utc_offset(t)
        asked.entries(t)
        assert asked.table(t + 0.3) == unasked.table(t + 0.3)


def test_a_copy_is_a_checkpoint():
    board = SensorBoard()
    for i in range(20):
        _say(board, float(i), "a", float(i))
    saved = copy.deepcopy(board)
    _say(board, 20.0, "a", None)
    assert _sog(saved, 19.5).value == 19.0
    _say(saved, 20.0, "a", None)
    assert saved.table(20.5) == board.table(20.5)
    assert saved.entries(20.5) == board.entries(20.5)


def test_entries_name_every_speaker_with_rate_and_time_out():
    board = SensorBoard()
    for i in range(40):
        _say(board, i * 0.5, "a", 1.0)
        _say(board, i * 0.5, "a", 1.0, sentence="VTG")
    entries = board.entries(19.6)
    assert [(e.sentence, e.in_use, e.count) for e in entries] == [("RMC", True, 40), ("VTG", False, 40)]
    assert entries[0].rate_hz == pytest.approx(2.0, rel=0.01)
    assert entries[0].timeout_s == 3.0
    assert entries[0].age_s == pytest.approx(0.1)


LONGEST_S = {
    Quantity.SOG: 15.0, Quantity.COG: 15.0, Quantity.STW: 15.0, Quantity.HEADING: 15.0, Quantity.RATE_OF_TURN: 15.0,
    Quantity.POSITION: 15.0, Quantity.WATER_TEMPERATURE: 120.0, Quantity.BOTTOM: 60.0, Quantity.CLOCK: 60.0,
    Quantity.PROBE_SPEED: 120.0, Quantity.PROBE_TEMPERATURE: 120.0, Quantity.PROBE_DEPTH: 120.0,
}  # fmt: skip


@pytest.mark.parametrize("quantity", Quantity)
def test_nothing_is_fresh_for_longer_than_its_longest_time_out(quantity):
    board, longest = SensorBoard(), LONGEST_S[quantity]
    value = HERE if quantity is Quantity.POSITION else 5.0
    for i in range(3):
        _say(board, i * longest, "a", value, quantity)
    assert board.table(3.0 * longest)[quantity].state is SensorState.FRESH
    assert board.table(3.0 * longest + 0.1)[quantity].state is SensorState.SILENT


def test_two_words_in_one_moment_are_no_rhythm():
    board = SensorBoard()
    for i in range(20):
        _say(board, float(i), "a", 1.0)
        _say(board, i + 0.01, "a", 1.0)
    assert _sog(board, 19.01 + 3.9).state is SensorState.FRESH


def test_one_late_word_is_no_slower_rhythm():
    board = SensorBoard()
    for t in (*range(10), 19, 20):
        _say(board, float(t), "a", 1.0)
    assert _sog(board, 24.5).state is SensorState.SILENT


def test_who_never_failed_is_trusted_from_the_first_word():
    board = SensorBoard({"good": 0, "spare": 1})
    _say(board, 0.0, "spare", 2.0)
    _say(board, 1.0, "good", 1.0)
    _say(board, 1.0, "spare", 2.0)
    assert _sog(board, 1.1).source == "good"


def test_others_are_fresh_trusted_and_undoubted():
    board = SensorBoard({"good": 0})
    for i in range(10):
        for source in ("good", "spare", "back", "doubted"):
            if source != "back" or i in (0, 9):  # away from 0 to 9 s
                suspect = "stuck" if source == "doubted" else ""
                board.take(Reading(float(i), source, Quantity.SOG, 1.0, "RMC", suspect, "GP"))
    _say(board, 2.0, "silent", 1.0)
    assert [one.source for one in board.others(Quantity.SOG, 9.5)] == ["spare"]
    assert board.others(Quantity.BOTTOM, 9.5) == ()


def test_only_position_and_velocity_keep_to_one_source():
    board = SensorBoard({"sounder": 0, "receiver": 1})
    for source, value in (("receiver", 30.0), ("sounder", 31.0)):
        _say(board, 1.0, source, value, Quantity.BOTTOM)
    _say(board, 1.0, "receiver", HERE, Quantity.POSITION)
    _say(board, 1.0, "receiver", 1.0, Quantity.SOG)
    assert board.table(1.5)[Quantity.BOTTOM].value == 31.0


def test_of_too_many_speakers_the_one_silent_for_longest_is_forgotten():
    board = SensorBoard()
    for i in range(65):
        _say(board, float(i), "a", 1.0, talker=f"{i}")
    talkers = [entry.talker for entry in board.entries(65.0)]
    assert (len(talkers), talkers[0]) == (64, "1")
