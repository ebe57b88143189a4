"""Turns and their limits in words."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.watch.forecast.turn_words import crossing_share, limit_words, risk_words, turn_name, unlikely_words


@pytest.mark.parametrize(
    ("deg", "name"),
    [
        (180.0, "starboard U-turn"),
        (-180.4, "port U-turn"),
        (360.0, "starboard full circle"),
        (-45.0, "port turn of 45°"),
    ],
)
def test_names_of_turns(deg: float, name: str) -> None:
    assert turn_name(deg) == name


def test_shares_and_risks() -> None:
    assert crossing_share(0.0, 16) == "in none of 16"
    assert crossing_share(0.0625, 16) == "6 %"
    assert crossing_share(0.75, 16) == "75 %"
    assert unlikely_words("crossing", 0.0625, 16) == "crossing unlikely (6 %)"
    assert unlikely_words("crossing", 0.0, 16) == "crossing in none of 16"
    assert risk_words(0.1) == "risk at most 10 %"
    assert risk_words(0.75) == "risk at most 75 %"


def test_a_limit_as_helmsmen_steer_it() -> None:
    limit: Any = SimpleNamespace(side="port", half_circle_s=110.0, rate_deg_s=1.64)
    assert limit_words(limit) == "PORT 180° in 1:50 or slower · 16° per 10 s"
    limit.half_circle_s = None
    assert limit_words(limit) == "PORT: no turn avoids crossing"
