"""A preference that cannot be used is said, and the session begins with its default."""

from pathlib import Path

import pytest

from sternwatch.cli.common.session import _setup, forgiving_preferences
from sternwatch.cli.main import main
from sternwatch.config import Preferences, parse_preferences
from sternwatch.gear.spread_file.load import load_spread
from sternwatch.watch.picture.model import Session

DEMO = Path(__file__).parents[3] / "demo_logs"


@pytest.fixture
def folder(tmp_path, monkeypatch):
    for name in ("CONFIG", "DATA", "CACHE", "LOG"):
        monkeypatch.setenv(f"STERNWATCH_{name}_DIR", str(tmp_path))
    return tmp_path


def test_preferences_that_are_no_toml_stop_no_session_and_are_said(folder, capsys):
    (folder / "config.toml").write_text("units = us\n")
    chosen, (said,) = forgiving_preferences()
    assert chosen == Preferences()
    assert "config.toml: not valid TOML" in said
    assert said.endswith("; the defaults stand")
    assert main(["watch", str(DEMO / "evening.toml")]) == 1
    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert "config.toml: not valid TOML" in error
    assert "the defaults stand; no feed: give --feed" in error
    assert [path.name for path in folder.iterdir()] == ["config.toml"]


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("risk = 0.7\n", ["config.toml: risk = 0.7", "less than or equal to 0.5", "the default stands"]),
        ('let_out_rate = "3 furlong"\n', ["let_out_rate", "the default stands"]),
        ('[keys]\nundoo = "z"\n', ["config.toml: keys", "'undoo'", "did you mean 'undo'", "default keys stand"]),
        ('[keys]\nundo = "y"\n', ["config.toml: keys", "y would mean both", "default keys stand"]),
        ('unit = "us"\n', ["config.toml", "'unit'", "did you mean 'units'"]),
    ],
)
def test_a_preference_that_cannot_be_used_is_said_and_the_others_hold(folder, text, parts):
    (folder / "config.toml").write_text(f"mirror = true\n{text}")
    chosen, said = forgiving_preferences()
    assert chosen == Preferences(mirror=True)
    assert len(said) == 1
    for part in parts:
        assert part in said[0]


def test_every_fault_is_said(folder):
    (folder / "config.toml").write_text('risk = 0.7\nbell = 3\nzone = "nosuch"\nunits = "metric"\n')
    chosen, said = forgiving_preferences()
    assert (chosen.units, chosen.risk, chosen.bell, chosen.zone) == ("metric", 0.1, True, None)
    assert len(said) == 3


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
