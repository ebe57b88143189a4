"""Commands as a script meets them: exit codes, what goes to which stream, JSON as contracted."""

from __future__ import annotations

import gc
import json
import logging
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from sternwatch import __version__
from sternwatch.cli.common.exits import Exit
from sternwatch.cli.common.unexpected import logged
from sternwatch.cli.main import COMMANDS, GROUPS, OTHER_WORDS, build_parser, called, main
from sternwatch.places import shipped

EVENING = str(shipped("demo_logs") / "evening.toml")


@pytest.fixture(autouse=True)
def _no_preferences(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(tmp_path / "none"))


def _run(*argv: str, env: dict[str, str] | None = None) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "sternwatch", *argv],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        env={**os.environ, **(env or {})},
    )


def _depth(capsys: pytest.CaptureFixture[str], *argv: str) -> dict[str, Any]:
    assert main(["depth", EVENING, *argv, "--json"]) == Exit.DONE
    found = capsys.readouterr()
    document: dict[str, Any] = json.loads(found.out)
    assert found.out.count("\n") == 1
    return document


def test_depth_as_contracted(capsys: pytest.CaptureFixture[str]) -> None:
    document = _depth(capsys, "--speed", "2.3 mph")
    assert document["speed_through_water_m_s"] == pytest.approx(1.028192)
    assert [rod["key"] for rod in document["rods"]] == list("12345678")
    rod = document["rods"][1]
    assert set(rod) >= {
        "key", "name", "depth_m", "astern_m", "abeam_m", "tension_N", "entry_angle_deg", "depth_interval_m", "points",
    }  # fmt: skip
    assert rod["name"] == "P HIGH"
    assert rod["abeam_m"] < -10
    assert [p["what"] for p in rod["points"]] == ["disc", "snub", "paddle", "fly"]
    assert set(rod["points"][0]) == {"what", "depth_m", "astern_m", "abeam_m"}
    assert rod["points"][-1]["depth_m"] == pytest.approx(rod["depth_m"], abs=1e-6)
    assert 0 < rod["entry_angle_deg"] < 90
    for rod in document["rods"]:
        low, high = rod["depth_interval_m"]
        assert low < rod["depth_m"] < high


def test_the_chain_answers_speed(capsys: pytest.CaptureFixture[str]) -> None:
    slow, fast = (_depth(capsys, "--speed", speed) for speed in ("1.8 mph", "2.6 mph"))
    for a, b in zip(slow["rods"], fast["rods"], strict=True):
        assert a["depth_m"] > b["depth_m"]


def test_several_speeds_are_one_object_per_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["depth", EVENING, "--speed", "1.8 mph", "--speed", "2.6 mph", "--json"]) == Exit.DONE
    rows = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [row["speed_through_water_m_s"] for row in rows] == pytest.approx([1.8 * 0.44704, 2.6 * 0.44704])


def test_depth_for_people(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["depth", EVENING, "--speed", "2.3 mph"]) == Exit.DONE
    out = capsys.readouterr().out
    assert "2.3 mph through the water" in out
    assert "2 P HIGH" in out
    assert re.search(r"line out +depth +90 % in +astern +abeam +pull +entry", out)
    assert re.search(r"ft +setting +ft +ft +ft +ft +lb +°", out)
    assert "Depths are computed, not measured. Not for navigation." in out
    assert main(["depth", EVENING, "--speed", "2 kn", "--units", "metric"]) == Exit.DONE
    out = capsys.readouterr().out
    assert "3.7 km/h through the water" in out
    assert re.search(r"m +setting +m +m +m +m +N +°", out)


def test_people_read_the_units_they_prefer(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(tmp_path))
    (tmp_path / "config.toml").write_text('units = "knots"\n', encoding="utf-8")
    assert main(["depth", EVENING, "--speed", "2.3 mph"]) == Exit.DONE
    assert "2.0 kn through the water" in capsys.readouterr().out
    (tmp_path / "config.toml").write_text('units = "cubits"\n', encoding="utf-8")
    assert main(["depth", EVENING, "--speed", "2.3 mph"]) == Exit.WRONG_INPUT
    found = capsys.readouterr()
    assert found.out == ""
    assert "units" in found.err
    assert "config.toml" in found.err


