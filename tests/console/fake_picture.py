"""Believable pictures for the console's tests: an invented boat on invented water, nothing computed by the watch.

The chains are plain curves (a line bending towards its end, swung aside by the turn asked for), good enough to
look at and exactly repeatable; no test of physics may use them.
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType
from typing import Any

import numpy as np

from sternwatch.feed.readings import Quantity, Sensors, SensorState, SensorValue
from sternwatch.watch.picture.alert import Alert, AlertState, Priority
from sternwatch.watch.picture.model import (
    HitPicture,
    OwnBoat,
    Picture,
    Point,
    RodPicture,
    RodState,
    Session,
    SolverState,
    SpeedSource,
)

FOOT = 0.3048
MPH = 0.44704
UTC_0 = 1_787_090_400.0  # an evening in August, invented
T_0 = 1800.0

# key, name, side, tip abeam, line out, setting, lead, depth, astern, abeam: feet, the last two of the lure.
_SPREAD = (
    ("1", "P BOARD", "port", -7.0, 250.0, None, None, 31.0, 262.0, -68.0),
    ("2", "P HIGH", "port", -6.5, 185.0, "high", None, 58.0, 172.0, -38.0),
    ("3", "P LOW", "port", -5.5, 120.0, "low", None, 66.0, 104.0, -19.0),
    ("4", "P RIG", "port", -3.0, 75.0, None, 20.0, 71.0, 48.0, -4.0),
    ("5", "S RIG", "starboard", 3.0, 88.0, None, 35.0, 84.0, 66.0, 4.0),
    ("6", "S LOW", "starboard", 5.5, 125.0, "low", None, 69.0, 109.0, 20.0),
    ("7", "S HIGH", "starboard", 6.5, 190.0, "high", None, 60.0, 177.0, 40.0),
    ("8", "S BOARD", "starboard", 7.2, 300.0, None, None, 38.0, 318.0, 74.0),
)
_TACKLE = {"BOARD": ("board", "spoon"), "HIGH": ("disc", "paddle", "fly"), "LOW": ("disc", "paddle", "fly"),
           "RIG": ("ball", "spoon")}  # fmt: skip
_PROFILE = ((0.0, 17.8), (6.0, 17.2), (12.0, 15.0), (16.0, 12.4), (20.0, 10.2), (26.0, 7.6), (40.0, 5.4))


def rods(turn: float = 0.0) -> tuple[RodPicture, ...]:
    """Eight rods fishing; ``turn`` from -1 (hard to port) to 1 (hard to starboard) swings the lines outward."""
    made = []
    for key, name, side, tip_abeam, out, setting, lead, depth, astern, abeam in _SPREAD:
        made.append(_rod(key, name, side, (tip_abeam, out, setting, lead, depth, astern, abeam), turn))
    return tuple(made)


def _rod(key: str, name: str, side: str, figures: tuple[Any, ...], turn: float) -> RodPicture:
    tip_abeam, out, setting, lead, depth, astern, abeam = figures
    swing = -turn * (astern / 60.0) ** 2 * 5.0
    inside = turn * (1.0 if side == "starboard" else -1.0)
    depth_ft = depth * (1.0 + 0.16 * max(inside, -0.4))
    shape = _shape(tip_abeam, (astern * (1 - 0.12 * abs(turn)), abeam + swing, depth_ft), swing)
    board = name.endswith("BOARD")
    if board:
        shape = _board_shape(tip_abeam, abeam, astern, depth_ft, swing)
    kinds = _TACKLE[name.split()[1]]
    places = (0.25, 1.0) if board else {2: (0.62, 1.0), 3: (0.86, 0.95, 1.0)}[len(kinds)]
    points = tuple(_point(what, shape, share) for what, share in zip(kinds, places, strict=True))
    lure = shape[-1]
    number = int(key)
    temperature = float(np.interp(lure[2], [d for d, _ in _PROFILE], [t for _, t in _PROFILE]))
    return RodPicture(
        key=key,
        name=name,
        side=side,
        tip_abeam_m=tip_abeam * FOOT,
        state=RodState.FISHING,
        solver=SolverState.SETTLED,
        line_out_m=out * FOOT,
        setting=setting,
        lead_m=None if lead is None else lead * FOOT,
        target_depth_m=round(depth / 5.0) * 5.0 * FOOT,
        depth_m=float(lure[2]),
        astern_m=float(lure[0]),
        abeam_m=float(lure[1]),
        depth_interval_m=(float(lure[2]) * 0.74, float(lure[2]) * 1.14) if setting else None,
        rough=bool(setting),
        lure_speed_m_s=(2.3 - 0.6 * inside) * MPH,
        vertical_speed_m_s=0.1 * inside,
        depth_change_10s_m=4.0 * FOOT * inside,
        temperature_c=temperature,
        in_zone=8.5 <= temperature <= 13.0,
        clearance_m=112.0 * FOOT - float(lure[2]),
        nearest_m=(9.0 + 3.0 * (number % 4)) * FOOT,
        nearest_key=str(number + 1 if number < 8 else 7),
        tension_N=20.0,
        entry_angle_deg=30.0,
        points=points,
        shape_m=shape,
        hits={"3": 2, "6": 3, "4": 1}.get(key, 0),
        last_hit_t_s={"3": T_0 - 720.0, "6": T_0 - 95.0, "4": T_0 - 1500.0}.get(key),
        set_t_s=T_0 - 300.0 * number,
    )


def _shape(tip_abeam: float, end: tuple[float, float, float], swing: float) -> Any:
    share = np.linspace(0.0, 1.0, 24)
    astern, abeam, depth = (v * FOOT for v in end)
    tip = tip_abeam * FOOT
    x = astern * share ** np.float64(1.15)
    y = tip + (abeam - swing * FOOT - tip) * share ** np.float64(0.8) + swing * FOOT * share**2
    z = -1.5 + (depth + 1.5) * share ** np.float64(0.9)
    return _frozen(np.column_stack([x, y, z]))


def _board_shape(tip_abeam: float, abeam: float, astern: float, depth: float, swing: float) -> Any:
    tip, out = tip_abeam * FOOT, abeam * FOOT
    back = 70.0 * FOOT
    to_board = np.linspace(0.0, 1.0, 8)
    first = np.column_stack([back * to_board, tip + (out - tip) * to_board, -1.5 + 1.5 * to_board])
    share = np.linspace(0.0, 1.0, 20)[1:]
    x = back + (astern * FOOT - back) * share
    y = out + swing * FOOT * share**2
    z = depth * FOOT * share**0.7
    return _frozen(np.vstack([first, np.column_stack([x, y, z])]))


def _frozen(shape: Any) -> Any:
    shape.flags.writeable = False
    return shape


def _point(what: str, shape: Any, share: float) -> Point:
    at = shape[round(share * (len(shape) - 1))]
    return Point(what, depth_m=float(at[2]), astern_m=float(at[0]), abeam_m=float(at[1]))


def sensors(**changed: SensorValue) -> Sensors:
    """A healthy feed: every sensor fresh but the heading, which the boat does not have."""
    fresh = {
        Quantity.SOG: (2.5 * MPH, 0.4, "gps", "RMC"),
        Quantity.COG: (274.0, 0.4, "gps", "RMC"),
        Quantity.STW: (2.3 * MPH, 0.9, "sounder", "VHW"),
        Quantity.POSITION: ((47.31, -91.02), 0.4, "gps", "RMC"),
        Quantity.WATER_TEMPERATURE: (17.8, 1.6, "sounder", "MTW"),
        Quantity.BOTTOM: (112.0 * FOOT, 0.9, "sounder", "DPT"),
        Quantity.CLOCK: (UTC_0, 0.4, "gps", "RMC"),
    }
    made = {q: SensorValue(q, SensorState.NEVER, None, None) for q in Quantity}
    for quantity, (value, age, source, sentence) in fresh.items():
        made[quantity] = SensorValue(quantity, SensorState.FRESH, value, age, source, sentence)
    made |= {Quantity(name): value for name, value in changed.items()}
    return MappingProxyType(made)


def own(turn: float = 0.0) -> OwnBoat:
    """The boat at 2.3 mph through the water; ``turn`` as in :func:`rods`."""
    return OwnBoat(
        speed_source=SpeedSource.THROUGH_WATER,
        speed_m_s=2.31 * MPH,
        speed_mean_m_s=2.3 * MPH,
        speed_range_m_s=(1.9 * MPH, 2.7 * MPH),
        sog_m_s=2.5 * MPH,
        stw_m_s=2.31 * MPH,
        course_deg=274.0,
        heading_deg=None,
        rate_of_turn_deg_s=2.4 * turn if turn else 0.1,
        position_deg=(47.31, -91.02),
    )


def straight(session: Session = Session.DEMO) -> Picture:
    """Eight rods on a straight course, no alert."""
    hits = tuple(
        HitPicture(f"h{n}", T_0 - ago, UTC_0 - ago, rod, state, False, depth * FOOT, species=fish)
        for n, (ago, rod, state, depth, fish) in enumerate(
            [
                (1500.0, "4", "dropped", 70.0, None),
                (1130.0, "6", "boxed", 68.0, "coho"),
                (720.0, "3", "boxed", 64.0, "lake trout"),
                (700.0, "6", "freed", 66.0, "coho"),
                (95.0, "6", "boxed", 71.0, "coho"),
            ]
        )
    )
    track = tuple((s * 5.0, (112.0 + 6.0 * np.sin(s / 4.0) + 0.3 * s) * FOOT) for s in range(30))
    return Picture(
        t_s=T_0,
        utc_s=UTC_0,
        session=session,
        trip="evening",
        sensors=sensors(),
        own=own(),
        rods=rods(),
        alerts=(),
        hits=hits,
        zone_c=(8.5, 13.0),
        temperature_profile=_PROFILE,
        bottom_m=112.0 * FOOT,
        bottom_track=track,
        newest_entry="hit on 6, boxed",
        spread_name="evening",
    )


def chosen(picture: Picture, key: str) -> Picture:
    """The same with one rod chosen."""
    return replace(picture, rods=tuple(replace(rod, chosen=rod.key == key) for rod in picture.rods))


def changed(picture: Picture, key: str, **fields: Any) -> Picture:
    """The same with fields of one rod changed."""
    return replace(picture, rods=tuple(replace(r, **fields) if r.key == key else r for r in picture.rods))


_NOTHING: dict[str, Any] = {
    "depth_m": None, "astern_m": None, "abeam_m": None, "depth_interval_m": None, "rough": False,
    "lure_speed_m_s": None,
    "vertical_speed_m_s": None, "depth_change_10s_m": None, "temperature_c": None, "in_zone": None,
    "clearance_m": None, "nearest_m": None, "nearest_key": None, "tension_N": None, "entry_angle_deg": None,
    "points": (), "shape_m": None,
}  # fmt: skip


def turning() -> Picture:
    """A turn to starboard with a crossing ahead of the boat's crew."""
    picture = replace(straight(), own=own(0.9), rods=rods(0.9))
    warning = Alert(
        "a1",
        "crossing",
        Priority.WARNING,
        AlertState.ACTIVE,
        ("6", "7"),
        "6 and 7 cross in 40 s (63 %)",
        "Widen the turn to 150 ft.",
        T_0 - 4.0,
        40.0,
    )
    return replace(chosen(picture, "6"), alerts=(warning,))


