"""Tags for the rod holders: a key and a name for every rod, in the order of the number row."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from sternwatch.cli.common.exits import Exit
from sternwatch.cli.main import main

EVENING = Path(__file__).parents[3] / "demo_logs" / "evening.toml"
NAMES = ["P BOARD", "P HIGH", "P LOW", "P DOWN", "S DOWN", "S LOW", "S HIGH", "S BOARD"]


def test_every_rod_has_a_tag_with_its_key_over_its_name(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["tags", str(EVENING)]) == 0
    rows = capsys.readouterr().out.splitlines()
    assert max(map(len, rows)) <= 80
    flat = " ".join(rows)
    for key, name in enumerate(NAMES, 1):
        line = next(n for n, row in enumerate(rows) if name in row)
        column = rows[line].index(name) + len(name) // 2
        assert str(key) in rows[line - 1][column - 4 : column + 4]
        assert flat.count(name) == 1


def test_a_thick_edge_stands_on_the_side_of_the_boat(capsys: pytest.CaptureFixture[str]) -> None:
    main(["tags", str(EVENING)])
    rows = capsys.readouterr().out.splitlines()
    first = next(row for row in rows if "P BOARD" in row)
    last = next(row for row in rows if "S BOARD" in row)
    assert first.startswith("█")
    assert last.endswith("█")
    assert last.startswith("│")


def test_the_word_demo_is_the_invented_boat_unless_a_file_has_that_name(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["tags", "demo", "--json"]) == 0
    assert [tag["name"] for tag in json.loads(capsys.readouterr().out)["tags"]] == NAMES
    (tmp_path / "demo").write_text(EVENING.read_text(encoding="utf-8").replace('"P LOW"', '"OURS"'), encoding="utf-8")
    assert main(["tags", "demo", "--json"]) == 0
    assert "OURS" in [tag["name"] for tag in json.loads(capsys.readouterr().out)["tags"]]


def test_who_has_no_boat_yet_is_told_of_the_invented_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(tmp_path))
    assert main(["tags"]) == Exit.WRONG_INPUT
    assert (
        capsys.readouterr().err.rstrip().endswith('"sternwatch setup" sets one up; write "demo" for an invented one')
    )


def test_json_says_key_name_and_side_and_nothing_else(capsys: pytest.CaptureFixture[str]) -> None:
    main(["tags", str(EVENING), "--json"])
    tags = json.loads(capsys.readouterr().out)["tags"]
    assert [tag["name"] for tag in tags] == NAMES
    assert [tag["key"] for tag in tags] == list("12345678")
    assert [tag["side"] for tag in tags] == ["port"] * 4 + ["starboard"] * 4


def test_the_page_holds_names_as_text_whatever_is_in_them(tmp_path: Path) -> None:
    spread = tmp_path / "spread.toml"
    spread.write_text(EVENING.read_text(encoding="utf-8").replace('"P LOW"', '"<b>&LOW"'), encoding="utf-8")
    target = tmp_path / "tags.html"
    assert main(["tags", str(spread), "--html", str(target)]) == 0
    words: list[str] = []
    parser = HTMLParser()
    parser.handle_data = words.append  # type: ignore[method-assign]
    parser.feed(target.read_text(encoding="utf-8"))
    assert "<b>&LOW" in words
    assert "S BOARD" in words


def test_only_the_tags_are_in_large_type(tmp_path: Path) -> None:
    """The cautions stand under the tags, in letters of a usual size."""
    target = tmp_path / "tags.html"
    main(["tags", str(EVENING), "--html", str(target)])
    style = re.findall(r"^([^@\s][^{]*?) \{[^}]*font-size: (\d+)pt", target.read_text(encoding="utf-8"), re.MULTILINE)
    large = {selector for selector, points in style if int(points) > 12}
    assert large == {"section b", "section i"}


def test_a_page_that_cannot_be_written_is_a_sentence(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "none" / "tags.html"
    assert main(["tags", str(EVENING), "--html", str(target)]) == 1
    assert str(target) in capsys.readouterr().err
