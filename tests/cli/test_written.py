"""A file that cannot be written is refused as the command's words are read, before any work."""

from __future__ import annotations

from pathlib import Path

import pytest

from sternwatch.cli.common.exits import InputError
from sternwatch.cli.common.written import OUTPUT, to_write, to_write_or_print, write
from sternwatch.cli.main import build_parser


@pytest.mark.parametrize(
    "words",
    [
        ("table", "demo", "--html"),
        ("table", "demo", "--csv"),
        ("plan", "demo", "--from", "30 ft", "--to", "60 ft", "--html"),
        ("tags", "demo", "--html"),
        ("fit", "demo", "--season", "--html"),
        ("debrief", "demo", "--html"),
        ("again", "demo", "--gpx"),
        ("trip", "pack", "demo"),
        ("trip", "export", "demo", "--what", "hits", "--out"),
    ],
)
def test_every_command_looks_at_its_file_first(words: tuple[str, ...], tmp_path: Path) -> None:
    parser = build_parser()
    with pytest.raises(InputError, match="page cannot be written: no such file or folder"):
        parser.parse_args([*words, str(tmp_path / "none" / "page")])
    parser.parse_args([*words, str(tmp_path / "page")])
    assert not (tmp_path / "page").exists()


def test_what_can_be_written_is_taken_and_what_cannot_is_told(tmp_path: Path) -> None:
    there = tmp_path / "there"
    write(there, "a\n")
    assert to_write(str(there)) == there
    assert to_write_or_print(OUTPUT) == Path(OUTPUT)
    with pytest.raises(InputError, match="cannot be written: it is a folder"):
        to_write_or_print(str(tmp_path))
    with pytest.raises(InputError, match="page cannot be written: a part of its path is no folder"):
        to_write(str(there / "page"))
    with pytest.raises(InputError, match="cannot be written"):
        write(tmp_path, "a")
    assert there.read_text(encoding="utf-8") == "a\n"
