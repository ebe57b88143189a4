"""An invented evening over an invented hump, as pictures that the chart draws; the watch computed none of it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from console import fake_picture
from sternwatch.logbook.store.samples import BoatRow, HitRow, Rig, RodRow, Sample
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


BEGAN_MS = 1_784_415_720_000
RIGS = {  # name, side, level, rig, line out [m], depth at 1.1 m/s and its share either side, setting
    "2": ("P HIGH", "port", "high diver", "diver: spoon", 50.0, 18.0, 0.2, "high"),
    "3": ("P LOW", "port", "low diver", "diver: fly", 56.0, 25.0, 0.18, "low"),
    "4": ("P DOWN", "port", "", "ball: spoon", 23.0, 22.0, 0.1, ""),
    "6": ("S LOW", "starboard", "low diver", "diver: fly", 50.0, 22.5, 0.18, "low"),
}
CAUGHT = (("3", 500.0), ("6", 1100.0), ("3", 1130.0), ("2", 1700.0), ("3", 2000.0), ("6", 2840.0), ("3", 3310.0))


def evening(seconds=3600):
    """The same evening as a debrief reads it: a boat that winds, four rods, and hits."""
    samples = []
    for t in range(0, seconds, 10):
        north, east, heading = way(float(t))
        lat, lon = local_degrees(ORIGIN, (north, east))
        speed = SPEED_M_S + 0.15 * math.sin(t / 170.0) - (0.3 if 1500 <= t < 1560 else 0.0)
        turn = math.sin(t / 420.0) ** 3
        boat = BoatRow(
            float(t), BEGAN_MS + 1000 * t, speed_m_s=speed, heading_deg=heading, latitude_deg=lat, longitude_deg=lon,
            bottom_m=float(hump_m(north, east)), water_temperature_c=14.0 + 0.002 * east,
        )  # fmt: skip
        rods = []
        for key, (name, side, level, rig, out, depth, share, setting) in RIGS.items():
            outward = -turn if side == "port" else turn
            pulled = depth * (1.0 + 0.08 * outward) * (1.0 if level else (SPEED_M_S / speed) ** 0.5)
            lure = rig.split(": ")[1]
            rods.append(RodRow(
                Rig(key, name, side, level, rig, lure, "green", setting), out, depth_m=pulled,
                depth_low_m=pulled * (1.0 - share), depth_high_m=pulled * (1.0 + share),
            ))  # fmt: skip
        samples.append(Sample(boat, tuple(rods)))
    hits = []
    for n, (rod, t) in enumerate(CAUGHT):
        at = samples[int(t / 10.0)]
        row = next(row for row in at.rods if row.rig.rod == rod)
        where = local_degrees(ORIGIN, way(t - 45.0)[:2])
        hits.append(HitRow(
            f"h{n}", rod, at.boat.at_s, at.boat.time_ms, True, True, lure_deg=where, boat=at.boat, rod_row=row,
            state="fishing",
        ))  # fmt: skip
    return replace(
        fake_picture.CASES["straight"](), t_s=float(seconds), fishing=Fishing.of(samples), hit_rows=tuple(hits),
        alerts=(),
    )  # fmt: skip
