"""A crew to write tests with: moments and acts by seconds."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from sternwatch.logbook.actions.kinds import Action, parse
from sternwatch.logbook.crew.state import RodDefaults

BEGIN = datetime(2026, 7, 18, 23, 0, tzinfo=UTC)

RODS = (
    RodDefaults("1", "P BOARD", 30.0, None, None, ()),
    RodDefaults("3", "P LOW", 50.0, "low", None, ("straight", "low", "high")),
    RodDefaults("5", "S DOWN", 20.0, None, 9.0, ()),
)


@pytest.fixture
def begin() -> datetime:
    return BEGIN


@pytest.fixture
def rods() -> tuple[RodDefaults, ...]:
    return RODS


@pytest.fixture
def act() -> Callable[..., Action]:
    """``act(id, seconds, kind, rod, **fields)``: an action so many seconds after the beginning."""

    def make(action_id: str, t_s: float, kind: str, rod: str | None = None, **fields: Any) -> Action:
        time = BEGIN + timedelta(seconds=t_s)
        given: dict[str, Any] = {"id": action_id, "time": time, "elapsed_s": t_s, "kind": kind, **fields}
        return parse(given if rod is None else given | {"rod": rod})

    return make