def troubled() -> Picture:
    """Every state of a rod at once: in, going out, fighting, slack, failed, old, unsettled, pulled under."""
    picture = chosen(straight(Session.LIVE), "3")
    picture = changed(picture, "1", solver=SolverState.PULLED_UNDER)
    picture = changed(picture, "2", state=RodState.LETTING_OUT, moving_to_m=185 * FOOT, line_out_m=140 * FOOT)
    picture = changed(picture, "3", state=RodState.FIGHTING, last_hit_t_s=T_0 - 34.0, hits=3)
    picture = changed(picture, "4", state=RodState.IN, solver=SolverState.NONE, line_out_m=0.0, **_NOTHING)
    picture = changed(picture, "5", solver=SolverState.UNSETTLED)
    picture = changed(picture, "6", solver=SolverState.FAILED, why_no_depth="the step did not converge", **_NOTHING)
    picture = changed(picture, "7", solver=SolverState.SLACK)
    picture = changed(picture, "8", solver=SolverState.OLD, state=RodState.REELING, moving_to_m=0.0)
    alerts = (
        Alert("a1", "cannot save", Priority.ALARM, AlertState.ACTIVE, (), "Entries cannot be saved: disk full.",
              "Free space on the disk; entries are kept in memory until then.", T_0 - 20.0),
        Alert("a2", "no speed", Priority.WARNING, AlertState.ACTIVE, (), "No speed for 12 s.",
              "Look at the feed: depths are from before.", T_0 - 12.0),
        Alert("a3", "slack", Priority.CAUTION, AlertState.ACTIVE, ("7",), "7 S HIGH is slack.",
              "More speed, or widen the turn.", T_0 - 8.0),
        Alert("a4", "pulled under", Priority.CAUTION, AlertState.ACTIVE, ("1",), "1 P BOARD is pulled under.",
              "Take it in.", T_0 - 5.0),
        Alert("a5", "solver", Priority.CAUTION, AlertState.ACTIVE, ("6",), "6 S LOW cannot be computed just now.",
              "", T_0 - 3.0),
    )  # fmt: skip
    return replace(picture, alerts=alerts)


