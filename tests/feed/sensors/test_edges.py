"""Where exactly a sensor falls silent, is believed again, loses to another, and where a clock is taken for set."""

from __future__ import annotations

import pytest

from sternwatch.feed.readings import Quantity, Reading, SensorState
from sternwatch.feed.sensors.board import SensorBoard
from sternwatch.feed.sensors.candidates import Candidate
from sternwatch.feed.sensors.utc import UtcClock

Q = Quantity


def speaker(*times: float, quantity: Quantity = Q.SOG) -> Candidate:
    made = Candidate(Reading(times[0], "gps", quantity, 1.0), 0)
    for t_s in times:
        made.take(Reading(t_s, "gps", quantity, 1.0))
    return made


@pytest.mark.parametrize(
    ("interval_s", "rhythm_s"), [(0.02, None), (0.03, 0.03), (1.0, 1.0), (15.0, 15.0), (15.5, None)]
)
def test_a_rhythm_is_slower_than_a_burst_and_no_slower_than_the_longest_silence(
    interval_s: float, rhythm_s: float | None
) -> None:
    assert speaker(0.0, interval_s).rhythm_s == rhythm_s


def test_a_rhythm_is_learned_by_a_fifth_of_what_is_new() -> None:
    made = speaker(0.0, 1.0, 3.0)
    assert made.rhythm_s == pytest.approx(1.2)
    assert made.timeout_s == pytest.approx(4.8)
    assert speaker(0.0, 1.0, 5.0).rhythm_s == pytest.approx(1.6), "four times its own rhythm is not late"
    late = speaker(0.0, 1.0, 5.5)
    assert late.rhythm_s == 1.0
    assert speaker(0.0, 1.0, 5.5, 6.5).rhythm_s == 1.0
    assert speaker(0.0, 1.0, 5.5, 10.5).rhythm_s == 5.0
    assert speaker(0.0, 1.0, 5.5, 6.5, 11.5).rhythm_s == 1.0, "late, but not twice in a row"


@pytest.mark.parametrize(("gap_s", "trusted"), [(4.0, True), (4.5, False)])
def test_silent_for_longer_than_its_time_out_is_a_failure(gap_s: float, trusted: bool) -> None:
    times = [float(k) for k in range(10)]
    made = speaker(*times, 9.0 + gap_s)
    assert made.trusted(9.0 + gap_s) is trusted
    assert [made.trusted(9.0 + gap_s + t) for t in (4.9, 5.0)] == [trusted, True]


def say(board: SensorBoard, t_s: float, source: str, value: object, quantity: Quantity = Q.SOG, sentence: str = "RMC",
        reference: str = "", suspect: str = "") -> None:  # fmt: skip
    board.take(Reading(t_s, source, quantity, value, sentence, suspect, "GP", reference))  # type: ignore[arg-type]


def test_where_nobody_speaks_the_newest_value_is_shown() -> None:
    board = SensorBoard({"first": 0})
    say(board, 0.0, "first", 1.0)
    say(board, 0.5, "second", 2.0)
    say(board, 20.0, "third", None)
    shown = board.table(100.0)[Q.SOG]
    assert (shown.source, shown.value, shown.state) == ("second", 2.0, SensorState.SILENT)
    assert shown.age_s == 99.5
    say(board, 30.0, "first", None)
    assert board.table(100.0)[Q.SOG].source == "second", "whoever spoke last has no newer value"
    mute = SensorBoard()
    for t_s, source in ((0.0, "a"), (2.0, "b"), (1.0, "c")):
        say(mute, t_s, source, None)
    assert mute.table(100.0)[Q.SOG].source == "b"


