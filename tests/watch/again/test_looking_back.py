"""How near the lure came to its place, in one line."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.again.looking_back import Nearest, nearest_now, passed_words

METRIC = SYSTEMS["metric"]
BEGINNING = "AGAIN passed 7 m from the place"
END = "; within 10 m was planned"


def chosen(depth_m: float | None) -> Any:
    return SimpleNamespace(target=SimpleNamespace(depth_m=depth_m), passed=SimpleNamespace(within_m=10.0))


@pytest.mark.parametrize(
    ("near", "depth_m", "said"),
    [
        (Nearest(7.0), 12.0, f"{BEGINNING}, as computed{END}"),
        (Nearest(7.0, 15.0), 12.0, f"{BEGINNING}, 3 m deeper, as computed{END}"),
        (Nearest(7.0, 12.7), 12.0, f"{BEGINNING}, 1 m deeper, as computed{END}"),
        (Nearest(7.0, 10.0), 12.0, f"{BEGINNING}, 2 m shallower, as computed{END}"),
        (Nearest(7.0, 10.0), None, f"{BEGINNING}, as computed{END}"),
        (
            Nearest(7.0, None, (9.0, 13.0), 8.0),
            12.0,
            f"{BEGINNING}, as computed; 90 %: within 8 m and ±2 m in depth{END}",
        ),
        (Nearest(7.0, None, (9.0, 13.0)), 12.0, f"{BEGINNING}, as computed{END}"),
        (Nearest(7.0, None, None, 8.0), 12.0, f"{BEGINNING}, as computed; 90 %: within 8 m{END}"),
        (Nearest(), 12.0, "AGAIN passed; how near the lure came is not known"),
    ],
)
def test_one_line(near: Nearest, depth_m: float | None, said: str) -> None:
    assert passed_words(near, chosen(depth_m), METRIC) == said


def watch(place: tuple[float, float] | None, lures: np.ndarray | None = None) -> Any:
    """One whose lure is at a place; ``lures``: the members' (M, 2), behind a boat whose transom is at (5, 0)."""
    rod = SimpleNamespace(position_deg=place, depth_m=14.0, depth_interval_m=(13.0, 16.0))
    members = None
    if lures is not None:
        nodes = np.zeros((len(lures), 2, 3))
        nodes[:, -1, :2] = lures
        members = SimpleNamespace(state=SimpleNamespace(position_m=nodes))
    beliefs = None if lures is None else SimpleNamespace(place_m=np.full((len(lures), 2), 1.0))
    chains = type("Chains", (dict,), {"beliefs": beliefs})({"1": SimpleNamespace(members=members)})
    over = SimpleNamespace(at=lambda astern, abeam: (5.0 - astern, abeam), transom_m=(5.0, 0.0))  # she heads north
    return SimpleNamespace(
        bottom=SimpleNamespace(origin_deg=(45.0, -87.0), over=over),
        memory=SimpleNamespace(moments=[SimpleNamespace(rods={"1": rod})]),
        chains=chains,
    )


TARGET: Any = SimpleNamespace(key="1", place_m=(30.0, 0.0))


def test_the_nearest_moment_is_kept() -> None:
    north = 45.0 + np.degrees(33.0 / 6_371_008.8)
    found = nearest_now(watch((float(north), -87.0)), TARGET, Nearest())
    assert found.off_m == pytest.approx(3.0, abs=1e-3)
    assert (found.depth_m, found.depth_range_m, found.within_m) == (14.0, (13.0, 16.0), None)
    assert nearest_now(watch((float(north), -87.0)), TARGET, found) is found, "no nearer"
    nearer = Nearest(2.9)
    assert nearest_now(watch((float(north), -87.0)), TARGET, nearer) is nearer
    assert nearest_now(watch(None), TARGET, nearer) is nearer
    nowhere = watch((45.0, -87.0))
    nowhere.memory.moments = []
    assert nearest_now(nowhere, TARGET, nearer) is nearer


def test_how_near_nine_in_ten_of_the_members_came() -> None:
    """Each lure behind its own boat, which is at (1, 1) in its water and at (5, 0) over ground."""
    off = np.arange(11.0)
    lures = np.stack([30.0 - 4.0 + off, np.full(11, 1.0)], axis=1)
    assert nearest_now(watch((45.0, -87.0), lures), TARGET, Nearest()).within_m == pytest.approx(9.0)
    lures[:, 0] = np.nan
    assert nearest_now(watch((45.0, -87.0), lures), TARGET, Nearest()).within_m is None
