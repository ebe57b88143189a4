"""Places as numbers: cells of a hundredth of a degree, and the blocks of a tenth that hold them."""

from __future__ import annotations

import math
from typing import Any

import pytest

from sternwatch.logbook.store.samples import block_of, cell_of, scale_of


@pytest.mark.parametrize(
    ("latitude", "longitude"), [(47.123, -89.456), (-33.005, 151.999), (0.0, 0.0), (89.99, 179.99), (-89.99, -180.0)]
)
def test_a_cell_and_its_block_are_told_apart_from_all_others_about_them(latitude: float, longitude: float) -> None:
    cell = cell_of(latitude, longitude)
    assert cell > 0
    seen: dict[int, tuple[Any, ...]] = {}
    for i in range(-12, 13):
        for j in range(-12, 13):
            place = (latitude + 0.01 * i, longitude + 0.01 * j)
            if abs(place[0]) < 90.0 and -180.0 <= place[1] < 180.0:
                own = cell_of(*place)
                square = math.floor((place[0] + 90.0) * 100.0), math.floor((place[1] + 180.0) * 100.0)
                for number, told in (own, square), (block_of(own), ("block", square[0] // 10, square[1] // 10)):
                    assert seen.setdefault(number, told) == told
                assert block_of(own) < 0
    assert len(set(seen.values())) == len(seen), "no two squares have one number"


def test_without_a_place_there_is_no_cell() -> None:
    assert cell_of(None, 3.0) == cell_of(3.0, None) == 0
    assert block_of(0) == 0
    assert cell_of(-90.0, -180.0) == 1
    assert block_of(1) == -1


def test_the_numbers_of_a_place_are_those_in_files_that_there_are() -> None:
    assert cell_of(47.123, -89.456) == 13_712 * 36_000 + 9_054 + 1
    assert block_of(cell_of(47.123, -89.456)) == -(1_371 * 3_600 + 905 + 1)


def test_numbers_are_kept_in_thousandths_unless_more_is_said() -> None:
    assert scale_of("line_out_m") == 1000
    assert scale_of("latitude_deg") == scale_of("longitude_deg") == 10_000_000