def test_a_wrong_spread_is_one_sentence_and_code_1(tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.toml"
    text = Path(EVENING).read_text(encoding="utf-8").replace('setting = "high"', 'setting = "hgih"', 1)
    wrong.write_text(text, encoding="utf-8")
    done = _run("depth", str(wrong), "--speed", "2.3 mph", "--json")
    assert done.returncode == 1
    assert done.stdout == ""
    assert done.stderr == (
        f'sternwatch: {wrong}: rod 2 (P HIGH), chain item 2, setting = "hgih": no such setting '
        '(did you mean "high"?); accepted for disc: straight, low, high\n'
    )


def test_a_missing_file_is_code_1(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert main(["depth", str(tmp_path / "no.toml"), "--speed", "2 kn"]) == Exit.WRONG_INPUT
    found = capsys.readouterr()
    assert found.out == ""
    assert found.err == f"sternwatch: {tmp_path / 'no.toml'}: no such file\n"


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        (["depth", EVENING, "--speed", "fast"], "a speed takes m/s, kn, mph, km/h, ft/s"),
        (["depth", EVENING, "--speed", "2.3 lb"], "lb measures a mass; here a speed is wanted"),
        (["depth", EVENING, "--speed", "-1 kn"], "accepted is 0 to 22 mph"),
        (["depth", EVENING, "--speed", "60 kn"], "accepted is 0 to 22 mph"),
        (["depth", EVENING, "--speed", "2 kn", "--heading", "north"], "an angle takes deg"),
        (["nonsense"], 'there is no command "nonsense"'),
    ],
)
def test_wrong_usage_is_code_2(capsys: pytest.CaptureFixture[str], argv: list[str], words: str) -> None:
    with pytest.raises(SystemExit) as left:
        main(argv)
    assert left.value.code == Exit.USAGE
    found = capsys.readouterr()
    assert words in found.err
    assert found.out == ""


