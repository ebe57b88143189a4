"""A season from trip to trip: what lasts is carried on, a day's is not, and gear is followed by what it is."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from answers.season.seasons import other_exponent, true_depth
from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.belief.calibration_file import CalibrationError
from sternwatch.answers.belief.observations import Observation, What
from sternwatch.answers.belief.predictive import depth_quantiles
from sternwatch.answers.belief.priors import Z90
from sternwatch.answers.chains.arrays import RodNow
from sternwatch.answers.season.carrying import KEPT, aged, merged
from sternwatch.answers.season.keeping import INDEX, Season, holding
from sternwatch.answers.season.pieces import known
from sternwatch.cli.gear.fit_season import bar, html, lines
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import prints, uncertain

SPREAD = """
[boat]
name = "one ball (invented)"
[line.cable]
material = "stainless steel"
diameter = "0.9 mm"
[line.leader]
material = "fluorocarbon"
diameter = "0.5 mm"
[tackle.ball]
kind = "ball"
mass = "12 lb"
[tackle.spoon]
kind = "lure"
[[rod]]
key = "1"
name = "DOWN"
side = "port"
tip = { astern = "2 ft", abeam = "3 ft", height = "3 ft" }
chain = [ { line = "cable", out = "90 ft" }, { tackle = "ball" }, { line = "leader", length = "20 ft" },
  { tackle = "spoon" } ]
"""
TRUTH = {"rod 1 counter": 0.93, "line cable drag": 1.05}
FIRST = datetime(2026, 6, 1, 20, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def spread() -> Spread:
    return parse_spread(SPREAD)


def touches(spread: Spread, trip: int) -> list[Observation]:
    """Two of one day, whose water below moves as on no other."""
    rng = np.random.default_rng(trip)
    truth = TRUTH | {"shear north": rng.normal() * 0.12, "rod 1 zero": rng.normal() * 0.2}
    out = []
    for number, length in enumerate((22.0, 32.0)):
        one = Observation(
            f"{trip} {number}", "1", What.DEPTH, 0.0, 1.0, rng.uniform(0.9, 1.3), "touched bottom", at="ball",
            now=RodNow(length), heading_rad=rng.uniform(0.0, 6.28), told=0.3,
        )  # fmt: skip
        out.append(replace(one, value=true_depth(spread, one, truth, other_exponent) + rng.normal() / Z90))
    return out


@pytest.fixture(scope="module")
def season(spread: Spread, tmp_path_factory: pytest.TempPathFactory) -> Season:
    made = Season(tmp_path_factory.mktemp("season"))
    for trip in range(4):
        made.add(spread, touches(spread, trip), trip=f"trip {trip}", made=FIRST + timedelta(days=7 * trip))
    return made


def test_a_counter_is_known_better_trip_by_trip_and_no_day_is_carried_on(spread: Spread, season: Season) -> None:
    updates = season.updates
    assert [one.trip for one in updates] == [f"trip {n}" for n in range(4)]
    counter = [one.sd["rod 1 counter"] for one in updates]
    assert max(counter[1:]) < 0.6  # of what it was at first, whatever the days were like
    quantities = uncertain(spread, fitted=True)
    assert not [name for name in updates[-1].sd if quantities[name].daily]
    assert updates[-1].by_subject["reel 1"] == 2
    row = next(one for one in known(spread, updates) if one.name == "rod 1 counter")
    assert row.observations == 8
    assert row.since == FIRST
    assert row.now[0] <= TRUTH["rod 1 counter"] <= row.now[2]
    assert row.half_now < 0.7 * row.half_then


def test_the_truth_of_another_exponent_lies_in_what_is_believed_afterwards(spread: Spread, season: Season) -> None:
    """The season's drag goes as speed to the power of 2.2; asked at speeds and lengths observed or not."""
    rod, learned = spread.rods[0], season.current()
    inside, half = [], []
    for speed in (0.8, 1.1, 1.4):
        for length in (20.0, 30.0):
            one = Observation("", "1", What.DEPTH, 0.0, 1.0, speed, "", at="lure", now=RodNow(length), told=0.0)
            true = true_depth(spread, one, TRUTH, other_exponent)
            law = depth_quantiles(spread, rod, speed, now=RodNow(length), learned=learned)
            first = depth_quantiles(spread, rod, speed, now=RodNow(length))
            assert law is not None
            assert first is not None
            inside.append(law[0] <= true <= law[4])
            half.append((law[4] - law[0]) / (first[4] - first[0]))
    assert sum(inside) >= 5
    assert np.mean(half) < 0.9


def test_the_same_trip_once_more_replaces_what_it_taught(spread: Spread, tmp_path: Path) -> None:
    made = Season(tmp_path)
    for late in (0, 5):
        made.add(spread, touches(spread, 0), trip="one", made=FIRST + timedelta(minutes=late))
    first, again = (json.loads((tmp_path / f"2026-06-01T200{n}00Z-one.json").read_text()) for n in (0, 5))
    assert first["covariance"] == again["covariance"]
    assert len(made.updates) == 1


