"""Preferences changed one at a time: checked whole, comments kept, the old file kept, nothing half written."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from sternwatch.config import ConfigError, Preferences, load_preferences
from sternwatch.console.keys import keymap
from sternwatch.files import earlier
from sternwatch.settings import Row, change, given, rows, typed

OWN = """\
# what I like
units = "metric"   # at home in metres

[keys]
bite = "space"     # the big one
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "config.toml"
    path.write_text(OWN, encoding="utf-8")
    return path


def _row(file: Path, title: str) -> Row:
    return next(row for row in rows(load_preferences(file), given(file), ("day", "night")) if row.title == title)


def test_a_change_keeps_every_comment_and_the_file_before_it(file: Path) -> None:
    assert change(("little",), "2 m", file).little_m == 2.0
    text = file.read_text(encoding="utf-8")
    assert "# what I like" in text
    assert "# at home in metres" in text
    assert "# the big one" in text
    assert tomllib.loads(text) == {"units": "metric", "little": "2 m", "keys": {"bite": "space"}}
    assert [kept.read_text(encoding="utf-8") for kept in earlier(file)] == [OWN]


def test_a_file_that_is_not_there_is_made(tmp_path: Path) -> None:
    path = tmp_path / "new" / "config.toml"
    assert change(("mouse",), True, path) == load_preferences(path) == Preferences(mouse=True)


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        (("little",), "2", "little"),
        (("units",), "yards", "'us', 'metric' or 'knots'"),
        (("unitz",), "us", "did you mean 'units'?"),
        (("zone",), "cohoo", "did you mean 'coho'?"),
    ],
)
def test_what_would_not_be_accepted_is_refused_and_nothing_is_written(
    file: Path, name: tuple[str, ...], value: str, said: str
) -> None:
    with pytest.raises(ConfigError) as refused:
        change(name, value, file)
    assert said in str(refused.value)
    assert str(file) in str(refused.value)
    assert file.read_text(encoding="utf-8") == OWN


def test_what_else_must_hold_is_asked_before_writing(file: Path) -> None:
    with pytest.raises(ConfigError, match="would mean both"):
        change(("keys", "undo"), "v", file, lambda found, where: keymap.build(found.keys, where))
    assert file.read_text(encoding="utf-8") == OWN
    changed = change(("keys", "rod 1"), "&", file, lambda found, where: keymap.build(found.keys, where))
    assert changed.keys == {"bite": "space", "rod 1": "&"}


def test_a_file_that_is_no_toml_is_said_and_left_alone(file: Path) -> None:
    file.write_text("units = ", encoding="utf-8")
    with pytest.raises(ConfigError, match="not valid TOML"):
        change(("units",), "us", file)
    assert file.read_text(encoding="utf-8") == "units = "
    assert given(file) == {}


def test_nothing_takes_a_setting_out_and_of_what_is_not_there_changes_nothing(file: Path) -> None:
    assert change(("units",), None, file).units == "us"
    assert "units" not in given(file)
    before = file.read_text(encoding="utf-8")
    change(("zones", "mine", "low"), None, file)
    assert file.read_text(encoding="utf-8") == before


def test_every_setting_has_a_row_that_says_what_holds_and_whether_it_is_your_own(file: Path) -> None:
    named = {row.name[0] for row in rows(load_preferences(file), given(file), ())}
    assert named >= set(Preferences.model_fields) - {"keys", "zones"}
    assert _row(file, "units").now == "metric: km/h, m, °C, kg"
    assert _row(file, "units").own
    assert _row(file, "a little line").now == "the usual, 1 m"
    assert not _row(file, "a little line").own
    assert _row(file, "zone wanted").now == "none"
    assert [words for words, _ in _row(file, "theme to start with").choices] == ["the last used", "day", "night"]


def test_a_typed_line_becomes_what_the_file_holds(file: Path) -> None:
    assert typed(_row(file, "a lot of line"), " 12 m ") == (("lot",), "12 m")
    assert typed(_row(file, "a lot of line"), "") == (("lot",), None)
    assert typed(_row(file, "fish to choose from"), "coho, lake trout,") == (("species",), ["coho", "lake trout"])
    assert _row(file, "risk of a turn").now == "10 %"
    assert [words for words, _ in _row(file, "clock").choices] == ["the boat's local time", "UTC"]
    assert typed(_row(file, "risk of a turn"), "20") == (("risk",), 0.2)
    assert typed(_row(file, "risk of a turn"), "7,5 %") == (("risk",), 0.075)
    with pytest.raises(ConfigError, match="no percentage"):
        typed(_row(file, "risk of a turn"), "a fifth")
    with pytest.raises(ConfigError, match="'60' is not between 0 and 50 %"):
        typed(_row(file, "risk of a turn"), "60")
    assert typed(_row(file, "another feed"), "gps = serial:auto") == (("feed", "gps", "source"), "serial:auto")
    with pytest.raises(ConfigError, match="gps=serial:auto"):
        typed(_row(file, "another feed"), "serial:auto")


def test_a_feed_comes_and_goes(file: Path) -> None:
    change(("feed", "gps", "source"), "serial:auto", file)
    row = _row(file, "feed gps")
    assert row.now == "serial:auto"
    name, value = typed(row, "")
    assert change(name, value, file).feed == {}


def test_examples_are_in_the_crews_units(file: Path) -> None:
    assert _row(file, "a little line").about.endswith('as "1 m"')
    assert _row(file, "line let out in a second").about.endswith('as "0.6 m/s"')
    change(("units",), "us", file)
    assert _row(file, "a little line").about.endswith('as "5 ft"')