@pytest.mark.parametrize(
    ("quantity", "better", "worse"),
    [
        (Q.POSITION, "RMC", "GNS"), (Q.POSITION, "GNS", "GGA"), (Q.POSITION, "GGA", "GLL"),
        (Q.POSITION, "GLL", "PGN 129025"), (Q.POSITION, "PGN 129025", "PGN 129029"), (Q.SOG, "RMC", "VTG"),
        (Q.HEADING, "HDT", "HDG"), (Q.HEADING, "HDG", "VHW"), (Q.HEADING, "VHW", "HDM"), (Q.BOTTOM, "DPT", "DBS"),
        (Q.BOTTOM, "DBS", "DBT"), (Q.BOTTOM, "DBT", "DBK"), (Q.BOTTOM, "DBK", "unheard of"),
        (Q.WATER_TEMPERATURE, "PGN 130316", "PGN 130312"), (Q.WATER_TEMPERATURE, "PGN 130316/3", "PGN 130312/1"),
        (Q.CLOCK, "RMC", "ZDA"), (Q.CLOCK, "PGN 126992", "PGN 129033"),
    ],
)  # fmt: skip
def test_which_sentence_of_one_source_counts(quantity: Quantity, better: str, worse: str) -> None:
    value: object = (47.0, -89.0) if quantity is Q.POSITION else 5.0
    for order in ((better, worse), (worse, better)):
        board = SensorBoard()
        for k, sentence in enumerate(order):
            say(board, 0.1 * k, "gps", value, quantity, sentence)
        assert board.table(0.5)[quantity].sentence == better


def test_a_named_source_comes_before_all_others_and_those_in_the_order_heard() -> None:
    board = SensorBoard({"named": 999})
    for k, source in enumerate(("one", "two", "named")):
        say(board, 0.1 * k, source, float(k))
    assert board.table(0.5)[Q.SOG].source == "named"
    late = SensorBoard({"named": 1001})
    for k, source in enumerate(("one", "named", "two", "three")):
        say(late, 0.1 * k, source, float(k), Q.STW)
    assert late.table(0.5)[Q.STW].source == "one"
    say(late, 1.0, "one", None, Q.STW)
    assert late.table(1.0)[Q.STW].source == "named", "1001 is before the third"


def test_a_poor_reference_loses_whatever_its_sentence() -> None:
    for poor, good, quantity in (("magnetic", "true", Q.HEADING), ("keel", "transducer", Q.BOTTOM)):
        board = SensorBoard()
        say(board, 0.0, "a", 5.0, quantity, "HDT" if quantity is Q.HEADING else "DPT", poor)
        say(board, 0.1, "a", 6.0, quantity, "other", good)
        assert board.table(0.5)[quantity].value == 6.0


def test_others_leave_out_whom_nobody_should_believe() -> None:
    board = SensorBoard({"best": 0})
    for k in range(12):
        say(board, float(k), "best", 1.0, Q.STW)
        say(board, float(k), "fine", 2.0, Q.STW)
        say(board, float(k), "odd", 3.0, Q.STW, suspect="jumps")
        say(board, float(k), "mute", None, Q.STW)
        if k in (0, 1, 2, 11):
            say(board, float(k), "failed", 4.0, Q.STW)
    assert [one.source for one in board.others(Q.STW, 11.0)] == ["fine"]
    assert board.others(Q.BOTTOM, 11.0) == ()


def test_an_entry_tells_rate_age_and_use() -> None:
    board = SensorBoard({"a": 0})
    for k in range(5):
        say(board, 0.5 * k, "a", 1.0)
    say(board, 2.0, "b", None)
    one, other = board.entries(2.5)
    assert (one.rate_hz, one.age_s, one.in_use, one.count, one.timeout_s) == (2.0, 0.5, True, 5, 3.0)
    assert (other.rate_hz, other.age_s, other.in_use, other.count) == (None, None, False, 1)
    assert not board.entries(50.0)[0].in_use
    assert board.utc_offset(2.5) is None


@pytest.mark.parametrize(("speakers", "first_stays"), [(64, True), (65, False)])
def test_sixty_four_speakers_of_a_quantity_are_kept(speakers: int, first_stays: bool) -> None:
    board = SensorBoard()
    for k in range(speakers):
        say(board, 0.001 * k, f"s{k}", 1.0, Q.STW)
    names = [entry.source for entry in board.entries(0.1)]
    assert len(names) == 64
    assert ("s0" in names) is first_stays


