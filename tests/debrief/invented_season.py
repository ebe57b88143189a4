"""A season of invented trips in a logbook: rows as a watch would have kept them, without the watch."""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime, timedelta

import numpy as np

from sternwatch.debrief.trip import sources as tripdata
from sternwatch.debrief.trip.digest import Digest
from sternwatch.debrief.trip.sources import TripData
from sternwatch.logbook.crew.fold import fold
from sternwatch.logbook.store import writing
from sternwatch.logbook.store.samples import CURRENTS, PACES, TRENDS, TURNS, BoatRow, HitRow, Rig, RodRow, Sample
from sternwatch.logbook.store.trips import Trip

BEGIN = datetime(2025, 5, 1, 14, 0, tzinfo=UTC)
LURES = ("spoon", "fly", "plug")
COLOURS = ("green", "silver", "black", "orange", "blue")
NAMES = ("P BOARD", "P HIGH", "P LOW", "P DOWN", "S DOWN", "S LOW", "S HIGH", "S BOARD")
SPECIES = ("coho", "lake trout", "chinook", "steelhead")


def rigs_of_day(random: np.random.Generator) -> list[Rig]:
    """Eight rods with what they were given that day."""
    found = []
    for k, name in enumerate(NAMES):
        lure, colour = LURES[int(random.integers(3))], COLOURS[int(random.integers(5))]
        level = "high diver" if "HIGH" in name else "low diver" if "LOW" in name else ""
        setting = "high" if "HIGH" in name else "low" if "LOW" in name else ""
        device = "diver" if level else "downrigger" if "DOWN" in name else "lead-core on a board"
        side = "port" if name.startswith("P") else "starboard"
        found.append(Rig(str(k + 1), name, side, level, f"{device}: {lure}", lure, colour, setting))
    return found


def invented_trip(random: np.random.Generator, day: int, instants: int) -> tuple[list[Sample], list[Rig]]:
    """One trip's samples: a boat that wanders, conditions that drift."""
    begin = BEGIN + timedelta(days=day, minutes=int(random.integers(-120, 240)))
    begin_ms = round(begin.timestamp()) // 10 * 10_000
    rigs = rigs_of_day(random)
    speed = np.round(1.05 + 0.2 * np.sin(np.arange(instants) / 37.0) + random.normal(0, 0.05, instants), 3)
    course = np.cumsum(random.normal(0, 0.08, instants))
    north = np.round(47.0 + random.normal(0, 0.05) + np.cumsum(10 * speed * np.cos(course)) / 111_000.0, 7)
    east = np.round(-89.5 + random.normal(0, 0.05) + np.cumsum(10 * speed * np.sin(course)) / 76_000.0, 7)
    depth = np.round(8.0 + 3.0 * np.arange(8)[:, None] + np.cumsum(random.normal(0, 0.05, (8, instants)), axis=1), 3)
    lure = np.round(speed + random.normal(0, 0.06, (8, instants)), 3)
    words = random.integers(0, 12, (10, instants))
    samples = []
    for i in range(instants):
        boat = BoatRow(
            10.0 * i, begin_ms + 10_000 * i, float(speed[i]), float(speed[i]), float(speed[i]), 90.0, 91.0, 0.1,
            float(north[i]), float(east[i]), 11.5, 48.2, PACES[1], CURRENTS[(i // 90) % 3],
        )  # fmt: skip
        samples.append(Sample(boat, tuple(
            RodRow(
                rigs[k], 50.3, None, float(depth[k, i]), float(depth[k, i]) - 2.1, float(depth[k, i]) + 2.4,
                float(lure[k, i]), 0.01, round(13.0 - 0.18 * float(depth[k, i]), 3), 22.0,
                TRENDS[1 if words[k, i] > 1 else 2 * int(words[k, i])],
                TURNS[0 if words[k, i] > 2 else int(words[k, i])],
            )
            for k in range(8)
        )))  # fmt: skip
    return samples, rigs


def invent(connection: sqlite3.Connection, trips: int, hits: int, samples: int, seed: int = 1) -> tuple[int, int]:
    """Put a season into an open logbook; returns how many rod samples and hits it holds."""
    random = np.random.default_rng(seed)
    instants = round(samples / trips / 8)
    put = hit_count = 0
    for day in range(trips):
        made, _ = invented_trip(random, day, instants)
        struck = []
        for n in range(hits // trips):
            sample = made[int(random.integers(instants))]
            rod = sample.rods[int(random.integers(8))]
            struck.append(
                HitRow(
                    f"{day}-{n}",
                    rod.rig.rod,
                    sample.boat.at_s,
                    sample.boat.time_ms or 0,
                    counts=True,
                    in_hours=True,
                    outcome="boxed",
                    species=SPECIES[int(random.integers(4))],
                    boat=sample.boat,
                    rod_row=rod,
                )
            )
        begun = datetime.fromtimestamp((made[0].boat.time_ms or 0) / 1000, UTC)
        data = TripData(f"trip{day}", begun, "", (), None, "fishing", about={"utc_offset_min": -240})
        connection.execute("BEGIN")
        writing.write(connection, writing.begin(Trip(data.id, begun, about=data.about)))
        crew = fold((), (), "fishing")
        tripdata.keep(connection, data, Digest(tuple(made), tuple(struck), (), (), crew, 0.0, None), 0)
        connection.execute("COMMIT")
        put += 8 * len(made)
        hit_count += len(struck)
    return put, hit_count
