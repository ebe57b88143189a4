"""Eight hours of the whole console in alarm, and a day in order: what it holds stays what it was.

``STERNWATCH_SOAK_HOURS`` sets another number of simulated hours. An hour takes half a minute of the processor.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from console.frame.soaking import IN_ALARM_M, IN_ORDER_M, TICK_S, Soak
from sternwatch import __version__
from sternwatch.console import state
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.watch.sessions import live
from watch.conftest import TWO_RODS

EACH_MIN = 20.0
SETTLED_MIN = 60  # every view has been shown, the newest quarter of an hour is full, caches are
# What a trip adds, two rods: 3,600 soundings of 50 bytes, 360 samples of 200 an hour; the rest is the allocators'.
GROWS_MB_PER_H = 0.75
SWAYS_MB = 12.0  # from one look ahead to the next

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="memory is read from /proc")


@pytest.mark.campaign
@pytest.mark.parametrize(("bottom_m", "hours"), [(IN_ALARM_M, 8.0), (IN_ORDER_M, 24.0)], ids=["in alarm", "in order"])
async def test_the_console_stays_as_large_as_it_was(
    bottom_m: float, hours: float, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("CONFIG", "DATA", "LOG"):
        monkeypatch.setenv(f"STERNWATCH_{name}_DIR", str(tmp_path))
    monkeypatch.setattr(live, "TICK_S", TICK_S)
    state.save(state.State(theme="dusk", cautions_read=__version__))
    hours = float(os.environ.get("STERNWATCH_SOAK_HOURS", hours))
    samples = await Soak(parse_spread(TWO_RODS), tmp_path, bottom_m).sail(hours * 60.0, EACH_MIN)
    for one in samples:
        assert ("bottom touch" in one.alerts) is (bottom_m == IN_ALARM_M)
    settled = [one for one in samples if one.minute >= SETTLED_MIN]
    assert len(settled) > 1
    assert max(one.widgets for one in settled) <= 2 * min(one.widgets for one in settled)
    first, peak_mb = settled[0], max(one.peak_mb for one in samples if one not in settled[1:])
    for one in settled:
        allowed = SWAYS_MB + GROWS_MB_PER_H * (one.minute - first.minute) / 60.0
        assert one.resident_mb < first.resident_mb + allowed, one
        assert one.peak_mb < peak_mb + allowed, one
