"""DEVELOPERS.md is a tour of the house: whatever it points at is there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
TOUR = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
NAMED = sorted(set(re.findall(r"`((?:[a-z_0-9]+/)+[a-z_0-9]+\.(?:py|toml))`", TOUR)))


@pytest.mark.parametrize("path", NAMED)
def test_every_file_that_is_named_exists(path: str) -> None:
    assert (ROOT / "src" / "sternwatch" / path).is_file() or (ROOT / path).is_file()
