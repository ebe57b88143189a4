"""The boat for a session on the water: her file, or what stands in for it while it cannot be used."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

from sternwatch.cli.common.exits import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sternwatch.gear.spread_file.models import Spread


@dataclass(frozen=True, slots=True)
class Boat:
    """A spread and the text it was read from. ``instead``: why it is not the file's own; empty where it is."""

    spread: Spread
    text: str
    instead: str = ""


def boat_on_the_water(path: Path) -> Boat:
    """The boat of a spread file. A damaged file must not keep her crew ashore: an earlier version stands in.

    That is the newest kept beside the file that can be used; of the user's own boat, else, what the newest trip with
    a spread went out with. A file that does not exist was named wrongly: nothing stands in for it.

    Raises
    ------
    InputError
        The file cannot be used and nothing can stand in.
    """
    from sternwatch.gear.spread_file.load import parse_spread, read_text
    from sternwatch.gear.values.faults import SpreadError
    from sternwatch.places import boat_file

    try:
        text = read_text(path)
        return Boat(parse_spread(text, path), text)
    except SpreadError as error:
        fault = str(error)
    kept = _kept(path) if path.exists() or path.is_symlink() else ()
    past = _of_trips() if path == boat_file() else ()
    for name, text in chain(kept, past):
        try:
            spread = parse_spread(text, path)
        except SpreadError:
            continue
        return Boat(spread, text, f"{name} stands in for a file that cannot be used: {fault}")
    raise InputError(fault)


def _kept(path: Path) -> Iterator[tuple[str, str]]:
    from sternwatch.files import earlier
    from sternwatch.gear.spread_file.load import read_text
    from sternwatch.gear.values.faults import SpreadError

    for version in earlier(path):
        try:
            yield f'The earlier version "{version.name}"', read_text(version)
        except SpreadError:
            continue


def _of_trips() -> Iterator[tuple[str, str]]:
    """What trips on the water went out with, the newest first; nothing where the logbook cannot be read."""
    from sternwatch.logbook.store.lock import LogbookBusyError
    from sternwatch.logbook.store.logbook import Logbook, LogbookError
    from sternwatch.places import data_dir

    file = data_dir() / "logbook.sqlite"
    if not file.exists():
        return
    try:
        with Logbook(file) as book:
            trips = book.trips()
    except (LogbookError, LogbookBusyError):
        return
    for trip in reversed(trips):
        if trip.session == "live" and trip.spread_text:
            yield f"The boat of your trip of {trip.begun.astimezone():%Y-%m-%d %H:%M}", trip.spread_text
