"""Beside a session: what an interval is made of and the fit, made once for a question and kept on the disk."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TypeVar

import pytest

from sternwatch.answers.belief import calibration_file
from sternwatch.answers.season.keeping import Season
from sternwatch.feed.readings import Quantity, Reading
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import parse
from sternwatch.watch.core.engine import new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Picture
from sternwatch.watch.sessions.how_sure import Knowing

Made = TypeVar("Made")


def awaited(ask: Callable[[], Made | None]) -> Made:
    """What comes of asking again and again, for at most a minute."""
    for _ in range(600):
        made = ask()
        if made is not None:
            return made
        time.sleep(0.1)
    raise AssertionError("no answer came")


@pytest.fixture(scope="module")
def session(two_rods: Spread) -> tuple[Spread, Picture, Picture]:
    """The spread, a picture of a settled course with a logger's depth entered, and one before that was."""
    watch = new_watch(Setup(two_rods, start="fishing"))
    now = [0.0]

    def run(seconds: int) -> Picture:
        for _ in range(seconds):
            now[0] += 1.0
            said = {Quantity.CLOCK: 1.784e9 + now[0], Quantity.STW: 1.0, Quantity.SOG: 1.0, Quantity.COG: 0.0}
            for quantity, value in said.items():
                watch.observe(Reading(now[0], "hand", quantity, value, "TST"))
            watch.advance(now[0])
        return watch.picture()

    before = run(240)

    def observed(number: int, **fields: Any) -> None:
        given = {"id": f"o{number}", "time": datetime.fromtimestamp(1.784e9 + now[0], UTC), "elapsed_s": now[0]}
        watch.act(parse(given | {"kind": "observed"} | fields))

    observed(1, rod="1", what="logger", depth_m=18.0)
    run(2)
    observed(2, rod="2", what="cable angle", angle_deg=15.0)
    return two_rods, before, run(2)


def test_parts_are_made_once_for_a_rod_as_it_is(session: tuple[Spread, Picture, Picture]) -> None:
    spread, before, after = session
    knowing = Knowing(spread, None)
    assert knowing.parts(before, "1") is None  # asked, and never waited for
    found = awaited(lambda: knowing.parts(before, "1"))
    assert found.off_m is not None
    assert sum(part.share for part in found.parts) == pytest.approx(1.0)
    assert knowing.parts(after, "1") is found  # four seconds on nothing has changed
    other = awaited(lambda: knowing.parts(after, "2"))
    assert other.key == "2"
    assert other is not found
    assert knowing.parts(before, "no such rod") is None
    assert knowing.trouble == ""
    knowing.stop()


def test_they_agree_with_the_members_of_the_picture(session: tuple[Spread, Picture, Picture]) -> None:
    spread, before, _ = session
    knowing = Knowing(spread, None)
    for rod in before.rods:
        found = awaited(lambda key=rod.key: knowing.parts(before, key))  # type: ignore[misc]
        assert rod.depth_interval_m is not None
        low, high = rod.depth_interval_m
        # Sixteen members: their interval is wider by Student's t, and by chance off by a fifth.
        assert 0.6 < found.off_m / (0.5 * (high - low)) < 1.3
    knowing.stop()


def test_a_fit_is_made_when_there_is_something_and_kept(
    session: tuple[Spread, Picture, Picture], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(tmp_path))
    spread, before, after = session
    knowing = Knowing(spread, None)
    assert not knowing.anything(before)
    assert knowing.fitted(before) is None
    assert knowing.anything(after)
    fitted = awaited(lambda: knowing.fitted(after))
    assert [one.used for one in fitted.fit.observations] == [True, True]
    first = next(rod for rod in fitted.report.rods if rod.key == "1")
    assert first.interval_before_m is not None
    assert first.interval_after_m is not None
    wide, tight = (high - low for low, high in (first.interval_before_m, first.interval_after_m))
    assert tight < 0.6 * wide
    assert knowing.fitted(after) is fitted
    assert knowing.kept is None
    knowing.keep(fitted)
    kept = awaited(lambda: knowing.kept)
    assert kept.saved
    assert kept.name == fitted.fit.calibration.name
    newest, words = calibration_file.newest_for(spread)
    assert newest is not None
    assert newest.name == kept.name
    assert words == ()
    knowing.stop()


def test_what_cannot_be_kept_says_so(
    session: tuple[Spread, Picture, Picture], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("not a folder")
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(in_the_way))
    spread, _, after = session
    knowing = Knowing(spread, None)
    fitted = awaited(lambda: knowing.fitted(after))
    knowing.keep(fitted)
    kept = awaited(lambda: knowing.kept)
    assert not kept.saved
    assert "cannot be saved" in kept.words
    knowing.stop()


def test_on_the_water_a_trips_end_teaches_the_season_beside_the_logbook(
    session: tuple[Spread, Picture, Picture], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("STERNWATCH_DATA_DIR", str(tmp_path))
    spread, _, after = session
    knowing = Knowing(spread, None, "a trip")
    knowing.teach(spread, after.observations)
    kept = awaited(lambda: knowing.kept)
    knowing.stop()
    assert kept.saved
    assert "beside the logbook" in kept.words
    (update,) = Season(tmp_path / "season").updates
    assert update.trip == "a trip"
    assert update.used == sum(one.used for one in after.observations) > 0
    ashore = Knowing(spread, None)
    ashore.teach(spread, after.observations)
    assert ashore.kept is None
