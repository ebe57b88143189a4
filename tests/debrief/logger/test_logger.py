"""A logger's file: columns and units as it says, a clock that is off, and independent observations."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from sternwatch.debrief.logger.keeping import entries
from sternwatch.debrief.logger.matching import (
    LEAST_APART_S,
    UnmatchedError,
    beside,
    compared,
    match,
    memory_s,
    profile,
    thinned,
)
from sternwatch.debrief.logger.reading import Logged, LoggerError, Told, parse
from sternwatch.logbook.actions.observing_acts import Observed
from sternwatch.logbook.store.samples import BoatRow, Rig, RodRow, Sample

HOUR = 3600.0


def depth_at(t_s: float) -> float:
    """An invented hour: let out in steps, a turn, a slow wander."""
    steps = 8.0 + 3.0 * (t_s > 700) + 4.0 * (t_s > 1500) - 5.0 * (t_s > 2600)
    return steps + 0.8 * math.sin(t_s / 310.0) + 0.3 * math.sin(t_s / 47.0)


def samples(deeper_m: float = 0.0) -> list[Sample]:
    """A digest's: every ten seconds, one rod; a turn from 1000 to 1100 s."""
    out = []
    for t in np.arange(0.0, HOUR, 10.0):
        depth = depth_at(float(t)) + deeper_m
        sinking = (depth_at(float(t)) - depth_at(float(t) - 10.0)) / 10.0
        boat = BoatRow(float(t), rate_of_turn_deg_s=3.0 if 1000 <= t <= 1100 else 0.0)
        row = RodRow(
            Rig("6"), depth_m=depth, depth_low_m=depth - 2.0, depth_high_m=depth + 2.0, vertical_speed_m_s=sinking
        )
        out.append(Sample(boat, (row,)))
    return out


def logged(begun_s: float, seconds: float = 2400.0, noise_m: float = 0.1) -> Logged:
    """Every two seconds from a moment of the feed on."""
    t = np.arange(0.0, seconds, 2.0)
    rng = np.random.default_rng(3)
    depth = np.array([depth_at(begun_s + float(one)) for one in t]) + rng.normal(0.0, noise_m, len(t))
    return Logged(t, depth, 16.0 - 0.5 * depth, None, ())


def rows(deeper_m: float = 0.0) -> list[tuple[Sample, RodRow]]:
    return [(one, one.rods[0]) for one in samples(deeper_m)]


BEGUN = datetime(2026, 7, 18, 22, 0, tzinfo=UTC)


def lines_of(form: str, heading: str, cells: str, delimiter: str = ",") -> str:
    out = ["an invented logger, serial 1", "", heading]
    for number in range(30):
        when = (BEGUN + timedelta(seconds=5 * number)).strftime(form)
        out.append(cells.format(when=when, depth=30.0 + number, warm=50.0 + number, d=delimiter))
    return "\n".join(out)


@pytest.mark.parametrize(
    ("text", "told", "depth_m", "warmth_c"),
    [
        (lines_of("%Y-%m-%dT%H:%M:%SZ", "Time,Depth (ft),Temp (°F)", "{when},{depth},{warm}"), Told(), 9.144, 10.0),
        (lines_of("%m/%d/%Y %I:%M:%S %p", "Date Time;Pressure dbar;Temperature degC", "{when};{depth};{warm}"),
         Told(), 30.0 * 1e4 / 9806.65, 50.0),
        (lines_of("%d.%m.%Y\t%H:%M:%S", "Date\tTime\tDepth [m]", "{when}\t{depth}"), Told(), 30.0, math.nan),
        (lines_of("%Y-%m-%d %H:%M:%S", "when,how deep,Depth 2,T", "{when},{depth},1,{warm}"),
         Told("when", "how deep", "T", "fathom", "C"), 54.864, 50.0),
    ],
)  # fmt: skip
def test_columns_and_units_are_read_as_the_file_or_the_user_says(
    text: str, told: Told, depth_m: float, warmth_c: float
) -> None:
    made = parse(text, "mine.csv", told)
    assert made.begun == BEGUN
    assert made.t_s[-1] == 145.0
    assert made.depth_m[0] == pytest.approx(depth_m)
    assert made.temperature_c[0] == pytest.approx(warmth_c, nan_ok=True)


