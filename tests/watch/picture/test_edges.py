"""Where an outlook's shares begin to count, and what a pair's times are."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

import made_outlooks

from sternwatch.feed.readings import Quantity, SensorState
from sternwatch.hydro.separation.verdicts import Verdict
from sternwatch.watch.picture.meetings import Shares

PAIR = made_outlooks.pair(("1", "2"), 0.0)


@pytest.mark.parametrize(
    ("near", "touch", "wrapped", "counts"),
    [
        (0.0, 0.1, 0.0, True),
        (0.0, 0.0, 0.1, True),
        (0.0, 0.0625, 0.0625, True),
        (0.0, 0.0625, 0.03, False),
        (1.0, 0.0, 0.0, False),
    ],
)
def test_a_contact_counts_from_one_member_in_ten(near: float, touch: float, wrapped: float, counts: bool) -> None:
    contact: Any = SimpleNamespace(time_s=30.0)
    made = replace(PAIR, shares=Shares(near, touch, wrapped), contact=contact, undercut_s=20.0)
    assert made.counting_contact is (contact if counts else None)
    assert made.meet_s == 30.0
    assert replace(made, contact=None).meet_s == 20.0


def test_the_worst_pair_is_the_likeliest_and_of_equals_the_closest_for_what_it_needs() -> None:
    """One whose share or whose distance nobody knows is none."""

    def of(key: str, probability: float | None, separation: float | None, required: float | None) -> Any:
        made = made_outlooks.pair(("1", key), probability)
        return replace(made, separation_m=separation, required_m=required)

    likely, close, far = of("2", 0.5, 3.0, 1.0), of("3", 0.25, 0.5, 1.0), of("4", 0.25, 0.4, 0.5)
    nobody = (of("5", None, 0.1, 1.0), of("6", 0.9, None, 1.0), of("7", None, None, None))
    for pairs, worst in (
        ((far, close, likely, *nobody), likely), ((far, close, *nobody), close), ((close, far), close),
        (nobody, None), ((), None),
    ):  # fmt: skip
        assert made_outlooks.forecast("hold", *pairs).worst is worst


@pytest.mark.parametrize(
    ("near_pass", "touch", "wrapped", "verdict"),
    [
        (0.0, 0.0, 0.1, Verdict.WRAPPED), (1.0, 1.0, 0.099, Verdict.TOUCH), (0.0, 0.05, 0.05, Verdict.TOUCH),
        (0.0, 0.099, 0.0, Verdict.CLEAR_OF_EACH_OTHER), (0.001, 0.099, 0.0, Verdict.NEAR_PASS),
        (0.1, 0.0, 0.0, Verdict.NEAR_PASS), (0.099, 0.0, 0.0, Verdict.CLEAR_OF_EACH_OTHER),
    ],
)  # fmt: skip
def test_the_worst_that_one_member_in_ten_meets(
    near_pass: float, touch: float, wrapped: float, verdict: Verdict
) -> None:
    shares = Shares(near_pass, touch, wrapped)
    assert shares.verdict is verdict
    assert shares.contact == touch + wrapped


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        ({}, 12.5), ({"state": SensorState.SILENT}, None), ({"suspect": "a jump"}, None),
        ({"value": (1.0, 2.0)}, None), (None, None),
    ],
)  # fmt: skip
def test_a_row_has_the_waters_temperature_while_it_is_fresh_and_not_doubted(
    monkeypatch: pytest.MonkeyPatch, entry: dict[str, Any] | None, said: float | None
) -> None:
    from sternwatch.watch.picture import rows

    monkeypatch.setattr(rows, "water_row", lambda _: {})
    given = {"state": SensorState.FRESH, "value": 12.5, "suspect": ""}
    sensors = {} if entry is None else {Quantity.WATER_TEMPERATURE: SimpleNamespace(**{**given, **entry})}
    own = dict.fromkeys(("sog_m_s", "stw_m_s", "course_deg", "heading_deg"))
    picture: Any = SimpleNamespace(
        own=SimpleNamespace(**own, speed_source=SimpleNamespace(value="none")), sensors=sensors, utc_s=None,
        t_s=1.23456, bottom_m=None, rods=(), fish_seen=(), alerts=(), calibration="",
    )  # fmt: skip
    row = rows.picture_row(picture)
    assert row["water_temperature_c"] == said
    assert (row["time"], row["elapsed_s"], row["calibration"]) == (None, 1.235, None)


def test_a_row_tells_how_well_the_speed_through_the_water_is_known() -> None:
    from sternwatch.watch.picture import rows

    water = SimpleNamespace(current_m_s=(0.1, -0.2), off_m_s=0.05, current_off_m_s=0.07, scale=1.02, scale_off=0.03)
    known: Any = SimpleNamespace(speed_m_s=1.1, water=water)
    assert rows.water_row(known) == {
        "speed_through_water_m_s": 1.1, "speed_through_water_off_m_s": 0.05, "current_north_m_s": 0.1,
        "current_east_m_s": -0.2, "current_along_off_m_s": 0.07, "log_scale": 1.02, "log_scale_off": 0.03,
    }  # fmt: skip
    unknown: Any = SimpleNamespace(speed_m_s=None, water=None)
    assert set(rows.water_row(unknown).values()) == {None}
    water.current_m_s = None
    row = rows.water_row(known)
    assert (row["current_north_m_s"], row["current_east_m_s"], row["log_scale"]) == (None, None, 1.02)