def test_no_command_is_usage(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == Exit.USAGE
    found = capsys.readouterr()
    assert found.out == ""
    assert "to begin with:" in found.err


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        main(["--version"])
    assert left.value.code == 0
    assert capsys.readouterr().out == f"sternwatch {__version__}\n"


def test_schema_prints_a_schema(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema"]) == Exit.DONE
    schema = json.loads(capsys.readouterr().out)
    assert schema["type"] == "object"
    assert set(schema["properties"]) == {"boat", "water", "line", "tackle", "rod", "prior", "known"}


def test_paths(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("STERNWATCH_DATA_DIR", str(tmp_path / "here"))
    assert main(["paths", "--json"]) == Exit.DONE
    found = json.loads(capsys.readouterr().out)
    assert found["data"] == str(tmp_path / "here")
    assert Path(found["demo_logs"], "evening.toml").is_file()
    assert main(["paths"]) == Exit.DONE
    assert str(tmp_path / "here") in capsys.readouterr().out


def test_a_command_searches_for_garbage_seldom(monkeypatch: pytest.MonkeyPatch) -> None:
    """By default that took a tenth of a replay and of the time to load the solver."""
    set_to: list[tuple[int, ...]] = []
    monkeypatch.setattr(gc, "set_threshold", lambda *counts: set_to.append(counts))
    main(["paths"])
    assert set_to == [(10_000, 20, 200)]


def test_help_is_light() -> None:
    """Help and version must not pay for what a command needs: numpy, pydantic, Textual, rich and the compiler."""
    code = (
        "import sys\n"
        "from sternwatch.cli.main import build_parser\n"
        "build_parser().format_help()\n"
        "heavy = {'numpy', 'numba', 'pydantic', 'textual', 'rich', 'serial', 'pynmea2', 'sqlite3'}\n"
        "print(sorted(heavy & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True)
    assert done.stdout.strip() == "[]"


def test_every_command_has_help(capsys: pytest.CaptureFixture[str]) -> None:
    for name in COMMANDS:
        with pytest.raises(SystemExit) as left:
            main([called(name), "--help"])
        assert left.value.code == 0
        assert "usage: sternwatch" in capsys.readouterr().out


def test_a_closed_pipe_is_no_fault() -> None:
    """As a pager that is left early."""
    with subprocess.Popen(
        [sys.executable, "-m", "sternwatch", "schema"], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as prints:
        assert prints.stdout is not None
        assert prints.stderr is not None
        assert prints.stdout.read(1) == b"{"
        prints.stdout.close()
        assert prints.stderr.read() == b""
        assert prints.wait(60) == 0


def test_what_nobody_foresaw_goes_to_the_log(tmp_path: Path) -> None:
    code = (
        "import sys\n"
        "from sternwatch.cli import main as cli\n"
        "from sternwatch.cli.trips import paths\n"
        "def broken(args): raise RuntimeError('a wheel came off')\n"
        "paths.run = broken\n"
        "sys.exit(cli.main(['paths']))\n"
    )
    env = {**os.environ, "STERNWATCH_LOG_DIR": str(tmp_path)}
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=False, env=env
    )
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    assert done.stderr.startswith("sternwatch: an unexpected error (RuntimeError: a wheel came off)")
    assert "Traceback" in (tmp_path / "sternwatch.log").read_text(encoding="utf-8")


@pytest.mark.parametrize(("units", "test", "lure"), [("us", "30 lb", "4 in"), ("metric", "133 N", "10.2 cm")])
def test_the_shelf_is_told_in_the_users_units(
    units: str, test: str, lure: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["shelf", "--units", units]) == Exit.DONE
    said = capsys.readouterr().out.splitlines()
    wire = next(line for line in said if line.startswith("  wire 30 lb"))
    assert f"stainless steel, 0.38 mm, {test}, typical" in wire
    assert any(line.startswith("  spoon 4 in") and lure in line.split("spoon 4 in")[1] for line in said)
    assert not any("lbf" in line for line in said)


def test_what_fails_beside_a_session_goes_to_the_log_and_only_while_it_lasts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("STERNWATCH_LOG_DIR", str(tmp_path))
    beside = logging.getLogger("sternwatch.watch.background")
    with logged():
        try:
            raise ZeroDivisionError("a look ahead")
        except ZeroDivisionError:
            beside.exception("outlook failed")
        beside.info("all is well")
    beside.warning("afterwards")
    kept = (tmp_path / "sternwatch.log").read_text(encoding="utf-8")
    assert "outlook failed" in kept
    assert "ZeroDivisionError: a look ahead" in kept
    assert "all is well" not in kept
    assert "afterwards" not in kept
    assert capsys.readouterr().out == ""


def test_a_session_goes_on_where_no_log_can_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "log").write_text("a file where the folder should be", encoding="utf-8")
    monkeypatch.setenv("STERNWATCH_LOG_DIR", str(tmp_path / "log"))
    with logged():
        logging.getLogger("sternwatch.watch.background").warning("said nowhere")


# -- the own boat, and what a person types ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("depht", "depth"), ("drils", "practice --list"), ("practise", "practice"), ("Trips", "trip list")],
)
def test_a_mistyped_command_is_answered_by_the_nearest(
    typed: str, meant: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as left:
        main([typed])
    assert left.value.code == Exit.USAGE
    assert f'there is no command "{typed}"; did you mean "{meant}"?' in capsys.readouterr().err


def test_every_other_word_for_a_command_leads_to_one() -> None:
    assert not set(OTHER_WORDS) & set(map(called, COMMANDS))
    for meant in OTHER_WORDS.values():
        command, *rest = meant.split()
        assert command in map(called, COMMANDS)
        if rest:
            build_parser().parse_args([command, *rest])


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("logbook", "sternwatch logbook: say what to do: verify, backup\n"),
        ("trip lst", 'sternwatch trip: there is no "lst"; did you mean "list"? Accepted: list, end, '),
        (
            "depth --sped=3",
            'sternwatch depth: there is no option "--sped"; did you mean "--speed"? "sternwatch depth --',
        ),
        ("keys --where", 'sternwatch keys: there is no option "--where"; "sternwatch keys --help" lists them all\n'),
        ("trip list --jsn", 'sternwatch trip list: there is no option "--jsn"; did you mean "--json"?'),
        ("demo now", 'sternwatch demo: "now" is one word too many; "sternwatch demo --help" says what'),
    ],
)
def test_what_is_missing_or_unknown_is_answered_with_what_is_accepted(
    typed: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as left:
        main(typed.split())
    assert left.value.code == Exit.USAGE
    assert capsys.readouterr().err.startswith(said)


def test_help_lists_every_command_once_under_what_it_is_for() -> None:
    words = build_parser().format_help()
    titles = [words.index(f"\n{title}:\n") for title in (*GROUPS, "options")]
    assert titles == sorted(titles)
    for name in COMMANDS:
        assert len(re.findall(rf"^  {called(name)} ", words, re.MULTILINE)) == 1
    assert words.index("\n  debrief") > words.index("\nafter a trip:") > words.index("\n  watch")


@pytest.mark.parametrize("command", ["depth", "check", "table", "tags", "watch"])
def test_without_a_spread_and_without_a_boat_it_says_how_to_set_one_up(
    command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([command]) == Exit.WRONG_INPUT
    assert '"sternwatch setup"' in capsys.readouterr().err


def test_the_own_boat_at_its_usual_speed_and_the_rods_asked_for(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(tmp_path))
    (tmp_path / "boat.toml").write_text(Path(EVENING).read_text(encoding="utf-8"), encoding="utf-8")
    assert main(["depth", "--json", "--rod", "6", "--rod", "2"]) == Exit.DONE
    own = json.loads(capsys.readouterr().out)
    assert [rod["key"] for rod in own["rods"]] == ["2", "6"]
    named = _depth(capsys, "--speed", "2.3 mph")
    assert own["speed_through_water_m_s"] == named["speed_through_water_m_s"]
    assert own["rods"][0]["depth_m"] == named["rods"][1]["depth_m"]
    assert main(["depth", "--rod", "9"]) == Exit.WRONG_INPUT
    assert "accepted: 1, 2, 3, 4, 5, 6, 7, 8" in capsys.readouterr().err


def test_a_bare_number_is_in_the_users_unit(monkeypatch: pytest.MonkeyPatch) -> None:
    from sternwatch.cli.common.options import quantity, speed
    from sternwatch.gear.values.units import Dimension

    length = quantity(Dimension.LENGTH)
    assert speed("2.3") == pytest.approx(2.3 * 0.44704)
    assert length("9'6\"") == pytest.approx(9.5 * 0.3048)
    monkeypatch.setattr(sys, "argv", ["sternwatch", "depth", "--target", "20", "--units", "metric"])
    assert length("20") == 20.0
    assert speed("4") == pytest.approx(4 / 3.6)


def test_the_script_for_the_shell_knows_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["completion", "bash"]) == Exit.DONE
    script = capsys.readouterr().out
    assert all(called(name) in script for name in COMMANDS)


@pytest.mark.parametrize(
    "command",
    [
        "watch --feed", "check", "depth", "practice", "edit", "keys", "table", "replay", "logbook verify",
        "depth demo --calibration",
    ],
)  # fmt: skip
def test_a_name_that_no_system_takes_is_refused_in_a_sentence(
    command: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    for what in ("CONFIG", "DATA", "LOG"):
        monkeypatch.setenv(f"STERNWATCH_{what}_DIR", str(tmp_path))
    monkeypatch.setattr("sternwatch.console.editor.screen.EditorApp.run", lambda _app: None)
    main([*command.split(), "q" * 300])
    assert "unexpected" not in capsys.readouterr().err
