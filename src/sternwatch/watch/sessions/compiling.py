"""The compiler's progress: written beside the kernels during compilation, read by those who wait."""

from __future__ import annotations

import contextlib
import math
import time
from pathlib import Path
from typing import Any

from sternwatch import places
from sternwatch.files import remove

# The share of each kernel in the whole time of compilation, with what only it calls. Measured once with an empty
# cache. Only the shares count, so a slow machine has the same. A kernel that no longer exists is never done.
SHARES: dict[str, float] = {
    "newton": 0.121, "run_rows": 0.057, "meeting": 0.046, "scenario": 0.043, "integrate": 0.043,
    "_advance": 0.036, "curved": 0.033, "fill": 0.033, "pair_pass": 0.031, "_loads": 0.027, "end_place": 0.025,
    "_nearest": 0.023, "_report": 0.022, "end_depth": 0.021, "gather": 0.021, "settle": 0.018, "_cubic": 0.017,
    "travel": 0.014, "_tip": 0.014, "dormand_prince": 0.014, "shoot": 0.014, "relay": 0.014,
    "closest_at": 0.013, "prepare": 0.013, "_differences": 0.013, "closest_in_step": 0.013, "_miss": 0.012,
    "moved": 0.011, "_passes": 0.011, "body_jacobian": 0.01, "free_direction": 0.01, "flow_at": 0.01,
    "scatter": 0.01, "_told": 0.009, "lay": 0.008, "body_force": 0.008, "_dip": 0.008, "slopes": 0.007,
    "lay_all": 0.007, "line_force": 0.006, "between": 0.006, "link_force": 0.006, "_where": 0.005,
    "trailing": 0.005, "closest_segments": 0.005, "plate_cn_and_slope": 0.005, "_alike": 0.005,
    "_volume": 0.005, "_solve": 0.005, "_shift": 0.004, "closest_wet": 0.004, "_turns": 0.004,
    "rod_curve": 0.004, "_learn": 0.004, "_box": 0.004, "_wanted": 0.004, "_undo": 0.004, "_in_water": 0.004,
}  # fmt: skip
CELLS = 20


def progress_file() -> Path:
    """The file of the progress."""
    return places.kernels_dir() / "preparing"


class Progress:
    """Writes what is compiled, and when by the clock; several processes write into one file."""

    def __init__(self) -> None:
        self.path = progress_file()
        self._told: set[str] = set()

    def begin(self) -> None:
        """Note that nothing is compiled yet."""
        self.path.parent.mkdir(parents=True, exist_ok=True)
        self.path.write_text(f"begun {time.time()}\n", encoding="ascii")

    def done(self, what: str) -> None:
        """Note that a kernel or a part is compiled. Later compilations of it for other types are ignored."""
        if what not in self._told:
            self._told.add(what)
            with contextlib.suppress(OSError), self.path.open("a", encoding="ascii") as file:
                file.write(f"{what} {time.time()}\n")

    def heard(self) -> dict[str, float]:
        """What is compiled, and when; nothing where it cannot be read."""
        return _read(self.path)

    def listen(self) -> None:
        """Follow every kernel from now on; imports the compiler."""
        places.set_numba_cache()
        from numba.core import event

        done = self.done

        class Heard(event.Listener):
            def on_start(self, event: Any) -> None:
                """Note that compilation starts."""

            def on_end(self, event: Any) -> None:
                if (kernel := event.data["dispatcher"].py_func.__name__) in SHARES:
                    done(kernel)

        event.register("numba:compile", Heard())  # type: ignore[no-untyped-call]

    def end(self) -> None:
        """Note that compilation has ended."""
        remove(self.path)


def _read(path: Path) -> dict[str, float]:
    found: dict[str, float] = {}
    with contextlib.suppress(OSError, ValueError):
        for line in path.read_text(encoding="ascii").splitlines():
            what, at_s = line.split()
            found.setdefault(what, float(at_s))
    return found


def progress_words(now_s: float | None = None) -> str:
    """A bar, its meaning and the time left, at clock time ``now_s`` [s]. Empty where unknown."""
    found = _read(progress_file())
    begun_s = found.get("begun", math.nan)
    share = min(math.fsum(SHARES.get(what, 0.0) for what in found), 1.0)
    at_s = max(found.values(), default=math.nan)
    took_s = at_s - begun_s
    if not (share > 0.0 and 0.0 < took_s < math.inf):
        return ""
    since_s = max((time.time() if now_s is None else now_s) - at_s, 0.0)
    left_s = max(took_s * (1.0 - share) / share - since_s, 0.0)
    cells = round(share * CELLS)
    return f"[{'#' * cells}{'.' * (CELLS - cells)}] {100 * share:.0f} %, {_left(left_s)}"


def _left(seconds: float) -> str:
    if seconds < 15.0:
        return "a few seconds left"
    if seconds < 90.0:
        return f"about {round(seconds / 10.0) * 10} s left"
    return f"about {round(seconds / 60.0)} min left"
