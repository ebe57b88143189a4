"""The user's own preferences."""

import pytest

from sternwatch.config import ConfigError, Preferences, load_preferences, parse_preferences


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
    ],
)
def test_a_wrong_setting_is_refused_in_one_sentence(given, parts):
    with pytest.raises(ConfigError) as wrong:
        parse_preferences(given, "config.toml")
    assert "\n" not in str(wrong.value)
    for part in ["config.toml: ", *parts]:
        assert part in str(wrong.value)


@pytest.mark.parametrize(
    ("content", "part"), [(b"units = ", "not valid TOML"), (b"\xff\xfe", "cannot be read"), (None, "no such file")]
)
def test_a_file_that_cannot_be_used_is_named(tmp_path, content, part):
    path = tmp_path / "own.toml"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(ConfigError) as wrong:
        load_preferences(path)
    assert str(path) in str(wrong.value)
    assert part in str(wrong.value)