def test_position_and_speed_are_of_the_best_that_has_both() -> None:
    board = SensorBoard({"fix": 0, "both": 1, "worse": 2})
    say(board, 0.0, "fix", (47.0, -89.0), Q.POSITION)
    for source in ("worse", "both"):
        say(board, 0.0, source, (48.0, -89.0), Q.POSITION)
        say(board, 0.0, source, 1.5)
        say(board, 0.0, source, 90.0, Q.COG)
    table = board.table(0.5)
    assert [table[q].source for q in (Q.POSITION, Q.SOG, Q.COG)] == ["both"] * 3
    for source in ("worse", "both"):
        say(board, 1.0, source, None)
    table = board.table(1.0)
    assert [table[q].source for q in (Q.POSITION, Q.COG)] == ["fix", "both"]


# -- the clock -----------------------------------------------------------------------------------------------------


def clock(*told: tuple[float, float]) -> float | None:
    """The offset after readings at (feed time, how far they are ahead of 1000 s)."""
    made = UtcClock()
    for t_s, ahead_s in told:
        made.take(t_s, 1000.0 + t_s + ahead_s)
    return None if made.offset_s is None else made.offset_s - 1000.0


@pytest.mark.parametrize(
    ("told", "ahead_s"),
    [
        ([], 0.0),
        # In the first ten seconds the earliest arrival counts; later ones do not, nor any behind.
        ([(9.5, 0.25)], 0.25), ([(10.0, 0.25)], 0.0), ([(5.0, -0.25)], 0.0), ([(5.0, 0.5), (6.0, 0.25)], 0.5),
        # Up to 0.6 s is jitter. Of a step on, four readings over five seconds are believed.
        ([(5.0, 0.599)], 0.599), ([(5.0, 0.601)], 0.0), ([(20.0 + k, 0.599) for k in range(9)], 0.0),
        ([(20.0, 5.0), (21.0, 5.0), (25.0, 5.0)], 0.0), ([(20.0, 5.0), (21.0, 5.0), (22.0, 5.0), (25.0, 5.0)], 5.0),
        ([(20.0, 5.0), (21.0, 5.0), (22.0, 5.0), (24.9, 5.0)], 0.0),
        ([(20.0, 5.0), (21.0, 5.9), (22.0, 5.0), (25.0, 5.2)], 5.9),
        # They agree within 1.2 s of the furthest, or the count begins anew.
        ([(20.0, 5.0), (21.0, 6.199), (22.0, 5.0), (25.0, 5.0)], 6.199),
        ([(20.0, 5.0), (21.0, 6.201), (22.0, 6.0), (25.0, 6.0)], 0.0),
        ([(20.0, 5.0), (21.0, 6.201), (22.0, 6.0), (25.0, 6.0), (26.0, 6.0)], 6.201),
        ([(20.0, 5.0), (21.0, 5.0), (21.5, 0.0), (22.0, 5.0), (25.0, 5.0)], 0.0),
        # Back takes a minute and a half.
        ([(20.0 + 10.0 * k, -5.0) for k in range(10)], -5.0), ([(20.0 + 9.9 * k, -5.0) for k in range(10)], 0.0),
        # After more than a minute of silence it is taken as it comes.
        ([(60.0, 30.0)], 0.0), ([(60.5, 30.0)], 30.0), ([(60.5, 30.0), (70.0, 30.25), (70.5, 30.5)], 30.25),
    ],
)  # fmt: skip
def test_when_a_clock_is_believed_to_be_set(told: list[tuple[float, float]], ahead_s: float) -> None:
    assert clock((0.0, 0.0), *told) == pytest.approx(ahead_s, abs=1e-6)


def test_an_offset_is_kept_in_milliseconds() -> None:
    assert clock((0.1234, 0.0004)) == pytest.approx(0.0, abs=1e-9)
    assert clock((0.1234, 0.0006)) == pytest.approx(0.001, abs=1e-9)
    assert clock() is None


@pytest.mark.parametrize("speakers", [1, 2, 3])
def test_whoever_speaks_beside_the_one_in_use_is_another(speakers: int) -> None:
    board = SensorBoard({"a": 0, "b": 1, "c": 2})
    for t_s in (0.0, 1.0):
        for source in "abc"[:speakers]:
            say(board, t_s, source, 1.0)
    assert [one.source for one in board.others(Q.SOG, 1.0)] == list("bc"[: speakers - 1])
