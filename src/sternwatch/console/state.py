"""What the console remembers between runs: the last theme, and the version whose cautions were read."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path

from sternwatch.files import write_whole
from sternwatch.places import data_dir
from sternwatch.reading import UnreadableError, json_of, read_text
from sternwatch.system_words import reason

NAME = "state.json"


@dataclass(frozen=True, slots=True)
class State:
    """The remembered state. Anything that cannot be read is forgotten."""

    theme: str = ""
    cautions_read: str = ""  # the version whose cautions were confirmed


def load(path: Path | None = None) -> State:
    """Read the state; a missing or broken file is an empty one."""
    file = path or data_dir() / NAME
    try:
        given = json_of(read_text(file))
    except (OSError, UnreadableError):
        return State()
    if not isinstance(given, dict):
        return State()
    return State(**{name: given[name] for name in State.__slots__ if isinstance(given.get(name), str)})


def save(state: State, path: Path | None = None) -> str:
    """Write the state so that a crash leaves the old or the new one. Returns why that failed, or ''."""
    file = path or data_dir() / NAME
    try:
        write_whole(file, json.dumps(asdict(state)))
    except OSError as error:
        return f"the theme cannot be remembered: {file}: {reason(error)}"
    return ""
