"""What is uncertain of a spread on the water: every such quantity by name, with its range and the range's source.

One name covers all that shares the physics: all rods with the same wire hum alike, all discs of one kind have one
trim. A value that the file gives is used as given and is certain, except a line's diameter (labels are rounded).
``[prior."NAME"]`` in the file sets any range, even of a given value.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

from sternwatch.gear.spread_file.lines import LineSpec, resolve_line, strumming_of
from sternwatch.gear.spread_file.models import LineItem, Rod, Spread, TackleItem
from sternwatch.gear.spread_file.tackle import Attractor, Ball, Board, Diver, Lure, Snubber, Tackle, Weight
from sternwatch.gear.values import defaults
from sternwatch.gear.values.defaults import Default
from sternwatch.gear.values.materials import find_material
from sternwatch.quickly import quickly_made

# Factors on the value in use, and shifts from it, where gear.values.defaults has no range.
SPEED = Default(1.0, 0.95, 1.05, "1", "calibration of a paddle wheel, or what is left of a current in SOG: memory")
SOG_NOISE_M_S = Default(
    0.0, -0.03, 0.03, "m/s", "mean of 10 s by Doppler within 5 cm/s in 999 of 1000 (Chalko 2009, abstract read)"
)
# Measurements are within 4 % of the correlation. Laws in use differ more: the short fit gives 9 to 17 % more above
# Re 700; a constant 1.2 gives 12 % less at Re 150, 17 % at 100 and 24 % at 60: a line nearly along the stream.
CYLINDER_DRAG = Default(
    1.0, 0.80, 1.17, "1",
    "the correlation (White 1991; within 4 % of Wieselsberger 1921, Re 196 to 2270) against other laws in use",
)  # fmt: skip
BRAID_DRAG = Default(
    1.0, 0.85, 1.2, "1", "Cn 1.5 of armoured cable whatever the Reynolds number (abstract read), for a rough line"
)
WIRE_DIAMETER = Default(
    1.0, 0.97, 1.03, "1", "drawn wire of 0.28 to 0.5 mm within 0.008 mm (table of EN 10270-1, read); rounded labels"
)
LABEL_DIAMETER = Default(1.0, 0.92, 1.10, "1", "labels of monofilament and braid, mostly thicker than said: memory")
GRADE_DIAMETER = Default(1.0, 0.88, 1.12, "1", "outside diameter of a grade, from maker to maker: memory")
GRADE_WEIGHT = Default(1.0, 0.93, 1.07, "1", "mass per length of a grade: memory")
LEADCORE_WEIGHT = Default(
    1.0, 0.93, 1.07, "1", "one maker's grades of 18 to 36 lb: 2.34 to 2.51 g/m (read); another's may differ"
)
TANGENTIAL = Default(1.0, 0.3, 2.0, "1", defaults.TANGENTIAL_DRAG.source)
# A counter counts turns. 60 m of 0.38 mm wire is 2 mm of a spool of 60 mm by 30 mm: 7 % less line a turn by the end.
# A spool filled otherwise than the counter assumes adds as much error again. Six counters of one boat showed 60 to
# 78 ft where a tape said 50 (a guide's page, read): an error of 10 % is not rare.
COUNTER = Default(
    1.0, 0.88, 1.12, "1",
    "counters turn with the spool: size by arithmetic; six of one boat 20 to 56 % off by tape (a trade page, read)",
)  # fmt: skip
TAPED = Default(1.0, 0.985, 1.015, "1", "what was found with a tape, read to a foot or two in a hundred: memory")
SETTING_ROLL_RAD = Default(0.0, -0.087, 0.087, "rad", "5 degrees either way of what a setting's label says: memory")
GIVEN_ROLL_RAD = Default(0.0, -0.035, 0.035, "rad", "2 degrees: how one disc of a kind differs from the next: memory")
BALL_DRAG = Default(1.0, 0.85, 1.4, "1", "a sphere's drag on a ball with a fin, an eye and a release: memory")
LURE_WET_WEIGHT = Default(1.0, 0.4, 2.5, "1", "lures of one form: memory")
LIP_LIFT = Default(1.0, 0.6, 1.6, "1", "downward lift of a lipped plug: memory")
WATER_TEMPERATURE_K = Default(0.0, -6.0, 2.0, "K", "colder where the lines are than where it is measured: memory")
# Lake Superior: above 50 m mostly 10 to 20 cm/s one way or the other along a shore, at most 37 (Viekman & Wimbush
# 1993). In open water the current above the thermocline runs opposite to that below it (Austin 2013). Abstracts read.
WATER_SHEAR_M_S = Default(
    0.0,
    -0.2,
    0.2,
    "m/s",
    "each component below against the surface: Lake Superior, Austin 2013, Viekman & Wimbush 1993",
)
# Its coastal jet runs at 40 to 90 cm/s in summer (report ADA073267, abstract read), over 50 (OS31B-0420, AGU autumn
# meeting of 2001, abstract read). The range must hold what a crew meets before the first turn.
SURFACE_CURRENT_M_S = Default(
    0.0, -0.35, 0.35, "m/s",
    "each component: Lake Superior 10-20, up to 37 cm/s (Viekman & Wimbush 1993), its jet 40-90 (ADA073267)",
)  # fmt: skip

# Ranges that only a fit uses, because it would be falsely sure without them: more room for the water below, which is
# most of what a day may still hide once the gear is known. At 0.2 m/s, six seasons with that much below on every day
# held .82 to .87 of the depths, at 0.3 .87 to .91; at 0.3 a fit of one day leaves too much to the water: of a counter
# 10 % short it missed 1.9 m on another day, at 0.25 1.4 m (tests/answers/season and belief, campaigns) ...
FITTED_SHEAR_M_S = Default(
    0.0, -0.25, 0.25, "m/s",
    "up to 37 cm/s (Viekman & Wimbush 1993), above and below opposite ways (Austin 2013): abstracts read",
)  # fmt: skip
# ... what a day does to a piece of gear ...
COUNTER_ZERO_M = Default(0.0, -0.5, 0.5, "m", "where a counter was zeroed, from trip to trip: memory")
KNOCKED_TRIM = Default(1.0, 0.97, 1.03, "1", "a disc's trim after a day's knocks: memory")
# ... and what the model misses: how one whole rig's drag differs from the law, smooth in log speed and log length
# [Kennedy & O'Hagan 2001; Brynjarsdottir & O'Hagan 2014: both from memory]. Slopes are per e-fold. Between Re 100 and
# 1000 the exponents that laws of a cylinder's drag give to speed lie some 0.2 apart (tests/answers/belief, campaign).
MISFIT_LEVEL = Default(1.0, 0.93, 1.07, "1", "one rig's drag beside that of all with its parts: memory")
MISFIT_SPEED = Default(0.0, -0.25, 0.25, "per log speed", "laws of a cylinder's drag against one another; memory")
MISFIT_LENGTH = Default(0.0, -0.15, 0.15, "per log length", "tackle's part in drag against the line's: memory")

AXES = ("north", "east")
BOAT, DAY = "boat", "day"
Law = Literal["factor", "shift"]


@quickly_made
@dataclass(frozen=True, slots=True)
class Uncertain:
    """One quantity. Nine times in ten its factor (or shift) is between ``low`` and ``high``; 1 (or 0) is in use."""

    name: str
    law: Law
    low: float
    high: float
    unit: str  # unit of the shift; "1" for a factor
    source: str
    subject: str  # its owner: "line wire", "tackle disc", "rod 5", "reel 5", "boat", "day"
    heavy: bool = False  # heavy tails: beyond its bounds it may be far off
    fitted: bool = False  # counts only together with what a fit has learned
    daily: bool = False  # differs from day to day

    @property
    def sourced(self) -> bool:
        """Whether its range comes from a publication, not from memory or common practice."""
        return not any(word in self.source for word in ("memory", "practice"))

    @property
    def certain(self) -> bool:
        """Whether its range is a single value."""
        return self.low == self.high


def _of(name: str, prior: Default, subject: str, law: Law = "factor") -> Uncertain:
    if law == "factor":
        return Uncertain(name, law, prior.low / prior.value, prior.high / prior.value, "1", prior.source, subject)
    return Uncertain(name, law, prior.low - prior.value, prior.high - prior.value, prior.unit, prior.source, subject)


def uncertain(spread: Spread, *, fitted: bool = False) -> Mapping[str, Uncertain]:
    """Every uncertain quantity of a spread by name, in a fixed order, with the user's own ranges.

    ``fitted``: include those that count only together with what a fit has learned.
    """
    return _uncertain(_Same(spread), fitted)


def prior_names(spread: Spread) -> Mapping[str, Law]:
    """Every name that ``[prior]`` takes, and whether its bounds are factors or shifts."""
    return _laws(_Same(spread))


class _Same:
    """A spread as a key of what is kept of it. It equals itself alone: to compare models takes as long as to ask."""

    __slots__ = ("spread",)

    def __init__(self, spread: Spread) -> None:
        self.spread = spread

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and self.spread is other.spread

    def __hash__(self) -> int:
        return id(self.spread)


@lru_cache(maxsize=8)  # asked several times for every rod that goes out, and half a millisecond each
def _uncertain(of: _Same, fitted: bool) -> Mapping[str, Uncertain]:
    spread = of.spread
    found = {one.name: one for one in _all(spread, FITTED_SHEAR_M_S if fitted else WATER_SHEAR_M_S)
             if fitted or not one.fitted}  # fmt: skip
    for name, own in spread.prior.items():
        if name in found:
            found[name] = replace(found[name], low=own.low, high=own.high, source=own.source, heavy=False)
    return {name: one for name, one in found.items() if not one.certain}


@lru_cache(maxsize=8)
def _laws(of: _Same) -> Mapping[str, Law]:
    return {one.name: one.law for one in _all(of.spread)}


def _all(spread: Spread, shear: Default = WATER_SHEAR_M_S) -> Iterator[Uncertain]:
    """All in order. Those whose value the file gives have both bounds at that value."""
    for one in _day(spread, shear):
        yield replace(one, daily=True)
    for name, line in spread.line.items():
        yield from _line(name, line)
    for name, tackle in spread.tackle.items():
        yield from _tackle(name, tackle)
    for rod in spread.rods:
        yield from _rod(spread, rod)
    yield from _beside_a_fit(spread)


def _day(spread: Spread, shear: Default) -> Iterator[Uncertain]:
    yield _of("speed", SPEED, BOAT)
    yield _of("speed over ground noise", SOG_NOISE_M_S, DAY, "shift")
    yield _of("water temperature", WATER_TEMPERATURE_K, DAY, "shift")
    for axis in AXES:
        yield _of(f"current {axis}", SURFACE_CURRENT_M_S, DAY, "shift")
    if spread.water.current:  # the file gives the current: half the range that holds without it
        shear = replace(shear, low=0.5 * shear.low, high=0.5 * shear.high)
    for axis in AXES:
        yield _of(f"shear {axis}", shear, DAY, "shift")


def _beside_a_fit(spread: Spread) -> Iterator[Uncertain]:
    for name, tackle in spread.tackle.items():
        if isinstance(tackle, Diver) and tackle.lift_area_m2 is None:
            knock = _of(f"tackle {name} knock", KNOCKED_TRIM, f"tackle {name}")
            yield replace(knock, heavy=True, fitted=True, daily=True)
    for rod in spread.rods:
        subject = f"rod {rod.key}"
        if rod.line_out_m is not None:
            zero = _of(f"{subject} zero", COUNTER_ZERO_M, f"reel {rod.key}", "shift")
            yield replace(zero, heavy=True, fitted=True, daily=True)
        yield replace(_of(f"{subject} discrepancy", MISFIT_LEVEL, subject), fitted=True)
        yield replace(_of(f"{subject} discrepancy speed", MISFIT_SPEED, subject, "shift"), fitted=True)
        yield replace(_of(f"{subject} discrepancy length", MISFIT_LENGTH, subject, "shift"), fitted=True)


def _given(one: Uncertain, given: bool) -> Uncertain:
    """The quantity, made certain where the file gives its value."""
    at = 1.0 if one.law == "factor" else 0.0
    return replace(one, low=at, high=at, source="given") if given else one


def _line(name: str, spec: LineSpec) -> Iterator[Uncertain]:
    subject = f"line {name}"
    given = spec.normal_drag is not None
    smooth = resolve_line(spec).normal_drag is None
    yield _given(_of(f"{subject} drag", CYLINDER_DRAG if smooth or given else BRAID_DRAG, subject), given)
    if smooth or given:
        # A given drag was measured, so it includes the hum; so does a braid's.
        yield _given(_of(f"{subject} strumming", strumming_of(spec), subject), given or spec.drag_factor is not None)
    material = find_material(spec.material) if spec.material else None
    drawn = material is not None and material.metal and material.fill == 1.0
    labelled = WIRE_DIAMETER if drawn else LABEL_DIAMETER
    yield _of(f"{subject} diameter", GRADE_DIAMETER if spec.diameter_m is None else labelled, subject)
    graded = material is not None and material.mass_kg_m is not None
    weighed = spec.mass_kg_m is not None or spec.density_kg_m3 is not None
    if graded or weighed:
        cored = material is not None and material.composite
        yield _given(_of(f"{subject} weight", LEADCORE_WEIGHT if cored else GRADE_WEIGHT, subject), weighed)
    yield _given(_of(f"{subject} tangential", TANGENTIAL, subject), spec.tangential_drag is not None)


def _tackle(name: str, tackle: Tackle) -> Iterator[Uncertain]:
    subject = f"tackle {name}"

    def of(what: str, prior: Default, given: bool) -> Uncertain:
        return _given(_of(f"{subject} {what}", prior, subject), given)

    heavy = tackle.wet_weight_N is not None or tackle.mass_kg is not None
    dragged = tackle.drag_area_m2 is not None
    match tackle:
        case Diver():
            lifted = tackle.lift_area_m2 is not None
            yield of("trim", defaults.DIVER_TRIM, tackle.trim_rad is not None or lifted)
            yield of("plate", defaults.DIVER_PLATE, lifted or dragged)
            if tackle.ring:
                yield of("ring", defaults.DIVER_RING_AREA, False)
            yield of("weight", defaults.DIVER_WET_WEIGHT, heavy)
            yield of("tripped", defaults.DIVER_TRIPPED_DRAG_AREA, False)
            for label, roll in tackle.settings.items():
                if roll != 0.0:
                    yield _of(f"{subject} roll {label}", SETTING_ROLL_RAD, subject, "shift")
        case Ball() | Weight():
            yield of("drag", BALL_DRAG, dragged)
        case Board():
            yield of("drag", defaults.BOARD_DRAG, dragged)
            yield of("lift", defaults.BOARD_LIFT, tackle.lift_area_m2 is not None)
            yield of("buoyancy", defaults.BOARD_BUOYANCY, tackle.buoyancy_N is not None)
        case Attractor():
            yield of("drag", defaults.ATTRACTOR_DRAG_AREA, dragged)
            yield of("weight", defaults.ATTRACTOR_WET_WEIGHT, heavy)
        case Lure():
            form = defaults.LURES[tackle.form or defaults.DEFAULT_LURE_FORM]
            yield of("drag", form.drag_area, dragged)
            yield of("weight", LURE_WET_WEIGHT, heavy)
            if form.lift_area_m2 or tackle.lift_area_m2:
                yield of("lift", LIP_LIFT, tackle.lift_area_m2 is not None)
        case Snubber():
            yield of("drag", defaults.SNUBBER_DRAG_AREA, dragged)


def _rod(spread: Spread, rod: Rod) -> Iterator[Uncertain]:
    subject = f"rod {rod.key}"
    if rod.line_out_m is not None:
        counter = _of(f"{subject} counter", TAPED if rod.counter.checked else COUNTER, f"reel {rod.key}")
        yield replace(counter, heavy=not rod.counter.checked)
    if rod.rod_line is not None:
        pull = _of(f"{subject} pull", defaults.ROD_LINE_PULL, subject)
        yield _given(pull, rod.rod_line.pull_N is not None)
    if spread.setting_item(rod) is not None:
        yield _of(f"{subject} roll", GIVEN_ROLL_RAD, subject, "shift")


def prints(spread: Spread) -> dict[str, str]:
    """A fingerprint of each subject's definition. A calibration holds only for the definition it was made with.

    A rod's covers its rig; a reel's covers the counter and the line on it, so that another lure does not change it.
    """
    made = {BOAT: BOAT, DAY: DAY}
    for kind, table in (("line", spread.line), ("tackle", spread.tackle)):
        for name, spec in table.items():
            made[f"{kind} {name}"] = _print(json.loads(spec.model_dump_json(by_alias=True, exclude_unset=True)))
    for rod in spread.rods:
        parts = [item.line if isinstance(item, LineItem) else item.tackle for item in rod.chain]
        disc = [item.side for item in rod.chain if isinstance(item, TackleItem) and item.side is not None]
        made[f"rod {rod.key}"] = _print(
            [rod.name, rod.side, parts, disc, rod.counter.scale, rod.counter.zero, rod.counter.checked]
        )
        counter = [rod.counter.scale, rod.counter.zero, rod.counter.checked]
        made[f"reel {rod.key}"] = _print([rod.name, parts[0], *counter])
    return made


def _print(value: object) -> str:
    text = json.dumps(value, sort_keys=True, separators=(",", ":"))
    return hashlib.blake2s(text.encode(), digest_size=6).hexdigest()
