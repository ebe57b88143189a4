"""Makes the demo: an invented evening of trolling on Lake Superior.

Nothing here happened. Gannet Cove is a harbour on no chart; boat, crew, water, bottom and fish are made up, and the
numbers come from the small simulation below with a fixed seed. It writes, beside itself,

- ``evening.nmea``: the feed as a recording, 44 minutes at 1 Hz, with a tag block before each line. Its first lines
  are TXT sentences that say what it is.
- ``evening.actions.jsonl``: what the crew did, as JSON Lines. Its first line is a note that says the same.

The same bytes come out every time: ``python make_evening.py [FOLDER]``. Standard library only.
"""

from __future__ import annotations

import json
import math
import random
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

SEED = 1844
BEGIN = datetime(2026, 7, 18, 23, 2, 0, tzinfo=UTC)  # two minutes past seven in the evening there
DURATION_S = 44 * 60
LATITUDE, LONGITUDE = 47.0210, -89.5630  # open lake, some way off the south shore
M_S_PER_MPH = 0.44704
KN_PER_M_S = 3600 / 1852
M_PER_FT = 0.3048
M_PER_DEG = 111_200.0
VARIATION_W_DEG = 4.6
TRANSDUCER_M = 0.46
SAYS = (
    "INVENTED DEMO: an evening off Gannet Cove",
    "a place that does not exist. Not for navigation.",
)

# Speed wanted through the water from a moment on [s, mph]; lines go out slowly, and fish are fought slowly.
SPEEDS = (
    (0, 2.0), (230, 2.3), (430, 2.5), (610, 2.3), (770, 2.4), (872, 2.1), (1075, 2.3), (1290, 2.6), (1385, 2.3),
    (1490, 2.5), (1640, 2.3), (1800, 2.1), (1900, 2.4), (2090, 2.3), (2240, 2.0), (2380, 2.3), (2540, 2.2),
)  # fmt: skip
# Turns [from s, to s, degrees to starboard]: gentle ones and, at 1560 s, one tight U-turn to port.
TURNS = ((610, 730, 40.0), (1120, 1260, -75.0), (1560, 1629, -180.0), (1950, 2070, 50.0), (2400, 2510, 45.0))
HEADING_DEG = 62.0
DEEP_C = 4.6
# When the crew reads the gauge on the downrigger's cable [s, ft]: a thermometer that shows whole degrees Fahrenheit.
GAUGE = (
    (268, 120), (280, 90), (292, 60), (304, 30),
    (924, 120), (936, 90), (948, 60), (960, 30),
    (2516, 90), (2528, 60), (2540, 30),
)  # fmt: skip
# What the crew reads off a small logger clipped to a line, and sees of a ball on the sounder
# [s, rod, what, at what of it, ft]: invented, divers a little shallower than is believed of them.
SEEN = (
    (1412, "3", "logger", "lure", 79), (1422, "6", "logger", "lure", 73), (1434, "7", "logger", "lure", 63),
    (1446, "1", "logger", "lure", 27), (1460, "5", "seen on sounder", "ball", 53),
)  # fmt: skip


@dataclass(slots=True)
class Second:
    """The truth, and what the sensors make of it, at one second."""

    east_m: float
    north_m: float
    sog_m_s: float
    course_deg: float
    stw_m_s: float
    heading_deg: float
    surface_c: float
    bottom_m: float


class Swell:
    """A random sway with a period, as waves give it: second-order noise of a given standard deviation."""

    def __init__(self, rng: random.Random, deviation: float, period_s: float, memory: float = 0.92) -> None:
        self.rng, self.a, self.b = rng, 2 * memory * math.cos(2 * math.pi / period_s), -(memory**2)
        # Variance of a second-order autoregression with unit noise, to scale it to the deviation wanted.
        unit = (1 - self.b) / ((1 + self.b) * ((1 - self.b) ** 2 - self.a**2))
        self.scale = deviation / math.sqrt(unit)
        self.now = self.before = 0.0

    def step(self) -> float:
        self.now, self.before = self.a * self.now + self.b * self.before + self.scale * self.rng.gauss(0, 1), self.now
        return self.now


def wanted_speed_m_s(t_s: float) -> float:
    return M_S_PER_MPH * next(mph for since, mph in reversed(SPEEDS) if t_s >= since)


def rate_of_turn_deg_s(t_s: float) -> float:
    """Degrees per second to starboard, eased in and out over five seconds."""
    for begin, end, degrees in TURNS:
        if begin <= t_s < end:
            full = degrees / (end - begin - 5.0)
            return full * min(1.0, (t_s - begin) / 5.0, (end - t_s) / 5.0)
    return 0.0


