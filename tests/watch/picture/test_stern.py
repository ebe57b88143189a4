"""How a rod's line is drawn: the same wherever it is."""

from __future__ import annotations

from itertools import pairwise

from sternwatch.gear.spread_file.models import ROD_KEYS
from sternwatch.watch.picture.stern import drawn_as


def test_no_two_stations_share_hue_and_dash_and_neighbours_share_neither() -> None:
    looks = [drawn_as(key) for key in ROD_KEYS]
    assert len(set(looks)) == len(ROD_KEYS)
    assert all(one[0] != other[0] and one[1] != other[1] for one, other in pairwise(looks))
