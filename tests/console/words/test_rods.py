"""What a rod's row says of its ball and of the bottom that comes."""

from __future__ import annotations

from dataclasses import replace

import fake_picture

from sternwatch.console.words import rods as words
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.picture.alert import Alert, AlertState, Priority
from sternwatch.watch.picture.model import BottomPicture, Point, RodPicture, RodState, SolverState

US = SYSTEMS["us"]
FT = 0.3048


def _down() -> RodPicture:
    rod = fake_picture.straight().rods[3]
    points = (Point("ball", 95 * FT, 6.0, 1.0), Point("spoon", 101 * FT, 16.0, 1.0))
    return replace(rod, rig="ball", points=points, depth_m=101 * FT, target_depth_m=100 * FT)


def test_a_long_setting_is_shortened_with_a_full_stop() -> None:
    rod = replace(fake_picture.straight().rods[1], setting="straight", line_out_m=165 * FT)
    assert words.line_out(rod, US) == ("165 straight", "165 stra.", "165 str.", "165")
    assert words.line_out(replace(rod, setting="high"), US) == ("165 high", "165")


def test_the_ball_has_its_own_depth_beside_the_lures() -> None:
    assert words.ball_or_target(_down(), US) == ("ball 95 want 100", "ball 95", "95")
    assert words.ball_or_target(replace(_down(), rig="diver"), US) == words.target(_down(), US)


def test_a_rod_on_the_bottom_on_purpose_counts_down_as_any_other() -> None:
    coming = BottomPicture("ball", 2.0, 0.0, 1.0, False, touches="ball", touches_s=31.0)
    rod = replace(_down(), bottom=coming, clearance_wanted_m=0.6)
    assert words.room_below(rod, US)[0] == "7 touch 31s"
    assert words.room_below(replace(rod, bottom=replace(coming, touches_s=None)), US)[0] == "7 want 2"


def test_what_goes_out_before_the_counter_counts_is_told_in_its_measure() -> None:
    rod = replace(
        fake_picture.straight().rods[0], setting=None, moving_to_m=50 * FT, line_out_m=0.0, uncounted_m=260 * FT
    )
    assert words.line_out(rod, US) == ("260 ft, then it counts", "260 before 0", "260 first", "260 to 0")
    assert words.line_out(replace(rod, uncounted_m=0.0, line_out_m=20 * FT), US) == ("20",)


def test_the_one_word_for_a_rod_is_the_gravest() -> None:
    out = replace(fake_picture.straight().rods[0], state=RodState.LETTING_OUT, moving_to_m=60 * FT)
    signs = words.SIGNS["plain"]

    def word(rod: RodPicture, priority: Priority | None) -> str:
        alert = None if priority is None else Alert("1", "crossing", priority, AlertState.ACTIVE, (rod.key,), "")
        said = words.one_word(rod, alert, US, signs)
        return said.forms[0] if said is not None else ""

    assert word(out, None) == "OUT> 60"
    assert word(out, Priority.CAUTION) == "OUT> 60"
    assert word(out, Priority.WARNING) == "CROSSING"
    old = replace(out, state=RodState.FISHING, solver=SolverState.OLD)
    assert [word(old, one) for one in (None, Priority.CAUTION, Priority.ALARM)] == ["OLD", "OLD", "CROSSING"]
    fishing = replace(old, solver=SolverState.SETTLED)
    assert [word(fishing, one) for one in (None, Priority.CAUTION)] == ["", "CROSSING"]