def across_break(east_m: float, north_m: float) -> float:
    """-1 in the warm water of the west, 1 in the upwelled water of the east; the break runs across the track."""
    return math.tanh((east_m + 0.35 * north_m - 975) / 55)


def surface_c(east_m: float, north_m: float) -> float:
    """The temperature break at the surface."""
    across = across_break(east_m, north_m)
    return 10.75 - 1.75 * across + 0.12 * math.sin(north_m / 90) + 0.08 * math.sin(east_m / 37)


def water_c(depth_m: float, east_m: float, north_m: float) -> float:
    """Temperature with depth: a thermocline that lies deep under the warm water and shallow under the upwelled."""
    middle_m = 23.0 - 4.0 * across_break(east_m, north_m)
    share = 0.5 * (1 - math.tanh((depth_m - middle_m) / 6.5))
    return DEEP_C + (surface_c(east_m, north_m) - DEEP_C) * share


def bottom_m(east_m: float, north_m: float) -> float:
    """A slope that falls away to the north, and a hump on it that the way back leads over."""
    slope = 43.0 + 0.011 * north_m + 1.1 * math.sin(east_m / 140) + 0.5 * math.sin((east_m + north_m) / 33)
    hump = 14.5 * math.exp(-(((east_m - 1000) / 190) ** 2) - ((north_m - 50) / 100) ** 2)
    return slope - hump


def evening() -> Iterator[Second]:
    """The boat second by second."""
    rng = random.Random(SEED)
    yaw, surge = Swell(rng, 3.2, 7.3), Swell(rng, 0.045, 5.1)
    stw, heading, east, north = wanted_speed_m_s(0), HEADING_DEG, 0.0, 0.0
    log_speed, log_east, log_north, log_surface = stw, 0.9, 0.3, surface_c(0, 0)
    substeps = 10
    for second in range(DURATION_S + 1):
        swing, push = yaw.step(), surge.step()
        gust = 0.02 * math.sin(second / 97) + 0.015 * math.sin(second / 41 + 1)
        drift_east, drift_north = 0.10 + gust, -0.05 + 0.5 * gust  # wind and current together
        for part in range(substeps):
            t_s = second + part / substeps
            turn = rate_of_turn_deg_s(t_s)
            slowed = wanted_speed_m_s(t_s) * (1 - 0.035 * abs(turn))  # a turning boat loses way
            stw += (slowed - stw) / 9.0 / substeps
            heading = (heading + turn / substeps) % 360
            direction = math.radians(heading)
            speed_east = stw * math.sin(direction) + drift_east
            speed_north = stw * math.cos(direction) + drift_north
            east += speed_east / substeps
            north += speed_north / substeps
        # The paddle wheel and the receiver answer late, the thermometer very late.
        log_speed += (stw + push - log_speed) / 2.2
        log_east += (speed_east + push * math.sin(direction) - log_east) / 1.6
        log_north += (speed_north + push * math.cos(direction) - log_north) / 1.6
        log_surface += (surface_c(east, north) - log_surface) / 14
        said_east, said_north = log_east + rng.gauss(0, 0.035), log_north + rng.gauss(0, 0.035)
        yield Second(
            east, north, math.hypot(said_east, said_north), math.degrees(math.atan2(said_east, said_north)) % 360,
            max(0.0, log_speed + rng.gauss(0, 0.02)), (heading + swing + rng.gauss(0, 0.4)) % 360,
            log_surface + rng.gauss(0, 0.03), bottom_m(east, north) + rng.gauss(0, 0.06),
        )  # fmt: skip


def xor(text: str) -> str:
    value = 0
    for byte in text.encode("ascii"):
        value ^= byte
    return f"{value:02X}"


def line(t_ms: int, body: str) -> str:
    """One recorded line: tag block, sentence, checksums."""
    tag = f"s:demo,c:{round(BEGIN.timestamp() * 1000) + t_ms},r:{t_ms}"
    return f"\\{tag}*{xor(tag)}\\${body}*{xor(body)}\r\n"


def degrees_minutes(value: float, width: int) -> str:
    whole = int(abs(value))
    minutes = round((abs(value) - whole) * 60, 4)
    if minutes >= 60:
        whole, minutes = whole + 1, 0.0
    return f"{whole:0{width}d}{minutes:07.4f}"


