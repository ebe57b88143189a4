"""Calibrating on purpose: the page made from values, and through the app."""

from __future__ import annotations

import asyncio
from dataclasses import replace

import fake_picture
import pytest
from fake_runner import FakeRunner

from console.pages.test_how_sure import FakeKnowing, text
from sternwatch.answers.chains.arrays import AS_FILED, RodNow
from sternwatch.answers.depths.depth import depth_answer
from sternwatch.answers.season.purpose import PACES, Guide, Touch, fall_m, flat, guide
from sternwatch.config import Preferences
from sternwatch.console.app import SternwatchApp
from sternwatch.console.pages.calibrate import Now, page
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.places import shipped
from sternwatch.watch.picture.model import Picture, Session
from sternwatch.watch.sessions.how_sure import Purpose

US = SYSTEMS["us"]
GUIDE = Guide("3", 24.0, (Touch(1.05, 70.0), Touch(0.89, 64.0), Touch(1.21, 76.0)))


def now(**changed: object) -> Now:
    picture = replace(fake_picture.straight(), t_s=600.0, bottom_m=24.0)
    made = Now(picture, Purpose("3", 480.0, frozenset(), (18.0, 26.0), 1.05), GUIDE, 0, 0.4, True, None, "h")
    return replace(made, **changed)  # type: ignore[arg-type]


@pytest.mark.parametrize("width", [80, 120, 200])
def test_it_says_how_fast_how_much_line_over_which_bottom_and_what_to_press(width: int) -> None:
    shown = " ".join(text(page(now(touched=1), US, width), width).split())
    assert "CALIBRATE 3" in shown
    assert "Touch 2 of 3; 13 min left." in shown
    assert "Bottom 79 ft here, flat enough" in shown
    assert "Go 2.0 mph through the water" in shown
    assert "it should tick at about 210 ft out" in shown
    assert "press h" in shown


def test_what_keeps_it_from_telling_is_said() -> None:
    def said(changed: Now) -> str:
        return " ".join(text(page(changed, US, 100), 100).split())

    lost = now()
    assert "The sounder shows no bottom now" in said(replace(lost, picture=replace(lost.picture, bottom_m=None)))
    assert "not flat: it varied by 10 ft along the way just passed" in said(now(fell_m=3.0, flat=False))
    shallow = Guide("3", 60.0, (Touch(1.05, None), Touch(0.9, None), Touch(1.2, None)))
    assert "does not get down to 197 ft: left and right choose another." in said(now(guide=shallow))
    late = now()
    assert "over with 0 of 3 touches" in said(replace(late, picture=replace(late.picture, t_s=1500.0)))


def test_three_touches_later_it_says_what_the_interval_became() -> None:
    shown = " ".join(text(page(now(touched=3, after_m=(20.5, 23.5)), US, 100), 100).split())
    assert "±13 became ±5 ft" in shown


class FakeGuide(FakeKnowing):
    """One touch was made; every rod can be begun with."""

    def __init__(self) -> None:
        super().__init__()
        self.purpose: Purpose | None = None

    def begin_purpose(self, picture: Picture, key: str) -> None:
        self.purpose = Purpose(key, picture.t_s, frozenset(), None)

    def touched(self, _: Picture) -> int:
        return 1

    def guide(self, _: Picture) -> Guide:
        return GUIDE

    def purpose_interval(self, _: Picture) -> None:
        return None


def test_it_begins_when_it_is_opened_arrows_choose_and_a_rods_key_still_is_a_hit() -> None:
    async def session() -> None:
        picture = fake_picture.straight(Session.LIVE)
        runner, knowing = FakeRunner(Session.LIVE, picture), FakeGuide()
        runner.knowing = knowing  # type: ignore[assignment]
        app = SternwatchApp(runner, Preferences())
        app.cautions_read = 99
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            app.show_view("calibrate")
            await pilot.pause()
            first = knowing.purpose
            assert first is not None
            await pilot.press("right")
            await pilot.pause()
            assert knowing.purpose is not None
            assert knowing.purpose.key == app.controls.chosen != first.key
            begun = knowing.purpose
            await pilot.press("enter")
            assert knowing.purpose is not begun
            assert app.controls.typing is None
            await pilot.press("3")
            assert runner.did() == [("hit", "3")]

    asyncio.run(session())


def test_flat_is_told_by_the_bottom_just_passed() -> None:
    track = [(float(astern), 24.0 + 0.004 * astern) for astern in range(0, 120, 10)]
    fell = fall_m(track)
    assert fell == pytest.approx(0.4)
    assert flat(24.0, fell)
    assert not flat(24.0, 3.0)
    assert fall_m(track[:3]) is None
    assert not flat(24.0, None)


def test_the_line_to_let_out_brings_the_lure_to_the_bottom() -> None:
    spread = parse_spread((shipped("demo_logs") / "evening.toml").read_text(encoding="utf-8"))
    rod = spread.rod_by_key("8")
    assert rod is not None
    made = guide(spread, rod, 9.0, 1.05, now=AS_FILED, learned=None)
    assert [one.speed_m_s for one in made.touches] == pytest.approx([pace * 1.05 for pace in PACES])
    assert made.reaches == all(one.line_out_m is not None for one in made.touches)
    for one in made.touches:
        if one.line_out_m is not None:
            there = depth_answer(spread, one.speed_m_s, now={"8": RodNow(one.line_out_m)}).rods
            depth = next(row.depth_m for row in there if row.key == "8")
            assert depth == pytest.approx(9.0, rel=0.15)  # the nominal chain's; the median is what is sought
