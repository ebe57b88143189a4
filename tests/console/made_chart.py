"""An invented evening over an invented hump, as pictures that the chart draws; the watch computed none of it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from console import fake_picture
from sternwatch.logbook.store.samples import BoatRow, HitRow, Sample
from sternwatch.watch.bottom.soundings import Sounding, Soundings, local_degrees
from sternwatch.watch.picture.fishing import Fishing
from sternwatch.watch.picture.ground import GroundPicture, PlacePicture

ORIGIN = (47.2, -90.4)  # invented: open water of Lake Superior
SPEED_M_S = 1.1


def hump_m(north, east):
    return 32.0 - 14.0 * np.exp(-((north - 120.0) ** 2 + (east - 90.0) ** 2) / 160.0**2) + 0.012 * east


def way(t_s):
    """(north, east, heading) on a winding way."""
    north = 260.0 * math.sin(t_s / 420.0)
    east = 0.18 * t_s - 260.0
    d_north, d_east = 260.0 / 420.0 * math.cos(t_s / 420.0), 0.18
    return north, east, math.degrees(math.atan2(d_east, d_north))


def picture(case="straight", now_s=2400.0, **fields):
    made = fake_picture.CASES[case]()
    soundings, samples = Soundings(), []
    for t in range(0, int(now_s), 10):
        north, east, heading = way(float(t))
        depth = float(hump_m(north, east))
        soundings.add(Sounding(float(t), north, east, depth))
        if now_s - t > 20:
            lat, lon = local_degrees(ORIGIN, (north, east))
            boat = BoatRow(
                float(t), speed_m_s=SPEED_M_S + 0.2 * math.sin(t / 90.0), heading_deg=heading, latitude_deg=lat,
                longitude_deg=lon, bottom_m=depth, water_temperature_c=14.0 + 0.002 * east,
            )  # fmt: skip
            samples.append(Sample(boat, ()))
    north, east, heading = way(now_s)
    hits = tuple(
        HitRow(f"h{n}", rod, t, 0, True, True, lure_deg=local_degrees(ORIGIN, way(t - 45.0)[:2]))
        for n, (rod, t) in enumerate((("3", 500.0), ("6", 1100.0), ("3", 1130.0), ("5", 2000.0)))
    )
    ground = GroundPicture(
        ORIGIN, (north, east), heading, tuple(way(t)[:2] for t in (now_s - 20.0, now_s - 10.0)),
        (
            PlacePicture("m1", "net", 240.0, 40.0, None, 600.0, earlier=True),
            PlacePicture("m2", "bait", -60.0, 60.0, None, 300.0, earlier=False),
            PlacePicture("f1", "fish", 60.0, 120.0, 18.0, 120.0, earlier=False),
        ),
        soundings,
    )  # fmt: skip
    return replace(made, t_s=now_s, ground=ground, fishing=Fishing.of(samples), hit_rows=hits, **fields)
