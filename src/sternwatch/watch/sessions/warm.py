"""``python -m sternwatch.watch.sessions.warm``: run every compiled kernel once, so that the cache holds it.

Where there are several cores, other processes compile the kernels of motion and separation beside it; with the names
of such parts as arguments this is one of them. At the end the watch runs a few minutes of the shipped demo (rods
going out, a change of length, a turn, an outlook, a check), which compiles what is left.
"""

from __future__ import annotations

import gc
import os
import subprocess
import sys
import time
from typing import TYPE_CHECKING, Final

from sternwatch import places

if TYPE_CHECKING:
    from sternwatch.watch.sessions.compiling import Progress

# By these times of the evening the first rods are on their way out; rods are out, and the boat has turned.
TOWS_S: Final = 5.0
ENOUGH_S: Final = 240.0
PARTS: Final = ("motion", "separation")  # for other processes, in the order of need
LATER: Final = ("separation",)  # no depth needs these
YIELDS: Final = 10  # how far what nobody waits for steps back behind the session that it is compiled for
# The compiler's objects nearly all live on. To look through them as often as Python does by itself takes a sixth
# of the whole time; so, it takes 20 MB more.
RUBBISH: Final = (50_000, 1_000, 1_000)
LOOK_EVERY_S: Final = 0.05


def main(parts: list[str]) -> int:
    """Return 0. Errors go to standard error, where the caller reads them."""
    from sternwatch.watch.sessions.compiling import Progress

    gc.set_threshold(*RUBBISH)
    progress = Progress()
    if not parts:
        progress.begin()
    beside = [] if parts else _beside(cores())
    progress.listen()
    from sternwatch.hydro import warm

    for part in parts:
        if part in LATER:
            _yield()
        getattr(warm, part)()
        progress.done(part)
    if not parts:
        warm.steady()
        warm.told()
        _play(progress, beside)
        progress.end()
    return 0


def _yield() -> None:
    """Let the session, which lays out its lines now, go first."""
    if hasattr(os, "nice"):
        os.nice(YIELDS)


def cores() -> int:
    """How many processes may run at once."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def shares(cores: int) -> list[tuple[str, ...]]:
    """The parts of each process beside the first one."""
    if cores < 2:
        return []
    return [PARTS] if cores == 2 else [(part,) for part in PARTS]


def _beside(cores: int) -> list[subprocess.Popen[bytes]]:
    """The other processes. What one that fails has not compiled, this one compiles."""
    return [
        subprocess.Popen(
            [sys.executable, "-m", "sternwatch.watch.sessions.warm", *parts],
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )
        for parts in shares(cores)
    ]  # fmt: skip


def _wait(part: str, progress: Progress, beside: list[subprocess.Popen[bytes]]) -> None:
    while part not in progress.heard() and any(process.poll() is None for process in beside):
        time.sleep(LOOK_EVERY_S)


def _play(progress: Progress, beside: list[subprocess.Popen[bytes]]) -> None:
    from sternwatch.answers.checks.check import check_spread
    from sternwatch.answers.depths.inverse import line_out_for_depth
    from sternwatch.feed.recording.reader import open_recording
    from sternwatch.gear.spread_file.load import load_spread
    from sternwatch.logbook.actions.kinds import load_actions
    from sternwatch.watch.chains.clearing_order import in_the_way
    from sternwatch.watch.core.player import Player
    from sternwatch.watch.core.setup import Setup
    from sternwatch.watch.forecast.snapshot import snapshot
    from sternwatch.watch.outlook.renewal import OutlookMaker
    from sternwatch.watch.sessions.prepare import mark

    folder = places.shipped("demo_logs")
    actions = load_actions(folder / "evening.actions.jsonl")
    with open_recording(folder / "evening.nmea") as recording:
        spread = load_spread(folder / "evening.toml")
        _wait("motion", progress, beside)
        player = Player(recording, Setup(spread), actions)
        player.to(TOWS_S)
        player.watch.picture()
        mark("tows")
        _yield()
        player.to(ENOUGH_S)
        now = snapshot(player.watch)
        shapes = {rod.key: rod.shape_m for rod in player.watch.picture().rods if rod.shape_m is not None}
        in_the_way((10.0, 1.0), shapes)  # for a fish on, which may be later than that
        check_spread(spread, 1.0)
        line_out_for_depth(spread, spread.rods[-1], 10.0, 1.0)
        _wait("separation", progress, beside)
        if now is not None:
            OutlookMaker().renew(now)
    mark("ready")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
