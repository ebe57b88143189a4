"""Which speed drives the depths, in words, on the strip and the sensor screen."""

from __future__ import annotations

from dataclasses import replace

import fake_picture
import pytest
from painted import paint

from sternwatch.console.helm.strip import TopStrip
from sternwatch.console.words import speed as speed_words
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.boat.through_water import TURN
from sternwatch.watch.picture.model import OwnBoat, SpeedSource, WaterSpeed

US = SYSTEMS["us"]
UNKNOWN = WaterSpeed(0.15, None, 0.15, "", None, None, TURN)
KNOWN = WaterSpeed(0.05, (0.0, 0.15), 0.05, "legs", None, None)
WHEEL = WaterSpeed(0.02, (0.0, 0.15), 0.02, "legs", 1.04, 0.02)


def own(water: WaterSpeed | None, source: SpeedSource = SpeedSource.OVER_GROUND) -> OwnBoat:
    return replace(fake_picture.straight().own, speed_source=source, water=water)


@pytest.mark.parametrize(
    ("water", "source", "kind", "drives"),
    [
        (UNKNOWN, SpeedSource.OVER_GROUND, "over ground", "current unknown: a turn tells it"),
        (KNOWN, SpeedSource.OVER_GROUND, "less current", "depths use it less 0.3 to 090° ±0.1"),
        (WHEEL, SpeedSource.THROUGH_WATER, "through water", "depths use ×1.04 ±0.02"),
        (replace(WHEEL, scale=None), SpeedSource.THROUGH_WATER, "through water", "depths use"),
    ],
)
def test_what_drives_is_always_said(water: WaterSpeed, source: SpeedSource, kind: str, drives: str) -> None:
    boat = own(water, source)
    assert speed_words.kind(boat) == kind
    assert speed_words.drives(boat, US)[0] == drives
    picture = replace(fake_picture.straight(), own=boat)
    for width in (80, 120, 200):
        rows = paint(TopStrip, picture, (width, 3)).text().splitlines()
        assert kind in rows[0]
        assert any(form in rows[2] for form in speed_words.drives(boat, US))
        assert any(label in rows[0] for label in ("SOG", "OVER GROUND")) == (kind != "over ground")


def test_on_one_course_it_is_said_what_is_missing() -> None:
    said = speed_words.sentences(own(UNKNOWN), US)
    assert said[0].startswith("The current is unknown: ±0.3 mph along this course")
    assert said[-1] == "Turn onto another heading to tell current from speed."


def test_sentences_say_who_told_the_current() -> None:
    legs = "Current 0.3 mph to 090°, learned from her courses; ±0.1 mph along this course."
    assert speed_words.sentences(own(KNOWN), US) == (f"{legs} It is taken off the speed over ground.",)
    helm = replace(KNOWN, told="helm")
    assert "as the helm said" in speed_words.sentences(own(helm), US)[0]
    wheel = speed_words.sentences(own(WHEEL, SpeedSource.THROUGH_WATER), US)
    assert wheel[0] == "The paddle wheel's reading is multiplied by 1.04 ±0.02, learned from her courses."


def test_a_small_uncertainty_is_not_rounded_to_none() -> None:
    assert "±0.1" in speed_words.drives(own(replace(KNOWN, current_off_m_s=0.004)), US)[0]
