"""What the solver reports of a line that is out, as causes of alerts; and what is said while no feed comes."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.watch.alerts.causes import _chain_causes


def line(**more: Any) -> Any:
    given = {"out": True, "dark": False, "why": "", "under": False, "slack": False, "moving": 0.0}
    return SimpleNamespace(**{**given, **more}, rod=SimpleNamespace(name="P HIGH"))


@pytest.mark.parametrize(
    ("state", "kinds"),
    [
        ({}, []), ({"why": "no shape"}, ["solver"]), ({"under": True}, ["pulled under"]),
        ({"slack": True}, ["slack"]),
        ({"slack": True, "moving": 1.0}, []), ({"slack": True, "moving": -1.0}, []),
        ({"why": "no shape", "under": True, "slack": True}, ["solver", "pulled under", "slack"]),
        ({"why": "no shape", "under": True, "slack": True, "out": False}, []),
        ({"why": "no shape", "under": True, "slack": True, "dark": True}, []),
    ],
)  # fmt: skip
def test_only_a_line_that_is_out_and_driven_by_a_known_speed_is_spoken_of(
    state: dict[str, Any], kinds: list[str]
) -> None:
    chains: Any = {"2": line(), "3": line(**state)}
    found = list(_chain_causes(chains))
    assert [one.kind for one in found] == kinds
    assert all(one.keys == ("3",) and one.text.startswith("3 P HIGH: ") for one in found)
