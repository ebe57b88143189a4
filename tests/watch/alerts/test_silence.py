"""When nothing is heard of any sensor, and what that is called while tackle is out."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.feed.readings import Quantity, SensorState
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.alerts.causes import _silent, causes

OFTEN = (Quantity.SOG, Quantity.STW, Quantity.POSITION, Quantity.BOTTOM)


def first(rods: tuple[str, ...] = ("in",), complaints: tuple[str, ...] = ()) -> Any:
    """The first cause where no sensor was ever heard."""
    boat = SimpleNamespace(running=SimpleNamespace(words=lambda *_: ""), source=None)
    crew = SimpleNamespace(rods={str(k): SimpleNamespace(state=state) for k, state in enumerate(rods)})
    step: Any = SimpleNamespace(boat=boat, sensors={}, crew=crew, t_s=100.0)
    return next(causes(step, None, SYSTEMS["metric"], complaints))  # type: ignore[arg-type]


def heard(**ages: float | None) -> Any:
    """Sensors by the age of what they said; None: they report no value."""
    return {
        Quantity[name]: SimpleNamespace(age_s=age, state=SensorState.NONE if age is None else SensorState.SILENT)
        for name, age in ages.items()
    }


@pytest.mark.parametrize(
    ("rods", "kind"),
    [((), "feed silent"), (("in", "in"), "feed silent"), (("in", "fishing"), "no feed"), (("fighting",), "no feed")],
)
def test_silence_is_no_feed_while_any_rod_is_out(rods: tuple[str, ...], kind: str) -> None:
    assert first(rods).kind == kind


def test_it_says_what_arrives_if_that_cannot_be_used() -> None:
    assert "no sensor says anything" in first().text
    assert "nothing that arrives can be used" in first(complaints=("Checksums are wrong",)).text


@pytest.mark.parametrize("quantity", OFTEN)
def test_any_that_comes_often_shows_that_the_feed_is_there(quantity: Quantity) -> None:
    assert not _silent(heard(**{quantity.name: None}))
    assert _silent(heard(**{quantity.name: 60.0}))
