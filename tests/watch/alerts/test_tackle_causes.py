"""Cautions in a rod's own tackle: when they come, when they keep quiet, and what they say."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from itertools import count
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.feed.readings import Quantity
from sternwatch.gear.spread_file.load import SpreadError, parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.actions.kinds import parse
from sternwatch.watch.alerts.tackle_causes import _bottom, _lure, _near_propeller, raise_words, release_share
from sternwatch.watch.bottom.room import Ahead
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.alert import Alert, Priority

# As agreed: a change of one is to be noticed.
LEFT_AFTER_S = 60.0
UNCHECKED_AFTER_S = 2400.0
RELEASE_SHARE = 0.85
TOUCH_M = 0.3
US = SYSTEMS["us"]

SPREAD = """
[boat]
name = "hand boat"
[water]
profile = [ { depth = "0 m", temperature = "18 degC" }, { depth = "40 m", temperature = "6 degC" } ]
[line.wire]
material = "stainless steel"
diameter = "0.38 mm"
[line.mono]
material = "nylon"
diameter = "0.45 mm"
[tackle.disc]
kind = "diver"
diameter = "120 mm"
settings = { low = "20 deg", high = "45 deg" }
release_pull = "RELEASE"
[tackle.paddle]
kind = "attractor"
length = "8 in"
[tackle.ball]
kind = "ball"
mass = "10 lb"
[tackle.fly]
kind = "lure"
[[rod]]
key = "1"
name = "DIVER"
side = "port"
speeds = ["1.5 mph", "2.5 mph"]
tip = { astern = "1 ft", abeam = "7 ft", height = "5 ft" }
chain = [
  { line = "wire", out = "120 ft" }, { tackle = "disc", setting = "high" },
  { line = "mono", length = "8 ft" }, { tackle = "paddle" }, { line = "mono", length = "2 ft" }, { tackle = "fly" } ]
[[rod]]
key = "2"
name = "DOWN"
side = "starboard"
tip = { astern = "2 ft", abeam = "3 ft", height = "3 ft" }
chain = [
  { line = "wire", out = "60 ft" }, { tackle = "ball" },
  { line = "mono", length = "20 ft", adjust = true }, { tackle = "fly" } ]
