"""The reference tow in moordyn 2.7.2 (lumped-mass mooring code, BSD licence), its input written from here.

Steel wire 60 m x 0.5 mm (7930 kg/m3, 193 GPa), Cn 1.2, Ct 0.02 on the wetted area, added mass 1, water 1000
kg/m3, tip at the surface; at its end a lead ball of 4.5 kg (11340 kg/m3), Cd 0.47, added mass 1/2, or nothing.
moordyn's z is up. It is explicit and the wire stiff: on thin wire CFL 0.25 is silently wrong and 0.5 not a number,
so CFL 0.1 with RK4.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
# Time to (position, velocity) of the tip, each (3,) [north, east, down].
Course = Callable[[float], tuple[Floats, Floats]]

INPUT = """--------------------- MoorDyn Input File ---------------------
reference tow
---------------------- LINE TYPES ----------------------------
TypeName Diam Mass/m EA BA/-zeta EI Cd Ca CdAx CaAx
(name) (m) (kg/m) (N) (N-s/-) (N-m^2) (-) (-) (-) (-)
wire 5.0e-4 {mass:.10e} {stiffness:.10e} -0.8 0 1.2 1.0 0.02 0.0
---------------------- POINTS --------------------------------
ID Attachment X Y Z Mass Volume CdA Ca
(#) (-) (m) (m) (m) (kg) (m^3) (m^2) (-)
1 Free 0 0 -60.0 {end}
2 Coupled 0 0 0 0 0 0 0
---------------------- LINES ---------------------------------
ID LineType AttachA AttachB UnstrLen NumSegs LineOutputs
(#) (name) (#) (#) (m) (-) (-)
1 wire 1 2 60.0 {segments} -
---------------------- OPTIONS -------------------------------
0 writeLog
0.1 CFL
RK4 tScheme
1000.0 WtrDnsty
9.80665 g
500 WtrDpth
0.5 dtIC
20 TmaxIC
1e-4 threshIC
0 ICgenDynamic
1 disableOutput
1 disableOutTime
---------------------- need this line ------------------------
"""
AREA = 0.25 * np.pi * 0.5e-3**2
COUPLING_S = 0.1


class Tow:
    """A tow that can be settled once and then led through one manoeuvre after another."""

    def __init__(self, folder: Path, *, segments: int, ball: bool) -> None:
        import moordyn  # a test dependency; slow to load

        self._md = moordyn
        self.segments = segments
        volume = 4.5 / 11340.0
        drag_area = 0.47 * np.pi * (0.75 * volume / np.pi) ** (2.0 / 3.0)
        end = f"4.5 {volume:.10e} {drag_area:.10e} 0.5" if ball else "0 0 0 0"
        path = folder / f"tow_{segments}.txt"
        path.write_text(INPUT.format(mass=7930.0 * AREA, stiffness=193e9 * AREA, end=end, segments=segments))
        self._system = moordyn.Create(str(path))
        moordyn.SetVerbosity(self._system, moordyn.LEVEL_ERR)
        moordyn.Init(self._system, [0.0, 0.0, 0.0], [0.0, 0.0, 0.0])
        self._line = moordyn.GetLine(self._system, 1)
        self._time = 0.0
        self.seconds_spent = 0.0

    def run(self, course: Course, seconds: float, sample_s: float = 1.0) -> Floats:
        """Along ``course``; nodes from the tip outward at 0, sample_s, ...: (samples, nodes, 3), z down."""
        each = round(sample_s / COUPLING_S)
        steps = round(seconds / COUPLING_S)
        out = [self.nodes()]
        begun = time.thread_time()
        for k in range(steps):
            position, velocity = course(k * COUPLING_S)
            self._md.Step(self._system, _up(position), _up(velocity), self._time, COUPLING_S)
            self._time += COUPLING_S
            if (k + 1) % each == 0:
                out.append(self.nodes())
        self.seconds_spent += time.thread_time() - begun
        return np.array(out)

    def nodes(self) -> Floats:
        count = self.segments + 1
        nodes = np.array([self._md.GetLineNodePos(self._line, i) for i in range(count)])
        return nodes[::-1] * [1.0, 1.0, -1.0]

    def settle(self, speed_m_s: float, seconds: float = 400.0) -> None:
        """Speed rises over 10 s, then straight on; afterwards the tip is taken to be at the origin again."""

        def course(t: float) -> tuple[Floats, Floats]:
            s = speed_m_s * (0.05 * t * t if t < 10.0 else t - 5.0)
            return np.array([s, 0.0, 0.0]), np.array([speed_m_s * min(1.0, 0.1 * t), 0.0, 0.0])

        self.run(course, seconds, seconds)
        self.origin_m = course(seconds)[0]

    def keep(self) -> Any:
        return self._time, self._md.Serialize(self._system)

    def restore(self, kept: Any) -> None:
        self._time, data = kept
        self._md.Deserialize(self._system, data)

    def close(self) -> None:
        self._md.Close(self._system)


def _up(vector: Floats) -> list[float]:
    return [float(vector[0]), float(vector[1]), -float(vector[2])]


def speeds(*knots: tuple[float, float]) -> Course:
    """Straight north, the speed linear between (time, speed) and constant after the last."""
    times, values = np.array([k[0] for k in knots]), np.array([k[1] for k in knots])
    run = np.concatenate([[0.0], np.cumsum(0.5 * (values[1:] + values[:-1]) * np.diff(times))])

    def course(t: float) -> tuple[Floats, Floats]:
        i = max(int(np.searchsorted(times, t, side="right")) - 1, 0)
        d = t - times[i]
        rate = (values[i + 1] - values[i]) / (times[i + 1] - times[i]) if i + 1 < len(times) else 0.0
        return (
            np.array([run[i] + values[i] * d + 0.5 * rate * d * d, 0.0, 0.0]),
            np.array([values[i] + rate * d, 0.0, 0.0]),
        )

    return course


def turn(radius_m: float, speed_m_s: float, degrees: float = 180.0, begin_s: float = 5.0) -> Course:
    """Straight north, then to starboard on a circle, then straight on."""
    whole = np.radians(degrees)

    def course(t: float) -> tuple[Floats, Floats]:
        angle = min(max((t - begin_s) * speed_m_s / radius_m, 0.0), whole)
        before = speed_m_s * min(t, begin_s)
        beyond = max(speed_m_s * (t - begin_s) - whole * radius_m, 0.0)
        ahead = np.array([np.cos(angle), np.sin(angle), 0.0])
        place = np.array([before + radius_m * np.sin(angle), radius_m * (1.0 - np.cos(angle)), 0.0])
        return place + beyond * ahead, speed_m_s * ahead

    return course


def tips(course: Course, dt_s: float, steps: int) -> Floats:
    """(steps, 1, 3) tip positions at the ends of steps."""
    return np.array([course((k + 1) * dt_s)[0] for k in range(steps)])[:, None]
