"""A calibration as a value and as a file, and what it does to draws, depths and line out."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from sternwatch.answers.belief import calibration_file
from sternwatch.answers.belief.calibration import Calibration, Used
from sternwatch.answers.belief.calibration_file import CalibrationError
from sternwatch.answers.belief.priors import Draws, believed, member_rigs, named, value_at
from sternwatch.answers.chains.arrays import AS_FILED, RodNow, rig_of, water_of
from sternwatch.answers.depths.depth import depth_answer
from sternwatch.answers.depths.inverse import line_out_for_depth
from sternwatch.gear.spread_file.load import parse_spread, read_toml, spread_from
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import prints, uncertain
from sternwatch.hydro.chain.model import Line
from sternwatch.places import shipped

NAMES = ("line wire strumming", "tackle disc trim", "rod 3 counter", "shear north")


@pytest.fixture(scope="module")
def spread() -> Spread:
    return parse_spread((shipped("demo_logs") / "evening.toml").read_text(encoding="utf-8"))


def learned(spread: Spread, mean: tuple[float, ...] = (1.2, 0.5, -0.8, 0.3), points: bool = True) -> Calibration:
    quantities = uncertain(spread)
    rng = np.random.default_rng(4)
    root = np.array([[0.3, 0, 0, 0], [-0.2, 0.3, 0, 0], [0, 0, 0.5, 0], [0, 0, 0, 0.4]])
    drawn = np.array(mean) + rng.standard_normal((4000, 4)) @ root.T
    of = prints(spread)
    subjects = tuple(quantities[name].subject for name in NAMES)
    return Calibration(
        "learned", NAMES, np.array(mean), root @ root.T, subjects, {one: of[one] for one in subjects},
        datetime(2026, 7, 18, 23, 10, tzinfo=UTC), "demo boat", (Used("1", "touched bottom", True),),
        drawn if points else None,
    )  # fmt: skip


@pytest.mark.parametrize("points", [True, False])
def test_draws_have_the_calibrations_middle_and_covariance(spread: Spread, points: bool) -> None:
    made = learned(spread, points=points)
    draws = Draws(3, 4000, made)
    found = np.stack([draws.normal(name) for name in NAMES])
    assert found.mean(axis=1) == pytest.approx(made.mean, abs=0.03)
    assert np.cov(found) == pytest.approx(made.covariance, abs=0.02)


def test_names_that_it_does_not_hold_keep_their_draws(spread: Spread) -> None:
    plain, better = Draws(3), Draws(3, calibration=learned(spread))
    assert np.array_equal(plain.normal("tackle disc plate"), better.normal("tackle disc plate"))
    assert not np.array_equal(plain.normal("tackle disc trim"), better.normal("tackle disc trim"))


def test_nothing_learned_is_nothing_changed() -> None:
    nothing = Calibration("nothing", NAMES, np.zeros(4), np.eye(4))
    for name in NAMES:
        assert Draws(5, calibration=nothing).normal(name) == pytest.approx(Draws(5).normal(name), abs=1e-12)


def test_wider_draws_are_wider_about_the_same_middle(spread: Spread) -> None:
    quantity = uncertain(spread)["tackle disc trim"]
    usual, wide = (np.log(Draws(1, 2000, None, width).value(quantity)) for width in (1.0, 1.5))
    assert wide.std() == pytest.approx(1.5 * usual.std(), rel=1e-9)
    assert (Draws(1, 50, None, 0.0).value(quantity) == 1.0).all()


def test_what_is_believed_goes_with_the_spread(spread: Spread) -> None:
    made = learned(spread)
    better = believed(spread, made)
    assert believed(spread, None) is spread
    quantities = uncertain(spread)
    wire = rig_of(better, better.rod_by_key("3"), AS_FILED).chain.items[0]  # type: ignore[arg-type]
    plain = rig_of(spread, spread.rod_by_key("3"), AS_FILED).chain.items[0]  # type: ignore[arg-type]
    assert isinstance(wire, Line)
    assert isinstance(plain, Line)
    hum, counter = (float(value_at(np.array(made.mean[i]), quantities[NAMES[i]])) for i in (0, 2))
    assert wire.drag_factor == pytest.approx(plain.drag_factor * hum)
    assert wire.length_m == pytest.approx(plain.length_m * counter)  # zeroed at the tip: all of it was read
    # The same as the one member that is the mean.
    mean = member_rigs(spread, {"3": AS_FILED}, water_of(spread), Draws.nominal(made))[0]["3"]
    assert mean.chain == rig_of(better, better.rod_by_key("3"), AS_FILED, water_of(spread)).chain  # type: ignore[arg-type]


def test_line_out_for_a_depth_brings_the_believed_depth(spread: Spread) -> None:
    better = believed(spread, learned(spread))
    rod = better.rod_by_key("3")
    assert rod is not None
    found = line_out_for_depth(better, rod, 22.0, 1.03)
    assert found.line_out_as_counter_m is not None
    there = depth_answer(better, 1.03, now={"3": RodNow(found.line_out_as_counter_m)}).rods[2]
    assert there.depth_m == pytest.approx(22.0, abs=0.02)


def test_a_file_reads_back_to_the_last_digit(spread: Spread, tmp_path: Path) -> None:
    made = learned(spread)
    path = calibration_file.save(made, tmp_path / "mine.json")
    read = calibration_file.load(path)
    assert read.names == NAMES[:3]  # a current is of its day
    assert np.array_equal(read.mean, made.mean[:3])
    assert np.array_equal(read.covariance, made.covariance[:3, :3])
    assert made.points is not None
    assert read.points is not None
    assert np.array_equal(read.points, made.points[:, :3])
    assert (read.name, read.made, read.observations) == (made.name, made.made, made.observations)


def test_it_lies_in_the_configuration_dated_and_the_newest_is_found(
    spread: Spread, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(tmp_path))
    assert calibration_file.chosen(None, spread) == (None, ())
    first = calibration_file.save(learned(spread))
    assert first == tmp_path / "calibrations" / "2026-07-18T231000Z-demo-boat.json"
    older = json.loads(first.read_text())
    older |= {"name": "older", "made": "2026-07-01T00:00:00+00:00"}
    (first.parent / "z-older.json").write_text(json.dumps(older))
    (first.parent / "broken.json").write_text("{")
    found, words = calibration_file.chosen(None, spread)
    assert found is not None
    assert found.name == "learned"
    assert len(words) == 1
    assert "broken.json: not a calibration" in words[0]
    assert calibration_file.chosen("none", spread) == (None, ())
    by_name, _ = calibration_file.chosen("z-older", spread)
    assert by_name is not None
    assert by_name.name == "older"


def test_what_is_defined_otherwise_now_is_left_out_and_said(spread: Spread) -> None:
    wire = spread.line["wire"].model_copy(update={"diameter_m": 0.5e-3})
    other = spread.model_copy(update={"line": {**spread.line, "wire": wire}})
    own, words = calibration_file.for_spread(learned(spread), other)
    assert own is not None
    assert own.names == ("tackle disc trim", "rod 3 counter", "shear north")
    assert words == "defined otherwise since the calibration learned, so left out: line wire"


def test_of_other_gear_it_is_refused(spread: Spread, tmp_path: Path) -> None:
    path = calibration_file.save(learned(spread), tmp_path / "mine.json")
    lone = parse_spread(
        """
        [line.braid]
        material = "braid"
        diameter = "0.3 mm"
        [tackle.spoon]
        kind = "lure"
        [[rod]]
        key = "9"
        name = "LONE"
        side = "centre"
        tip = { height = "5 ft" }
        chain = [ { line = "braid", out = "90 ft" }, { tackle = "spoon" } ]
        """
    )
    with pytest.raises(CalibrationError, match="is of other gear than this spread's"):
        calibration_file.chosen(str(path), lone)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"format": "something"}, 'format: accepted is "sternwatch calibration 1"'),
        ({"mean": [0.0, 1.0]}, "3 names need a mean of 3"),
        ({"covariance": [[1.0, 0, 0], [0, -1.0, 0], [0, 0, 1.0]]}, "none of its variances is negative"),
        ({"names": ["a", "a", "b"]}, "a name stands twice"),
        ({"subjects": []}, "subjects: 3 are wanted"),
        ({"points": [[1.0, 2.0, 3.0]]}, "at least 16 points of 3 numbers each"),
        ({"extra": 1}, "extra: "),
    ],
)
def test_what_is_wrong_with_a_file_is_said(
    spread: Spread, tmp_path: Path, change: dict[str, object], said: str
) -> None:
    path = calibration_file.save(learned(spread, points=False), tmp_path / "mine.json")
    path.write_text(json.dumps(json.loads(path.read_text()) | change))
    with pytest.raises(CalibrationError) as fault:
        calibration_file.load(path)
    assert str(fault.value).startswith(str(path))
    assert said in str(fault.value)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(CalibrationError, match="there is no such file"):
        calibration_file.load(tmp_path / "none.json")


# -- the user's own priors ------------------------------------------------------------------------------------------


def with_prior(name: str, low: object, high: object) -> Spread:
    data = {"prior": {name: {"low": low, "high": high, "source": "weighed"}}}
    text = (shipped("demo_logs") / "evening.toml").read_text(encoding="utf-8")
    return spread_from(read_toml(text, "evening.toml") | data)


def test_a_prior_of_the_users_own_takes_the_place_of_the_shipped_one(spread: Spread) -> None:
    tight = with_prior("tackle disc trim", 0.99, 1.01)
    assert uncertain(tight)["tackle disc trim"].source == "weighed"
    wide, narrow = (named(one, Draws(0, 500), "tackle disc trim").std() for one in (spread, tight))
    assert narrow < 0.05 * wide
    certain = with_prior("line wire strumming", 1.0, 1.0)
    assert "line wire strumming" not in uncertain(certain)
    assert (named(certain, Draws(), "line wire strumming") == 1.0).all()
    turned = with_prior("tackle disc roll low", "-1 deg", "2 deg")
    assert uncertain(turned)["tackle disc roll low"].high == pytest.approx(np.radians(2.0))


def test_every_quantity_has_a_range_about_the_value_in_use_and_a_source(spread: Spread) -> None:
    for name, one in uncertain(spread).items():
        middle = 1.0 if one.law == "factor" else 0.0
        assert one.low <= middle <= one.high, name
        assert one.low < one.high, name
        assert one.source, name


def test_all_that_is_uncertain_is_named(spread: Spread) -> None:
    wanted = {
        "line wire drag", "line wire strumming", "line wire diameter", "line wire tangential", "line leadcore weight",
        "tackle disc trim", "tackle disc plate", "tackle disc weight", "tackle disc roll low",
        "tackle ball drag", "tackle board lift", "tackle paddle drag", "tackle paddle weight", "tackle spoon weight",
        "rod 3 counter", "rod 3 roll", "speed", "speed over ground noise", "current north", "shear east",
        "water temperature",
    }  # fmt: skip
    assert wanted <= set(uncertain(spread))
