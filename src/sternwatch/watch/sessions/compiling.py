"""The compiler's progress: written beside the kernels during compilation, read by those who wait."""

from __future__ import annotations

import os
import time
from pathlib import Path
from typing import Any

from sternwatch import places

# Kernels in the order of compilation, with the share of the whole time gone by then. Measured once with an empty
# cache. Only the shares count, so a slow machine has the same. A kernel that no longer exists is skipped.
MILESTONES: dict[str, float] = {
    "flow_at": 0.03, "rod_curve": 0.05, "load": 0.07, "dormand_prince": 0.09, "integrate": 0.15, "end_depth": 0.18,
    "end_place": 0.33, "settle": 0.37, "_loads": 0.40, "_report": 0.46, "body_jacobian": 0.54, "newton": 0.63,
    "run_rows": 0.71, "lay": 0.80, "relative_shift": 0.85, "pair_pass": 0.88, "meeting": 0.96, "scenario": 0.98,
}  # fmt: skip
CELLS = 20


def progress_file() -> Path:
    """The file of the progress."""
    return places.kernels_dir() / "preparing"


class Progress:
    """Writes at every milestone the share done [0 to 1], the seconds it took, and the clock's time."""

    def __init__(self) -> None:
        self.path = progress_file()
        self.begun_s = time.time()
        self.share = 0.0

    def done(self, kernel: str) -> None:
        """Note that ``kernel`` is compiled. Later compilations of it for other types are ignored."""
        share = MILESTONES.get(kernel, 0.0)
        if share <= self.share:
            return
        self.share = share
        now = time.time()
        beside = self.path.with_suffix(f".{os.getpid()}")
        self.path.parent.mkdir(parents=True, exist_ok=True)
        beside.write_text(f"{share} {now - self.begun_s} {now}", encoding="ascii")
        beside.replace(self.path)

    def listen(self) -> None:
        """Follow every kernel from now on; imports the compiler."""
        from numba.core import event

        told = self.done

        class Heard(event.Listener):
            def on_start(self, event: Any) -> None:
                """Note that compilation starts."""

            def on_end(self, event: Any) -> None:
                told(event.data["dispatcher"].py_func.__name__)

        event.register("numba:compile", Heard())  # type: ignore[no-untyped-call]

    def end(self) -> None:
        """Note that compilation has ended."""
        self.path.unlink(missing_ok=True)


def progress_words(now_s: float | None = None) -> str:
    """A bar, its meaning and the time left, at clock time ``now_s`` [s]. Empty where unknown."""
    try:
        share, took_s, at_s = (float(part) for part in progress_file().read_text(encoding="ascii").split())
    except (OSError, ValueError):
        return ""
    if not 0.0 < share <= 1.0:
        return ""
    since_s = max((time.time() if now_s is None else now_s) - at_s, 0.0)
    left_s = max(took_s * (1.0 - share) / share - since_s, 0.0)
    cells = round(share * CELLS)
    return f"[{'#' * cells}{'.' * (CELLS - cells)}] {share:.0%}, {_left(left_s)}"


def _left(seconds: float) -> str:
    if seconds < 15.0:
        return "a few seconds left"
    if seconds < 90.0:
        return f"about {round(seconds / 10.0) * 10} s left"
    return f"about {round(seconds / 60.0)} min left"
