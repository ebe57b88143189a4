"""A file of the user's is the old one or the new one, and the old ones are kept."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch import files
from sternwatch.files import earlier, make_folder, move, remove, to_disk, write_whole
from sternwatch.system_words import reason


def test_writing_makes_the_folder_and_the_file(tmp_path: Path) -> None:
    path = tmp_path / "a" / "spread.toml"
    assert write_whole(path, "one – °F\n", keep=True) is None
    assert path.read_text(encoding="utf-8") == "one – °F\n"
    assert list(path.parent.iterdir()) == [path]


@pytest.mark.parametrize("inside", ["", "recordings", "a/b"])
def test_a_folder_that_cannot_be_made_is_not_said_to_be_there_already(tmp_path: Path, inside: str) -> None:
    """A file is in its way, or a link to a stick that is pulled out; with the stick it is made."""
    (tmp_path / "file").touch()
    with pytest.raises(OSError) as found:
        make_folder(tmp_path / "file" / inside)
    assert reason(found.value) == "a part of its path is no folder"
    link = tmp_path / "data"
    try:
        link.symlink_to(tmp_path / "stick", target_is_directory=True)
    except OSError:
        pytest.skip("no links here")
    for _ in range(2):
        with pytest.raises(OSError) as found:
            make_folder(link / inside)
        assert reason(found.value) == "its folder is a link that leads nowhere"
    (tmp_path / "stick").mkdir()
    make_folder(link / inside)
    assert (tmp_path / "stick" / inside).is_dir()


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


def held(monkeypatch: pytest.MonkeyPatch, name: str, times: int, winerror: int | None) -> list[float]:
    """A call of Path that another program's look at the file refuses so often. Returns the waits between."""
    waits: list[float] = []
    monkeypatch.setattr(files, "time", SimpleNamespace(sleep=waits.append))
    real: Callable[..., Any] = getattr(Path, name)
    left = [times]

    def refuses(self: Path, *given: Any, **more: Any) -> Any:
        if left[0]:
            left[0] -= 1
            fault = PermissionError(errno.EACCES, "x", str(self), winerror)
            if os.name != "nt":
                fault.winerror = winerror  # type: ignore[attr-defined]
            raise fault
        return real(self, *given, **more)

    monkeypatch.setattr(Path, name, refuses)
    return waits


@pytest.mark.parametrize("winerror", [5, 32, 33])
def test_a_file_that_another_program_looks_at_is_moved_and_removed_a_moment_later(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, winerror: int
) -> None:
    part, path = tmp_path / "a.part", tmp_path / "a"
    for file, text in ((path, "old"), (part, "new")):
        file.write_text(text, encoding="utf-8")
    waits = held(monkeypatch, "replace", 3, winerror)
    move(part, path)
    assert (path.read_text(encoding="utf-8"), part.exists(), len(waits)) == ("new", False, 3)
    waits = held(monkeypatch, "unlink", 2, winerror)
    remove(path)
    remove(path)
    assert (path.exists(), len(waits)) == (False, 2)


@pytest.mark.parametrize(("winerror", "waited_s"), [(32, 1.0), (1314, 0.0), (None, 0.0)])
def test_what_stays_refused_is_said_within_a_second(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, winerror: int | None, waited_s: float
) -> None:
    path = tmp_path / "spread.toml"
    write_whole(path, "old")
    waits = held(monkeypatch, "replace", 99, winerror)
    with pytest.raises(PermissionError):
        write_whole(path, "new")
    assert sum(waits) == pytest.approx(waited_s)
    assert [one.read_text(encoding="utf-8") for one in tmp_path.iterdir()] == ["old"]


def test_the_disk_is_asked_in_the_systems_own_way_and_plainly_where_it_knows_no_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []
    refusals = [0, errno.ENOTSUP, errno.EINVAL, errno.EIO]

    def full(_: int) -> None:
        asked.append("full")
        if number := refusals.pop(0):
            raise OSError(number, "x")

    monkeypatch.setattr(files, "_full_sync", full)
    monkeypatch.setattr(os, "fsync", lambda _: asked.append("plain"))
    with (tmp_path / "a").open("wb") as file:
        to_disk(file.fileno())
        assert asked == ["full"]
        for _ in range(2):
            to_disk(file.fileno())
        assert asked == ["full", "full", "plain", "full", "plain"]
        with pytest.raises(OSError):
            to_disk(file.fileno())
        assert asked[-1] == "full"