@pytest.mark.parametrize(
    ("heading", "sentence"),
    [
        ("Time,Depth,Temp (F)", r'the heading "Depth" tells no unit of depth; accepted with --depth-unit: m, ft'),
        (
            "Time,Depth m,Temp",
            r'the heading "Temp" tells no unit of temperature; accepted with --temperature-unit: C',
        ),
        ("Time,Depth m,Depth ft", r'which column is the depth: "Depth m", "Depth ft"\? Say so with --depth-column'),
        ("a,b,c", r"no row of headings with a time and a depth"),
    ],
)
def test_what_the_file_leaves_open_is_asked_for(heading: str, sentence: str) -> None:
    with pytest.raises(LoggerError, match=sentence):
        parse(lines_of("%Y-%m-%d %H:%M:%S", heading, "{when},{depth},{warm}"), "mine.csv", Told())


def test_rows_that_cannot_be_read_are_left_out_and_counted() -> None:
    text = lines_of("%Y-%m-%d %H:%M:%S", "Time,Depth m", "{when},{depth}") + "\n2026-07-18 23:00:00,--\nend of file"
    made = parse(text, "mine.csv", Told())
    assert len(made.t_s) == 30
    assert made.left_out == 2
    with pytest.raises(LoggerError, match=r"0 rows with a time and a depth were read, at least 20"):
        parse("Time,Depth m\n", "mine.csv", Told())


@pytest.mark.parametrize("begun_s", [400.0, -600.0, 1437.0])
def test_the_clocks_offset_is_found_to_a_few_seconds(begun_s: float) -> None:
    """Whatever its clock said, and although the computed depths lie too deep throughout."""
    assert match(logged(begun_s), rows(2.5)).offset_s == pytest.approx(begun_s, abs=4.0)


def test_where_nothing_fits_better_than_elsewhere_it_says_so() -> None:
    t = np.arange(0.0, 2400.0, 2.0)
    flat = Logged(t, np.full(len(t), 12.0) + 0.05 * np.sin(t), np.full(len(t), math.nan), None, ())
    with pytest.raises(UnmatchedError, match=r"--offset|in common"):
        match(flat, rows())


def test_errors_are_told_by_what_the_line_was_doing() -> None:
    moments = beside(logged(400.0), 400.0, rows(1.5))
    scores = {one.way: one for one in compared(moments)}
    assert set(scores) == {"all", "straight", "turning", "sinking"}
    assert scores["straight"].bias_m == pytest.approx(1.5, abs=0.05)
    assert scores["straight"].rms_m == pytest.approx(1.5, abs=0.06)
    assert scores["all"].inside == 1.0
    assert {one.way for one in moments if 1000.0 <= one.t_s <= 1150.0} == {"turning"}


def test_observations_are_so_far_apart_that_they_know_nothing_of_each_other() -> None:
    moments = beside(logged(0.0, 3500.0), 0.0, rows(1.0))
    seen = thinned(moments)
    apart = np.diff([one.t_s for one in seen])
    assert apart.min() >= LEAST_APART_S
    assert 10 <= len(seen) <= 30
    ways = [one.way for one in seen]
    assert ways.count("straight") > 0.6 * len(ways)
    assert {"turning", "sinking"} & set(ways)
    assert not [one for one in seen if 1000.0 <= one.t_s <= 1100.0]  # a hard turn
    # An error that remembers itself for long leaves fewer.
    drifting = [
        (sample, RodRow(row.rig, depth_m=(row.depth_m or 0.0) + math.sin(sample.boat.at_s / 250.0)))
        for sample, row in rows()
    ]
    slow = beside(logged(0.0, 3500.0), 0.0, drifting)
    assert memory_s(slow) > 100.0
    assert len(thinned(slow)) < 0.6 * len(seen)


def test_entries_have_the_moments_of_the_feed_and_the_same_ids_again() -> None:
    own = logged(400.0)
    seen = thinned(beside(own, 400.0, rows()))
    made = entries(own, 400.0, seen, rod="6", at="lure", utc_offset_s=1.7e9, begun=BEGUN, error_m=None)
    again = entries(own, 400.0, seen, rod="6", at="lure", utc_offset_s=1.7e9, begun=BEGUN, error_m=None)
    assert [one.id for one in made] == [one.id for one in again]
    assert len({one.id for one in made}) == len(made)
    first = made[0]
    assert isinstance(first, Observed)
    assert first.elapsed_s == seen[0].t_s
    assert first.time.timestamp() == pytest.approx(1.7e9 + seen[0].t_s)
    assert first.depth_m == pytest.approx(seen[0].logged_m, abs=0.01)
    layers = profile(own)
    assert [depth for depth, _, _ in layers] == sorted(depth for depth, _, _ in layers)
    assert all(warmth == pytest.approx(16.0 - 0.5 * depth, abs=0.6) for depth, warmth, _ in layers)
