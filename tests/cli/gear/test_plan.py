"""``sternwatch plan`` on the command line: what it prints, as JSON and as a page, and what it refuses."""

from __future__ import annotations

import io
import json
import re
from contextlib import redirect_stdout
from pathlib import Path
from typing import Any

import pytest

from sternwatch.cli.main import main

EVENING = Path(__file__).parents[3] / "demo_logs" / "evening.toml"
ASKED = ["plan", str(EVENING), "--from", "40 ft", "--to", "60 ft", "--speed", "2.3 mph", "--rods", "2,4"]
FOOT = 0.3048


@pytest.fixture(scope="module")
def made() -> dict[str, Any]:
    printed = io.StringIO()
    with redirect_stdout(printed):
        assert main([*ASKED, "--u-turn", "2 min", "--json"]) == 0
    assert printed.getvalue().count("\n") == 1, "one document and nothing else"
    document: dict[str, Any] = json.loads(printed.getvalue())
    return document


def test_the_document_holds_every_rod_asked_about(made: dict[str, Any]) -> None:
    assert [rod["key"] for rod in made["rods"]] == ["2", "4"]
    assert made["u_turn_s"] == 120.0
    assert made["from_m"] == pytest.approx(40 * FOOT)
    assert made["met"] is True
    assert made["in_the_way"] == []
    assert made["pairs"] == []
    assert sorted(made["order"]) == ["2", "4"]
    assert made["order_crossings"] == []
    depths = sorted(rod["depth_m"] / FOOT for rod in made["rods"])
    assert depths == pytest.approx([40.0, 60.0], abs=0.2)
    for rod in made["rods"]:
        assert rod["depth_interval_m"][0] < rod["depth_m"] < rod["depth_interval_m"][1]
        assert rod["line_out_m"] != rod["present_line_out_m"]


def test_lines_go_out_as_quickly_as_the_preferences_say(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """At 0.6 m/s without a word, and at twice that where it is preferred: half of the running time is saved."""
    (tmp_path / "config.toml").write_text('let_out_rate = "1.2 m/s"\n', encoding="utf-8")
    took_s, line_m = {}, 0.0
    for folder in (tmp_path / "none", tmp_path):
        monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(folder))
        assert main([*ASKED, "--json"]) == 0
        made = json.loads(capsys.readouterr().out)
        took_s[folder] = made["order_time_s"]
        line_m = sum(rod["line_out_m"] for rod in made["rods"])
    saved_s = took_s[tmp_path / "none"] - took_s[tmp_path]
    assert saved_s == pytest.approx(line_m / 0.6 - line_m / 1.2, rel=0.15), "leaders go out as well"


def test_depth_agrees_with_it(made: dict[str, Any], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    by_key = {rod["key"]: rod for rod in made["rods"]}
    text = EVENING.read_text(encoding="utf-8")
    line, setting = by_key["2"]["line_out_m"], by_key["2"]["setting"]
    text = text.replace('out = "165 ft"', f'out = "{line!r} m"', 1).replace('"high" }', f'"{setting}" }}', 1)
    path = tmp_path / "planned.toml"
    path.write_text(text, encoding="utf-8")
    assert main(["depth", str(path), "--speed", "2.3 mph", "--json"]) == 0
    answered = json.loads(capsys.readouterr().out)["rods"][1]
    assert answered["key"] == "2"
    assert answered["depth_m"] == pytest.approx(by_key["2"]["depth_m"], abs=1e-3)


def test_for_people_it_is_a_list_in_the_order_to_let_out(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*ASKED, "--units", "us"]) == 0
    printed = capsys.readouterr().out
    assert "lures from 40 to 60 ft at 2.3 mph through the water" in printed
    numbered = re.findall(r"^(\d)\.\s+(\d) (\w+ \w+)", printed, re.MULTILINE)
    assert [row[0] for row in numbered] == ["1", "2"]
    assert {row[2] for row in numbered} == {"P HIGH", "P DOWN"}
    assert "Let out in this order: as simulated" in printed
    assert "on a straight course" in printed, "no U-turn was asked for"
    assert "no wraps round a hand" in printed
    assert printed.endswith("Not for navigation.\nThis is not a guarantee.\n")


def test_as_a_page_for_the_deck(tmp_path: Path) -> None:
    page = tmp_path / "plan.html"
    assert main([*ASKED, "--html", str(page), "--units", "metric"]) == 0
    text = page.read_text(encoding="utf-8")
    assert text.startswith("<!DOCTYPE html>")
    assert "Not for navigation" in text
    assert "<td>2 P HIGH</td>" in text
    assert "12.2" in text, "metres and tenths"


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (["--from", "90 ft"], "the shallower depth comes first"),
        (["--rods", "2,z"], "the spread has no such rod; accepted: 1, 2"),
        (["--rods", ","], "--rods names none"),
        (["--rod", "2,z"], "the spread has no such rod; accepted: 1, 2"),
        (["--u-turn", "1 s"], "accepted is 20 s to 10 min"),
        (["--speed", "0 mph"], "needs a boat that moves"),
        (["--from", "0 ft"], "more than 0 and"),
    ],
)
def test_what_is_refused_is_refused_with_a_sentence(
    given: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*ASKED, *given]) == 1
    told = capsys.readouterr()
    assert said in told.err
    assert told.out == ""
    assert "Traceback" not in told.err


def test_usage_is_refused_by_argparse(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        main([*ASKED, "--to", "60 lb"])
    assert left.value.code == 2
    assert "ft" in capsys.readouterr().err
