"""The sensor screen: why there is no depth, every quantity, every source."""

from __future__ import annotations

from dataclasses import replace

import fake_picture
import fake_senses
import pytest
from fake_runner import FakeRunner

from sternwatch import __version__
from sternwatch.config import Preferences
from sternwatch.console import state
from sternwatch.console.app import SternwatchApp
from sternwatch.console.pages.sensors import Known, SensorText, page
from sternwatch.console.words import sensors as sensor_words
from sternwatch.console.words.rods import SIGNS
from sternwatch.feed.readings import Quantity, SensorState, SensorValue
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.local_time import BoatTime
from sternwatch.watch.picture.model import Picture, Session, SpeedSource
from sternwatch.watch.sessions.runner import Senses

US = SYSTEMS["us"]


def told(senses: Senses, picture: Picture | None, width: int = 80, busy: str = "") -> list[str]:
    """The page as plain lines."""
    made = []
    for line in page(Known(senses, picture, busy), US, SIGNS["braille"], width):
        cells = [" "] * 400
        for x, text, _ in line:
            cells[x : x + len(text)] = text
        made.append("".join(cells).rstrip())
    return made


def without_speed(sensors: dict[Quantity, SensorValue], why: str = "none") -> Picture:
    picture = fake_picture.straight(Session.LIVE)
    own = replace(picture.own, speed_source=SpeedSource.NONE, why_no_speed=why)
    return replace(picture, own=own, sensors={**picture.sensors, **sensors})


