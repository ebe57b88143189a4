"""Preferences that cannot be used stop the console before anything is opened, in one sentence."""

from pathlib import Path

import pytest

from sternwatch.cli.common.session import _setup
from sternwatch.cli.main import main
from sternwatch.config import Preferences, parse_preferences
from sternwatch.gear.spread_file.load import load_spread
from sternwatch.watch.picture.model import Session

DEMO = Path(__file__).parents[3] / "demo_logs"


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ('[keys]\nundoo = "z"\n', ["config.toml: keys", "'undoo'", "did you mean 'undo'"]),
        ('[keys]\nundo = "y"\n', ["config.toml: keys", "y would mean both"]),
        ('unit = "us"\n', ["config.toml", "'unit'", "did you mean 'units'"]),
        ("units = us\n", ["config.toml", "not valid TOML"]),
    ],
)
def test_wrong_preferences_are_one_sentence_and_exit_code_1(tmp_path, monkeypatch, capsys, text, parts):
    for name in ("CONFIG", "DATA", "CACHE", "LOG"):
        monkeypatch.setenv(f"STERNWATCH_{name}_DIR", str(tmp_path))
    (tmp_path / "config.toml").write_text(text)
    assert main(["demo"]) == 1
    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert "Traceback" not in error
    for part in parts:
        assert part in error
    assert [path.name for path in tmp_path.iterdir()] == ["config.toml"]


def test_the_watch_is_set_up_with_what_the_user_prefers():
    wanted = parse_preferences({"zone": "lake trout", "let_out_rate": "3 ft/s", "units": "metric"}, "config.toml")
    made = _setup(load_spread(DEMO / "evening.toml"), Session.LIVE, "trip", "in", wanted)
    assert made.pay_out_m_s == pytest.approx(0.9144)
    assert (made.zone_c, made.zone_name, made.units.length) == ((4.0, 12.5), "lake trout", "m")
    assert "Edsall" in made.zone_source


def test_no_zone_but_in_the_demo_whose_crew_has_one_of_its_own():
    spread = load_spread(DEMO / "evening.toml")
    assert _setup(spread, Session.LIVE, "trip", "in", Preferences()).zone_c is None
    demo = _setup(spread, Session.DEMO, "demo", "in", Preferences())
    assert (demo.zone_name, demo.zone_source) == ("coho", "invented, as the evening is")
    own = Preferences(zone="walleye")
    assert _setup(spread, Session.DEMO, "demo", "in", own).zone_name == "walleye"
