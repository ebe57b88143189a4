"""The debrief's chart: to scale, with the bottom from the soundings under the track, and no place in it."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

import pytest

from console import made_chart
from sternwatch.debrief.report import figures
from sternwatch.debrief.report.charted import charted
from sternwatch.debrief.report.plots import chart_lines
from sternwatch.debrief.trip.digest import Digest
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.actions.place_acts import FishSeen, Marked
from sternwatch.logbook.crew.fold import fold
from sternwatch.watch.bottom.soundings import local_degrees, local_metres

US = SYSTEMS["us"]


BEGUN = datetime(2026, 7, 18, 20, 0, tzinfo=UTC)


def digest(places=()):
    picture = made_chart.picture()
    crew = fold(places, ())
    return Digest(tuple(picture.fishing.since()), picture.hit_rows, (), (), crew, picture.t_s, BEGUN.timestamp())


@pytest.fixture(scope="module")
def chart():
    return charted(digest(), US)


def test_the_bottom_under_the_track_is_what_was_sounded_there(chart):
    places, depths = chart.trail.places_m, chart.trail.values["depth"]
    assert abs(chart.bed.depths_at(places) - depths).max() < 1.0
    assert len(chart.bed.contours) >= 3
    assert chart.bed.labels == ()  # where it was could be found out by a public grid


def test_the_chart_in_characters_has_hits_contours_and_is_to_scale(chart):
    lines, scale = chart_lines(chart, US, 78, 24, bottom=True)
    text = "\n".join(lines)
    assert len(lines) <= 24
    assert max(map(len, lines)) <= 78
    assert {"3", "5", "6"} <= set(re.findall(r"(?<!\d)\d(?!\d)", text))
    told = {round(line.depth_m * 3.280839895) for line in chart.bed.contours}
    assert sum(bool(re.search(rf"(?<!\d){depth}(?!\d)", text)) for depth in told) >= 2
    south, _, north, _ = chart.bounds_m
    assert (len(lines) - 1) * 4 * scale == pytest.approx(north - south, abs=4 * scale)


def test_a_track_with_a_hole_is_parted_there(chart):
    assert [len(run) for run in chart.runs()] == [len(chart.trail.places_m)]
    picture = made_chart.picture()
    samples = picture.fishing.since()
    made = digest()
    cut = charted(made_chart.replace(made, samples=(*samples[:50], *samples[90:])), US)
    assert [len(run) for run in cut.runs()] == [50, len(samples) - 90]


def test_marks_and_fish_seen_stand_where_the_boat_was_and_are_named(chart):
    """Entered at a feed time, entered by the clock alone, and with a place of its own."""
    there = local_degrees(made_chart.ORIGIN, (80.0, 150.0))
    made = charted(
        digest((
            Marked(id="m1", time=BEGUN, elapsed_s=605.0, what="net"),
            FishSeen(id="f1", time=BEGUN + timedelta(seconds=1204.0), depth_m=18.0),
            Marked(id="m2", time=BEGUN, elapsed_s=10.0, what="bait", latitude_deg=there[0], longitude_deg=there[1]),
            Marked(id="m3", time=BEGUN, elapsed_s=9000.0, what="snag"),  # long after the last fix
        )), US
    )  # fmt: skip
    assert [one.what for one in made.places] == ["net", "fish", "bait"]
    for one, place in zip(made.places, (made_chart.way(605.0), made_chart.way(1204.0), (80.0, 150.0)), strict=True):
        # The chart's metres count from the first place of the trip.
        off = local_metres(made.origin_deg, local_degrees(made_chart.ORIGIN, place[:2]))
        assert (one.north_m, one.east_m) == pytest.approx(off, abs=0.5)
    text = "\n".join(chart_lines(made, US, 78, 24, bottom=False)[0])
    assert [text.count(word) for word in ("net", "fish", "bait", "snag")] == [1, 1, 1, 0]
    assert "net" not in "\n".join(chart_lines(chart, US, 78, 24, bottom=False)[0])
    words = {one.get_text() for one in figures._chart(made, US, (4.4, 4.4), bottom=False).axes[0].texts}
    assert words >= {"net", "fish", "bait"}


def test_without_a_place_there_is_no_chart():
    made = digest()
    bare = tuple(
        made_chart.replace(one, boat=made_chart.replace(one.boat, latitude_deg=None, longitude_deg=None))
        for one in made.samples
    )
    assert charted(made_chart.replace(made, samples=bare), US) is None


def test_without_the_bottom_no_depth_is_told_that_would_find_the_place(chart):
    """On a public chart."""
    text = "\n".join(chart_lines(chart, US, 78, 24, bottom=False)[0])
    assert set(re.findall(r"\d+", text)) <= {"3", "5", "6", "36", "63"}
    without, told = (figures._chart(chart, US, (4.4, 4.4), bottom=bottom).axes[0] for bottom in (False, True))
    depths = {f"{line.depth_m * 3.280839895:.0f}" for line in chart.bed.contours}
    assert {one.get_text() for one in without.texts} == {"3", "5", "6", "N"}
    assert depths < {one.get_text() for one in told.texts}
