"""``sternwatch practice`` as a script meets it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from sternwatch.cli.common.exits import Exit
from sternwatch.cli.main import main
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import new_trip
from sternwatch.practice.sessions.headless import BEGIN

DRILL = """
name = "Short"
briefing = "A short one."
time = "15 s"
[start]
lead_in = "5 s"
only = ["4", "5"]
[goal]
elapsed = "12 s"
hold = "0 s"
[[score]]
measure = "crossings"
best = 0
worst = 2
weight = 1
"""


@pytest.fixture(autouse=True)
def folders(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(tmp_path / "config"))
    monkeypatch.setenv("STERNWATCH_DATA_DIR", str(tmp_path / "data"))
    (tmp_path / "short.toml").write_text(DRILL)
    return tmp_path


def test_headless_json_is_one_object_and_the_same_bytes(capsys: pytest.CaptureFixture[str], folders: Path) -> None:
    argv = ["practice", str(folders / "short.toml"), "--headless", "--json", "--seed", "3"]
    assert main(argv) == Exit.DONE
    first = capsys.readouterr()
    assert main(argv) == Exit.DONE
    assert capsys.readouterr().out == first.out
    result = json.loads(first.out)
    assert (result["drill"], result["seed"], result["done"], result["score"]) == ("short", 3, True, 100.0)
    assert {rod["key"] for rod in result["rods"]} == {"4", "5"}
    assert result["measures"]["vessel_distance_m"] is None
    assert main([*argv[:-1], "4"]) == Exit.DONE
    assert capsys.readouterr().out != first.out


def test_rows_carry_the_truth_beside_what_is_believed(capsys: pytest.CaptureFixture[str], folders: Path) -> None:
    argv = ["practice", str(folders / "short.toml"), "--headless", "--json", "--rows", "--seed", "3"]
    assert main(argv) == Exit.DONE
    *rows, result = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert "score" in result
    last = rows[-1]["rods"][0]
    assert last["key"] == "4"
    assert last["true_depth_m"] == pytest.approx(last["depth_m"], rel=0.3)
    assert rows[-1]["drill_s"] > rows[0]["drill_s"]


def test_for_people_it_is_text(capsys: pytest.CaptureFixture[str], folders: Path) -> None:
    assert main(["practice", str(folders / "short.toml"), "--headless", "--seed", "3"]) == Exit.DONE
    out = capsys.readouterr().out
    assert out.startswith("100 of 100: passed")
    assert "Depth believed and true, ft" in out


def test_the_list_names_every_drill_with_the_best_score(capsys: pytest.CaptureFixture[str], folders: Path) -> None:
    with Logbook(folders / "data" / "logbook.sqlite") as book:
        for score in (30.0, 71.0, 55.0):
            trip = new_trip(BEGIN, session="practice")
            book.begin_trip(trip)
            book.keep_result(trip.id, {"drill": "hump", "seed": 1, "score": score, "passed": False, "par": None})
    assert main(["practice", "--list", "--json"]) == Exit.DONE
    rows = {row["id"]: row for row in json.loads(capsys.readouterr().out)}
    assert len(rows) >= 11
    assert rows["hump"]["best"] == 71.0
    assert rows["squall"]["best"] is None
    assert main(["practice", "--list"]) == Exit.DONE
    assert "best 71" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("argv", "said"),
    [
        (["nope"], "there is no drill"),
        (["hump", "--json"], "--json needs --headless"),
        (["hump", "--headless", "--rows"], "--rows needs"),
        (["hump", "--script", "novice"], "--script needs --headless"),
        (["hump", "--headless", "--serve", "pty"], "leave one of the two out"),
        (["free", "--headless"], "without a goal it never ends"),
        (["hump", "--headless", "--fault", "dropot"], 'did you mean "dropout"'),
        (["hump", "--headless", "--script", "nobody"], "no such script"),
        (["hump", "--headless", "--spread", "none.toml"], "none.toml"),
        (["hump", "--serve", "udp:1"], "accepted: tcp:PORT"),
    ],
)
def test_what_is_wrong_is_one_sentence_and_exit_code_1(
    capsys: pytest.CaptureFixture[str], argv: list[str], said: str
) -> None:
    assert main(["practice", *argv]) == Exit.WRONG_INPUT
    err = capsys.readouterr().err
    assert said in err
    assert err.startswith("sternwatch: ")
    assert err.count("\n") == 1
