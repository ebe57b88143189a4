"""Compiled kernels on the disk: whatever becomes of their files, a start runs what the source says."""

from __future__ import annotations

import importlib.util
import random
from pathlib import Path
from types import ModuleType

import pytest

from sternwatch import kernel_files

SOURCE = """
from numba import njit


@njit(cache=True)
def cube(x):
    return x * x * x
"""


@pytest.fixture
def fresh(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """Imports the same module as a new process would, with a cache of its own; and where that lies."""
    kernel_files.guard()
    monkeypatch.setattr(kernel_files, "_damaged", [])
    monkeypatch.setattr("numba.core.config.CACHE_DIR", str(tmp_path / "cache"))
    source = tmp_path / "kernels_of_a_test.py"
    source.write_text(SOURCE, encoding="utf-8")

    def begin() -> ModuleType:
        spec = importlib.util.spec_from_file_location("kernels_of_a_test", source)
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        return module

    return begin, tmp_path / "cache"


def _files(cache: Path) -> list[Path]:
    return sorted(path for path in cache.rglob("*") if path.suffix in (".nbi", ".nbc"))


def _hurt(path: Path, rng: random.Random) -> None:
    whole = bytearray(path.read_bytes())
    match rng.choice(("byte", "byte", "cut", "empty", "noise")):
        case "byte":
            whole[rng.randrange(len(whole))] ^= 1 << rng.randrange(8)
        case "cut":
            del whole[rng.randrange(len(whole)) :]
        case "empty":
            whole.clear()
        case _:
            whole[:] = rng.randbytes(len(whole))
    path.write_bytes(whole)


def _survives(fresh, seeds: range) -> int:
    """How many of the damages were said; each must leave a kernel that counts right."""
    begin, cache = fresh
    said = 0
    for seed in seeds:
        kernel_files._damaged.clear()
        assert begin().cube(3) == 27
        rng = random.Random(seed)
        _hurt(rng.choice(_files(cache)), rng)
        assert begin().cube(3.0) == 27.0
        assert begin().cube(4) == 64
        said += bool(kernel_files.said())
    return said


def test_a_sound_kernel_is_loaded_and_not_compiled_again(fresh):
    begin, cache = fresh
    assert begin().cube(3) == 27
    before = {path.name: path.stat().st_mtime_ns for path in _files(cache)}
    assert len(before) == 2
    again = begin()
    assert again.cube(3) == 27
    assert sum(again.cube.stats.cache_hits.values()) == 1
    assert {path.name: path.stat().st_mtime_ns for path in _files(cache)} == before
    assert kernel_files.said() == ""


@pytest.mark.parametrize("suffix", [".nbi", ".nbc"])
def test_one_flipped_bit_is_seen_and_said(fresh, suffix):
    begin, cache = fresh
    assert begin().cube(3) == 27
    (path,) = [path for path in _files(cache) if path.suffix == suffix]
    whole = bytearray(path.read_bytes())
    whole[len(whole) // 2] ^= 4
    path.write_bytes(whole)
    assert begin().cube(3) == 27
    assert path.name in kernel_files.said()
    assert "compiled anew" in kernel_files.said()


def test_damaged_kernels_count_right(fresh):
    assert _survives(fresh, range(4)) >= 2


@pytest.mark.campaign
def test_three_hundred_damages(fresh):
    said = _survives(fresh, range(300))
    print(f"\n300 damages of compiled kernels: {said} said, none stopped a start or changed a number")
    assert said > 200
