"""Soundings of invented earlier trips on a drill's lake, so that its bottom is known before fishing."""

from __future__ import annotations

import math
import random

from sternwatch.logbook.store.soundings import Charted
from sternwatch.practice.drills.model import Drill
from sternwatch.practice.world.instruments import ORIGIN_DEG
from sternwatch.practice.world.scene import lake_of
from sternwatch.watch.bottom.soundings import local_degrees

# A boat went to and fro over it (memory): the spacing of her lines, of her soundings, and the sounder's error.
LINES_M, ALONG_M = 45.0, 20.0
ERROR_M = 0.2
DAYS_BEFORE = 10


def sounded(drill: Drill, seed: int, begin_unix_s: float) -> tuple[Charted, ...]:
    """Soundings on lines to and fro around the start, as far as the drill says; none where it does not say."""
    reach = drill.lake.sounded_m
    if reach <= 0.0:
        return ()
    lake, rng, out = lake_of(drill, seed), random.Random(f"{seed} sounded"), []
    time_s = begin_unix_s - DAYS_BEFORE * 86_400.0
    for line in range(-math.floor(reach / LINES_M), math.floor(reach / LINES_M) + 1):
        for step in range(-math.floor(reach / ALONG_M), math.floor(reach / ALONG_M) + 1):
            place = (line * LINES_M, step * ALONG_M)
            latitude, longitude = local_degrees(ORIGIN_DEG, place)
            depth = lake.bottom_m(*place) + rng.gauss(0.0, ERROR_M)
            out.append(Charted(latitude, longitude, depth, time_s))
    return tuple(out)
