"""What a hit keeps of its rod's chain and of what the sensors said."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

from sternwatch.feed.readings import Quantity, SensorState, SensorValue
from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.memory.hits import _chain, _readings


def at_rod(spread: Spread, key: str, **more: Any) -> Any:
    given = {"spread": spread, "rod": spread.rod_by_key(key), "line_out_m": 31.5, "setting": "low", "lead_m": None}
    return SimpleNamespace(**(given | more))


def test_the_chain_from_the_tip_with_lengths_and_settings_of_then(two_rods: Spread) -> None:
    assert _chain(at_rod(two_rods, "1")) == (
        {"line": "wire", "length_m": 31.5}, {"tackle": "disc", "setting": "low"},
        {"line": "mono", "length_m": 2.438}, {"tackle": "fly"},
    )  # fmt: skip
    assert _chain(at_rod(two_rods, "2", lead_m=4.0)) == (
        {"line": "wire", "length_m": 31.5}, {"tackle": "ball"}, {"line": "mono", "length_m": 4.0}, {"tackle": "fly"}
    )  # fmt: skip
    assert _chain(at_rod(two_rods, "2"))[2] == {"line": "mono", "length_m": 6.096}


def test_what_was_said_with_its_age_and_source() -> None:
    def value(quantity: Quantity, number: Any, state: SensorState = SensorState.FRESH, **more: Any) -> SensorValue:
        return SensorValue(quantity, state, number, 0.4, "hand", "TST", **more)

    told = {
        Quantity.SOG: value(Quantity.SOG, 1.23456), Quantity.STW: value(Quantity.STW, 1.0, suspect="a jump"),
        Quantity.BOTTOM: value(Quantity.BOTTOM, None, SensorState.NEVER),
        Quantity.POSITION: value(Quantity.POSITION, (45.0, -87.0)), Quantity.CLOCK: value(Quantity.CLOCK, 1.0),
    }  # fmt: skip
    made = {row["quantity"]: row for row in _readings(SimpleNamespace(sensors=told))}  # type: ignore[arg-type]
    assert set(made) == {"sog", "stw"}
    assert made["sog"] == {
        "quantity": "sog", "state": "fresh", "value": 1.235, "age_s": 0.4, "source": "hand", "sentence": "TST"
    }  # fmt: skip
    assert made["stw"]["suspect"] == "a jump"
