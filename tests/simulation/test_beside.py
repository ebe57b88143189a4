"""What is made beside pictures is compared to the last bit; see ``beside``."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

pytest.importorskip("greenlet", reason="greenlet is a test dependency; pip install '.[test]'")

from simulation.beside import Beside, equal
from simulation.day import Day
from simulation.stretches import BesideError, Stretch
from sternwatch.watch.again.plan import Cannot
from watch.conftest import TWO_RODS


@dataclass(frozen=True)
class Held:
    ways: tuple[float, ...]
    rows: Any
    by_side: dict[str, float]


def test_things_are_equal_to_the_last_bit_or_not_at_all() -> None:
    one = Held((1.0, np.nan), np.array([1.0, np.nan]), {"port": 2.0})
    assert equal(one, Held((1.0, float("nan")), one.rows.copy(), {"port": 2.0}))
    for other in (
        replace(one, ways=(np.nextafter(1.0, 2.0), np.nan)), replace(one, ways=(1.0,)),
        replace(one, ways=[1.0, np.nan]), replace(one, rows=np.array([1.0, 2.0])),
        replace(one, rows=np.array([[1.0, np.nan]])),
        replace(one, rows=np.array([1.0, np.nan], dtype=np.float32)), replace(one, rows=None),
        replace(one, by_side={"port": 3.0}), replace(one, by_side={"starboard": 2.0}), None,
    ):  # fmt: skip
        assert not equal(one, other)


def sounded_elsewhere(one: Beside) -> Beside:
    assert one.rows is not None
    rows = one.rows.copy()
    rows[0, 2] = np.nextafter(rows[0, 2], 100.0)
    return replace(one, rows=rows)


def no_way(one: Beside) -> Beside:
    assert one.proposals()
    return replace(one, ways=tuple(Cannot("No way") for _ in one.ways))


@pytest.mark.parametrize("other", [None, sounded_elsewhere, no_way])
def test_a_day_notices_another_way_back_or_another_bottom(
    other: Callable[[Beside], Beside] | None, tmp_path: Path
) -> None:
    spread = tmp_path / "two.toml"
    spread.write_text(TWO_RODS, encoding="utf-8")
    day = Day(3, tmp_path / "day", spread, 45.0, faults=[])
    replay = day._replay

    def replayed(stretch: Stretch) -> None:
        if other is not None:
            at_s = max(t for t, one in stretch.beside.items() if one.proposals())
            stretch.beside[at_s] = other(stretch.beside[at_s])
        replay(stretch)

    day._replay = replayed  # type: ignore[method-assign]
    if other is None:
        day.run()
        assert day.happened["ways back planned again"] > 0
        assert day.happened["charts drawn again"] > 0
    else:
        with pytest.raises(BesideError, match="another way back"):
            day.run()
