"""Samples in columns: the same samples, in a tenth of the memory."""

from __future__ import annotations

import math
import tracemalloc
from dataclasses import replace

import numpy as np

from sternwatch.logbook.store.sample_columns import SampleColumns
from sternwatch.logbook.store.samples import BoatRow, Rig, RodRow, Sample

RIGS = tuple(Rig(f"{n}", f"rod {n}", "port", "", "flat line: spoon", "spoon", "silver", "") for n in range(1, 13))


def _sample(k: int, rods: int = 3) -> Sample:
    boat = BoatRow(
        10.0 * k, 1_784_000_000_000 + 10_000 * k, round(1.05 + 0.001 * k, 3), None, 1.06, 350.5, 351.0,
        round(-0.001 * k, 3), 47.1234567, -89.7654321, 12.4, 33.333, None, "against",
    )  # fmt: skip
    row = RodRow(
        RIGS[0], 30.48, None, round(12.345 + 0.001 * k, 3), 11.0, 13.5, 1.1, -0.02, 7.9, 20.9, "sinking", "inside"
    )
    return Sample(boat, tuple(replace(row, rig=rig) for rig in RIGS[:rods]))


def test_what_was_added_is_read_back_exactly():
    samples = [_sample(0), Sample(BoatRow(12.001), ()), _sample(2, 1), Sample(BoatRow(30.0), (RodRow(RIGS[3]),))]
    columns = SampleColumns.of(samples)
    assert list(columns.samples(0, 4)) == samples
    assert list(columns.samples(2, 3)) == samples[2:3]
    assert list(columns.first(2).samples(0, 2)) == samples[:2]


def test_the_first_ones_are_columns_of_their_own():
    columns = SampleColumns.of([_sample(0), _sample(1)])
    own = columns.first(1)
    own.add(_sample(7, 12))
    assert list(columns.samples(0, 2)) == [_sample(0), _sample(1)]
    assert list(own.samples(0, 2)) == [_sample(0), _sample(7, 12)]


def test_a_number_that_no_file_could_hold_is_unknown():
    sample = Sample(BoatRow(1.0, bottom_m=math.nan, speed_m_s=math.inf, sog_m_s=1e9), (RodRow(RIGS[0], -1e9),))
    assert list(SampleColumns.of([sample]).samples(0, 1)) == [Sample(BoatRow(1.0), (RodRow(RIGS[0]),))]


def test_the_boats_numbers_come_as_columns():
    columns = SampleColumns.of([_sample(0), Sample(BoatRow(10.0), ()), _sample(2)])
    rows = columns.boats(("at_s", "longitude_deg", "bottom_m"), 2)
    np.testing.assert_array_equal(rows, [[0.0, -89.7654321, 33.333], [10.0, np.nan, np.nan]])
    assert columns.boats(("at_s",), 0).shape == (0, 1)


def test_a_day_of_twelve_rods_takes_six_megabytes():
    samples = [_sample(k, 12) for k in range(500)]
    tracemalloc.start()
    try:
        columns = SampleColumns.of(samples)
        used = tracemalloc.get_traced_memory()[0]
    finally:
        tracemalloc.stop()
    assert len(columns) == 500
    assert used / 500 * 8640 < 7e6
