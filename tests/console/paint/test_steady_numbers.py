"""Numbers that hold still."""

from dataclasses import replace

import fake_picture
from hypothesis import given
from hypothesis import strategies as st

from sternwatch.console.paint.steady_numbers import HOLD_S, STEP_M, Calm, CalmDepth


def test_a_change_under_seven_tenths_of_a_foot_is_not_shown():
    calm = CalmDepth()
    assert calm.take(0.0, 20.0) == 20.0
    assert calm.take(2.0, 20.0 + STEP_M - 0.01) == 20.0
    assert calm.take(4.0, 20.0 - STEP_M + 0.01) == 20.0


def test_a_change_of_seven_tenths_of_a_foot_is_shown():
    calm = CalmDepth()
    calm.take(0.0, 20.0)
    assert calm.take(2.0, 20.0 + STEP_M) == 20.0 + STEP_M


def test_a_change_waits_until_a_second_has_passed():
    calm = CalmDepth()
    calm.take(0.0, 20.0)
    assert calm.take(0.5, 25.0) == 20.0
    assert calm.take(0.75, 25.0) == 20.0
    assert calm.take(1.0, 25.0) == 25.0


def test_a_slow_drift_is_followed():
    calm = CalmDepth()
    shown = [calm.take(float(t), 20.0 + 0.02 * t) for t in range(120)]
    assert abs(shown[-1] - (20.0 + 0.02 * 119)) < STEP_M
    assert len(set(shown)) <= 12


def test_unknown_is_shown_at_once_and_so_is_known_again():
    calm = CalmDepth()
    calm.take(0.0, 20.0)
    assert calm.take(0.1, None) is None
    assert calm.take(0.2, 20.1) == 20.1


def test_another_moment_of_a_recording_is_shown_at_once():
    calm = CalmDepth()
    calm.take(1000.0, 20.0)
    assert calm.take(300.0, 20.1) == 20.1
    assert calm.take(400.0, 20.2) == 20.2


@given(st.lists(st.tuples(st.floats(0.05, 2.0), st.floats(-0.5, 0.5)), min_size=2, max_size=80))
def test_what_is_shown_changes_at_most_once_a_second_and_by_the_step_or_more(steps):
    calm = CalmDepth()
    t_s, depth = 0.0, 20.0
    calm.take(t_s, depth)
    shown, changed_t_s = depth, 0.0
    for gap, change in steps:
        t_s, depth = t_s + gap, depth + change
        now = calm.take(t_s, depth)
        if now != shown:
            assert abs(now - shown) >= STEP_M - 1e-6
            assert t_s - changed_t_s >= HOLD_S - 1e-6
            shown, changed_t_s = now, t_s


def test_a_picture_keeps_everything_but_the_depths_and_the_chosen_rod():
    calm = Calm()
    before = fake_picture.straight()
    first = calm.settle(before, "3")
    assert [rod.depth_m for rod in first.rods] == [rod.depth_m for rod in before.rods]
    assert [rod.key for rod in first.rods if rod.chosen] == ["3"]
    moved = fake_picture.changed(before, "3", depth_m=before.rods[2].depth_m + 0.1)
    again = calm.settle(moved, None)
    assert again.rods[2].depth_m == before.rods[2].depth_m
    assert not any(rod.chosen for rod in again.rods)
    assert again.sensors is before.sensors


def test_the_ends_of_an_interval_hold_still_too():
    calm = Calm()
    picture = fake_picture.straight()

    def settled(t_s, low_m, high_m):
        changed = fake_picture.changed(picture, "3", depth_interval_m=(low_m, high_m))
        shown = calm.settle(replace(changed, t_s=t_s), None)
        return next(rod for rod in shown.rods if rod.key == "3").depth_interval_m

    assert settled(100.0, 15.0, 22.0) == (15.0, 22.0)
    assert settled(102.0, 15.1, 22.3) == (15.0, 22.3)
    unknown = calm.settle(replace(fake_picture.changed(picture, "3", depth_interval_m=None), t_s=103.0), None)
    assert next(rod for rod in unknown.rods if rod.key == "3").depth_interval_m is None
