"""Invented days on the water, as rows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from sternwatch.logbook.store.samples import BoatRow, HitRow, Rig, RodRow, Sample

BEGIN_MS = 1_784_415_720_000  # 2026-07-18 23:02 UTC
TURNS = ("straight", "straight", "straight", "inside", "outside")
CURRENTS = ("with", "against", "little")


def rig(key: str, name: str, level: str = "", lure: str = "spoon", setting: str = "") -> Rig:
    side = "port" if name.startswith("P") else "starboard"
    device = "diver" if level else "downrigger"
    return Rig(key, name, side, level, f"{device}: {lure}", lure, "", setting)


EIGHT = (
    rig("1", "P BOARD"), rig("2", "P HIGH", "high diver", "fly", "high"),
    rig("3", "P LOW", "low diver", "fly", "low"),
    rig("4", "P DOWN"), rig("5", "S DOWN"), rig("6", "S LOW", "low diver", "fly", "low"),
    rig("7", "S HIGH", "high diver", "fly", "high"), rig("8", "S BOARD"),
)  # fmt: skip


def invented_day(rigs: Sequence[Rig], samples: int, seed: int = 1) -> list[Sample]:
    """A day on which conditions drift about; every rig fishes all of it."""
    random = np.random.default_rng(seed)
    speed = 1.1 + 0.25 * np.sin(np.arange(samples) / 40.0) + random.normal(0.0, 0.05, samples)
    made = []
    for i in range(samples):
        at_s = 10.0 * i
        boat = BoatRow(
            at_s, BEGIN_MS + 10_000 * i, speed_m_s=round(float(speed[i]), 3), sog_m_s=round(float(speed[i]), 3),
            latitude_deg=47.0 + i * 1e-5, longitude_deg=-89.5, water_temperature_c=12.0,
            current=CURRENTS[(i // 120) % 3],
        )  # fmt: skip
        rods = tuple(
            RodRow(
                one, 50.0, depth_m=round(8.0 + 3.0 * k + float(random.normal(0, 1.0)), 3),
                lure_speed_m_s=boat.speed_m_s, temperature_c=round(12.0 - 0.8 * k, 3),
                trend=("rising", "steady", "steady", "sinking")[int(random.integers(4))],
                turn=TURNS[(i // 30 + k) % 5],
            )
            for k, one in enumerate(rigs)
        )  # fmt: skip
        made.append(Sample(boat, rods))
    return made


def hit_at(samples: Sequence[Sample], index: int, rod: int, number: int = 0) -> HitRow:
    """A hit at a sample on the rod that is the ``rod``th there."""
    sample = samples[index]
    row = sample.rods[rod]
    return HitRow(
        f"h{number}", row.rig.rod, sample.boat.at_s, sample.boat.time_ms or 0, counts=True, in_hours=True,
        outcome="boxed", species="coho", boat=sample.boat, rod_row=row, state="fishing",
    )  # fmt: skip


@pytest.fixture(scope="session")
def day() -> list[Sample]:
    """Five hours of eight equal rods."""
    return invented_day(EIGHT, 1800)


@pytest.fixture(scope="session")
def make_hits(day: list[Sample]) -> Callable[..., list[HitRow]]:
    """``make_hits(random, {rod index: hits})``: hits on these rods at random moments of the day."""

    def make(random: np.random.Generator, by_rod: dict[int, int]) -> list[HitRow]:
        rods = [rod for rod, n in by_rod.items() for _ in range(n)]
        return [hit_at(day, int(random.integers(len(day))), rod, n) for n, rod in enumerate(rods)]

    return make


def not_counted(hit: HitRow) -> HitRow:
    return replace(hit, counts=False, outcome="no fish")
