"""Numbers of moments in a file: the same bits come back, its room is used again, a full disk costs memory only."""

from __future__ import annotations

import gc
import logging
import os
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from sternwatch.watch.core import moments_file as module
from sternwatch.watch.core.moments_file import MomentsFile, OnDisk

RNG = np.random.default_rng(3)


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("STERNWATCH_CACHE_DIR", str(tmp_path / "cache"))
    return tmp_path / "cache"


def numbers(count: int = 7) -> list[np.ndarray]:
    odd = np.array([np.nan, np.inf, -0.0, 5e-324])
    return [RNG.normal(size=(count, 3, 2)), odd, RNG.normal(size=(count, 4))[:, ::2], np.array([True, False])]


def put(file: MomentsFile, arrays: list[np.ndarray]) -> OnDisk:
    made = file.put(arrays)
    assert made is not None
    return made


def same(one: list[np.ndarray], other: list[np.ndarray]) -> bool:
    return all(
        (a.shape, a.dtype, a.tobytes()) == (b.shape, b.dtype, b.tobytes()) for a, b in zip(one, other, strict=True)
    )


def test_the_same_bits_come_back_and_can_be_changed(folder: Path) -> None:
    file = MomentsFile()
    given = [numbers(count) for count in (7, 3, 12)]
    kept = [put(file, arrays) for arrays in given]
    first = kept[1].read()
    first[0][:] = 0.0
    assert all(same(one.read(), arrays) for one, arrays in zip(kept, given, strict=True))
    assert list(folder.iterdir()) == [], "nobody sees a file, and nothing is left of it"


def test_arrays_may_be_empty() -> None:
    given = [np.empty((0, 3)), np.ones(2), np.empty((2, 0))]
    assert same(put(MomentsFile(), given).read(), given)


def test_what_is_kept_is_on_the_disk_at_once(folder: Path) -> None:
    """What did not fit would else stay in a buffer, and spoil whatever comes next."""
    file = MomentsFile()
    put(file, [np.arange(5.0)])
    assert file._file is not None
    assert os.fstat(file._file.fileno()).st_size == 40
    assert folder.exists()


def test_the_room_of_a_forgotten_moment_is_used_again() -> None:
    file = MomentsFile()
    given = [numbers() for _ in range(4)]
    kept = [put(file, arrays) for arrays in given]
    whole = file._ends
    del kept[1:3]
    gc.collect()
    given[1:3] = [numbers(13)]  # into the room of two, with some left for the next
    kept.insert(1, put(file, given[1]))
    given.append(numbers(1))
    kept.append(put(file, given[-1]))
    assert file._ends == whole
    given.append(numbers())
    kept.append(put(file, given[-1]))
    assert file._ends > whole
    assert all(same(one.read(), arrays) for one, arrays in zip(kept, given, strict=True))


def test_a_disk_that_is_nearly_full_takes_none_and_the_log_says_so_once(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    file, arrays = MomentsFile(), numbers()
    kept = put(file, arrays)
    monkeypatch.setattr(module.shutil, "disk_usage", lambda _: SimpleNamespace(free=module.SPARE_BYTES))
    with caplog.at_level(logging.WARNING):
        assert file.put(numbers()) is None
        assert file.put(numbers()) is None
    assert [record.message for record in caplog.records] == [
        "moments to go back to stay in memory: little of the disk is free"
    ]
    assert same(kept.read(), arrays)
    del kept
    gc.collect()
    assert file.put(arrays) is not None, "into room that it has already"


def test_what_could_not_be_written_whole_leaves_the_rest_as_it_was(monkeypatch: pytest.MonkeyPatch) -> None:
    file, arrays = MomentsFile(), numbers()
    kept = put(file, arrays)

    class Full:
        def __init__(self, real: object) -> None:
            self.real, self.left = real, 100

        def __getattr__(self, name: str) -> object:
            return getattr(self.real, name)

        def write(self, given: memoryview) -> int:
            if not self.left:
                raise OSError("no room")
            part = min(self.left, 16, len(given))
            self.left -= part
            return int(self.real.write(given[:part]))  # type: ignore[attr-defined]

    real = file._file
    monkeypatch.setattr(file, "_file", Full(real))
    assert file.put(numbers()) is None
    monkeypatch.setattr(file, "_file", real)
    ends, again = file._ends, numbers()
    after = put(file, again)
    assert file._ends == ends
    assert same(kept.read(), arrays)
    assert same(after.read(), again)


def test_the_room_of_what_was_refused_first_is_used_again(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise OSError("no room")

    file, arrays = MomentsFile(), numbers()
    with monkeypatch.context() as patch:
        patch.setattr(file, "_write", refuse)
        assert file.put(arrays) is None
    ends = file._ends
    assert same(put(file, arrays).read(), arrays)
    assert file._ends == ends == sum(one.nbytes for one in arrays)


def test_a_file_that_was_cut_is_an_error() -> None:
    file = MomentsFile()
    kept = put(file, numbers())
    assert file._file is not None
    file._file.truncate(40)
    with pytest.raises(OSError, match="shorter"):
        kept.read()


def test_a_folder_that_cannot_be_made_is_no_fault(folder: Path) -> None:
    folder.write_text("a file is in its place")
    assert MomentsFile().put(numbers()) is None


@pytest.mark.parametrize("there", [False, True])
def test_a_cache_folder_is_made_with_all_above_it_or_is_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, there: bool
) -> None:
    deep = tmp_path / "a" / "b" / "cache"
    monkeypatch.setenv("STERNWATCH_CACHE_DIR", str(deep))
    if there:
        deep.mkdir(parents=True)
    given = numbers()
    assert same(put(MomentsFile(), given).read(), given)
    assert same(put(MomentsFile(), given).read(), given), "another session's is there beside it"
