"""The demo's observations can be fitted from its opening on, and its clock is the boat's own."""

from pathlib import Path

from sternwatch.feed.recording.reader import open_recording
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.actions.kinds import Action
from sternwatch.watch.core.player import Player
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Session

DEMO = Path(__file__).parents[3] / "demo_logs"


def test_after_the_demos_run_up_five_observations_inform(spread: Spread, evening_actions: list[Action]) -> None:
    with open_recording(DEMO / "evening.nmea") as recording:
        player = Player(recording, Setup(spread, Session.DEMO, members=2), evening_actions)
        player.rewind(since_s=1300.0)
        player.to(1465.0)
        picture = player.watch.picture()
    assert [seen.rod for seen in picture.observations] == ["3", "6", "7", "1", "5"]
    assert [seen.why for seen in picture.observations] == [""] * 5
    # 23:26:24 UTC on Lake Superior in July.
    assert picture.utc_s is not None
    assert picture.clock(SYSTEMS["us"]).hms(picture.utc_s) == "19:26:24"
    assert picture.newest_entry.endswith(" 19:26")
