"""Opens the logbook for commands. They can read it while a console runs, and write it only when none does."""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from sternwatch.cli.common.exits import InputError
from sternwatch.cli.common.solver import prepare_solver
from sternwatch.system_words import reason

if TYPE_CHECKING:
    import argparse
    import sqlite3

    from sternwatch.debrief.trip.digest import Digest
    from sternwatch.debrief.trip.sources import TripData
    from sternwatch.logbook.store.logbook import Logbook


TRIP_HELP = 'a trip: "last", the beginning of its id, a packed trip (*.trip), or "demo"'


def add_trip(parser: argparse.ArgumentParser) -> None:
    """The trip that a command is about: the last one where none is named."""
    parser.add_argument("trip", metavar="TRIP", nargs="?", default="last", help=f"{TRIP_HELP}; without it, the last")


@dataclass(frozen=True, slots=True)
class Book:
    """An open logbook. ``writer`` None: a console is writing it."""

    path: Path
    reader: sqlite3.Connection
    writer: Logbook | None

    def need_writer(self, what: str) -> Logbook:
        """The writer. Raises InputError where ``what`` is impossible now, because a console is writing."""
        if self.writer is None:
            raise InputError(f"a console is writing {self.path}, so {what} must wait: close it first")
        return self.writer

    def derive(self, work: Callable[[sqlite3.Connection], None]) -> None:
        """Store derived rows, unless a console is writing."""
        if self.writer is not None:
            self.writer.derive(work).result()


@contextmanager
def opened(*, make: bool = False) -> Iterator[Book]:
    """The user's logbook. ``make``: make one where there is none. Its faults become the command's."""
    import sqlite3

    from sternwatch.logbook.store import schema
    from sternwatch.logbook.store.lock import LogbookBusyError
    from sternwatch.logbook.store.logbook import Logbook, LogbookError
    from sternwatch.logbook.store.trips import open_read_only
    from sternwatch.logbook.store.writing import UNREADABLE, sentence
    from sternwatch.places import data_dir

    path = data_dir() / "logbook.sqlite"
    if not make and not path.exists():
        raise InputError(f"there is no logbook yet; your first trip on the water makes one ({path})")
    writer: Logbook | None = None
    try:
        writer = Logbook(path)
    except LogbookBusyError:
        writer = None  # a console has it open: it can still be read
    except OSError as fault:
        raise InputError(f"{path} cannot be opened: {reason(fault)}") from fault
    try:
        if writer is not None and writer.trouble:
            raise InputError(writer.trouble)
        reader = open_read_only(path)
        try:
            if writer is None and schema.version(reader) != len(schema.MIGRATIONS):
                raise InputError(f"{path} is written by a console of another version: close it first")
            yield Book(path, reader, writer)
        finally:
            reader.close()
    except sqlite3.Error as fault:
        raise InputError(sentence(fault, path)) from fault
    except LogbookError as fault:
        raise InputError(str(fault)) from fault
    except UNREADABLE as fault:
        if not _while_reading(fault):
            raise
        raise InputError(sentence(fault, path)) from fault
    finally:
        if writer is not None:
            writer.close()


def _while_reading(fault: BaseException) -> bool:
    """Whether the fault arose while reading the logbook's rows. Any other is a fault of the program."""
    trace = fault.__traceback__
    while trace is not None:
        if trace.tb_frame.f_globals.get("__name__", "").startswith("sternwatch.logbook.store"):
            return True
        trace = trace.tb_next
    return False


def trip_asked(asked: str) -> Path | None:
    """The file, where the argument names one and not a trip."""
    from sternwatch.debrief.trip.packing import SUFFIX

    return Path(asked) if asked.endswith(SUFFIX) else None


@contextmanager
def trip_opened(asked: str) -> Iterator[tuple[TripData, Book | None]]:
    """The trip asked for: a packed one, one of the logbook (then with its book), or the demo.

    Unpacked files last as long as the context. Faults become the command's.
    """
    from sternwatch.debrief.trip.packing import unpack
    from sternwatch.debrief.trip.sources import TripError

    packed = trip_asked(asked)
    own_book = packed is None and asked != "demo"
    with tempfile.TemporaryDirectory() as folder, opened() if own_book else nullcontext() as book:
        try:
            data = unpack(packed, Path(folder)) if packed is not None else trip_data(asked, book)
        except TripError as fault:
            raise InputError(str(fault)) from fault
        except OSError as fault:
            raise InputError(f"{packed} cannot be read: {reason(fault)}") from fault
        yield data, book


def demo_trip() -> TripData:
    """The invented evening as a trip."""
    from datetime import UTC, datetime

    from sternwatch.cli.common.inputs import actions_of
    from sternwatch.debrief.trip.sources import TripData
    from sternwatch.logbook.crew.fold import start_state
    from sternwatch.places import shipped

    folder = shipped("demo_logs")
    actions = actions_of(folder / "evening.actions.jsonl")
    begun = actions[0].time if actions else datetime.now(UTC)
    spread_text = (folder / "evening.toml").read_text(encoding="utf-8")
    return TripData(
        "demo", begun, spread_text, actions, folder / "evening.nmea", start_state(actions), session="demo",
        about={"foretold": False},
    )  # fmt: skip


def trip_data(asked: str, book: Book | None) -> TripData:
    """A trip of the logbook, or the demo. Its faults become the command's."""
    from sternwatch.debrief.trip.sources import TripError, from_logbook
    from sternwatch.logbook.actions.kinds import ActionError
    from sternwatch.places import data_dir

    if book is None:
        return demo_trip()
    try:
        return from_logbook(book.reader, asked, data_dir())
    except (TripError, ActionError) as fault:
        raise InputError(str(fault)) from fault


def worked_through(
    data: TripData, book: Book | None, *, again: bool = False, progress: Callable[[float], None] | None = None
) -> Digest:
    """The digest of a trip: the stored one while it holds; else a new one, which is announced and stored."""
    from sternwatch.debrief.trip import sources as tripdata
    from sternwatch.feed.errors import FeedError
    from sternwatch.gear.values.faults import SpreadError
    from sternwatch.logbook.actions.kinds import ActionError

    try:
        kept = tripdata.kept_digest(book.reader, data) if book is not None and not again else None
        if kept is not None:
            return kept
        if data.feed is None and data.session != "notebook":
            print(f"sternwatch: the recording of {data.id} is not there: hits as entered, no hours", file=sys.stderr)
        if data.feed is not None:
            prepare_solver()
        digest = tripdata.digest_of(data, progress or _progress)
    except (FeedError, SpreadError, ActionError, tripdata.TripError) as fault:
        raise InputError(str(fault)) from fault
    if book is not None and (data.feed is not None or data.session == "notebook"):
        made = tripdata.now_ms()
        book.derive(lambda connection: tripdata.keep(connection, data, digest, made))
    return digest


def _progress(share: float) -> None:
    if sys.stderr.isatty():
        end = "\n" if share >= 1.0 else ""
        line_over = getattr(sys.stderr, "plain", sys.stderr)
        print(f"\rworking the trip through {100 * share:3.0f} %", end=end, file=line_over, flush=True)
