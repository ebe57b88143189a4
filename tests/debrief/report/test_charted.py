"""The debrief's chart: to scale, with the bottom from the soundings under the track, and no place in it."""

from __future__ import annotations

import re

import pytest

from console import made_chart
from sternwatch.debrief.report import figures
from sternwatch.debrief.report.charted import charted
from sternwatch.debrief.report.plots import chart_lines
from sternwatch.debrief.trip.digest import Digest
from sternwatch.gear.values.units import SYSTEMS

US = SYSTEMS["us"]


def digest():
    picture = made_chart.picture()
    return Digest(tuple(picture.fishing.since()), picture.hit_rows, (), (), None, picture.t_s, None)


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