def test_undoing_takes_out_the_last_trip_and_deletes_nothing(season: Season, tmp_path: Path) -> None:
    folder = tmp_path / "copy"
    folder.mkdir()
    for path in (one for one in season.folder.iterdir() if one.is_file()):
        (folder / path.name).write_bytes(path.read_bytes())
    own = Season(folder)
    before, files = own.current(), set(folder.glob("*.json"))
    assert before is not None
    last = own.undo()
    assert last is not None
    assert last.trip == "trip 3"
    now = own.current()
    assert now is not None
    assert (before.name, now.name) == ("season to 2026-06-22 20:00", "season to 2026-06-15 20:00")
    assert set(folder.glob("*.json")) == files
    assert own.has("trip 3")  # it is not learned from again by itself
    for _ in range(3):
        own.undo()
    assert own.undo() is None
    assert own.current() is None


def test_sessions_are_given_it_a_little_wider(spread: Spread, season: Season, monkeypatch: pytest.MonkeyPatch,
                                              tmp_path: Path) -> None:  # fmt: skip
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(tmp_path))
    found, words = holding(spread, None, season)
    current = season.current()
    assert found is not None
    assert current is not None
    assert words == ()
    # An old counter goes back to its prior, which is over three times as wide.
    assert current.sd("rod 1 counter") < found.sd("rod 1 counter") < 1.06 * current.sd("rod 1 counter")
    assert holding(spread, "none", season) == (None, ())


def test_it_is_forgotten_slowly_and_never_wider_than_at_first() -> None:
    learned = Calibration("l", ("a", "b"), np.array([2.0, 0.0]), np.array([[0.04, 0.0], [0.0, 1.0]]))
    later = aged(learned, 40)
    assert later.mean[0] == pytest.approx(2.0 * KEPT**40)
    assert 0.04 < later.covariance[0, 0] < 1.0
    assert later.covariance[1, 1] == pytest.approx(1.0)


def moved(text: Sequence[tuple[str, str]]) -> Spread:
    whole = SPREAD
    for old, new in text:
        assert old in whole
        whole = whole.replace(old, new)
    return parse_spread(whole)


def test_it_follows_a_piece_and_drops_what_was_changed(season: Season) -> None:
    current = season.current()
    assert current is not None
    # The reel goes to another key: its counter is known there. The cable is called otherwise.
    other = moved([('key = "1"', 'key = "4"'), ("line.cable", "line.wire"), ('line = "cable"', 'line = "wire"')])
    followed, changed = current.fitted_to(prints(other))
    assert changed == ()
    assert "line wire drag" in followed.names
    assert followed.sd("line wire drag") == current.sd("line cable drag")
    same_reel = moved([('key = "1"', 'key = "4"')])
    assert current.fitted_to(prints(same_reel))[0].sd("rod 4 counter") == current.sd("rod 1 counter")
    # Another lure: the rig's discrepancy is another's, the counter stays.
    lure = moved([("tackle.spoon", "tackle.fly"), ('tackle = "spoon"', 'tackle = "fly"'),
                          ('kind = "lure"', 'kind = "lure"\nlength = "3 in"')])  # fmt: skip
    kept, _ = current.fitted_to(prints(lure))
    assert "rod 1 counter" in kept.names
    assert not [name for name in kept.names if "discrepancy" in name or "spoon" in name]
    # Another cable: nothing of it holds.
    thick = moved([('diameter = "0.9 mm"', 'diameter = "1.2 mm"')])
    dropped, changed = current.fitted_to(prints(thick))
    assert "line cable" in changed
    assert "line cable drag" not in dropped.names


def test_gear_that_stayed_ashore_is_kept(season: Season) -> None:
    current = season.current()
    assert current is not None
    wire = Calibration(
        "now", ("line wire drag",), np.array([0.5]), np.array([[0.2]]), ("line wire",), {"line wire": "x"}, FIRST, "b"
    )
    both = merged(current, wire, "both", FIRST)
    assert both.sd("line cable drag") == pytest.approx(current.sd("line cable drag"))
    assert both.sd("line wire drag") == pytest.approx(0.2**0.5)


def test_it_is_shown_as_a_plot_in_both(spread: Spread, season: Season) -> None:
    rows = known(spread, season.updates)
    row = next(one for one in rows if one.name == "rod 1 counter")
    drawn = bar(row)
    assert drawn.count("●") == 1
    assert drawn.startswith(("·", "━"))
    said = "\n".join(lines(spread, season.updates, rows))
    assert "counter of rod 1 DOWN: 8 observations, 2026-06-01 to 2026-06-22" in said
    page = html(spread, season.updates, rows)
    assert page.count("<svg") == 2 * len(rows)
    assert "counter of rod 1 DOWN" in page


def test_a_broken_index_is_a_sentence(tmp_path: Path) -> None:
    (tmp_path / INDEX).write_text('{"format": "sternwatch season 1", "updates": [{}]}')
    with pytest.raises(CalibrationError, match=r"index.json: updates.0.trip"):
        Season(tmp_path).current()
