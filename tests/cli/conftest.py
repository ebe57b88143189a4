"""What the tests of commands share."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest


@pytest.fixture(scope="session", autouse=True)
def each_law_once() -> Iterator[None]:
    """Many commands ask for the same depths: a process computes each once, but those learned from observations."""
    from sternwatch.answers.belief import answer, predictive
    from sternwatch.answers.checks import check
    from sternwatch.gear.spread_file.models import Rod, Spread

    known: dict[tuple[object, ...], Any] = {}

    def once(spread: Spread, rod: Rod, speed_m_s: float, **more: Any) -> Any:
        if more.get("learned") is not None:
            return predictive.depth_quantiles(spread, rod, speed_m_s, **more)
        asked = (spread.model_dump_json(), repr(spread.values), rod.key, speed_m_s, repr(sorted(more.items())))
        if asked not in known:
            known[asked] = predictive.depth_quantiles(spread, rod, speed_m_s, **more)
        return known[asked]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(answer, "depth_quantiles", once)
        patch.setattr(check, "depth_quantiles", once)
        yield


@pytest.fixture(autouse=True)
def a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Screens may open, as in a terminal: tests put something else in the place of those that would."""
    monkeypatch.setattr("sternwatch.cli.common.terminal.need", lambda: None)