"""
MPH, FT = 0.44704, 0.3048
_ids = count()


@pytest.fixture(scope="module")
def spread() -> Spread:
    return parse_spread(SPREAD.replace("RELEASE", "40 N"))


@pytest.fixture
def sail(spread: Spread, hand_feed: Callable[[Watch], Any]) -> Callable[..., Any]:
    def make(**setup: Any) -> Any:
        return hand_feed(new_watch(Setup(setup.pop("spread", spread), start="fishing", members=0, **setup)))

    return make


def _act(feed: Any, kind: str, **fields: Any) -> str:
    time = datetime.fromtimestamp(1_784_000_000.0 + feed.t_s, UTC)
    given = {"id": f"c{next(_ids)}", "time": time, "elapsed_s": feed.t_s, "kind": kind}
    feed.watch.act(parse(given | fields))
    return str(given["id"])


def _alerts(feed: Any, kind: str) -> list[Alert]:
    return [alert for alert in feed.watch.picture().alerts if alert.kind == kind]


def test_a_release_near_what_opens_it_is_told(sail: Callable[..., Any]) -> None:
    feed = sail()
    feed.run(40, stw=1.0)
    share = release_share(feed.watch.spread, feed.watch.chains["1"])
    assert share is not None
    # The leader pulls with the drag of paddle and fly at 1 m/s, and little of its own: a paddle of 8 in 0.005 m2, a
    # fly 0.0003 m2 of drag area (the defaults), over 40 N.
    assert share == pytest.approx(0.5 * 999.7 * 0.0053 / 40.0, rel=0.25)
    assert not _alerts(feed, "release")
    assert release_share(feed.watch.spread, feed.watch.chains["2"]) is None  # its ball says nothing of a release
    weak = sail(spread=parse_spread(SPREAD.replace("RELEASE", f"{40.0 * share / RELEASE_SHARE * 0.95:.3f} N")))
    weak.run(40, stw=1.0)
    alert = _alerts(weak, "release")[0]
    assert alert.priority is Priority.CAUTION
    assert alert.keys == ("1",)
    assert alert.text.startswith("1 DIVER: its release may open: it holds 8")


def test_lines_by_the_propeller_are_told_while_she_stops_and_not_while_she_trolls(sail: Callable[..., Any]) -> None:
    feed = sail()
    feed.run(60, stw=1.0)
    assert not _alerts(feed, "propeller")
    feed.run(60, stw=0.1, sog=0.1)
    alert = _alerts(feed, "propeller")[0]
    assert alert.priority is Priority.CAUTION
    assert "2" in alert.keys  # three feet from the middle, straight down
    assert alert.text.endswith("near the propeller, stopping")
    assert alert.advice == "Neutral before clearing a line near the propeller"
    assert len(_alerts(feed, "propeller")) == 1
    feed.run(60, stw=1.0)
    assert not _alerts(feed, "propeller")


def test_going_astern_is_told_by_course_against_heading(sail: Callable[..., Any]) -> None:
    feed = sail()
    feed.run(40, stw=1.0)
    for _ in range(6):
        feed.t_s += 1.0
        feed.say(Quantity.SOG, 0.6, "RMC")
        feed.say(Quantity.COG, 180.0, "RMC")
        feed.say(Quantity.HEADING, 0.0, "HDT")
        feed.say(Quantity.STW, 0.5, "VHW")
        feed.watch.advance(feed.t_s)
    assert _alerts(feed, "propeller")[0].text.endswith("near the propeller, going astern")


def test_a_lure_outside_its_range_is_told_after_half_a_minute(sail: Callable[..., Any]) -> None:
    feed = sail()
    feed.run(80, stw=2.0 * MPH, sog=2.0 * MPH)
    assert not _alerts(feed, "lure speed")
    feed.run(15, stw=3.0 * MPH, sog=3.0 * MPH)
    assert not _alerts(feed, "lure speed")
    feed.run(40, stw=3.0 * MPH, sog=3.0 * MPH)
    alert = _alerts(feed, "lure speed")[0]
    assert alert.priority is Priority.CAUTION
    assert alert.keys == ("1",)
    assert alert.text == "1 DIVER: lure at 3.0 mph, too fast for 1.5–2.5"
    assert alert.advice == "Slow down"


@pytest.mark.parametrize("why", ["turning", "fish on", "setting"])
def test_it_keeps_quiet_while_speed_is_somebody_elses_business(sail: Callable[..., Any], why: str) -> None:
    feed = sail()
    feed.run(80, stw=2.0 * MPH, sog=2.0 * MPH)
    if why == "fish on":
        _act(feed, "hit", rod="2")
    elif why == "setting":
        _act(feed, "length", rod="2", line_out_m=80.0)
    feed.run(55, stw=3.0 * MPH, sog=3.0 * MPH, turn_deg_s=3.0 if why == "turning" else 0.0)
    assert not _alerts(feed, "lure speed")


def test_a_range_the_wrong_way_round_is_refused() -> None:
    text = SPREAD.replace("RELEASE", "40 N").replace('["1.5 mph", "2.5 mph"]', '["2.5 mph", "1.5 mph"]')
    with pytest.raises(SpreadError, match="the slower one comes first"):
        parse_spread(text)


def test_a_rod_that_leaves_its_zone_is_marked_and_raises_nothing(sail: Callable[..., Any]) -> None:
    feed = sail()
    feed.run(60, stw=1.0)
    rod = feed.watch.picture().rods[1]
    assert rod.temperature_c is not None
    zone = (rod.temperature_c - 0.5, rod.temperature_c + 0.5)
    feed = sail(zone_c=zone)
    feed.run(60, stw=1.0)
    assert feed.watch.picture().rods[1].in_zone is True
    assert feed.watch.picture().rods[1].left_zone_s is None
    _act(feed, "length", rod="2", line_out_m=12.0)
    feed.run(int(LEFT_AFTER_S) + 30, stw=1.0)
    rod = feed.watch.picture().rods[1]
    assert rod.in_zone is False
    assert rod.left_zone_s is not None
    assert rod.left_zone_s >= LEFT_AFTER_S
    assert all("2" not in alert.keys for alert in feed.watch.picture().alerts)
    diver = feed.watch.picture().rods[0]
    assert diver.in_zone is not False or diver.left_zone_s is None  # never was in it


def test_a_line_nobody_has_looked_at_for_forty_minutes_is_marked_until_it_is_checked(
    sail: Callable[..., Any],
) -> None:
    feed = sail()
    feed.run(5, stw=1.0)
    _act(feed, "checked", rod="1")
    feed.run(int(UNCHECKED_AFTER_S) - 10, stw=None, sog=None)
    assert not feed.watch.picture().rods[0].unchecked
    feed.run(20, stw=None, sog=None)
    assert feed.watch.picture().rods[0].unchecked
    assert not feed.watch.picture().rods[1].unchecked  # nobody ever said when that one went out
    _act(feed, "checked", rod="1")
    feed.run(2, stw=None, sog=None)
    assert not feed.watch.picture().rods[0].unchecked


@pytest.mark.parametrize(
    ("astern_m", "abeam_m", "near"),
    [(2.29, 0.0, True), (2.31, 0.0, False), (0.3, 1.99, True), (0.3, -2.01, False), (-1.69, 0.0, True)],
)
def test_a_line_is_near_within_two_metres_of_the_propeller(astern_m: float, abeam_m: float, near: bool) -> None:
    """A line straight down past it: the propeller is 0.3 m astern of the transom and 0.6 m deep."""
    assert _near_propeller(np.array([(astern_m, abeam_m, -1.0), (astern_m, abeam_m, 30.0)])) is near


def test_line_in_the_air_is_not_near_the_propeller() -> None:
    assert not _near_propeller(np.array([(0.3, 0.0, -3.0), (0.3, 0.0, -0.5)]))
    assert not _near_propeller(np.array([(0.3, 0.0, 2.7), (0.3, 0.0, 30.0)])), "begins below its reach"


def _ahead(raise_m: float) -> Ahead:
    return Ahead("fly", 5.0, raise_m, None, False, None)


def test_how_to_clear_the_bottom_is_said_for_each_rig(sail: Callable[..., Any]) -> None:
    feed = sail()
    feed.run(40, stw=1.0)
    chains, us, metric = feed.watch.chains, SYSTEMS["us"], SYSTEMS["metric"]
    assert raise_words(chains["2"], _ahead(2.0 * FT - 0.01), us) == "Raise the ball 2 ft", "rounded up"
    assert raise_words(chains["2"], _ahead(1.11), metric) == "Raise the ball 1.2 m"
    assert raise_words(chains["2"], _ahead(0.0), metric) == f"Raise the ball {TOUCH_M:.1f} m", "at least that"
    # A diver comes up with what is past its tip, nearly in proportion.
    diver = chains["1"]
    line_ft = math.ceil(2.0 * diver.past_tip_m / diver.place.depth_m / FT)
    assert raise_words(diver, _ahead(2.0), us) == f"Take in about {line_ft} ft: it must come up 7 ft"
    for raise_m in (1.9, 2.1, 2.2, 2.3):
        line_ft = math.ceil(raise_m * diver.past_tip_m / diver.place.depth_m / FT)
        assert f"about {line_ft} ft:" in raise_words(diver, _ahead(raise_m), us), "rounded up"
    too_shallow = "Take it in: the water is too shallow for it"
    for chain in (diver, chains["2"]):
        assert raise_words(chain, _ahead(chain.place.depth_m), us) == too_shallow, "more than all of its line"
        assert raise_words(chain, _ahead(chain.place.depth_m - 0.01), us) != too_shallow
    diver.state = None
    assert raise_words(diver, _ahead(2.0), us) == "Raise it 7 ft"


def test_one_line_near_the_propeller_is_one_line(sail: Callable[..., Any]) -> None:
    feed = sail()
    _act(feed, "in", rod="1")
    feed.run(40, stw=1.0)
    feed.run(30, stw=0.1, sog=0.1)
    assert _alerts(feed, "propeller")[0].text == "Line 2 near the propeller, stopping"


@pytest.mark.parametrize(("course", "told"), [(119.0, False), (121.0, True), (239.0, True), (241.0, False)])
def test_astern_is_a_course_far_from_where_she_points(sail: Callable[..., Any], course: float, told: bool) -> None:
    feed = sail()
    feed.run(30, stw=1.0)
    for _ in range(4):
        feed.t_s += 1.0
        for quantity, value in (
            (Quantity.SOG, 0.6), (Quantity.COG, course), (Quantity.HEADING, 0.0), (Quantity.STW, 0.5),
        ):  # fmt: skip
            feed.say(quantity, value, "RMC")
        feed.watch.advance(feed.t_s)
    assert bool(_alerts(feed, "propeller")) is told


def test_slow_is_told_as_slow(sail: Callable[..., Any]) -> None:
    feed = sail()
    feed.run(120, stw=1.3 * MPH, sog=1.3 * MPH)
    (alert,) = _alerts(feed, "lure speed")
    assert alert.text == "1 DIVER: lure at 1.3 mph, too slow for 1.5–2.5"
    assert alert.advice == "Quicken"


# -- what lies ahead of a rod's tackle, by hand ---------------------------------------------------------------------


def low(chain: Any, ahead: Ahead | None, *, room_m: float = 0.5, **ground: Any) -> list[str]:
    """Kinds of what is said of a rod whose lowest piece has so much room."""
    below = SimpleNamespace(what="ball", room_m=room_m)
    given = {"turning": False, "velocity_m_s": (1.0, 0.0), "below": {"1": (None, below)}, **ground}
    there: Any = SimpleNamespace(ahead={} if ahead is None else {"1": ahead}, **given)
    return [cause.kind for cause in _bottom(there, chain, "1 DOWN", US)]


def rigged(**more: Any) -> Any:
    rod = SimpleNamespace(key="1", bottom=None)
    rig = SimpleNamespace(kinds=("ball", "lure"), what=("ball", "fly"))
    place = SimpleNamespace(depth_m=20.0, entry_angle_deg=30.0)
    return SimpleNamespace(**{"rod": rod, "rig": rig, "attached_to": None, "place": place, "state": None, **more})


KNOWN = Ahead("ball", None, 0.0, 12.0, False, None)  # nothing touches; the bottom is known for twelve seconds


def test_a_ball_close_to_a_bottom_that_is_not_known_ahead_is_told() -> None:
    """Within the room that counts as close, where less than twenty seconds are known, and while she goes straight."""
    close_m = 4.5
    assert low(rigged(), KNOWN, room_m=close_m) == ["bottom near"]
    assert low(rigged(), KNOWN, room_m=close_m + 0.01) == []
    for known_s, said in ((20.0, []), (19.9, ["bottom near"]), (None, [])):
        assert low(rigged(), replace(KNOWN, known_s=known_s)) == said
    assert low(rigged(), KNOWN, turning=True) == low(rigged(), KNOWN, velocity_m_s=None) == []
    assert low(rigged(rig=SimpleNamespace(kinds=("diver",), what=("disc",))), KNOWN) == []
    on_cable = rigged(rig=SimpleNamespace(kinds=("lure",), what=("fly",)), attached_to="4")
    assert low(on_cable, KNOWN) == ["bottom near"], "a rod that is clipped to a cable hangs on a ball"
    assert low(rigged(), None) == []


def test_of_a_rod_fished_on_the_bottom_only_what_is_not_its_lure_is_told() -> None:
    fished = rigged(rod=SimpleNamespace(key="1", bottom="on"))
    touching = Ahead("fly", 5.0, 1.0, 12.0, False, None)
    assert low(rigged(), touching) == ["bottom touch"]
    assert low(fished, touching) == []
    assert low(fished, replace(touching, what="ball")) == ["bottom touch"]
    assert low(fished, KNOWN) == ["bottom near"]


@pytest.mark.parametrize(
    ("rig", "lure"),
    [(None, ""), (SimpleNamespace(what=()), ""), (SimpleNamespace(what=("disc", "fly")), "fly")],
)
def test_a_rods_lure_is_the_last_of_its_tackle(rig: Any, lure: str) -> None:
    assert _lure(SimpleNamespace(rig=rig)) == lure  # type: ignore[arg-type]
