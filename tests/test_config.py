"""The user's own preferences."""

import tomllib

import pytest

from sternwatch.config import ConfigError, Preferences, load_preferences, parse_preferences
from sternwatch.console.keys import keymap
from sternwatch.manual.book import written


def test_no_file_means_all_defaults(tmp_path, monkeypatch):
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(tmp_path))
    assert load_preferences() == Preferences()


def test_a_file_is_read(tmp_path, monkeypatch):
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(tmp_path))
    (tmp_path / "config.toml").write_text(
        'units = "metric"\ntheme = "night"\nlittle = "10 ft"\nspecies = ["char"]\n[keys]\nundo = "z"\n'
    )
    read = load_preferences()
    assert (read.units, read.theme, read.species, read.keys) == ("metric", "night", ("char",), {"undo": "z"})
    assert read.little_m == pytest.approx(3.048)
    assert read.lot_m == 10.0


def test_steps_follow_the_units():
    assert Preferences().little_m == pytest.approx(5 * 0.3048)
    assert Preferences(units="knots").little_m == 1.0


def test_no_zone_is_wanted_until_one_is_chosen():
    assert Preferences().zone_wanted is None
    coho = parse_preferences({"zone": "coho"}, "config.toml").zone_wanted
    assert (coho.name, coho.low_c, coho.high_c) == ("coho", 10.0, 14.0)
    assert coho.source.startswith("memory")


def test_a_zone_of_ones_own_stands_before_the_shipped_one():
    own = {
        "coho": {"low": "50 degF", "high": "59 degF"},
        "deep": {"low": "4 degC", "high": "7 degC", "source": "log"},
    }
    coho, deep, walleye = (
        parse_preferences({"zone": name, "zones": own}, "config.toml").zone_wanted for name in (*own, "walleye")
    )
    assert (coho.low_c, coho.high_c) == (pytest.approx(10.0), pytest.approx(15.0))
    assert coho.source == "your own"
    assert (deep.low_c, deep.source) == (4.0, "log")
    assert walleye.low_c == 18.0


def test_line_goes_out_at_the_rate_wanted():
    assert Preferences().let_out_m_s == 0.6
    assert parse_preferences({"let_out_rate": "3 ft/s"}, "config.toml").let_out_m_s == pytest.approx(0.9144)


@pytest.mark.parametrize(
    ("given", "parts"),
    [
        ({"unit": "us"}, ["'unit'", "did you mean 'units'"]),
        ({"units": "imperial"}, ["units", "'imperial'", "'us', 'metric' or 'knots'"]),
        ({"little": 5}, ["little", "5", "bare number"]),
        ({"little": "5 lb"}, ["little", "5 lb", "length"]),
        ({"little": "0 ft"}, ["little", "0 ft"]),
        ({"mouse": "sometimes"}, ["mouse", "'sometimes'"]),
        ({"species": [""]}, ["species", "1 to 24 letters"]),
        ({"keys": {"undo": 5}}, ["keys.undo", "5"]),
        ({"zone": "cohoo"}, ["zone = 'cohoo'", "no such zone", "did you mean 'coho'", "lake trout"]),
        ({"zone": "mine"}, ["zone = 'mine'", "no such zone"]),
        ({"zones": {"mine": {"low": "48 degF"}}}, ["zones.mine.high", "required"]),
        ({"zones": {"mine": {"low": 48, "high": "54 degF"}}}, ["zones.mine.low", "48", "bare number"]),
        ({"zones": {"mine": {"low": "54 degF", "high": "48 degF"}}}, ["zones.mine.high", "warmer than its low end"]),
        ({"let_out_rate": "2 ft"}, ["let_out_rate", "2 ft", "speed"]),
        ({"let_out_rate": "0 m/s"}, ["let_out_rate", "0 m/s", "0.02 m/s to 5 m/s"]),
    ],
)
def test_a_wrong_setting_is_refused_in_one_sentence(given, parts):
    with pytest.raises(ConfigError) as wrong:
        parse_preferences(given, "config.toml")
    assert "\n" not in str(wrong.value)
    for part in ["config.toml: ", *parts]:
        assert part in str(wrong.value)


@pytest.mark.parametrize(
    ("content", "part"),
    [(b"units = ", "not valid TOML"), (b"\xff\xfe", "line 1 is not UTF-8 text"), (None, "no such file")],
)
def test_a_file_that_cannot_be_used_is_named(tmp_path, content, part):
    path = tmp_path / "own.toml"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(ConfigError) as wrong:
        load_preferences(path)
    assert str(path) in str(wrong.value)
    assert part in str(wrong.value)


def test_the_example_of_the_manual_is_accepted():
    page = next(page for page in written() if page.name == "setting-up")
    example = page.text.split("```toml\n")[1].split("```")[0]
    read = parse_preferences(tomllib.loads(example), "the manual")
    assert read.zone_wanted.high_c == pytest.approx(24.0 / 1.8)
    assert read.let_out_m_s == pytest.approx(0.6096)
    assert keymap.build(read.keys)
