"""The zones: wide, each with its source, holding what its source states."""

from __future__ import annotations

import re

import pytest

from sternwatch.hydro.sources import REFERENCES
from sternwatch.water.zones import ZONES

# What the abstracts say, the works in full in hydro.sources.REFERENCES.
STATED = {
    "steelhead": (13.0, 13.0),  # Garside & Tait 1958: final preferendum of rainbow trout in tanks
    "lake trout": (10.1, 12.5),  # Edsall & Cleland 2000, age-0: preferendum 10.1 to 10.2, growth fastest near 12.5
    "brown trout": (10.0, 15.0),  # Brown 1946 of Pentelow 1939 and Wingfield 1940, yearlings: growth, approximate
    "chinook": (13.0, 14.0),  # Stewart & Bowlby 2009: mean temperature of catches, August and September
    "coho": (11.0, 13.0),  # from memory
    "Atlantic salmon": (13.0, 16.0),  # from memory
    "walleye": (20.0, 23.0),  # from memory
}


@pytest.mark.parametrize("name", sorted(ZONES))
def test_a_zone_holds_what_its_source_states_and_is_wide(name: str) -> None:
    zone = ZONES[name]
    low, high = STATED[name]
    assert zone.low_c <= low <= high <= zone.high_c
    assert zone.high_c - zone.low_c >= 4.0


def test_every_zone_says_where_it_comes_from() -> None:
    for zone in ZONES.values():
        assert "memory" in zone.source or any(char.isdigit() for char in zone.source), zone
    assert all("memory" in ZONES[name].source for name in ("coho", "Atlantic salmon", "walleye"))


def test_what_was_found_is_said_for_which_fish_and_of_preference_or_growth() -> None:
    assert "age-0" in ZONES["lake trout"].source
    assert "preferendum 10.1–10.2 °C, growth fastest near 12.5 °C" in ZONES["lake trout"].source
    assert "growth fastest at 10–15 °C, approximate, no preference" in ZONES["brown trout"].source
    assert "catches" in ZONES["chinook"].source


def test_every_work_named_by_a_zone_is_in_the_bibliography() -> None:
    named = {work for zone in ZONES.values() for work in re.findall(r"[A-Z][\w]+(?: & [A-Z]\w+)? \d{4}", zone.source)}
    assert len(named) == 6
    assert {work.replace(" & ", " ") for work in named} <= set(REFERENCES)