def cold() -> Picture:
    """Nothing known of the water below: no profile, no zone, no bottom."""
    picture = straight(Session.LIVE)
    unknown = tuple(replace(r, temperature_c=None, in_zone=None, clearance_m=None) for r in picture.rods)
    lost = SensorValue(Quantity.BOTTOM, SensorState.NONE, 40.0, 61.0, "sounder", "DPT")
    return replace(
        picture, rods=unknown, zone_c=None, temperature_profile=(), bottom_m=None, bottom_track=(),
        sensors=sensors(bottom=lost, water_temperature=SensorValue(Quantity.WATER_TEMPERATURE, SensorState.NEVER,
                                                                   None, None)),
    )  # fmt: skip


def no_feed() -> Picture:
    """No word from the boat since the start."""
    nothing = MappingProxyType({q: SensorValue(q, SensorState.NEVER, None, None) for q in Quantity})
    mute = OwnBoat(SpeedSource.NONE, None, None, None, None, None, None, None, None, None,
                   "no sentence has come from the feed yet")  # fmt: skip
    alert = Alert("a1", "no feed", Priority.ALARM, AlertState.ACTIVE, (), "No feed: nothing has come for 30 s.",
                  "Look at the plug and the sounder's output.", 5.0)  # fmt: skip
    bare = tuple(
        replace(
            r,
            solver=SolverState.NONE,
            why_no_depth="no speed yet",
            hits=0,
            last_hit_t_s=None,
            set_t_s=None,
            **_NOTHING,
        )
        for r in rods()
    )
    return replace(
        straight(Session.LIVE), t_s=30.0, utc_s=None, sensors=nothing, own=mute, rods=bare, alerts=(alert,), hits=(),
        zone_c=(8.5, 13.0), temperature_profile=(), bottom_m=None, bottom_track=(), newest_entry="",
    )  # fmt: skip


def many(count: int) -> Picture:
    """``count`` rods (up to 12), some of them deep or with long names."""
    base = list(rods())
    extra = [
        replace(base[0], key="9", name="CHUTE", side="centre", tip_abeam_m=0.0, depth_m=142.0 * FOOT),
        replace(base[1], key="0", name="P COPPER", tip_abeam_m=-0.5, depth_m=108.0 * FOOT),
        replace(base[6], key="-", name="S COPPER", tip_abeam_m=0.5, depth_m=205.0 * FOOT),
        replace(base[7], key="=", name="S OUTER", depth_m=9.0 * FOOT),
    ]
    return replace(straight(), rods=tuple((base + extra)[:count]))


CASES = {
    "straight": straight,
    "turning": turning,
    "troubled": troubled,
    "cold": cold,
    "no feed": no_feed,
}
