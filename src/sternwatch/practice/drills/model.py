"""Models of drill files (TOML): a briefing, a start, a lake, a goal, limits, a score and its par. All are checked.

A quantity with a dimension is text with its unit, as in the spread file. Places are metres north and east of the
start, over ground.
"""

from __future__ import annotations

import math
import re
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StrictBool, StrictInt, StringConstraints

from sternwatch.gear.values.quantities import (
    Bearing,
    Duration,
    Length,
    LengthAboveZero,
    Number,
    Speed,
    Temperature,
    refuse,
)
from sternwatch.logbook.actions.practice_acts import FaultKind, Sensor
from sternwatch.practice.drills.faults import FOREVER_S

Text = Annotated[str, StringConstraints(min_length=1, max_length=2000, strip_whitespace=True)]
Key = Annotated[str, StringConstraints(pattern=r"^[1234567890\-=]$")]
_FAR_M = 20_000.0
_TURN = re.compile(r"(port|starboard)\s+(\d+(?:\.\d+)?)\s*deg").fullmatch


def _offset(given: Any) -> float:
    """A signed length for places: north or east of the start."""
    from sternwatch.gear.values.units import Dimension, QuantityError, parse_quantity

    try:
        value = parse_quantity(given, Dimension.LENGTH)
    except QuantityError as error:
        raise refuse("quantity", str(error)) from error
    if abs(value) > _FAR_M:
        raise refuse("quantity_range", "out of range; accepted is -20000 m to 20000 m")
    return value


def _turn(given: Any) -> float:
    """``port 180 deg``: an angle, positive to starboard."""
    match = _TURN(given.strip()) if isinstance(given, str) else None
    if match is None or not 0.0 < float(match[2]) <= 720.0:
        raise refuse("turn", 'a turn is its side and angle, for example "port 180 deg" (0 to 720 deg)')
    return math.copysign(float(match[2]), 1.0 if match[1] == "starboard" else -1.0)


Offset = Annotated[float, BeforeValidator(_offset)]
Turn = Annotated[float, BeforeValidator(_turn)]

Measure = Literal[
    "crossings", "least separation", "touches", "least clearance", "zone", "time", "hits kept", "false hits",
    "fish lost", "vessel distance", "boxed", "touches noted", "place off", "depth off", "wanted",
]  # fmt: skip
"""What a score may be made of; ``practice.world.measures`` says how each is computed."""


