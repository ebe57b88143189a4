"""A small spread and short drills, so that a session takes a second or two."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.practice.drills.files import DrillFile, parse_drill

sys.path.insert(0, str(Path(__file__).parent))  # the builders that lie beside these tests

SPREAD = """
[boat]
name = "test boat"
transducer_depth = "1.5 ft"
antenna = "3 ft"

[line.wire]
material = "stainless steel"
diameter = "0.38 mm"

[line.cable]
material = "stainless steel"
diameter = "0.9 mm"

[line.mono]
material = "nylon"
diameter = "0.45 mm"

[tackle.disc]
kind = "diver"
diameter = "120 mm"
settings = { straight = "0 deg", low = "20 deg", high = "45 deg" }

[tackle.ball]
kind = "ball"
mass = "10 lb"

[tackle.spoon]
kind = "lure"
form = "spoon"

[[rod]]
key = "1"
name = "P HIGH"
side = "port"
tip = { abeam = "9 ft", height = "4 ft" }
chain = [{ line = "wire", out = "100 ft" }, { tackle = "disc", setting = "high" }, { line = "mono", length = "7 ft" },
  { tackle = "spoon" }]

[[rod]]
key = "2"
name = "P LOW"
side = "port"
tip = { abeam = "7 ft", height = "3 ft" }
chain = [{ line = "wire", out = "100 ft" }, { tackle = "disc", setting = "low" }, { line = "mono", length = "7 ft" },
  { tackle = "spoon" }]

[[rod]]
key = "5"
name = "S DOWN"
side = "starboard"
tip = { abeam = "3 ft", height = "3 ft" }
rod_line = { line = "mono", tip = { abeam = "3.5 ft", height = "6 ft" }, pull = "12 N" }
chain = [{ line = "cable", out = "50 ft" }, { tackle = "ball" }, { line = "mono", length = "20 ft", adjust = true },
  { tackle = "spoon" }]
"""

DRILL = """
name = "Short"
briefing = "A short one."
time = "40 s"

[start]
heading = "60 deg"
lead_in = "10 s"

[goal]
turned = "port 60 deg"
hold = "2 s"

[[score]]
measure = "crossings"
best = 0
worst = 2
weight = 3

[[score]]
measure = "time"
best = 20
worst = 40
weight = 1
"""


@pytest.fixture(scope="session")
def spread_text() -> str:
    return SPREAD


@pytest.fixture(scope="session")
def spread() -> Spread:
    return parse_spread(SPREAD)


@pytest.fixture(scope="session")
def make_drill() -> Callable[..., DrillFile]:
    """A drill from the short one, with pieces of its text replaced and others added at its end."""

    def make(*changes: tuple[str, str], more: str = "", **_: Any) -> DrillFile:
        text = DRILL
        for old, new in changes:
            assert old in text
            text = text.replace(old, new)
        return parse_drill(text + more, Path("short.toml"))

    return make