def sentences(second: int, now: Second, rng: random.Random) -> Iterator[tuple[int, str]]:
    """The sentences of one second with the milliseconds after it at which they arrive."""
    moment = BEGIN + timedelta(seconds=second)
    north_m, east_m = now.north_m + rng.gauss(0, 0.5), now.east_m + rng.gauss(0, 0.5)
    latitude = LATITUDE + north_m / M_PER_DEG
    longitude = LONGITUDE + east_m / (M_PER_DEG * math.cos(math.radians(LATITUDE)))
    place = f"{degrees_minutes(latitude, 2)},N,{degrees_minutes(longitude, 3)},W"
    sog_kn = now.sog_m_s * KN_PER_M_S
    compass = (now.heading_deg + VARIATION_W_DEG) % 360
    stw_kn = now.stw_m_s * KN_PER_M_S
    depth_m = now.bottom_m - TRANSDUCER_M
    sounding = f"{depth_m:.1f}"
    if second in range(1604, 1610) or second in range(2312, 2315):
        sounding = ""  # the bottom is lost: wash under the transducer in the tight turn, fish over the hump
    elif second == 533:
        sounding = f"{2 * depth_m:.1f}"  # a second echo taken for the bottom
    yield (
        0,
        (
            f"GPRMC,{moment:%H%M%S}.00,A,{place},{sog_kn:.2f},{now.course_deg:.1f},{moment:%d%m%y},{VARIATION_W_DEG},W,A"
        ),
    )
    magnetic = (now.course_deg + VARIATION_W_DEG) % 360
    yield 40, f"GPVTG,{now.course_deg:.1f},T,{magnetic:.1f},M,{sog_kn:.2f},N,{sog_kn * 1.852:.2f},K,A"
    yield 210, f"HCHDG,{compass:.1f},,,{VARIATION_W_DEG},W"
    yield 390, f"VWVHW,,T,{compass:.1f},M,{stw_kn:.2f},N,{stw_kn * 1.852:.2f},K"
    yield 560, f"SDDPT,{sounding},{TRANSDUCER_M}"
    yield 730, f"YXMTW,{now.surface_c:.1f},C"


def feed(seconds: list[Second]) -> str:
    """The whole recording."""
    rng = random.Random(SEED + 1)
    said = "".join(
        line(0, f"IITXT,{len(SAYS):02d},{number:02d},01,{text.replace(',', ' ')}")
        for number, text in enumerate(SAYS, start=1)
    )
    lines = [said]
    for second, now in enumerate(seconds):
        for after_ms, body in sentences(second, now, rng):
            lines.append(line(second * 1000 + after_ms + (rng.randrange(12) if second or after_ms else 0), body))
    return "".join(lines)


def stamp(t_s: float) -> str:
    return (BEGIN + timedelta(seconds=t_s)).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def feet(value: float) -> float:
    return round(value * M_PER_FT, 4)


def whole_fahrenheit(value_c: float) -> float:
    """What a gauge of whole degrees Fahrenheit shows, in °C."""
    return round((round(value_c * 1.8 + 32) - 32) / 1.8, 3)


