"""Finds the helmsman of a session without a screen: a script file, or a scripted helmsman by name."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sternwatch.gear.values.words import nearest
from sternwatch.logbook.actions.kinds import Action, ActionError, parse
from sternwatch.practice.drills.model import Drill
from sternwatch.reading import UnreadableError, json_of, read_text

_LARGEST_BYTES = 16 << 20

NAMES = ("advised", "novice")


class ScriptError(ValueError):
    """A script is faulty; the message says why in one sentence."""


def load_script(path: Path, drill: Drill, begin: datetime) -> list[Action]:
    """Read actions from JSON Lines, as a session records them. ``id`` and ``time`` may be left out.

    ``elapsed_s`` counts from the session's beginning; ``drill_s`` may replace it and counts from the drill's.
    Raises ScriptError that names file, line and field.
    """
    try:
        text = read_text(path, _LARGEST_BYTES)
    except FileNotFoundError:
        hint = nearest(str(path), NAMES)
        raise ScriptError(
            f"{path}: there is no such script{hint}; accepted: a file of JSON Lines, {' or '.join(NAMES)}"
        ) from None
    except UnreadableError as error:
        raise ScriptError(f"{path}: {error}") from None
    found = []
    for number, line in enumerate(text.split("\n"), start=1):
        if line.strip():
            found.append(_action(line, f"{path} line {number}", number, drill, begin))
    return found


def _action(line: str, where: str, number: int, drill: Drill, begin: datetime) -> Action:
    try:
        given: Any = json_of(line)
    except UnreadableError as error:
        raise ScriptError(f"{where}: not a line of JSON: {error}") from None
    if not isinstance(given, dict):
        raise ScriptError(f"{where}: is not a JSON object with fields elapsed_s, kind …")
    drill_s = given.pop("drill_s", None)
    if drill_s is not None:
        if isinstance(drill_s, bool) or not isinstance(drill_s, int | float):
            raise ScriptError(f"{where}: drill_s: {json.dumps(drill_s)} is not accepted; accepted: a number")
        given["elapsed_s"] = float(drill_s) + drill.start.lead_in_s
    elapsed = given.get("elapsed_s")
    if isinstance(elapsed, bool) or not isinstance(elapsed, int | float):
        raise ScriptError(f"{where}: elapsed_s: is needed, in seconds (or drill_s, from the drill's beginning)")
    # Only the session's own clock places a script: times of another day mean nothing here.
    moment = datetime.fromtimestamp(begin.timestamp() + float(elapsed), UTC)
    given.setdefault("id", f"script {number:05d}")
    try:
        return parse(given | {"time": moment, "elapsed_s": float(elapsed)}, where)
    except ActionError as error:
        raise ScriptError(str(error)) from None
