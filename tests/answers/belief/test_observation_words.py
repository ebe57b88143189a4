"""Observations, and what a fit makes of them, in words and in the crew's units."""

from __future__ import annotations

import math

import pytest

from sternwatch.answers.belief.causes import Beyond, Unclear, Unlikely
from sternwatch.answers.belief.observation_words import (
    beyond_words,
    quantity_words,
    said_words,
    unclear_words,
    unlikely_words,
    value_words,
    wanted_words,
)
from sternwatch.answers.belief.observations import Observation, What
from sternwatch.gear.values.units import SYSTEMS, Dimension

US, METRIC = SYSTEMS["us"], SYSTEMS["metric"]


def test_values_with_their_units() -> None:
    assert value_words(What.DEPTH, 12.34, METRIC) == "12.3 m"
    assert value_words(What.DEPTH, 12.34, METRIC, label=False) == "12.3"
    assert value_words(What.PULL, 10.0, US) == US.show(10.0, Dimension.FORCE, 1)
    assert value_words(What.CABLE_ANGLE, math.radians(29.6), US) == "30°"
    assert value_words(What.DEPTH, None, US) == "–"
    assert value_words(What.DEPTH, math.nan, US) == "–"


@pytest.mark.parametrize(
    ("said", "at", "words"),
    [("seen on sounder", "ball", "ball seen on sounder"), ("touched bottom", None, "touched bottom"),
     ("known", None, "known depth"), ("known", "lure", "lure known depth")],
)  # fmt: skip
def test_what_was_observed(said: str, at: str | None, words: str) -> None:
    assert said_words(Observation("a", "1", What.DEPTH, 12.0, 0.5, 1.1, said, at)) == words


def test_what_to_observe() -> None:
    assert wanted_words(What.DEPTH, None) == "where it touches the bottom"
    assert wanted_words(What.DEPTH, "ball") == "the depth of its ball"
    assert wanted_words(What.PULL, None) == "the pull at its tip"
    assert wanted_words(What.ENTRY_ANGLE, None) == "the angle of its line where it enters the water"
    assert wanted_words(What.CABLE_ANGLE, None) == "the angle of its cable"


def test_factors_and_shifts() -> None:
    assert quantity_words(1.9, "1") == "×1.90"
    assert quantity_words(math.radians(3.0), "rad") == "+3.0°"
    assert quantity_words(-0.12, "m/s") == "-0.12 m/s"


def test_what_the_fit_cannot_believe() -> None:
    said = beyond_words(Beyond("counter 1", "1", 1.9, 0.95, 1.05))
    assert "would have to be ×1.90; nine in ten lie between ×0.95 and ×1.05" in said
    assert unlikely_words(Unlikely("3", 2.04), METRIC).startswith("rod 3 was seen 2.0 m deeper than was believed")
    assert unlikely_words(Unlikely("3", -2.0), US).startswith("rod 3 was seen 7 ft shallower than was believed")


@pytest.mark.parametrize(
    ("deed", "at", "end"),
    [
        ("tape", None, "A tape beside the counter at 30 m would tell which."),
        ("slower", 0.9, "The same rod at 3.2 km/h would tell which."),
        ("faster", 1.2, "The same rod at 4.3 km/h would tell which."),
        ("back", None, "The same rod on the opposite course would tell which."),
        ("shorter", 20.2, "The same rod with 20 m out would tell which."),
        ("cable", None, "The angle of its cable would tell which."),
        (None, None, "No single observation would tell which."),
    ],
)
def test_what_would_tell_one_cause_from_another(deed: str | None, at: float | None, end: str) -> None:
    one = Unclear("2", -1.5, ("its counter", "its drag", "water below"), deed, at, 0.2)  # type: ignore[arg-type]
    said = unclear_words(one, METRIC)
    assert said.startswith(
        "rod 2 runs 1.5 m shallower than was believed. The cause may be its counter, its drag or water below. "
    )
    assert said.endswith(end)
    if deed == "tape":
        assert "at 100 ft would" in unclear_words(one, US)
