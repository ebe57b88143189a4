"""Touches of rods on the bottom on purpose: listed in the debrief, for no alert tells of them."""

from __future__ import annotations

import json
from dataclasses import replace

from console import made_chart
from sternwatch.debrief.report.asjson import as_json
from sternwatch.debrief.report.prepared import report
from sternwatch.debrief.report.so_far import Debriefs, _trip_of
from sternwatch.debrief.report.text import text_of
from sternwatch.debrief.trip.digest import Digest, from_body
from sternwatch.debrief.trip.touches import Touch, Touches
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.crew.fold import fold

FT = 0.3048


def test_touches_begin_last_and_are_told_apart() -> None:
    touches = Touches()
    rooms = {10: 2.0, 11: 0.3, 12: -0.4, 13: 1.0, 30: 0.1, 51: 0.2, 52: 5.0}
    for t_s, room_m in rooms.items():
        touches.take(float(t_s), [("5", room_m, 21.0), ("6", 0.31, 21.0)])
    assert touches.all == (Touch("5", 11.0, 30.0, 21.0, 0.4), Touch("5", 51.0, 51.0, 21.0, 0.0))


def test_a_digest_keeps_them_and_an_older_one_has_none() -> None:
    crew = fold((), ())
    made = Digest((), (), (), (), crew, 60.0, None, (Touch("5", 11.0, 30.0, 21.0, 0.4),))
    assert from_body(made.body(), (), (), crew) == made
    older = json.loads(made.body())
    del older["touches"]
    assert from_body(json.dumps(older), (), (), crew).touches == ()


def test_the_trip_so_far_lists_them_and_a_rod_that_is_not_meant_to_touch_is_not_listed() -> None:
    debriefs = Debriefs(SYSTEMS["us"])
    picture = made_chart.picture()
    deep, other = (replace(rod, depth_m=20.0, clearance_m=0.0) for rod in picture.rods[:2])
    for t_s in (100.0, 101.0, 102.0):
        rods = (replace(deep, on_bottom=True, clearance_m=0.5 - 0.5 * (t_s - 100.0)), other)
        debriefs.look(replace(picture, t_s=t_s, rods=rods))
    assert debriefs._touches.all == (Touch(deep.key, 101.0, 102.0, 20.0, 0.5),)


def test_the_report_says_when_for_how_long_and_how_deep() -> None:
    picture = made_chart.picture()
    digest = Digest((), (), (), (), fold((), ()), 60.0, None, (Touch("5", 71.0, 90.0, 70 * FT, 7 * FT),))
    made = report(_trip_of(picture), digest, SYSTEMS["us"])
    assert made.touches is not None
    assert made.touches.rows == (("1:11", "5", "19 s", "70", "7"),)
    assert "Touches of rods fished on the bottom" in text_of(made)
    assert json.loads(as_json(made))["touches_on_purpose"][0]["under_m"] == 7 * FT
    assert report(_trip_of(picture), replace(digest, touches=()), SYSTEMS["us"]).touches is None
