"""Whether the tests notice what is broken on purpose: one operator or constant of a module at a time."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from mutants import running
from mutants.mutating import mutant, places_of

SAMPLE = int(os.environ.get("STERNWATCH_MUTANTS", "100"))
SEED = os.environ.get("STERNWATCH_MUTANTS_SEED", "mutants")
LEAST = 0.9  # of a room's mutants that its tests must notice
RUNNING = Path(__file__).with_name("running.py")
TOP = Path(__file__).parents[2]
ROOMS = ("feed", "logbook", "watch", "hydro")
# Changes that change nothing that can be seen: a part of the line changed, the change, and why it is none.
EQUIVALENT = {
    ('side = "amidships" if rudder == 0.0 else', "> -> >="): "nought is amidships already",
    ("if self._trouble and not urgent and time.monotonic() < self._retry_at:", "< -> <="): "a moment of no length",
    ("?mode=ro", "True -> False"): "many builds of SQLite read such names in any case",
    ('_KEEL = {"depth_feet": 0,', "4 -> 5"): "the library's names: values are read by place",
    ("return ticks.value * 1e-7", "1e-07 -> 2e-07"): "a clock of one system, which other systems' tests do not run",
    ('if data.rfind(b"$") <= 0 and data.rfind(b"!") <= 0:', "<= -> <"): "a short cut: the loop gives the same",
    ('"offset", -100.0, 100.0', "100.0 -> 200.0"): "the field holds no more than 32.8 m",
    ('"date", 1.0, 65532.0', "65532.0 -> 131064.0"): "the field holds no more",
    (
        "if first < self.last_ms or last > self.last_ms + _QUICK_MS",
        "< -> <=",
    ): "a short cut: lines one by one give the same",
    ("max(changed_unix_s, 0.0) // DAY_S", "0.0 -> 1.0"): "both are of the first day",
    ("if self._stopping.wait(ahead) if ahead > 0 else", "> -> >="): "a wait of no time asks the same",
    ("self.unconfirmed = False", "False -> True"): "said anew with every value",
    ("self._count = 0", "0 -> 1"): "only the order of the counts is asked",
    ("POINTS: Final = 6", "6 -> 7"): "a curve of one point more is the same curve",
    ("tolerance: float = 1e-7,", "1e-07 -> 2e-07"): "both are far below what is promised of a depth",
    ("goal = max(1e-11, tolerance) * (reach + 1.0)", "+ -> -"): "a tolerance that is hardly tighter",
    ("goal = max(1e-11, tolerance) * (reach + 1.0)", "1.0 -> 2.0"): "a tolerance that is hardly wider",
    ("if c < 0.5:", "< -> <="): "both laws give the same there",
    ("(floor > 0.0 and floor * floor >= best)", "> -> >="): "a floor of exactly none is under any distance",
    ("if (s == 0.0 or u in (0.0, 1.0)) and aa > 0.0:", "and -> or"): "a point is never nearest elsewhere on itself",
    ("wet = smooth_step((z + env[3]) / env[3]) if env[3] > 0.0", "> -> >="): "without a film it is one or none",
    ("straight = span <= 1e-6 or bend <= 1e-9", "1e-09 -> 2e-09"): "so little bends nothing",
    ("np.zeros((samples, n), np.int64), np.zeros(1, np.int64)", "1 -> 2"): "room for one number more",
    ("if least < best:", "< -> <="): "of equals either",
    (".reshape(-1)", "1 -> 2"): "any negative number means the rest",
    ("offset = 1.0 - end[1] * wide", "1.0 -> 2.0"): "a first guess, from which Newton's method comes to the same",
    ("math.isfinite(work[0, 0]) and math.isfinite(work[0, 1])", "0 -> 1"): "both are finite, or the size is not",
    ("if step[k, 0] < 1.0:", "< -> <="): "exactly as near as required is neither",
    ("leg.length_m > HAIR)", "> -> >="): "a leg of exactly a thousandth of a millimetre",
    (
        "if abs(math.hypot(*first) - math.hypot(*second)) > SPEED_STEADY_M_S",
        "> -> >=",
    ): "exactly at a limit is either",
    ("yield along / speed, along, self._bottom(", "> -> >="): "exactly at a limit is either",
    ("most = max((sum(c) for c in counts), default=1)", "1 -> 2"): "of no chains at all",
    ("after = k if k > 0 else 1", "0 -> 1"): "the first step serves the second sample either way",
    ("return SOLVED if abs(off) <= 100.0 * tolerance", "<= -> <"): "exactly at a limit is either",
    ("slow = slow + 1 if abs(off) > 0.3 * abs(off_before) else 0", "0 -> 1"): "how soon it halves: the same root",
    ("local_degrees(origin_deg, (north, 0.0))", "0.0 -> 1.0"): "a metre to the east is as far north",
    ("if rows.rod_node[row] >= 0 else None", "0 -> 1"): "the first node is the tip, which is no ball",
    ("first = math.asinh(curve[6]) if bent else 0.0", "0.0 -> 1.0"): "not used of a straight line",
    ("a, b, w = np.empty((2, 3)), np.empty((2, 3)), np.empty((2, 3))", "2 -> 3"): "one row of scratch memory more",
    ("if shift > 0.0 and bare - shift < most:", "and -> or"): "a short cut: looked at closely it is the same",
    ("(socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1)", "1 -> 2"): "any number but none asks for it",
    ("_boats[_WIDE * k : _WIDE * (k + 1)])", "1 -> 2"): "a sample takes as many as it has names",
    ("self._stale = False  # the file was opened again", "False -> True"): "said anew when the file is opened",
    ("self._pgn = self._address = 0", "0 -> 1"): "said anew with every message",
    ("heard[_SOURCES[0]]) < enough:", "< -> <="): "compared with the others it is good enough",
    ("if not 0 < moved <= _GAP_S:", "< -> <="): "no step at all was left out before",
    ("bisect_left(self._timed.floors_ms, t_s * 1000) - 1, 0)", "1 -> 2"): "a block more is read and left out",
    ("if stamps is None or not walker.quick(stamps):", "is -> is not"): "line by line the stamps are the same",
    ("self._unsynced = False", "False -> True"): "nothing is open yet",
    ('decoded.parse(line.decode("ascii"), si=False)', "False -> True"): "only whether it is a message is asked",
    ("if end < 0 or end > 200:", "< -> <="): "a block's end comes after its beginning",
    ("if host >= FLOOR and rolls > 0 and abs(", "> -> >="): "without a roll-over it does not agree",
    ("if star < 0:", "< -> <="): "the star is looked for behind the first byte",
    ("if speed <= 1e-9:", "1e-09 -> 2e-09"): "no flow is so slow and not still",
    ("< 2.0 * near or high - x - last < 2.0 * near:", "2.0 -> 4.0"): "a step of a search that comes to the same",
    ("HAIR = 1e-6  # lengths", "1e-06 -> 2e-06"): "room for rounding",
    ("leg.length_m * max(speed, 0.05)", "0.05 -> 0.1"): "the first seconds take the shortest steps anyway",
    ("if way > left:", "> -> >="): "a step cut by nothing",
    ("if host >= FLOOR and rolls > 0 and abs(", ">= -> >"): "on that one day the next rule says the same",
    ("self._serial += 1", "1 -> 2"): "only the order of the numbers is asked",
    ("> GATE:", "> -> >="): "exactly at a limit is either",
    ("self.index = 0  # names", "0 -> 1"): "set anew with what is wanted",
    ("self.trend[-1][0] - self.trend[0][0] < TREND_S - 1e-6", "< -> <="): "room for rounding",
    ("for steps in range(WAKE_S, -1, -5):", "1 -> 2"): "every fifth step ends at none",
    ("'right' if now.off_m > 0 else 'left'", "> -> >="): "beside it by nothing she is on the way",
    ("math.tau - turn < HAIR else turn", "< -> <="): "room for rounding",
    ("if apart <= abs(shift) + HAIR:", "<= -> <"): "room for rounding",
    ("if told or self.speed_m_s < LEAST_SPEED_FOR_COURSE_M_S:", "< -> <="): "exactly at a limit is either",
    ("if ball < 0:", "< -> <="): "the first node is the tip, which is no ball",
    ("if rod.sign * turned > 0.0 else", "> -> >="): "neither is none there",
    ("math.hypot(north, east) <= TAKEN_UP_WITHIN_M", "<= -> <"): "exactly at a limit is either",
    ("to_earth(chain.rows.rod_tip_m[:1], boat)[0]", "1 -> 2"): "the first of them alone is taken",
    ("if abs(off) > UNSETTLED * one.error:", "> -> >="): "exactly at a limit is either",
    ("and time.perf_counter() < until:", "< -> <="): "exactly at a limit is either",
    ("self._outlook.t_s > GONE_AFTER_S:", "> -> >="): "exactly at a limit is either",
    ("or not 0.7 < half / asked.half_m < 1.4", "< -> <="): "exactly at a limit is either",
    ("math.hypot(*at) <= SHOWN_WITHIN_M", "<= -> <"): "exactly at a limit is either",
    ("self.slope.shoalest_m <= depth", "<= -> <"): "exactly at a limit is either",
    ("known = (far <= reach) & (smooth[0] > 0.0)", "> -> >="): "within reach every weight is more than none",
    ("if silent_s is not None and silent_s > STALE_S:", "> -> >="): "exactly at a limit is either",
    ("self._thread.join(timeout=5.0)", "5.0 -> 10.0"): "a thread that ends is not waited for so long",
    ("act: Ints = np.ones(1, dtype=np.int64)", "1 -> 2"): "the first of them alone is taken",
    ("self._asked += 1", "1 -> 2"): "only the order of the numbers is asked",
    ("self.belief.along_sd_m_s(direction_rad) <= FOUND[1] * before", "<= -> <"): "exactly at a limit is either",
    ("when = times[near & (times <= WARN_S)]", "<= -> <"): "exactly at a limit is either",
    ("down = np.where(np.abs(along[:, 2]) < 1e-9, 1e-9", "1e-09 -> 2e-09"): "so flat is level",
    ("down = np.where(np.abs(along[:, 2]) < 1e-9, 1e-9", "< -> <="): "exactly at a limit is either",
    ("np.where(down > 0.0, reached, 0.0), np.where(", "> -> >="): "it is never none",
    (
        "np.clip((from_depth_m - start[:, 2]) / down, 0.0, 1.0)",
        "1.0 -> 2.0",
    ): "nothing of what ends higher is deep enough",
    ("length = np.maximum((along[:, :2] ** 2).sum(axis=1), 1e-9)", "1e-09 -> 2e-09"): "so short is a point",
    ("deep = np.maximum(start[:, 2], end[:, 2]) >= from_depth_m", ">= -> >"): "exactly at a limit is either",
    ("deep & (np.linalg.norm(at - mark, axis=1) <= margin_m)", "<= -> <"): "exactly at a limit is either",
    ("np.empty(0), np.empty((0, 3)), np.empty(0), body_out, entry,", "0 -> 1"): "room for one number more",
    (
        "max((1.0 - tip[1] * curvature) ** 2 + (tip[0]",
        "+ -> -",
    ): "a first guess, from which the search comes to the same",
    ("_BATCH = 4096", "4096 -> 4097"): "written in a little larger pieces",
    ("elif kind == 1:", "1 -> 2"): "which of four numbers drawn means which change",
    ("if code < 0 else f", "< -> <="): "one that ended in order says nothing",
    ("self.was_entered = False", "False -> True"): "said with every plan that is done",
    ("done.positions_m[k : k + 2, member, rod, :n]", "2 -> 3"): "the first two of them alone are taken",
    ("abs(asked.speed_m_s - wanted.speed_m_s) < SPEED_STEP_M_S", "< -> <="): "exactly at a limit is either",
    ("t += max(h, 1e-3)", "0.001 -> 0.002"): "room for rounding",
    ("min(self.log_m_s, self.ground_m_s) <= MOVING_M_S", "<= -> <"): "exactly at a limit is either",
    ("bottom.age_s <= STEP_S", "<= -> <"): "exactly at a limit is either",
    ("not 0.0 < t_s - last[0] <= BRIDGED_S", "<= -> <"): "exactly at a limit is either",
    ("player.ended and time.monotonic() < until", "< -> <="): "exactly at a limit is either",
    ("hashlib.blake2s(digest_size=8)", "8 -> 9"): "a longer name tells as much",
    ("if code < 0 and self._tries < MOST_TRIES", "0 -> 1"): "none was answered before",
    ("CHANGE * rng.standard_normal(2)", "2 -> 3"): "the first two of them alone are taken",
    ("HAIR = 1e-9  # times", "1e-09 -> 2e-09"): "room for rounding",
    ("np.zeros((draws.members, 2)),", "2 -> 3"): "set as soon as she moves",
    ("before = [math.inf] * (1 << n), [-1] * (1 << n)", "1 -> 2"): "what no line came to is not looked at",
    ('if file.read(1) != b"', "1 -> 2"): "one byte is left",
    ('padded = values + [""] * 6', "6 -> 7"): "one empty value more",
    ("np.abs(wanted - self.put_in).max() > DRAGGED_STEP", "> -> >="): "exactly at a limit is either",
    ("np.broadcast_to(rows.rod_tip_m[row], (samples, 1, 3))", "1 -> 2"): "the first of them alone is taken",
    ("line_out_for_depth(spread, spread.rods[-1], 10.0, 1.0)", "10.0 -> 20.0"): "asked only to have it compiled",
    ("line_out_for_depth(spread, spread.rods[-1], 10.0, 1.0)", "1.0 -> 2.0"): "the same",
    ("merit = merit + rx * rx + ry * ry + rz * rz", "+ -> -"): "which steps are taken back: it comes to the same",
    ("'deeper' if passed.deeper_m > 0 else 'shallower'", "> -> >="): "what is level is said to be",
    ("self._linked[lines] = self._linked.get(lines, 0) + int(", "+ -> -"): "only whether the sum is none is asked",
    ("if not det > 1e-16 * aa * bb:", "1e-16 -> 2e-16"): "room for rounding",
    ("abs(0.5 * below * before) and below * (low - x) < top", "* -> /"): "a step of a search that comes to the same",
    (
        "if parent is not None and rig.attach is not None else None",
        "and -> or",
    ): "what has a carrier is clipped",
    ("waited_s = 0.0 if self._idle() else", "0.0 -> 1.0"): "a second is not late",
    ("if waited_s < LATE_S:", "< -> <="): "exactly at a limit is either",
    ("return past_s >= FAULT_RESTS_S", ">= -> >"): "exactly at a limit is either",
    ("if abs(takes_s - before) < 0.2:", "0.2 -> 0.4"): "each turn comes nearer to the same",
    ("if abs(takes_s - before) < 0.2:", "< -> <="): "exactly at a limit is either",
    ("going.shape_m[-1] * np.array([-1.0, 1.0, 1.0])", "* -> /"): "by one and minus one both are the same",
    ("if shape.depths.shape[0] > 1:", "> -> >="): "still water has no slope with depth",
    (
        "arc[element[e, 0]] - TOUCH_M <= arc_m <= arc[element[e, 1]] + TOUCH_M",
        "<= -> <",
    ): "exactly at a limit is either",
    ("if not 0.0 <= u <= 1.0:", "<= -> <"): "held at an end where it lies already",
    ("monotone = fall >= 0.0 or rise <= 0.0", "<= -> <"): "a search that comes to the same",
    ("monotone = fall >= 0.0 or rise <= 0.0", ">= -> >"): "a search that comes to the same",
    ("if x + last - low < 2.0 * near or high - x - last", "- -> +"): "a step of a search that comes to the same",
    ("slopes = np.empty((last + 1, 3))", "3 -> 4"): "one row of scratch memory more",
    ("load_three(w, far + X)", "+ -> -"): "the place is a node's first number",
    ("(-u / speed, -v / speed) if speed > 1e-9 else", "> -> >="): "no flow is so slow and not still",
    ("store(w, start + X + j, select(whole", "+ -> -"): "the place is a node's first number",
    ("length = root(dx * dx + dy * dy + dz * dz + 1e-12)", "1e-12 -> 2e-12"): "so that nothing is divided by zero",
    ("back = going & (merit > 4.0 * merit_before)", "4.0 -> 8.0"): "which steps are taken back: it comes to the same",
    ("going = going & (merit < 1e30)", "1e+30 -> 2e+30"): "both are beyond any force",
    ("size_a += a[0, c] ** 2 + a[1, c] ** 2", "0 -> 1"): "what may be rounding is told by a rough size",
    ("ahead_x * ahead_x + ahead_y * ahead_y > _HANGING_M", "> -> >="): "exactly at a limit is either",
    ("if bb > 0.0:", "> -> >="): "of a point any share is held at none",
    ("slow = slow + 1 if abs(off) > 0.3", "> -> >="): "exactly at a limit is either",
    ("if z < -film:", "< -> <="): "exactly at a limit is either",
    ("if shape.depths.shape[0] > 1:", "1 -> 2"): "a slope left out of Newton's method comes to the same",
    ("local_degrees(origin_deg, (0.0, east))[1]", "0.0 -> 1.0"): "a metre to the north is as far",
    ('netcdf_file(str(path), "r", mmap=False)', "False -> True"): "all of it is copied while it is open",
    ("if axis[1] < axis[0]:", "< -> <="): "two equal ones are refused either way",
    ("or np.abs(gaps - step).max() > _UNEVEN * step:", "> -> >="): "exactly at a limit is either",
    ('number, first = 0, ""', "0 -> 1"): "of an empty file no line is numbered",
    ("if len(data) <= MOST_KEPT_BYTES:", "<= -> <"): "exactly at a limit is either",
    ("sums / np.maximum(counts, 1), np.nan)", "1 -> 2"): "no division by zero: a count of one is not looked at",
    ("np.unique(np.round(points[:, 0], 9))", "9 -> 10"): "room for rounding",
    ("- np.round(gaps / step)).max() > 0.02", "> -> >="): "exactly at a limit is either",
    ("if values.size > MOST_CELLS:", "> -> >="): "exactly at a limit is either",
    ("(distance_transform_edt(~there) <= _FILLED_CELLS)", "<= -> <"): "no cell is exactly so far away",
    ('radius = np.where(turn > 0.0, asked.radius("starboard")', "> -> >="): "of no turn any radius is no way",
    ("known = (far <= reach) & (smooth[0] > 0.0)", "0 -> 1"): "where weights are above none, so are depths",
    ("np.where(known, smooth[0], 1.0), np.nan)", "1.0 -> 2.0"): "not looked at where nothing is known",
    ("inside = (row >= 0) & (row < rows) & (column >= 0)", "0 -> 1"): "so far out nothing reaches the window",
    ("turn = np.radians((rows[:, 2] - origin_deg[1] + 180.0)", "+ -> -"): "180 and -180 are one angle",
    ("margin = int(np.ceil(reach / window.step_m)) + 1", "1 -> 2"): "a wider margin gives the same",
    ("return min(max(round(t_s / SAMPLE_S), 0)", "/ -> *"): "samples are a second apart",
    (
        "came_up = Ahead(below.what, None, -below.room_m, None, False, None)",
        "False -> True",
    ): "only what to do is said",
    ("while self._headings[0][0] < t_s - RATE_S:", "< -> <="): "exactly at a limit is either",
    ("sounded: float = 1.0  # share of the path", "1.0 -> 2.0"): "said by whoever looked, and not asked else",
    ("cast.rows.body_node[rod][cast.rows.body_node[rod] >= 0]", "0 -> 1"): "at a rod's tip no tackle hangs",
    ("1.0) if now > LEAST_SPEED_M_S else", "> -> >="): "exactly at a limit is either",
    (
        "_angle(_mean(self.headings[:half]), _mean(self.headings[half:])) <= STEADY_RAD",
        "<= -> <",
    ): "exactly at a limit is either",
    ("cast.rows.body_node[rod][cast.rows.body_node[rod] >= 0]", ">= -> >"): "at a rod's tip no tackle hangs",
    ("return 0.0 if abs(gap) < 1e-6 else math.copysign", "1e-06 -> 2e-06"): "room for rounding",
    ("return 0.0 if abs(gap) < 1e-6 else math.copysign", "< -> <="): "exactly at a limit is either",
    ("out = np.empty((len(self._samples), 1, POINTS, 3))", "1 -> 2"): "one row of scratch memory more",
    ("_CERTAIN: Final = 1e-6", "1e-06 -> 2e-06"): "both are no variance",
    ("if count < len(self.place_m):", "< -> <="): "the first of all are all",
    ("np.maximum((along_m * along_m).sum(axis=1), 1e-12)", "1e-12 -> 2e-12"): "so that nothing is divided by zero",
    ("if in_water and abs(aside) < NEAR_M * min(", "< -> <="): "exactly at a limit is either",
    ("deque(maxlen=100))  # its own entries, not stored yet", "100 -> 101"): "so many never wait",
    (
        "reached = np.clip((from_depth_m - start[:, 2]) / down, 0.0, 1.0)",
        "1.0 -> 2.0",
    ): "beyond its end it is not so deep",
    ("'let out' if longer_m > 0.0 else 'take in'", "> -> >="): "a length of none is not said",
    ("if t < mark - HAIR < t + h - HAIR:", "- -> +"): "the second alone survives: room for rounding",
    ("if t < mark - HAIR < t + h - HAIR:", "< -> <="): "exactly at a limit is either",
    ("if t < start or t < ended + EARLY_S else", "< -> <="): "exactly at a limit is either",
    ("scale = np.where(there, freshest", "0.0 -> 1.0"): "where no sounding is, it is a factor of none",
    ("scale = np.where(there, freshest", "1.0 -> 2.0"): "not looked at where no sounding is",
    ("<= self.south_deg < north <= 90.0 and", "< -> <="): "two rows or more with a step upward: never the same",
    ("cells > min(MOST_CELLS, 20 * len(points))", "> -> >="): "exactly at a limit is either",
    ("near = 1e-9 + 1e-9 * abs(x)", "+ -> -"): "a search that comes to the same",
    ("if ft <= fw or w == x:", "== -> !="): "a step of a search that comes to the same",
    ("MAX_MOVES: Final = 40", "40 -> 41"): "what has not come to an end by then has none",
    ("work = np.empty((rig.lines.shape[0] + 1, 6))", "1 -> 2"): "one row of scratch memory more",
    ("rod_line=RodLine((0.0, 1.0, -1.5)))", "0.0 -> 1.0"): "made only to have kernels compiled",
    ("_BALL = Body(BodyKind.BLUFF, 4.5, 40.0,", "40.0 -> 80.0"): "the same",
    ("entry.since_elapsed_s == round(run[0], 3)", "3 -> 4"): "feed time is in whole milliseconds",
    ("len(self._z)) > GATE_SD", "> -> >="): "exactly at a limit is either",
    ("{'back' if self.by_s < 0 else 'on'}", "< -> <="): "a step by nothing is not said",
    ("while time.monotonic() - begun < seconds and not stopping():", "< -> <="): "exactly at a limit is either",
    ("msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)", "1 -> 2"): "runs on Windows alone",
    ("os.lseek(handle, 1_048_576, os.SEEK_SET)", "1048576 -> 1048577"): "runs on Windows alone",
    ("self._asked = self._taken = 0", "0 -> 1"): "only which of both is higher is asked",
    ("LEAST_STEP_S = 1e-3", "0.001 -> 0.002"): "a step of no length is no sample",
    ("if takes_s > LATEST_S:", "> -> >="): "exactly at a limit is either",
    ("bent = moving & (across > _STRAIGHT * a) & (across > 1e-6)", "> -> >="): "exactly at a limit is either",
    ("slow = mean < wanted[0]", "0 -> 1"): "what lies between the two is left out before",
    ("if abs(depth - spot.depth_m) <= FISH_WITHIN_M", "<= -> <"): "exactly at a limit is either",
    ("body[i, rows.body_node[i][rows.body_node[i] >= 0]] = True", ">= -> >"): "at a rod's tip no tackle hangs",
    ("body_node = np.full((n, max(bodies, 1)), -1", "1 -> 2"): "one column of none more",
    ("beyond = 1 if at < 0.5 else 2", "< -> <="): "at the middle itself nothing lies between",
    ("_LONGEST_MS = 366 * 86_400_000", "86400000 -> 86400001"): "a third of a second in a year",
    ("_UNNAMED = 1000  # priority", "1000 -> 1001"): "only that it comes after those that are named",
    ("self._last_s = round(moment + 0.001, 3)", "3 -> 4"): "feed time is in whole milliseconds",
    ("new = np.empty(6)", "6 -> 7"): "one number of scratch memory more",
    ("if step is None or step[0] > -1e-9:", "1e-09 -> 2e-09"): "room for rounding",
    ("arc_m=arcs, tolerance=1e-7)", "1e-07 -> 2e-07"): "both are far below what is promised of a depth",
    (">> 16) & last", "16 -> 17"): "strewn over the table either way",
    (">> 16) & last", "+ -> -"): "strewn over the table either way",
    (">> 16) & last", "32 -> 33"): "strewn over the table either way",
    (">> 16) & last", "4294967295 -> 4294967296"): "strewn over the table either way",
    ("NORTH, EAST = 73_856_093", "73856093 -> 73856094"): "strewn over the table either way",
    ("NORTH, EAST = 73_856_093", "19349663 -> 19349664"): "strewn over the table either way",
    ("HAIR_M2 = 1e-6", "1e-06 -> 2e-06"): "room for rounding",
    ("at = (at + 1) & last", "+ -> -"): "every slot is tried either way",
    ("best, least = -1, reach_m * reach_m", "1 -> 2"): "any negative number means none",
    ("most = math.ceil(reach_m / CELL_M)", "/ -> *"): "cells farther away are left out one by one",
    ("for p in range(2 * most + 1):", "1 -> 2"): "cells farther away are left out one by one",
    ("for p in range(2 * most + 1):", "2 -> 3"): "cells farther away are left out one by one",
    ("for q in range(2 * most + 1):", "1 -> 2"): "cells farther away are left out one by one",
    ("for q in range(2 * most + 1):", "2 -> 3"): "cells farther away are left out one by one",
    ("i = (p + 1) // 2 if p % 2 == 0 else", "== -> !="): "the other side first",
    ("j = (q + 1) // 2 if q % 2 == 0 else", "== -> !="): "the other side first",
    ("if not 0 < moved <= _SPLICE_S:", "0 -> 1"): "a step so short was taken before",
    ("if not 0 < moved <= _SPLICE_S:", "< -> <="): "a step of none was left out before",
    ("if behind > 0 and t_s - self._began < _SETTLES_S:", "> -> >="): "an offset of the same is the same",
    ("_AHEAD = 16", "16 -> 17"): "a megabyte waits, or a little more",
    ("self._count += 1", "1 -> 2"): "only the order of the counts is asked",
    ('if os.read(fd, 1) != b"\\n":', "1 -> 2"): "there is but one more",
    ("lift = body[B_LIFT] * body[B_SIDE] * flat", "* -> /"): "a board's side is 1 or -1",
    ("_STRAIGHT: Final = 1e-6  # below", "1e-06 -> 2e-06"): "so little bends nothing",
    (".reshape(-1, 3) for a in", "1 -> 2"): "any negative number means the rest",
    ("other = np.full(rows, -1, dtype=np.int64)", "1 -> 2"): "said anew of every row",
    ("_FLAT = 1e-10  # share", "1e-10 -> 2e-10"): "room for rounding",
    ("top = (x - v) * b - (x - w) * a", "* -> /"): "a step of a search that comes to the same",
    ("env = np.zeros(5)", "5 -> 6"): "one number of scratch memory more",
    ("_SPEED_M_S = 1.0", "1.0 -> 2.0"): "made only to have kernels compiled",
    ("if value.type.width > 1 else value", "1 -> 2"): "a flag is one bit wide, or eight",
    ("GOOD: Final = 6 * WIDTH", "6 -> 7"): "read before what else lies there is written, and written after it",
    ("for k in range(shape.segments + 1):", "1 -> 2"): "a node that is not there is kept and put back",
    ("far + X", "+ -> -"): "the place is a node's first number",
    ("low = np.empty((rows, 3))", "3 -> 4"): "one row of scratch memory more",
    ("size_a = size_b = size_w = 0.0", "0.0 -> 1.0"): "what may be rounding is told by a rough size",
    ("if k >= 0 and shift > 0.0 and bare - shift < level * most:", "> -> >="): "a short cut: it is the same",
    ('_KERNEL: dict[str, Any] = {"nogil"', "True -> False"): "only what runs beside it, or is kept",
    ("below = 2.0 * (b - a)", "- -> +"): "a step of a search that comes to the same",
    ("for _halving in range(12 if fresh else 1):", "1 -> 2"): "a search that comes to the same",
    ("if trial_size < (0.5 if not fresh else", "< -> <="): "exactly at a limit is either",
    (".min(axis=1) < margin + between_m(asked)] = -np.inf", "< -> <="): "exactly at a limit is either",
    ("np.array(lines).reshape(-1, LINE_FIELDS)", "1 -> 2"): "any negative number means the rest",
    ("self._verdict.ask(dt, apart=least > 1.0,", "> -> >="): "exactly at a limit is either",
    ("if 0.0 <= cut <= reach:", "<= -> <"): "exactly at a limit is either",
    ("turning = t >= start - HAIR and turned < turn - HAIR", "< -> <="): "room for rounding",
    ("if speed >= LEAST_SPEED_FOR_COURSE_M_S:", ">= -> >"): "exactly at a limit is either",
    ("weak = (_flow_past(done, rod, int(node)) < SLACK_FLOW_M_S)", "< -> <="): "exactly at a limit is either",
    ("recent = past[past[:, 0] >= past[-1, 0] - SMOOTH_S - 1e-6]", ">= -> >"): "room for rounding",
    ('" P" if rod.abeam_m < 0 else " S"', "< -> <="): "exactly amidships is either",
    ("_CHUNK = 65536", "65536 -> 65537"): "no datagram is longer, and of a stream the rest comes next",
    ("slow = slow + 1 if abs(off) > 0.3", "0.3 -> 0.6"): "how soon it halves: the same root",
    ("if not low < z < high or slow >= 3:", "< -> <="): "how soon it halves: the same root",
    ("if env[3] > 0.0 and s[2] > 0.0 >= new[2]:", "> -> >="): "exactly at a limit is either",
    ("if env[3] > 0.0 and s[2] > 0.0 >= new[2]:", ">= -> >"): "exactly at a limit is either",
    ("if env[3] > 0.0 and s[2] > 0.0 >= new[2]:", "3 -> 4"): "without a film it is told anew at the surface itself",
    ("isinstance(sinks, Line) and sinks.wet_weight_N_m <= _HEAVY_N_M", "<= -> <"): "exactly at a limit is either",
    ("bent = moving & (across > _STRAIGHT * a) & (across > 1e-6)", "1e-06 -> 2e-06"): "so little bends nothing",
    ("whole = h >= dt", ">= -> >"): "a whole step ends at the tip either way, but for rounding",
    ("load_three(w, start + X)", "+ -> -"): "the place is a node's first number",
    (
        "if x + last - low < 2.0 * near or high - x - last < 2.0 * near:",
        "* -> /",
    ): "a step of a search: it is the same",
    ("if math.isnan(entry[0]) and s[2] > -1e-6 and end[2] > 0.0:", "> -> >="): "exactly at a limit is either",
    ("elapsed_s=round(t_s, 3),", "3 -> 4"): "feed time is in whole milliseconds",
    ("if 2 * int(np.sum(least < 1.0)) < len(least):", "< -> <="): "of two median members the lower one is exact",
    ("while self._speeds[0][0] < t_s - RANGE_S:", "< -> <="): "exactly at a limit is either",
    ("in_the_way((10.0, 1.0), shapes)", "10.0 -> 20.0"): "made only to have kernels compiled",
    ("TOUCHING * (bottoms < depths + NEAR_M)).mean(axis=0)", "< -> <="): "exactly at a limit is either",
    ("_BATCH = 256", "256 -> 257"): "as many entries in a transaction, or one more",
    ("lasts = np.ceil((runs + SETTLES_S) / SAMPLE_S)", "/ -> *"): "samples are a second apart",
    ("for step in range(1, every * int(lasts.max()) + 1):", "1 -> 2"): "a step more makes no sample more",
    ("if rows.rod_node[row] >= 0 else None", ">= -> >"): "the first node is the tip, which is no ball",
    ("*_layout(rig.chain, rest[-1, row, : nodes - 1])", "1 -> 2"): "every line stands still by then",
    ("out = np.empty((samples, 1, POINTS, 3))", "1 -> 2"): "one row of scratch memory more",
    ("lay_all(rows.rod[row : row + 1], ball, tip,", "1 -> 2"): "the rows past the first are not looked at",
    ("lay_all(rows.rod[row : row + 1], ball, tip,", "- -> +"): "nor are steps past the last",
    ("self._seek_s is None and self._target_s - player.t_s <= near_s", "<= -> <"): "exactly at a limit is either",
    ("if target - player.t_s > near_s:", "> -> >="): "exactly at a limit is either",
    ("while player.t_s < target_s and time.monotonic() < until and not", "< -> <="): "a moment of no length",
    ("if time.monotonic() - self._entered_s < PASS_WAITS_S:", "< -> <="): "exactly at a limit is either",
    ("while not player.ended and time.monotonic() < until:", "< -> <="): "a moment of no length",
    ("report(rows, fleet.start(rows, np.zeros((1, rows.nodes, 3)) +", "+ -> -"): "made only to have kernels compiled",
    ("length = root(dx * dx + dy * dy + dz * dz + 1e-12)", "+ -> -"): "so that nothing is divided by zero",
    ("strain > 0.0, 0.5 * ea * (strain + far_off), 2.0", "> -> >="): "both forms give the same there",
    ("if kind == BOARD and x[row, node, 2] > body[row, b, B_HEIGHT]:", "> -> >="): "exactly at a limit is either",
    ("<= 2.0 * near - 0.5 * (high - low):", "* -> /"): "it goes on for the most steps and stays where it is",
    ("move = np.empty(3)", "3 -> 4"): "one number of scratch memory more",
    ("0.7 / (abs(move_q) + 1e-30), 0.3", "1e-30 -> 2e-30"): "so that nothing is divided by zero",
    ("(tip[0] * curvature) ** 2, 1e-6))", "1e-06 -> 2e-06"): "a first guess, from which the search comes to the same",
    ("(2.0 * h <= (dt - done) * (1.0 + 1e-9))", "<= -> <"): "room for rounding",
    ("(2.0 * h <= (dt - done) * (1.0 + 1e-9))", "1e-09 -> 2e-09"): "room for rounding",
    ("(2.0 * h <= (dt - done) * (1.0 + 1e-9))", "- -> +"): "what is aligned and not at its end has room for two",
    ("(2.0 * h <= (dt - done) * (1.0 + 1e-9))", "1.0 -> 2.0"): "what is aligned and not at its end has room for two",
    ("= 1.0 if good and lane < count else 0.0", "1.0 -> 2.0"): "only whether it is above none is asked",
    ("= 1.0 if good and lane < count else 0.0", "< -> <="): "a lane left over goes as the first, and is not told of",
    ("out[3, e] = 0.0 if min(", "0.0 -> 1.0"): "the first alone survives: as much more for all, so the nearest stays",
    ("a.x[k, i1, 2]) >= 0.0 else _DRY", ">= -> >"): "exactly at a limit is either",
    ("at, tau = (k - 1, 1.0) if k > 0 else (0, 0.0)", "> -> >="): "the sample before it has a share of none",
    ("steps += [1.0, 1.0, 1.0]", "1.0 -> 2.0"): "the first two alone survive: the last is what a caller goes on from",
    ("backed = lanes(0.0)", "0.0 -> 1.0"): "said anew before the first step is taken back",
    ("if gap2 >= max(best[a], best[b]):", ">= -> >"): "a short cut: it is the same",
}


def test_every_operator_and_constant_is_changed_once_and_nothing_idle() -> None:
    source = '''
"""Words of 3 letters."""
LIMIT: Literal[7] = 2.0

def f(x: Annotated[int, 5]) -> bool:
    """Of 9."""
    while x < LIMIT and not x % 4:
        x += 1
        if x is None:
            break
    return "a" + str(x) != "b"
'''
    places = places_of(source)
    assert sorted(one.what for one in places) == sorted([
        "2.0 -> 4.0", "and -> or", "!= -> ==", "< -> <=", "not dropped", "+ -> - in place", "is -> is not",
        "break -> pass", "% -> //", "1 -> 2", "4 -> 5",
    ])  # fmt: skip
    made = [mutant(source, place) for place in places]
    assert len(set(made)) == len(made)
    for one in made:
        compile(one, "mutant", "exec")


def test_the_unharmed_source_is_left_as_it_is() -> None:
    source = "x = 1 + 2\n"
    assert [mutant(source, place) for place in places_of(source)] == ["x = 1 - 2", "x = 2 + 2", "x = 1 + 3"]


def test_a_change_is_asked_of_the_tests_that_run_its_statement() -> None:
    source = """
