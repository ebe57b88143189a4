"""The house: every folder of the source says in its docstring what lives there, and none is crowded."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

HOUSE = Path(__file__).parents[1] / "src" / "sternwatch"
ROOMS = sorted(place.parent for place in HOUSE.rglob("__init__.py"))


def test_the_walk_finds_the_rooms() -> None:
    top = {"gear", "water", "hydro", "answers", "feed", "watch", "logbook", "practice", "debrief", "deck",
           "console", "cli"}  # fmt: skip
    assert top <= {room.name for room in ROOMS}


@pytest.mark.parametrize("room", ROOMS, ids=lambda room: room.relative_to(HOUSE.parent).as_posix())
def test_a_room_says_what_lives_there(room: Path) -> None:
    said = ast.get_docstring(ast.parse((room / "__init__.py").read_text(encoding="utf-8")))
    assert said is not None
    assert len(said.split()) >= 5


@pytest.mark.parametrize("room", ROOMS, ids=lambda room: room.relative_to(HOUSE.parent).as_posix())
def test_no_room_is_crowded(room: Path) -> None:
    modules = [module for module in room.glob("*.py") if module.name != "__init__.py"]
    assert len(modules) <= 15


def test_every_folder_with_code_is_a_room() -> None:
    assert {module.parent for module in HOUSE.rglob("*.py")} == set(ROOMS)


def test_nothing_else_lies_at_the_top() -> None:
    """But for dotfiles and what building leaves."""
    top = {one.name for one in HOUSE.parents[1].iterdir() if not one.name.startswith(".")}
    built = {name for name in top if name in ("build", "dist", "snapshot_report.html") or name.endswith(".egg-info")}
    assert top - built == {"README.md", "DEVELOPERS.md", "pyproject.toml", "src", "tests", "demo_logs", "themes"}
