"""The factors by which hits and hours are counted, with their values and words.

Ranges have the trade's usual width (20 ft, 4 °F, 0.4 mph), because few hits must not be spread over many ranges.
Metric readers get the same ranges in metres. An unknown value is in no range.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import IntEnum

from sternwatch.gear.values.units import FOOT_M, Dimension, DisplaySystem
from sternwatch.logbook.store.samples import CURRENTS, TRENDS, TURNS, BoatRow, Rig, RodRow

SAMPLE_S = 10
DEPTH_M = 20 * FOOT_M
SPEED_M_S = 0.4 * 0.44704
TEMPERATURE_C = 4 * 5.0 / 9.0
TEMPERATURE_FROM_C = (38.0 - 32.0) * 5.0 / 9.0  # makes ranges begin at 38, 42, 46 … °F


class Factor(IntEnum):
    """The stored numbers of factors. The rig's own factors follow from the rig and are never stored."""

    ALL = 0
    DEPTH = 1
    TEMPERATURE = 2
    LURE_SPEED = 3
    TREND = 4
    TURN = 5
    CURRENT = 6
    HOUR = 7
    ROD = 20
    RIG = 21
    LURE = 22
    COLOUR = 23
    SETTING = 24
    SIDE = 25
    LEVEL = 26
    PAIR = 27  # two rods together; made from the rods, not from a rig


KEPT = (Factor.ALL, *(f for f in Factor if 0 < f < Factor.ROD))
OF_RIG = tuple(f for f in Factor if f >= Factor.ROD)

TITLES = {
    Factor.ALL: "all",
    Factor.DEPTH: "depth",
    Factor.TEMPERATURE: "temperature at the lure",
    Factor.LURE_SPEED: "lure speed",
    Factor.TREND: "rising or sinking",
    Factor.TURN: "in turns",
    Factor.CURRENT: "current",
    Factor.HOUR: "hour",
    Factor.ROD: "rod",
    Factor.RIG: "rig",
    Factor.LURE: "lure",
    Factor.COLOUR: "colour",
    Factor.SETTING: "setting",
    Factor.SIDE: "side",
    Factor.LEVEL: "low or high",
    Factor.PAIR: "two rods",
}

_CURRENT_WORDS = ("with the current", "against the current", "little current along the course")
_TURN_WORDS = ("on straight courses", "inside of turns", "outside of turns", "in turns, in the middle")
_TREND_WORDS = ("rising", "holding depth", "sinking")


@dataclass(frozen=True, slots=True)
class Value:
    """A value of a factor. ``at`` sorts ranges; words sort the others."""

    factor: Factor
    at: int = 0
    word: str = ""

    @property
    def key(self) -> tuple[int, int, str]:
        return int(self.factor), self.at, self.word


def kept_values(boat: BoatRow, rod: RodRow, utc_offset_min: int) -> Iterator[tuple[Factor, int]]:
    """The values of the stored factors at one sample, ``ALL`` first."""
    yield Factor.ALL, 0
    yield from _ranges(rod)
    for factor, words, word in (
        (Factor.TREND, TRENDS, rod.trend),
        (Factor.TURN, TURNS, rod.turn),
        (Factor.CURRENT, CURRENTS, boat.current),
    ):
        if word is not None:
            yield factor, words.index(word)
    if boat.time_ms is not None:
        yield Factor.HOUR, _hour(boat.time_ms, utc_offset_min)


def _ranges(rod: RodRow) -> Iterator[tuple[Factor, int]]:
    if rod.depth_m is not None:
        yield Factor.DEPTH, math.floor(max(rod.depth_m, 0.0) / DEPTH_M)
    if rod.temperature_c is not None:
        yield Factor.TEMPERATURE, math.floor((rod.temperature_c - TEMPERATURE_FROM_C) / TEMPERATURE_C)
    if rod.lure_speed_m_s is not None:
        yield Factor.LURE_SPEED, math.floor(rod.lure_speed_m_s / SPEED_M_S)


def _hour(time_ms: int, utc_offset_min: int) -> int:
    return (datetime.fromtimestamp(time_ms / 1000, UTC) + timedelta(minutes=utc_offset_min)).hour


def rig_values(rig: Rig) -> Iterator[Value]:
    """The values of the rig's own factors."""
    yield Value(Factor.ROD, word=f"{rig.rod} {rig.name}".strip())
    for factor, word in (
        (Factor.RIG, rig.words),
        (Factor.LURE, rig.lure),
        (Factor.COLOUR, rig.colour),
        (Factor.SETTING, rig.setting),
        (Factor.SIDE, rig.side),
        (Factor.LEVEL, rig.level),
    ):
        if word:
            yield Value(factor, word=word)


def words(value: Value, units: DisplaySystem) -> str:
    """A value in words: "40–60 ft down", "rod 2 P HIGH", "inside of turns"."""
    match value.factor:
        case Factor.DEPTH:
            low, high = value.at * DEPTH_M, (value.at + 1) * DEPTH_M
            return f"{_range(low, high, Dimension.LENGTH, units, 0)} down"
        case Factor.TEMPERATURE:
            low = TEMPERATURE_FROM_C + value.at * TEMPERATURE_C
            return _range(low, low + TEMPERATURE_C, Dimension.TEMPERATURE, units, 0 if units.name == "us" else 1)
        case Factor.LURE_SPEED:
            low = value.at * SPEED_M_S
            return f"lure at {_range(low, low + SPEED_M_S, Dimension.SPEED, units, 1)}"
        case Factor.TREND:
            return _TREND_WORDS[value.at]
        case Factor.TURN:
            return _TURN_WORDS[value.at]
        case Factor.CURRENT:
            return _CURRENT_WORDS[value.at]
        case Factor.HOUR:
            return f"{value.at:02d}–{(value.at + 1) % 24:02d} h"
        case Factor.SETTING:
            return f"set {value.word}"
        case Factor.ROD:
            return f"rod {value.word}"
        case Factor.LURE | Factor.COLOUR:
            return f"{TITLES[value.factor]} {value.word}"
        case Factor.LEVEL:
            return f"{value.word}s"
        case Factor.SIDE:
            return f"{value.word} side" if value.word != "centre" else "the middle"
    return value.word or "all"


def _range(low: float, high: float, dimension: Dimension, units: DisplaySystem, digits: int) -> str:
    return f"{units.show(low, dimension, digits, label=False)}–{units.show(high, dimension, digits)}"
