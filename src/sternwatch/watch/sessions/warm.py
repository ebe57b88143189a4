"""``python -m sternwatch.watch.sessions.warm``: run every compiled kernel once, so that the cache holds it.

The watch runs a few minutes of the shipped demo: rods going out, a change of length, a turn, an outlook, a check.
"""

from __future__ import annotations

import sys

from sternwatch import places

# By this time of the evening rods are out, one has gone out in steps, and the boat has turned.
ENOUGH_S = 240.0


def main() -> int:
    """Return 0. Errors go to standard error, where the caller reads them."""
    from sternwatch.answers.checks.check import check_spread
    from sternwatch.answers.depths.inverse import line_out_for_depth
    from sternwatch.feed.recording.reader import open_recording
    from sternwatch.gear.spread_file.load import load_spread
    from sternwatch.logbook.actions.kinds import load_actions
    from sternwatch.watch.core.player import Player
    from sternwatch.watch.core.setup import Setup
    from sternwatch.watch.forecast.snapshot import snapshot
    from sternwatch.watch.outlook.renewal import OutlookMaker
    from sternwatch.watch.sessions.compiling import Progress
    from sternwatch.watch.sessions.prepare import mark

    progress = Progress()
    progress.listen()
    folder = places.shipped("demo_logs")
    actions = load_actions(folder / "evening.actions.jsonl")
    with open_recording(folder / "evening.nmea") as recording:
        spread = load_spread(folder / "evening.toml")
        player = Player(recording, Setup(spread), actions)
        player.to(ENOUGH_S)
        player.watch.picture()
        mark("tows")
        now = snapshot(player.watch)
        if now is not None:
            OutlookMaker().renew(now)
        check_spread(spread, 1.0)
        line_out_for_depth(spread, spread.rods[-1], 10.0, 1.0)
    mark("ready")
    progress.end()
    return 0


if __name__ == "__main__":
    sys.exit(main())