class _Model(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Start(_Model):
    """The boat's course and the rods' state at the drill's beginning, after a straight course of ``lead_in``."""

    heading_rad: Bearing = Field(default=0.0, alias="heading")
    speed_m_s: Speed = Field(default=1.05, alias="speed")
    engine: Literal["kicker", "main"] = "kicker"
    rods: Literal["fishing", "in"] = "fishing"
    lead_in_s: Duration = Field(default=130.0, alias="lead_in")
    line_out_m: dict[Key, Length] = Field(
        default_factory=dict,
        alias="line_out",
        description="in place of the spread file's, from the session's beginning",
    )
    only: tuple[Key, ...] = Field(default=(), description="rods that take part; all when left out")


class MoundSpec(_Model):
    """A hump in the bottom; a hole where ``height`` is negative."""

    north_m: Offset = Field(alias="north")
    east_m: Offset = Field(alias="east")
    height_m: Offset = Field(alias="height")
    radius_m: LengthAboveZero = Field(alias="radius")


class ShelfSpec(_Model):
    north_m: Offset = Field(alias="north")
    east_m: Offset = Field(alias="east")
    towards_rad: Bearing = Field(alias="towards")
    depth_m: LengthAboveZero = Field(alias="depth")
    width_m: LengthAboveZero = Field(alias="width")
    winding_m: Length = Field(default=0.0, alias="winding")
    wave_m: LengthAboveZero = Field(default=400.0, alias="wave")


class LakeSpec(_Model):
    depth_m: LengthAboveZero = Field(default=45.0, alias="depth")
    fall: Number = Field(default=0.0, ge=-0.2, le=0.2, description="metres deeper per metre")
    fall_towards_rad: Bearing = Field(default=0.0, alias="fall_towards")
    relief_m: Length = Field(default=0.4, alias="relief", description="root mean square of the small-scale relief")
    mounds: tuple[MoundSpec, ...] = ()
    shelf: ShelfSpec | None = None
    surface_c: Temperature = Field(default=15.0, alias="surface")
    deep_c: Temperature = Field(default=5.0, alias="deep")
    thermocline_m: LengthAboveZero = Field(default=17.0, alias="thermocline")
    thickness_m: LengthAboveZero = Field(default=9.0, alias="thickness")
    tilt: Number = Field(default=0.0, ge=-0.1, le=0.1, description="metres deeper per metre toward tilt_towards")
    tilt_towards_rad: Bearing = Field(default=0.0, alias="tilt_towards")
    sounded_m: Length = Field(
        default=0.0, alias="sounded", description="so far about the start earlier trips sounded it; 0: nowhere"
    )
    # An inertial current turns once in 16 hours at this latitude, 22 degrees an hour (12 h over the latitude's sine).
    current_turns_rad: Bearing = Field(
        default=0.0, alias="current_turns", description="how far the surface current turns in an hour, clockwise"
    )


class SquallSpec(_Model):
    at_s: Duration = Field(alias="at")
    over_s: Duration = Field(default=60.0, alias="over")
    speed_m_s: Speed = Field(alias="speed")


class Weather(_Model):
    wind_m_s: Speed = Field(default=3.0, alias="wind")
    from_rad: Bearing = Field(default=math.radians(250.0), alias="from")
    wave_height_m: Length = Field(default=0.25, alias="wave_height")
    wave_period_s: Duration = Field(default=3.5, alias="wave_period")
    squall: SquallSpec | None = None


class CurrentSpec(_Model):
    """The lake's current over ground at a depth. The console does not know it."""

    depth_m: Length = Field(alias="depth")
    speed_m_s: Speed = Field(alias="speed")
    towards_rad: Bearing = Field(alias="towards")


class FaultSpec(_Model):
    kind: FaultKind
    sensor: Sensor | None = None
    from_s: Duration = Field(default=0.0, alias="from")
    for_s: Duration = Field(default=FOREVER_S, alias="for")


class FishSpec(_Model):
    """How readily fish strike. ``per_hour`` is per lure in the middle of the zone."""

    per_hour: Number = Field(default=0.0, ge=0, le=120)
    zone_c: tuple[Temperature, Temperature] = Field(default=(8.0, 12.0), alias="zone")
    false_per_hour: Number = Field(default=0.0, ge=0, le=60, description="per rod")


class StrikeSpec(_Model):
    """A strike in the drill's plan: at a time, or once the boat has turned by an angle."""

    rod: Key
    kind: Literal["fish", "false release"] = "fish"
    at_s: Duration | None = Field(default=None, alias="at")
    turned: Turn | None = None
    fight_s: Duration = Field(default=60.0, alias="fight")


class VesselSpec(_Model):
    """Another boat that keeps her course and speed."""

    north_m: Offset = Field(alias="north")
    east_m: Offset = Field(alias="east")
    heading_rad: Bearing = Field(alias="heading")
    speed_m_s: Speed = Field(alias="speed")


class AgainSpec(_Model):
    """The task to pass a place again: that of a rod's lure at the rod's first strike, at the same depth."""

    rod: Key


class WantedSpec(_Model):
    """Where lures are wanted: heights over the bottom, and depths."""

    over_bottom_m: tuple[Length, Length] = Field(alias="over_bottom")
    depth_m: tuple[Length, Length] = Field(default=(0.0, 300.0), alias="depth")


class Mark(_Model):
    north_m: Offset = Field(alias="north")
    east_m: Offset = Field(alias="east")


class Goal(_Model):
    """The goal: all given conditions must hold without a break for ``hold``."""

    turned: Turn | None = Field(default=None, description="in all since the start")
    heading_rad: Bearing | None = Field(default=None, alias="heading")
    within_rad: Bearing = Field(default=math.radians(12.0), alias="within")
    speed_m_s: tuple[Speed, Speed] | None = Field(default=None, alias="speed")
    rods: Literal["out", "in"] | None = None
    boxed: StrictInt | None = Field(default=None, ge=1, le=20)
    noted: StrictInt | None = Field(default=None, ge=1, le=20, description="touches of the bottom written down")
    elapsed_s: Duration | None = Field(default=None, alias="elapsed")
    marks: tuple[Mark, ...] = Field(default=(), description="to be passed in this order")
    reach_m: LengthAboveZero = Field(default=40.0, alias="reach")
    hold_s: Duration = Field(default=10.0, alias="hold")


class Limit(_Model):
    """A limit. Beyond it the drill is not passed, whatever the score."""

    measure: Measure
    most: Number | None = None
    least: Number | None = None


class Worth(_Model):
    """One part of the score: full marks at ``best``, none at ``worst``, linear in between."""

    measure: Measure
    best: Number
    worst: Number
    weight: Number = Field(gt=0, le=100)


class Task(_Model):
    """One task for the scripted helmsmen. They do all tasks in order, each in his own way."""

    do: Literal[
        "turn",
        "steer",
        "speed",
        "wait",
        "out",
        "in",
        "length",
        "depth",
        "marks",
        "land",
        "give way",
        "touch",
        "again",
        "pass",
    ]
    turn: Turn | None = None
    heading_rad: Bearing | None = Field(default=None, alias="heading")
    speed_m_s: Speed | None = Field(default=None, alias="speed")
    for_s: Duration = Field(default=0.0, alias="for")
    rods: tuple[Key, ...] = ()
    to_m: Length | None = Field(default=None, alias="to")
    between_m: tuple[Length, Length] | None = Field(default=None, alias="between", description="depths")
    meanwhile: StrictBool = Field(default=False, description="do it beside the tasks after it")


class Drill(_Model):
    """A drill from its file."""

    name: Annotated[str, StringConstraints(min_length=1, max_length=60, strip_whitespace=True)]
    order: StrictInt = Field(default=99, description="its place in the list")
    difficulty: Literal["easy", "fair", "hard"] | None = Field(default=None, description="by judgement: memory")
    course: StrictInt | None = Field(default=None, ge=1, le=9, description="its place in the first day's course")
    briefing: Text
    spread: Text | None = Field(default=None, description="a spread file, from the drill's folder")
    start: Start = Field(default_factory=lambda: Start.model_validate({}))
    lake: LakeSpec = Field(default_factory=lambda: LakeSpec.model_validate({}))
    weather: Weather = Field(default_factory=lambda: Weather.model_validate({}))
    current: tuple[CurrentSpec, ...] = ()
    fault: tuple[FaultSpec, ...] = ()
    fish: FishSpec = Field(default_factory=lambda: FishSpec.model_validate({}))
    strike: tuple[StrikeSpec, ...] = ()
    vessel: VesselSpec | None = None
    again: AgainSpec | None = None
    wanted: WantedSpec | None = None
    goal: Goal | None = Field(default=None, description="left out: the session ends when it is left")
    time_s: Duration = Field(default=3600.0, alias="time", description="the drill ends after this, done or not")
    limit: tuple[Limit, ...] = ()
    score: tuple[Worth, ...] = ()
    par: Annotated[Number, Field(ge=0, le=100)] | None = None
    task: tuple[Task, ...] = ()
    free: StrictBool = Field(default=False, description="no task: a lake to try things on")
