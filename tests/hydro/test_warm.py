"""What is compiled beforehand: every large kernel runs, through the functions that everybody uses."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from sternwatch.hydro import warm
from sternwatch.hydro.motion import fleet, report
from sternwatch.hydro.separation import distance
from sternwatch.hydro.steady import solver


@pytest.mark.parametrize(
    ("part", "kernels"),
    [
        (warm.steady, [(solver, "settle"), (solver, "integrate"), (solver, "fill"), (solver, "faults")]),
        (warm.motion, [(fleet, "run_rows"), (fleet.motion_length, "prepare")]),
        (warm.told, [(report, "_report"), (warm, "lay_all")]),
        (warm.separation, [(distance, "_nearest"), (distance, "scenario")]),
    ],
)
def test_every_large_kernel_runs(
    part: Callable[[], None], kernels: list[tuple[Any, str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    ran: set[str] = set()
    for module, name in kernels:
        real = getattr(module, name)

        def recording(*given: Any, name: str = name, real: Any = real) -> Any:
            ran.add(name)
            return real(*given)

        monkeypatch.setattr(module, name, recording)
    part()
    assert ran == {name for _, name in kernels}


def test_line_goes_out_while_a_chain_with_a_rods_line_moves(monkeypatch: pytest.MonkeyPatch) -> None:
    """So that the kernel for new nodes is compiled too."""
    rates: list[float] = []
    real = fleet.step

    def step(rows: Any, *given: Any, length_rate_m_s: Any) -> Any:
        assert rows.has_rod_lines
        rates.extend(length_rate_m_s.tolist())
        return real(rows, *given, length_rate_m_s=length_rate_m_s)

    monkeypatch.setattr(fleet, "step", step)
    warm.motion()
    assert rates == [0.5]


def test_two_lines_that_come_near_are_compared(monkeypatch: pytest.MonkeyPatch) -> None:
    found: list[Any] = []
    for name in ("nearest", "closest"):
        real = getattr(warm, name)
        monkeypatch.setattr(warm, name, lambda *given, real=real: found.append(real(*given)))
    warm.separation()
    nearest, closest = found
    assert nearest.distance_m == pytest.approx([1.0, 1.0])
    assert nearest.other.tolist() == [1, 0]
    assert closest.distance_m[0, 0] == pytest.approx(1.0)
