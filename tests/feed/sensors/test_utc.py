"""Feed time to UTC: steady against late arrival, stepping when the clock really does."""

import random

from sternwatch.feed.sensors.utc import UtcClock

START = 1_406_851_200.0


def test_jitter_of_arrival_moves_nothing_after_the_first_seconds():
    clock, jitter = UtcClock(), random.Random(1)
    offsets = []
    for second in range(600):
        clock.take(second + jitter.uniform(0.05, 0.5), START + second)
        offsets.append(clock.offset_s)
    assert len(set(offsets[15:])) == 1
    assert abs(offsets[-1] - (START - 0.05)) < 0.1


def test_a_single_wrong_time_is_ignored():
    clock = UtcClock()
    for second in range(60):
        clock.take(float(second), START + second + (3600 if second == 30 else 0))
        assert clock.offset_s == START


def test_a_real_step_is_followed_within_seconds_forward():
    clock = UtcClock()
    for second in range(60):
        clock.take(float(second), START + second + (17 if second >= 30 else 0))
        if second < 35:
            assert clock.offset_s == START
        if second > 36:
            assert clock.offset_s == START + 17


def test_and_back_only_when_it_stays_back():
    clock = UtcClock()
    for second in range(300):
        clock.take(float(second), START + second - (17 if second >= 30 else 0))
        if second < 119:
            assert clock.offset_s == START
    assert clock.offset_s == START - 17


def test_a_stuck_minute_does_not_move_it():
    # As in "lake boat, no paddle wheel": the same minute again and again, then it catches up.
    clock = UtcClock()
    for second in range(1200):
        said = second if second < 60 or second > 900 else second % 60
        clock.take(float(second), START + said)
        assert clock.offset_s == START


def test_a_clock_that_drifts_is_followed():
    clock = UtcClock()
    for second in range(36_000):
        clock.take(second * (1 + 50e-6), START + second)
    assert abs(clock.offset_s - (START - 36_000 * 50e-6)) < 1.0


def test_after_a_silence_the_clock_is_taken_as_it_comes():
    clock = UtcClock()
    for second in range(60):
        clock.take(float(second), START + second)
    for second in range(200, 260):
        clock.take(float(second), START - 86_400 + second)
        assert clock.offset_s == START - 86_400


def test_a_small_step_on_is_believed_sooner_than_one_back():
    on, back = UtcClock(), UtcClock()
    for t in range(30):
        on.take(float(t), 1000.0 + t)
        back.take(float(t), 1000.0 + t)
    for t in range(30, 60):
        on.take(float(t), 1000.8 + t)
        back.take(float(t), 999.2 + t)
    assert (on.offset_s, back.offset_s) == (1000.8, 1000.0)


def test_after_a_silence_what_was_heard_before_it_counts_for_nothing() -> None:
    """A clock ten seconds ahead was heard twice, then nothing for over a minute: it needs its four readings again."""
    clock = UtcClock()
    for t_s, ahead in ((0.0, 0.0), (1.0, 10.0), (2.0, 10.0), (70.0, 0.0), (71.0, 10.0), (74.0, 10.0), (77.0, 10.0)):
        clock.take(t_s, 1000.0 + t_s + ahead)
        assert clock.offset_s == 1000.0
    clock.take(80.0, 1090.0)
    assert clock.offset_s == 1010.0
