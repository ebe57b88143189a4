"""The shipped drills, and what a user's own file is told when it is wrong."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from sternwatch.gear.spread_file.models import Spread
from sternwatch.practice.drills.files import DrillError, DrillFile, all_drills, find_drill, own_folder, parse_drill

Make = Callable[..., DrillFile]


def test_there_are_ten_drills_and_more_and_each_is_whole() -> None:
    found, wrong = all_drills()
    assert wrong == []
    scored = [one for one in found if one.drill.goal is not None]
    assert len(scored) >= 10
    for one in scored:
        assert one.drill.par is not None, one.id
        assert one.drill.task, one.id
        assert one.drill.limit, one.id
        spread = one.spread()
        assert {strike.rod for strike in one.drill.strike} <= {rod.key for rod in spread.rods}
    names = [one.drill.name for one in found]
    assert len(set(names)) == len(names)


def test_the_drills_asked_for_are_there() -> None:
    ids = {one.id for one in all_drills()[0]}
    assert ids >= {
        "reverse-port", "reverse-starboard", "s-turns", "land-a-fish", "hump", "shear", "pair", "set-out", "no-gps",
        "double-in-a-turn", "give-way", "squall", "free", "again", "shelf",
    }  # fmt: skip


def test_a_users_own_drill_stands_after_the_shipped_ones(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, make_drill: Make
) -> None:
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(tmp_path))
    own_folder().mkdir(parents=True)
    (own_folder() / "mine.toml").write_text(make_drill().text)
    (own_folder() / "broken.toml").write_text("name = 3")
    found, wrong = all_drills()
    assert found[-1].id == "mine"
    assert find_drill("mine").drill.name == "Short"
    assert len(wrong) == 1
    assert wrong[0].startswith(f"{own_folder() / 'broken.toml'}: ")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (('lead_in = "10 s"', "lead_in = 10"), ["short.toml: start.lead_in", "bare number", '"30 s"']),
        (('heading = "60 deg"', 'heading = "60 ft"'), ["start.heading", "ft measures a length", "angle"]),
        (('lead_in = "10 s"', 'led_in = "10 s"'), ["start.led_in", "unknown field", 'did you mean "lead_in"']),
        (('turned = "port 60 deg"', 'turned = "left 60 deg"'), ["goal.turned", '"left 60 deg"', '"port 180 deg"']),
        (('measure = "crossings"', 'measure = "crossing"'), ["score 1.measure", 'did you mean "crossings"']),
        (("worst = 2", "worst = 0"), ["score 1", "best and worst are the same"]),
        (('briefing = "A short one."', ""), ["briefing", "is missing"]),
        (("weight = 3", "weight = -3"), ["score 1.weight", "-3", "greater than 0"]),
        (('name = "Short"', 'name = "Short'), ["not valid TOML"]),
        (('[goal]\nturned = "port 60 deg"\nhold = "2 s"', ""), ["score", "without a goal"]),
        (('hold = "2 s"', 'speed = ["3 mph", "2 mph"]'), ["goal: speed: the slower"]),
    ],
)
def test_a_wrong_file_is_one_sentence_with_its_place(
    make_drill: Make, change: tuple[str, str], said: list[str]
) -> None:
    with pytest.raises(DrillError) as wrong:
        make_drill(change)
    text = str(wrong.value)
    assert "\n" not in text
    for part in said:
        assert part in text


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ('[[strike]]\nrod = "1"\n', "strike 1: either at or turned"),
        ('[[strike]]\nrod = "a"\nat = "5 s"\n', "strike 1.rod"),
        ('[[limit]]\nmeasure = "touches"\n', "limit 1: most or least"),
        ('[[task]]\ndo = "turn"\n', 'task 1: do = "turn" needs turn'),
        ('[[task]]\ndo = "steer"\n', 'task 1: do = "steer" needs heading'),
        ('[[task]]\ndo = "jump"\n', "task 1.do"),
        ('[[task]]\ndo = "depth"\nto = "60 ft"\n', 'task 1: do = "depth" needs between'),
        ('[[task]]\ndo = "depth"\nbetween = ["60 ft", "40 ft"]\n', "task 1: between: the shallower"),
        ('[fish]\nzone = ["54 degF", "46 degF"]\n', "fish: zone: the colder"),
        ('[[fault]]\nkind = "drop out"\n', 'did you mean "dropout"'),
        ('[fish]\nzone = ["46 degF"]\n', "fish.zone"),
        ('[lake]\ntilt = 3\n', "lake.tilt"),
        ('[again]\nrod = "1"\n', 'again: rod "1" is never struck'),
        ('[wanted]\nover_bottom = ["9 m", "3 m"]\n', "wanted: over_bottom: the lesser end"),
        ('[[limit]]\nmeasure = "place off"\nmost = 10\n', 'needs \\[again\\]'),
        ('[[limit]]\nmeasure = "wanted"\nleast = 10\n', 'needs \\[wanted\\]'),
    ],
)  # fmt: skip
def test_what_no_single_field_shows_is_said_too(make_drill: Make, more: str, said: str) -> None:
    with pytest.raises(DrillError, match=said):
        make_drill(more=more)


def test_a_drill_says_which_rod_is_missing_in_a_spread(make_drill: Make, spread: Spread) -> None:
    file = make_drill(more='[[strike]]\nrod = "9"\nat = "5 s"\n')
    with pytest.raises(DrillError, match=r'strike: there is no rod "9" in mine.toml; accepted: 1, 2, 5'):
        file.fitted(spread, Path("mine.toml"))


def test_a_drill_leaves_rods_out(make_drill: Make, spread: Spread) -> None:
    file = make_drill(('lead_in = "10 s"', 'lead_in = "10 s"\nonly = ["1", "5"]'))
    assert [rod.key for rod in file.fitted(spread, Path("mine.toml")).rods] == ["1", "5"]
    assert [rod.key for rod in spread.rods] == ["1", "2", "5"]


def test_files_that_are_none(tmp_path: Path) -> None:
    with pytest.raises(DrillError, match="no such file"):
        find_drill(str(tmp_path / "nowhere.toml"))
    (tmp_path / "latin.toml").write_bytes(b'name = "\xff"')
    with pytest.raises(DrillError, match="UTF-8"):
        find_drill(str(tmp_path / "latin.toml"))
    (tmp_path / "huge.toml").write_bytes(b"#" * 300_000)
    with pytest.raises(DrillError, match=r"0\.2 MB"):
        find_drill(str(tmp_path / "huge.toml"))
    with pytest.raises(DrillError, match=r'did you mean "squall"'):
        find_drill("sqall")
    with pytest.raises(DrillError, match="not valid TOML"):
        parse_drill("=", Path("x.toml"))
