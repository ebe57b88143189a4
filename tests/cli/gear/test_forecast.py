"""``sternwatch forecast`` as contracted, and its wrong inputs."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from sternwatch.cli.gear.forecast import _after, _depth, asked_words, turn_words
from sternwatch.cli.main import build_parser, main
from sternwatch.gear.values.units import SYSTEMS

EVENING = str(Path(__file__).parents[3] / "demo_logs" / "evening.toml")


def test_the_contract(capsys: pytest.CaptureFixture[str]) -> None:
    code = main(
        ["forecast", EVENING, "--speed", "2.3 mph", "--turn", "port 180 deg radius 30 m", "--json"]
    )  # fmt: skip
    out, _ = capsys.readouterr()  # standard error may say that the solver is being prepared
    assert code == 0
    told = json.loads(out)
    assert len(told["pairs"]) == 28
    assert [pair["keys"] for pair in told["pairs"]][:2] == [["1", "2"], ["1", "3"]]
    for pair in told["pairs"]:
        assert set(pair) >= {"keys", "probability", "time_s", "separation_m", "depth_m", "astern_m"}
        assert 0.0 <= pair["probability"] <= 1.0
        # One to three of sixteen are too few to decide by: then forty-eight do.
        crossing = pair["members"] * pair["probability"]
        assert crossing == pytest.approx(round(crossing))
        assert pair["members"] == (48 if 0 < pair["probability"] < 0.25 else 16) or crossing >= 12
        assert pair["separation_m"] >= 0.0
        assert -30.0 <= pair["time_s"] <= told["horizon_s"]
    assert [rod["key"] for rod in told["rods"]] == list("12345678")
    for rod in told["rods"]:
        assert set(rod) >= {"key", "depth_min_m", "depth_max_m", "speed_min_m_s"}
        assert 0.0 < rod["depth_min_m"] <= rod["depth_max_m"]
        assert 0.0 <= rod["speed_min_m_s"] < 1.2
    inside = next(pair for pair in told["pairs"] if pair["keys"] == ["2", "3"])
    # The likeliest of all pairs. Members know their gear by its labels alone: in a little under half of them the two
    # divers cross at 30 m, in most at 25 m.
    assert inside["probability"] == max(pair["probability"] for pair in told["pairs"]) > 0.25
    assert told["advice"]
    for one in told["advice"]:
        assert set(one) == {"text", "change", "probability_after"}
        assert one["probability_after"] < 0.5
    # The turn on 30 m at 2.3 mph takes 92 s; the horizon ends two minutes after.
    assert told["horizon_s"] == pytest.approx(math.pi * 30 / (2.3 * 0.44704) + 120, abs=1.0)


def test_the_same_seed_says_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    said = []
    for seed in ("1", "1", "2"):
        main(
            ["forecast", EVENING, "--speed", "2.3 mph", "--turn", "port 90 deg radius 40 m", "--json", "--seed", seed]
        )
        said.append(capsys.readouterr().out)
    assert said[0] == said[1]
    assert said[0] != said[2]


def test_a_person_reads_pairs_rods_and_the_caution(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["forecast", EVENING, "--speed", "2.3 mph", "--to-speed", "1.8 mph", "--units", "metric"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("demo boat (invented): from 3.7 km/h to 2.9 km/h\n")
    assert "P HIGH · 3 P LOW" in out
    assert " ft" not in out
    assert "Depths are computed, not measured" in out
    for word in ("safe", "clear", "OK"):
        assert word not in out


@pytest.mark.parametrize(
    ("depth_m", "us", "metric"),
    [(None, "–", "–"), (6.0, "20 ft", "6 m"), (0.0, "0 ft", "0 m"), (-0.6, "2 ft up", "1 m up")],
)
def test_a_place_in_the_air_is_told_as_so_far_up(depth_m: float | None, us: str, metric: str) -> None:
    assert _depth(depth_m, SYSTEMS["us"]) == us
    assert _depth(depth_m, SYSTEMS["metric"]) == metric


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("port 180 deg radius 30 m", ("port", math.pi, None, 30.0)),
        ("starboard 90 deg in 60 s", ("starboard", math.pi / 2, 60.0, None)),
        ("port 90deg radius 100 ft", ("port", math.pi / 2, None, 30.48)),
        ("starboard 45 deg", ("starboard", math.pi / 4, None, None)),
        ("Port 90", ("port", math.pi / 2, None, None)),
        ("port 90° in 2 min", ("port", math.pi / 2, 120.0, None)),
        ("port 90 RADIUS 100 ft", ("port", math.pi / 2, None, 30.48)),
    ],
)
def test_turns_in_words(words: str, told: tuple[str, float, float | None, float | None]) -> None:
    side, turn, seconds, radius = turn_words(words)
    assert side == told[0]
    assert turn == pytest.approx(told[1])
    assert seconds == told[2]
    assert radius == (None if told[3] is None else pytest.approx(told[3]))


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], "straight on at 2.3 mph"),
        (["--turn", "port 180 radius 100 ft"], "from 2.3 mph port 180°, radius 100 ft"),
        (
            ["--turn", "starboard 90 in 2 min", "--to-speed", "1.8", "--stop", "10 s"],
            "from 2.3 mph starboard 90° in 120 s, to 1.8 mph, out of gear for 10 s",
        ),
    ],
)
def test_the_answer_begins_with_what_was_asked(arguments: list[str], said: str) -> None:
    asked = build_parser().parse_args(["forecast", "--speed", "2.3 mph", "--units", "us", *arguments])
    assert asked_words(asked, SYSTEMS["us"]) == said


def test_seconds_count_from_the_turn() -> None:
    assert (_after(12.4), _after(-3.0), _after(None)) == ("12 s", "before", "–")


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (["--speed", "2.3 mph", "--turn", "left 180 deg radius 30 m"], 2, "is not a turn"),
        (["--speed", "2.3 mph", "--turn", "port 180 deg radius 30 lb"], 2, "a length is wanted"),
        (["--speed", "2.3 mph", "--turn", "port 180 deg radius 0 m"], 2, "1 m to 5000 m"),
        (["--speed", "2.3 mph", "--turn", "port 0 deg radius 30 m"], 2, "more than 0"),
        (["--speed", "2.3 lb", "--turn", "port 180 deg radius 30 m"], 2, "a speed is wanted"),
        (["--speed", "0 mph"], 1, "a boat that moves"),
        (["--speed", "2.3 mph", "--stop", "900 s"], 1, "0 s to 300 s"),
    ],
)
def test_wrong_input(arguments: list[str], code: int, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    try:
        got = main(["forecast", EVENING, *arguments])
    except SystemExit as left:
        got = int(left.code or 0)
    out, err = capsys.readouterr()
    assert got == code
    assert said in err
    assert out == ""
    assert "Traceback" not in err


def test_a_spread_that_is_not_there(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["forecast", "nowhere.toml", "--speed", "2 mph"]) == 1
    assert "nowhere.toml" in capsys.readouterr().err