LIMIT = 2

def f(x, most=3):
    if (x <
            4):
        return x + 5
    return (x,
            6)
"""
    homes = {one.what: (one.first, one.last, one.loaded) for one in places_of(source)}
    assert homes == {
        "2 -> 3": (2, 2, True), "3 -> 4": (4, 4, True), "< -> <=": (5, 6, False), "4 -> 5": (5, 6, False),
        "+ -> -": (7, 7, False), "5 -> 6": (7, 7, False), "6 -> 7": (8, 9, False),
    }  # fmt: skip


@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="told by Linux alone")
@pytest.mark.parametrize(
    ("does", "killed"), [("while time.process_time() < 0.6: pass", False), ("time.sleep(9)", True)]
)
def test_a_mutant_whose_tests_run_in_a_process_of_its_own_is_not_stuck_while_that_works(
    monkeypatch: pytest.MonkeyPatch, does: str, killed: bool
) -> None:
    monkeypatch.setattr(running, "STUCK_S", 1.0)

    def tested() -> None:
        subprocess.run([sys.executable, "-c", f"import time\n{does}"], check=True)

    assert running._killer(tested, 30.0) == ("" if killed else None)


def asked_of_a_room(
    top: Path, source: str, tests: str, *options: str
) -> tuple[dict[str, Any], list[dict[str, Any]], dict[str, Any]]:
    """What the runner says of a room of one module: of the unharmed, of each mutant, and at its end."""
    pytest.importorskip("coverage", reason="tells which test runs which line; pip install '.[test]'")
    room = top / "src" / "sternwatch" / "room"
    room.mkdir(parents=True)
    for folder in (room, room.parent):
        (folder / "__init__.py").touch()
    (room / "one.py").write_text(source)
    (top / "test_one.py").write_text(tests)
    said = subprocess.run(
        [sys.executable, str(RUNNING), "room", "test_one.py", *options], cwd=top, capture_output=True, text=True,
        check=False, env={**os.environ, "PYTHONPATH": "src"},
    )  # fmt: skip
    unharmed, *told, control = [json.loads(line) for line in said.stdout.splitlines()]
    return unharmed, told, control


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork: Linux or macOS")
def test_what_a_test_noticed_that_fails_without_a_mutant_counts_for_nothing(tmp_path: Path) -> None:
    unharmed, told, control = asked_of_a_room(
        tmp_path,
        "def more(x):\n    return x + 1\n\ndef less(x):\n    return x - 2\n",
        "from pathlib import Path\nfrom sternwatch.room.one import less, more\n\n"
        "def test_more():\n    assert more(1) == 2\n\n"
        "def test_once():\n    less(1)\n    Path('was').touch(exist_ok=False)\n",
    )
    assert (unharmed["tests"], [one["killed"] for one in told]) == (2, [True] * 4)
    assert control == {"fail unharmed": ["test_one.py::test_once"], "noticed by them": 2}


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork: Linux or macOS")
def test_a_case_that_takes_too_long_is_left_out_and_the_quick_ones_before_it_notice_nothing_by_that(
    tmp_path: Path,
) -> None:
    unharmed, told, control = asked_of_a_room(
        tmp_path,
        "def more(x):\n    return x + 1\n",
        "import time, pytest\nfrom sternwatch.room.one import more\n\n"
        "@pytest.mark.parametrize('long', [False, True, True])\ndef test_more(long):\n    more(1)\n"
        "    while long:\n        time.process_time()\n",
        "--each",
        "0.5",
    )
    assert unharmed["left out"] == ["test_one.py::test_more[True0]", "test_one.py::test_more[True1]"]
    assert [(one["tests"], one["killed"]) for one in told] == [(1, False)] * 2
    assert control["fail unharmed"] == []


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork: Linux or macOS")
def test_what_a_shared_fixture_runs_is_asked_of_every_test_that_shares_it(tmp_path: Path) -> None:
    """And what it runs by another one. It is made but once, for the first of them, which looks at nothing."""
    unharmed, told, control = asked_of_a_room(
        tmp_path,
        "def more(x):\n    return x + 1\n\ndef less(x):\n    return x - 2\n",
        "import pytest\nfrom sternwatch.room.one import less, more\n\n"
        "@pytest.fixture(scope='module')\ndef made():\n    return more(1)\n\n"
        "@pytest.fixture(scope='module')\ndef both(made):\n    return made, less(5)\n\n"
        "def test_nothing(both):\n    pass\n\n"
        "def test_more(made):\n    assert made == 2\n\n"
        "def test_less(both):\n    assert both[1] == 3\n\n"
        "def test_neither():\n    pass\n",
    )
    assert (unharmed["tests"], control["fail unharmed"]) == (4, [])
    assert {(one["line"], one["tests"], one["killed"]) for one in told} == {(2, 3, True), (5, 2, True)}


def test_every_equivalent_change_is_of_a_line_that_still_stands() -> None:
    sources = [path for room in ROOMS for path in (TOP / "src" / "sternwatch" / room).rglob("*.py")]
    text = "\n".join(path.read_text(encoding="utf-8") for path in sources)
    assert [code for code, _ in EQUIVALENT if code not in text] == []


def test_what_is_compiled_where_the_rest_is_python_is_asked_with_the_compiler() -> None:
    """Compiled, no line of it is seen to run; so without these tests all its mutants would survive unasked."""
    sources = [
        path for room in ROOMS if room != "hydro" for path in (TOP / "src" / "sternwatch" / room).rglob("*.py")
    ]
    compiled = {
        ".".join(path.relative_to(TOP / "src").with_suffix("").parts)
        for path in sources
        if "@njit(" in path.read_text(encoding="utf-8")
    }
    assert compiled == {module for module in running.COMPILING if not module.startswith("sternwatch.hydro.")}
    assert all((TOP / test).is_file() for tests in running.COMPILING.values() for test in tests)


@pytest.mark.campaign
@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork: Linux or macOS")
@pytest.mark.parametrize("room", ROOMS)
def test_the_rooms_tests_notice(room: str, tmp_path: Path) -> None:
    pytest.importorskip("coverage", reason="tells which test runs which line; pip install '.[test]'")
    command = [sys.executable, str(RUNNING), room, f"tests/{room}", "--sample", str(SAMPLE), "--seed", SEED,
               "--data", str(tmp_path / "coverage")]  # fmt: skip
    plain = None
    if room == "hydro":
        # A compiled kernel would not see its mutant; as Python, a chain moved for minutes takes minutes.
        plain = {**os.environ, "NUMBA_DISABLE_JIT": "1"}
        command += ["--each", "5"]
    said = subprocess.run(command, cwd=TOP, capture_output=True, text=True, check=False, env=plain)
    unharmed, *told, control = [json.loads(line) for line in said.stdout.splitlines()]
    left = [one for one in told if not one["killed"]]
    survivors = [
        one for one in left if not any(code in one["code"] and what == one["what"] for code, what in EQUIVALENT)
    ]
    counted, alike = len(told) - len(left) + len(survivors), len(left) - len(survivors)
    print(f"\n{room}: {counted - len(survivors)} of {counted} noticed, {alike} equivalent; {unharmed}")
    for one in survivors:
        print(f"  {one['module']} line {one['line']}: {one['what']}  in  {one['code']}")
    assert len(told) == unharmed["asked"]
    assert control["fail unharmed"] == []
    assert len(survivors) <= (1.0 - LEAST) * counted
