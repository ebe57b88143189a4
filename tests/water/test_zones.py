"""The zones: wide, each with its source, holding what was published."""

from __future__ import annotations

import pytest

from sternwatch.water.zones import ZONES

PUBLISHED = {
    "steelhead": (13.0, 13.0),  # Garside & Tait 1958
    "lake trout": (10.1, 12.5),  # Edsall & Cleland 2000, preferendum
    "brown trout": (10.0, 15.0),  # J. Exp. Biol. 22:145
    "chinook": (13.0, 14.0),  # Stewart & Bowlby 2009, catches in late summer
    "coho": (11.0, 13.0),  # from memory
    "Atlantic salmon": (13.0, 16.0),  # from memory
    "walleye": (20.0, 23.0),  # from memory
}


@pytest.mark.parametrize("name", sorted(ZONES))
def test_a_zone_holds_what_was_published_and_is_wide(name: str) -> None:
    zone = ZONES[name]
    low, high = PUBLISHED[name]
    assert zone.low_c <= low <= high <= zone.high_c
    assert zone.high_c - zone.low_c >= 4.0


def test_every_zone_says_where_it_comes_from() -> None:
    for zone in ZONES.values():
        assert "memory" in zone.source or any(char.isdigit() for char in zone.source), zone
    assert all("memory" in ZONES[name].source for name in ("coho", "Atlantic salmon", "walleye"))