def crew(seconds: list[Second]) -> list[dict[str, Any]]:
    """What the two aboard do, in the order in which they enter it."""
    acts: list[tuple[float, str, str, str, dict[str, Any]]] = []

    def act(t_s: float, kind: str, rod: int | None = None, name: str = "", of: str = "", **fields: Any) -> None:
        """``name`` is what later acts call this one by; ``of`` is the name of the one that it is about."""
        key = {} if rod is None else {"rod": str(rod)}
        acts.append((t_s, kind, name, of, key | fields))

    def out(rod: int, begin: float, end: float) -> None:
        act(begin, "going out", rod)
        act(end, "set", rod)

    def hit(name: str, t_s: float, rod: int, **fields: Any) -> None:
        act(t_s, "hit", rod, name=name, **fields)

    def ends(name: str, t_s: float, outcome: str, **catch: Any) -> None:
        act(t_s, "outcome", of=name, outcome=outcome)
        if catch:
            act(t_s + 9, "catch", of=name, **catch)

    act(0, "note", text="Invented demo: an evening off Gannet Cove, a place that does not exist.")
    for rod, begin, end in (
        (1, 3, 50), (8, 6, 58), (2, 54, 118), (7, 62, 130),
        (3, 122, 172), (6, 134, 186), (4, 176, 214), (5, 190, 232),
    ):  # fmt: skip
        out(rod, begin, end)
    for t_s, depth_ft in GAUGE:
        there = water_c(depth_ft * M_PER_FT, seconds[t_s].east_m, seconds[t_s].north_m)
        act(t_s, "gauge", depth_m=feet(depth_ft), temperature_c=whole_fahrenheit(there))
    hit("first", 388.2, 6)
    ends("first", 520, "boxed", species="coho", length_m=0.53, mass_kg=1.6)
    out(6, 556, 606)
    hit("release", 702.6, 5)  # the release lets go by itself in the turn
    ends("release", 728, "no fish")
    act(733, "in", 5)
    act(752, "lead", 5, lead_m=feet(30))
    out(5, 770, 803)
    hit("break", 866.4, 3)
    hit("slip", 866.48, 4, doubtful=True, why="pressed together with 3")
    hit("double", 884.1, 6)
    act(902, "note", text="Temperature break, slick on the water.")
    ends("break", 1010, "boxed", species="coho", length_m=0.56, mass_kg=1.9)
    out(3, 1034, 1084)
    ends("double", 1075, "boxed", species="lake trout", length_m=0.66, mass_kg=2.9)
    out(6, 1102, 1152)
    hit("outside", 1198.3, 7)
    ends("outside", 1262, "dropped")
    act(1300, "length", 2, line_out_m=feet(175))
    act(1306, "length", 7, name="typed", line_out_m=feet(20))
    act(1310, "undo", of="typed")
    act(1316, "length", 7, line_out_m=feet(200))
    hit("deep", 1372.8, 4)
    ends("deep", 1480, "boxed", species="lake trout", length_m=0.71, mass_kg=3.6)
    out(4, 1512, 1548)
    act(1661.2, "bite", name="bite")
    act(1664.5, "hit", 6, name="after", bite="bite")
    ends("after", 1760, "freed", species="coho", length_m=0.31, undersized=True)
    out(6, 1790, 1840)
    hit("board", 1848.7, 8)
    act(1858, "retime", of="board", to=stamp(1788.7), to_elapsed_s=1788.7)
    act(1880, "in", 3)
    act(1896, "setting", 3, setting="straight")
    act(1899, "length", 3, line_out_m=feet(150))
    out(3, 1904, 1950)
    ends("board", 1990, "boxed", species="coho", length_m=0.49, mass_kg=1.3)
    out(8, 2024, 2084)
    act(2096, "length", 3, line_out_m=feet(135))
    act(2101, "length", 4, line_out_m=feet(65))
    hit("shelf", 2148.1, 6)
    hit("hump", 2236.9, 3)
    ends("shelf", 2262, "boxed", species="coho", length_m=0.58, mass_kg=2.2)
    out(6, 2290, 2340)
    hit("lost", 2330.4, 5)
    ends("lost", 2352, "dropped")
    act(2358, "in", 5)
    ends("hump", 2374, "boxed", species="lake trout", length_m=0.63, mass_kg=2.5)
    out(3, 2402, 2448)
    out(5, 2476, 2508)
    hit("last", 2561.6, 6)
    ends("last", 2622, "boxed", species="coho", length_m=0.55, mass_kg=1.8)

    acts.sort(key=lambda one: one[0])
    ids = {name: f"e{number:03d}" for number, (_, _, name, _, _) in enumerate(acts) if name}
    entries: list[dict[str, Any]] = []
    for number, (t_s, kind, _, of, fields) in enumerate(acts):
        entry: dict[str, Any] = {"id": f"e{number:03d}", "time": stamp(t_s), "elapsed_s": t_s, "kind": kind}
        if of:
            entry["of"] = ids[of]
        if "bite" in fields:
            fields = fields | {"bite": ids[str(fields["bite"])]}
        entries.append(entry | fields)
    # Beside the numbered ones: the boat's own time, and what was seen of some rods, so that a fit can be tried.
    beside: list[tuple[float, str, dict[str, Any]]] = [(0, "clock", {"kind": "trip", "utc_offset_min": -240})]
    for number, (t_s, rod_key, what, at, depth_ft) in enumerate(SEEN, 1):
        seen = {"kind": "observed", "rod": rod_key, "what": what, "at": at, "depth_m": feet(depth_ft)}
        beside.append((t_s, f"seen{number}", seen))
    entries += [{"id": name, "time": stamp(t_s), "elapsed_s": t_s} | fields for t_s, name, fields in beside]
    return sorted(entries, key=lambda entry: float(entry["elapsed_s"]))


def main(folder: Path) -> None:
    seconds = list(evening())
    (folder / "evening.nmea").write_bytes(feed(seconds).encode("ascii"))
    text = "".join(json.dumps(entry) + "\n" for entry in crew(seconds))
    (folder / "evening.actions.jsonl").write_bytes(text.encode("ascii"))


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
