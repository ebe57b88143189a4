"""A file of the user's is the old one or the new one, and the old ones are kept."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from sternwatch import files
from sternwatch.files import earlier, write_whole


def test_writing_makes_the_folder_and_the_file(tmp_path: Path) -> None:
    path = tmp_path / "a" / "spread.toml"
    assert write_whole(path, "one – °F\n", keep=True) is None
    assert path.read_text(encoding="utf-8") == "one – °F\n"
    assert list(path.parent.iterdir()) == [path]


def test_every_version_before_is_kept_newest_first(tmp_path: Path) -> None:
    path = tmp_path / "spread.toml"
    for text in ("one", "two", "three"):
        write_whole(path, text, keep=True)
    assert path.read_text(encoding="utf-8") == "three"
    assert [kept.read_text(encoding="utf-8") for kept in earlier(path)] == ["two", "one"]


def test_writing_the_same_again_keeps_nothing(tmp_path: Path) -> None:
    path = tmp_path / "spread.toml"
    write_whole(path, "one", keep=True)
    assert write_whole(path, "one", keep=True) is None
    assert earlier(path) == []


def test_versions_of_another_file_are_not_its_own(tmp_path: Path) -> None:
    for name in ("boat.toml", "boat two.toml"):
        write_whole(tmp_path / name, "old", keep=True)
    write_whole(tmp_path / "boat two.toml", "new", keep=True)
    assert earlier(tmp_path / "boat.toml") == []
    assert len(earlier(tmp_path / "boat two.toml")) == 1


def test_the_oldest_go_beyond_the_number_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "KEPT", 3)
    path = tmp_path / "spread.toml"
    for n in range(6):
        write_whole(path, str(n), keep=True)
    assert [kept.read_text(encoding="utf-8") for kept in earlier(path)] == ["4", "3", "2"]


@pytest.mark.parametrize(
    "call",
    [
        "fsync",
        pytest.param(
            "fdopen",
            marks=pytest.mark.skipif(os.name == "nt", reason="a file that is still open cannot be removed there"),
        ),
    ],
)
def test_a_disk_that_fails_leaves_the_old_file_and_no_litter(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    path = tmp_path / "spread.toml"
    write_whole(path, "old")

    def fails(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, call, fails)
    with pytest.raises(OSError, match="No space left"):
        write_whole(path, "new")
    monkeypatch.undo()
    assert path.read_text(encoding="utf-8") == "old"
    assert list(tmp_path.iterdir()) == [path]
