"""The files that a command reads. A fault of a file becomes the command's fault."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from sternwatch.cli.common.exits import InputError

if TYPE_CHECKING:
    from sternwatch.feed.readings import Speech
    from sternwatch.feed.recording.reader import Recording
    from sternwatch.gear.spread_file.models import Spread
    from sternwatch.logbook.actions.kinds import Action


def spread_path(path: Path | None, without: str = '"sternwatch demo" needs none') -> Path:
    """The spread file to use. Raises InputError where none is named and the user's own boat is not set up.

    ``without`` ends its sentence: what can be had without a boat.
    """
    from sternwatch.places import boat_file

    if path is not None:
        return path
    if not boat_file().exists():
        raise InputError(
            f'no spread file is named, and you have set up no boat yet ({boat_file()}). "sternwatch setup" sets one '
            f"up; {without}"
        )
    return boat_file()


def spread_of(path: Path | None) -> Spread:
    """The spread of a file (None: the user's own boat). Its faults become the command's."""
    from sternwatch.gear.spread_file.load import load_spread
    from sternwatch.gear.values.faults import SpreadError

    path = spread_path(path, 'write "demo" for an invented one')
    try:
        return load_spread(path)
    except SpreadError as error:
        raise InputError(f"{error}{_still_usable(path)}") from error


def _still_usable(path: Path) -> str:
    """The end of a sentence that names the newest usable earlier version of a spread file."""
    from sternwatch.files import earlier
    from sternwatch.gear.spread_file.load import load_spread
    from sternwatch.gear.values.faults import SpreadError

    for version in earlier(path)[:10]:
        try:
            load_spread(version)
        except SpreadError:
            continue
        return f'; "{version}" is the last version that can be used'
    return ""


def told_recording_of(text: str) -> tuple[Recording, Speech]:
    """A recording as ``PATH``, ``n2k:PATH`` or ``signalk:PATH``, and the user's words about it."""
    from sternwatch.feed.errors import FeedError
    from sternwatch.feed.recording.reader import open_recording
    from sternwatch.feed.recording.speech_detection import has_feed
    from sternwatch.feed.sources.specs import recorded

    try:
        path, speech = recorded(text)
        recording = open_recording(path, speech=speech)
    except FeedError as fault:
        raise InputError(str(fault)) from fault
    if path.is_file() and not has_feed(path):
        recording.close()
        raise InputError(
            f"{path}: no instrument speaks at its beginning; accepted is a recording of NMEA 0183 sentences, of NMEA "
            "2000 frames or of Signal K deltas"
        )
    return recording, speech


def actions_of(path: Path | None) -> list[Action]:
    """The actions of a file; none without a file. Its faults become the command's."""
    from sternwatch.logbook.actions.kinds import ActionError, load_actions

    if path is None:
        return []
    try:
        return load_actions(path)
    except ActionError as fault:
        raise InputError(str(fault)) from fault
