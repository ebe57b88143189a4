"""The temperature profile: linear between readings, unknown outside them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sternwatch.water.profile import ProfileError, TemperatureProfile

SUMMER = TemperatureProfile.from_pairs([(20.0, 8.0), (0.0, 18.0), (10.0, 17.0), (40.0, 5.0)])


def test_pairs_are_sorted_and_interpolated() -> None:
    assert SUMMER.depths_m == (0.0, 10.0, 20.0, 40.0)
    assert SUMMER.temperature_c(15.0) == pytest.approx(12.5)
    assert SUMMER.temperature_c(0.0) == 18.0
    assert SUMMER.temperature_c(40.0) == 5.0


@pytest.mark.parametrize("depth", [-0.01, 40.01, math.nan, math.inf, None])
def test_outside_the_readings_it_is_unknown(depth: float | None) -> None:
    assert SUMMER.temperature_c(depth) is None


def test_an_empty_profile_knows_nothing() -> None:
    assert TemperatureProfile().temperature_c(5.0) is None
    assert TemperatureProfile().band_m(0.0, 30.0) == ()


def test_one_reading_is_known_at_its_depth_only() -> None:
    single = TemperatureProfile().with_pair(12.0, 9.0)
    assert single.temperature_c(12.0) == 9.0
    assert single.temperature_c(12.1) is None


def test_a_later_reading_replaces_an_older_one_at_its_depth() -> None:
    assert SUMMER.with_pair(20.0, 9.5).temperature_c(20.0) == 9.5


def test_a_later_reading_takes_the_place_of_those_near_it() -> None:
    column = SUMMER.with_pair(20.5, 9.0, within_m=0.6)
    assert column.pairs == ((0.0, 18.0), (10.0, 17.0), (20.5, 9.0), (40.0, 5.0))
    assert SUMMER.with_pair(20.7, 9.0, within_m=0.6).depths_m == (0.0, 10.0, 20.0, 20.7, 40.0)
    assert SUMMER.temperature_c(20.0) == 8.0


@pytest.mark.parametrize(
    ("pair", "words"),
    [
        ((-1.0, 10.0), "accepted are 0 to 1640 ft"),
        ((math.nan, 10.0), "accepted are 0 to 1640 ft"),
        ((5.0, 72.0), "72 °C at 5 m; accepted are -2 to 40 °C"),
        ((5.0, math.inf), "accepted are -2 to 40 °C"),
    ],
)
def test_an_impossible_pair_is_refused_by_name(pair: tuple[float, float], words: str) -> None:
    with pytest.raises(ProfileError, match=words):
        TemperatureProfile.from_pairs([pair])


def test_the_layer_of_a_zone() -> None:
    assert SUMMER.band_m(10.0, 14.0) == ((pytest.approx(10.0 + 30.0 / 9.0), pytest.approx(10.0 + 70.0 / 9.0)),)


def test_a_layer_goes_on_across_readings_and_may_be_of_one_temperature() -> None:
    wanted = (9.0, 13.0)
    assert TemperatureProfile.from_pairs([(0.0, 12.0), (5.0, 11.0), (10.0, 10.0)]).band_m(*wanted) == ((0.0, 10.0),)
    assert TemperatureProfile.from_pairs([(0.0, 12.0), (5.0, 12.0)]).band_m(*wanted) == ((0.0, 5.0),)
    assert TemperatureProfile.from_pairs([(5.0, 11.0)]).band_m(*wanted) == (), "one reading is no layer"


def test_an_inversion_gives_two_layers() -> None:
    column = TemperatureProfile.from_pairs([(0.0, 12.0), (10.0, 8.0), (20.0, 12.0)])
    assert column.band_m(11.0, 13.0) == ((0.0, pytest.approx(2.5)), (pytest.approx(17.5), 20.0))
    assert column.depths_at_c(10.0) == (pytest.approx(5.0), pytest.approx(15.0))


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.floats(0, 300), st.floats(0, 30)), min_size=1, max_size=12),
    st.floats(0, 300),
)
def test_never_outside_what_was_read(pairs: list[tuple[float, float]], depth: float) -> None:
    profile = TemperatureProfile.from_pairs(pairs)
    value = profile.temperature_c(depth)
    known = profile.depths_m[0] <= depth <= profile.depths_m[-1]
    assert (value is not None) == known
    if value is not None:
        assert min(profile.temperatures_c) - 1e-9 <= value <= max(profile.temperatures_c) + 1e-9


def test_a_few_feet_past_the_last_reading_it_is_a_range_and_farther_out_unknown() -> None:
    column = TemperatureProfile.from_pairs([(0.0, 18.0), (10.0, 16.0), (20.0, 8.0)])
    assert column.temperature_c(21.5) is None
    assert column.range_c(21.5) == (pytest.approx(8.0 - 1.2), pytest.approx(8.0 + 1.2))  # 0.8 degrees a metre there
    assert column.range_c(20.1) == (7.5, 8.5)
    assert column.range_c(23.0) is None
    assert column.range_c(15.0) is None
    assert column.range_c(None) is None
    assert TemperatureProfile.from_pairs([(5.0, 18.0)]).range_c(6.0) is None
    shallow = TemperatureProfile.from_pairs([(2.0, 18.0), (10.0, 16.0)])
    assert shallow.range_c(1.0) == (17.5, 18.5)