def value(quantity: Quantity, state: SensorState, **more: object) -> SensorValue:
    made = SensorValue(quantity, state, 1.0, 41.0, "sounder", "VHW")
    return replace(made, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("case", list(fake_senses.CASES))
@pytest.mark.parametrize("width", [80, 120, 200])
@pytest.mark.parametrize("picture", [None, fake_picture.straight(), fake_picture.no_feed()], ids=["none", "", "mute"])
def test_no_line_is_wider_than_the_screen(case: str, width: int, picture: Picture | None) -> None:
    lines = told(fake_senses.CASES[case](), picture, width)
    assert max(len(line) for line in lines) <= width
    assert len(lines) > 10


def test_what_drives_the_depths_is_said_first() -> None:
    picture = fake_picture.straight()
    assert told(fake_senses.well(), picture)[0] == " Depths use speed through water, sounder VHW, 1 s old."
    stuck = replace(picture, own=replace(picture.own, speed_source=SpeedSource.OVER_GROUND))
    assert told(fake_senses.well(), stuck)[:2] == [
        " Depths use speed over ground, gps RMC, 1 s old:",
        " speed through water: reads nothing though the boat moves over ground (weed on",
    ]
    assert told(fake_senses.well(), None, busy="Preparing the solver.")[0] == " NO DEPTHS YET. Preparing the solver."


def test_why_there_is_no_depth_is_said_of_both_speeds() -> None:
    silent = value(Quantity.STW, SensorState.SILENT)
    none = value(Quantity.SOG, SensorState.NONE, source="gps", sentence="RMC")
    lines = told(fake_senses.silent(), without_speed({Quantity.STW: silent, Quantity.SOG: none}))
    assert lines[0].strip() == "NO DEPTHS: THERE IS NO SPEED"
    assert lines[1:3] == [
        " · speed through water: sounder VHW is silent for 41 s",
        " · speed over ground: gps RMC says it has none for 41 s",
    ]
    never = value(Quantity.STW, SensorState.NEVER, age_s=None)
    doubted = value(Quantity.SOG, SensorState.FRESH, suspect="70 kn in 1 s")
    lines = told(fake_senses.well(), without_speed({Quantity.STW: never, Quantity.SOG: doubted}))
    assert lines[1:3] == [
        " · speed through water: never heard; VHW tells it",
        " · speed over ground: doubted, 70 kn in 1 s",
    ]


def test_what_is_wrong_with_a_source_stands_at_the_top() -> None:
    mute = fake_picture.no_feed()
    assert " · sounder: /dev/ttyUSB0: No such file or directory" in told(fake_senses.silent(), mute)[:5]
    assert (
        " · sounder: nothing that arrives is a sentence (wrong baud rate?)"
        in told(fake_senses.wrong_rate(), mute)[:5]
    )
    assert (
        " · sentences arrive (DPT, GSV, MTW), but none that tells a speed: VHW, RMC or"
        in told(fake_senses.no_speed_told(), mute)[:5]
    )
    unplugged = Senses(3.0, statuses=fake_senses.silent().statuses)
    assert " · no source has sent a line yet" in told(unplugged, mute)[:6]
    assert not [line for line in told(fake_senses.well(), fake_picture.straight()) if line.startswith(" ·")]


def row(lines: list[str], name: str) -> str:
    return next(line for line in lines if line[3:].startswith(name))


def test_every_quantity_has_its_value_state_age_rhythm_limit_and_speaker() -> None:
    lines = told(fake_senses.well(), fake_picture.straight(), 120)
    assert row(lines, "through water").split() == [
        "▸", "through", "water", "2.3", "mph", "fresh", "1s", "1.0s", "4s", "IIVHW", "sounder",
    ]  # fmt: skip
    assert row(lines, "surface").split()[-5:] == ["1s", "4.0s", "16s", "IIMTW", "sounder"]
    assert row(lines, "heading").endswith("IIHDG sounder, magnetic")
    assert "47°18.60′N 091°01.20′W" in row(lines, "position")
    assert "22:00:00 " in row(lines, "clock")
    bottom = lines.index(row(lines, "bottom"))
    assert "suspect" in lines[bottom]
    assert lines[bottom + 1].strip() == "? 12.0 m in 1 s"


def test_who_is_in_use_comes_first_and_is_marked() -> None:
    lines = told(fake_senses.well(), fake_picture.straight(), 120)
    first = lines.index(row(lines, "over ground"))
    assert lines[first].startswith(" ▸ over ground")
    assert "GPRMC" in lines[first]
    assert lines[first + 1].startswith("    ")
    assert "GPVTG" in lines[first + 1]


def test_what_never_came_is_named_with_what_would_tell_it() -> None:
    lines = told(fake_senses.no_speed_told(), fake_picture.no_feed())
    assert row(lines, "through water").endswith("never heard, wants VHW")
    assert row(lines, "position").endswith("never heard, wants RMC, GGA, GNS or GLL")
    assert not [line for line in lines if "probe" in line], "few boats have one"


def test_what_was_refused_is_told_by_cause_with_the_last_line_as_it_came() -> None:
    text = "\n".join(told(fake_senses.well(), fake_picture.straight(), 120))
    assert " SOURCE sounder  /dev/ttyUSB0: data is arriving at 4800 baud, for 15 min" in text
    assert "5210 lines. Used: RMC 1041, DPT 1040, VHW 1040, MTW 1039." in text
    assert "Read, not used: GSV 1041." in text
    assert "Checksums: required; 0.1 % wrong lately." in text
    assert "Refused, checksum wrong: 7. Last: $IIMTW,17.8,C*1G" in text
    assert "Refused, cut off: 2. Last: $IIDPT,34.1\\x00\\xff," in text
    assert "Impossible fields: 3. Last: MTW: temperature '--.-' is not a number" in text
    recorded = "\n".join(told(replace(fake_senses.well(), statuses=()), fake_picture.straight()))
    assert " SOURCE sounder  a recording" in recorded


def test_a_source_before_its_first_line_says_so() -> None:
    waiting = Senses(3.0, statuses=fake_senses.silent().statuses)
    assert "   no line yet" in told(waiting, None)
    assert " SOURCES  no source has sent anything yet" in told(Senses(0.0), None)


def test_values_read_as_the_crew_reads_them() -> None:
    metric = SYSTEMS["metric"]
    assert sensor_words.value(Quantity.PROBE_SPEED, 1.0, metric, BoatTime()) == "3.6 km/h"
    assert sensor_words.value(Quantity.PROBE_DEPTH, 20.0, metric, BoatTime()) == "20.0 m"
    assert sensor_words.value(Quantity.PROBE_TEMPERATURE, 10.0, US, BoatTime()) == "50.0 °F"
    assert sensor_words.value(Quantity.RATE_OF_TURN, -0.5, US, BoatTime()) == "30°/min P"
    assert sensor_words.value(Quantity.COG, 359.7, US, BoatTime()) == "000°"
    assert sensor_words.value(Quantity.COG, None, US, BoatTime()) == "–"
    assert sensor_words.value(Quantity.SOG, (1.0, 2.0), US, BoatTime()) == "–"
    assert sensor_words.value(Quantity.CLOCK, 1_784_376_000.0, US, BoatTime(-240)) == "08:00:00"
    assert sensor_words.value(Quantity.CLOCK, 1_784_376_000.0, US, BoatTime(-240, utc=True)) == "12:00:00 UTC"


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_the_view_key_comes_to_it_and_arrows_move_it(size: tuple[int, int]) -> None:
    state.save(state.State(theme="dusk", cautions_read=__version__))
    runner = FakeRunner(Session.LIVE, fake_picture.straight(Session.LIVE))
    runner.sensed = fake_senses.well()
    app = SternwatchApp(runner, Preferences())
    async with app.run_test(size=size) as pilot:
        await pilot.pause(0.05)
        for _ in range(8):
            if app.view != "sensors":
                await pilot.press("v")
                await pilot.pause(0.05)
        text = app.screen.query_one(SensorText)
        assert "Depths use speed through water" in text._grid.text()
        await pilot.press("down", "down")
        assert text.first == (2 if size == (80, 24) else 0), "it scrolls where it must"
        assert runner.actions == [], "arrows let out no line here"
        await pilot.press("3")
        assert runner.did() == [("hit", "3")], "a hit is a hit"
        await pilot.press("?")
        await pilot.pause(0.05)
        assert "counts as silent" in "\n".join(strip.text for strip in app.screen._compositor.render_strips())
        await pilot.press("escape")
        assert app.view == "helm"
