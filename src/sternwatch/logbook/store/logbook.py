"""The logbook: one SQLite file with one connection that writes, on its own thread.

``submit`` returns at once. A future and a callback report the result after the commit. Where the file cannot take
the action (locked, full, read-only, damaged, gone), the action goes into a journal beside it, which fsync puts on the
disk. As soon as the file can be written again it takes the journal's actions, in their order and once only.
"""

from __future__ import annotations

import contextlib
import json
import logging
import math
import queue
import sqlite3
import threading
import time
from collections.abc import Callable, Mapping
from concurrent.futures import Future
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Literal, TypeVar

from sternwatch.files import make_folder
from sternwatch.logbook.actions.kinds import Action, dump, iso
from sternwatch.logbook.store import results, schema, trips, writing
from sternwatch.logbook.store.aside import Aside
from sternwatch.logbook.store.lock import WriterLock
from sternwatch.logbook.store.results import Attempt
from sternwatch.logbook.store.trips import Event, Trip
from sternwatch.system_words import reason

_log = logging.getLogger(__name__)
T = TypeVar("T")
_BATCH = 256


class LogbookError(RuntimeError):
    """The logbook could not do what was asked. The text is a sentence for the screen."""


@dataclass(frozen=True, slots=True)
class Stored:
    """The result of submitting an action.

    ``kept``: in the ``logbook``; ``aside`` in the journal, on the disk, and stored later; in ``memory`` only, and
    tried again; or ``refused``. ``error`` is a sentence, empty where the action is in the logbook.
    """

    id: str
    action: Action | None
    kept: Literal["logbook", "aside", "memory", "refused"]
    error: str = ""


Told = Callable[[Stored], None]


@dataclass(slots=True)
class _Put:
    entry: dict[str, Any]
    action: Action | None
    future: Future[Stored]
    told: Told | None
    journalled: bool = False

    def tell(self, kept: Literal["logbook", "aside", "memory", "refused"], error: str = "") -> None:
        outcome = Stored(writing.name(self.entry), self.action, kept, error)
        if not self.future.done():
            self.future.set_result(outcome)
        if self.told is None:
            return
        try:
            self.told(outcome)
        except Exception:  # noqa: BLE001 - a listener's fault must not stop the storing
            _log.exception("a listener failed on %s", outcome)


@dataclass(slots=True)
class _Call:
    work: Callable[[sqlite3.Connection], Any]
    future: Future[Any]


class Logbook:
    """A logbook open for writing. ``path`` None: in memory, lost with the session (for the demo).

    Raises LogbookBusyError if another console writes it. No other trouble with the file stops a session: ``trouble``
    says it in a sentence, the writer's thread passes the sentence to ``on_trouble`` ("" when the trouble is over),
    and entries are kept aside meanwhile. Callbacks run on the writer's thread. For an action that was kept aside they
    run again when the logbook has stored it.
    """

    def __init__(
        self,
        path: Path | None,
        on_trouble: Callable[[str], None] | None = None,
        *,
        busy_s: float = 1.0,
        retry_s: float = 3.0,
    ) -> None:
        """``busy_s``: how long to wait for another program's lock. ``retry_s``: how long before trying again."""
        self.path = path
        self._busy_s, self._retry_s = busy_s, retry_s
        self._aside = Aside(path.with_name(path.name + ".aside.jsonl")) if path else None
        self._on_trouble = on_trouble
        self._trouble = ""
        self._queue: queue.SimpleQueue[_Put | _Call | None] = queue.SimpleQueue()
        self._waiting: list[_Put] = []  # reported as kept aside or in memory, not yet in the file
        self._session: list[dict[str, Any]] = []  # all entries since the start, in case the file is replaced
        self._connection: sqlite3.Connection | None = None
        self._inode: tuple[int, int] | None = None
        self._opened_before = False
        self._stale = False  # the file was opened again: it may be another one, or have lost its end
        self._retry_at = -math.inf
        self._lock: WriterLock | None = None
        self._closed = False
        self._gate = threading.Lock()  # nothing may follow the queue's end mark
        try:
            self._take_lock()  # LogbookBusyError goes to the caller
        except OSError as exc:
            self._fail(exc)
        self._thread = threading.Thread(target=self._run, name="logbook", daemon=True)
        self._thread.start()
        self._settle()

    # --- what callers use -------------------------------------------------------------------------------------

    @property
    def trouble(self) -> str:
        """Why the file takes no entries now, in a sentence; empty where it takes them."""
        return self._trouble

    @property
    def waiting(self) -> int:
        """How many entries of this session are kept aside or in memory."""
        return len(self._waiting)

    def submit(self, trip_id: str, action: Action, told: Told | None = None) -> Future[Stored]:
        """Store an action; never blocks. An id that the trip already has is not stored again."""
        return self._put({"op": "action", "trip": trip_id, "action": dump(action)}, action, told)

    def begin_trip(self, trip: Trip) -> Stored:
        """Store the beginning of a trip; waits until that is done."""
        return self._put(writing.begin(trip)).result()

    def end_trip(self, trip_id: str, ended: datetime | None) -> Stored:
        """Store the end of a trip; waits until that is done. An ended trip keeps its end; None undoes the end."""
        return self._put({"op": "end", "trip": trip_id, "time": iso(ended) if ended else None}).result()

    def record(self, trip_id: str, event: Event) -> Future[Stored]:
        """Store an alert; never blocks."""
        return self._put(writing.event(trip_id, event))

    def keep_result(self, trip_id: str, result: Mapping[str, Any]) -> Stored:
        """Store a practice session's result; waits until it is stored or kept aside."""
        return self._put(results.entry(trip_id, result)).result()

    def attempts(self, drill: str | None = None) -> list[Attempt]:
        """Practice sessions with a result, oldest first. Raises LogbookError."""
        return self._call(lambda c: results.attempts(c, drill))

    def derive(self, work: Callable[[sqlite3.Connection], None]) -> Future[None]:
        """Let the writer store derived rows, which can always be made again, in one transaction; never blocks.

        Derived rows are not kept aside: where the file cannot take them, the future ends in a LogbookError.
        """
        call = _Call(lambda connection: _whole(connection, work), Future())
        self._enqueue(call)
        return call.future

    def ask(self, question: Callable[[sqlite3.Connection], T]) -> T:
        """Run a reading function on the file; waits for its result. Raises LogbookError."""
        return self._call(question)

    def open_trip(self) -> Trip | None:
        """The trip to resume, of those on the water: a practice ends when it is left. Raises LogbookError."""
        return self._call(trips.open_trip)

    def trips(self) -> list[Trip]:
        """Every trip, oldest first. Raises LogbookError."""
        return self._call(trips.trips)

    def actions(self, trip_id: str) -> list[Action]:
        """A trip's actions in order of storing. Raises LogbookError, ActionError."""
        return self._call(lambda c: trips.actions(c, trip_id))

    def events(self, trip_id: str) -> list[Event]:
        """A trip's alert events. Raises LogbookError."""
        return self._call(lambda c: trips.events(c, trip_id))

    def verify(self) -> list[str]:
        """The faults of the file, one sentence each. Raises LogbookError where it cannot be opened."""
        return self._call(trips.verify)

    def backup(self, target: Path) -> None:
        """Make a consistent copy while the logbook is in use. Raises LogbookError."""
        self._call(lambda c: schema.backup(c, target))

    def close(self) -> None:
        """Store what is waiting, as far as possible, and close the file. A second call does nothing."""
        with self._gate:
            if not self._closed:
                self._closed = True
                self._queue.put(None)
        self._thread.join()
        if self._lock is not None:
            self._lock.release()

    def __enter__(self) -> Logbook:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # --- from the caller's thread to the writer's -------------------------------------------------------------

    def _put(self, entry: dict[str, Any], action: Action | None = None, told: Told | None = None) -> Future[Stored]:
        put = _Put(entry, action, Future(), told)
        self._enqueue(put)
        return put.future

    def _call(self, work: Callable[[sqlite3.Connection], T]) -> T:
        call = _Call(work, Future())
        self._enqueue(call)
        result: T = call.future.result()
        return result

    def _enqueue(self, item: _Put | _Call) -> None:
        with self._gate:
            if self._closed:
                raise LogbookError("the logbook is closed")
            self._queue.put(item)

    def _settle(self) -> None:
        """Wait until the file is open and has stored earlier entries, or until that has failed."""
        call = _Call(lambda _: None, Future())
        self._enqueue(call)
        call.future.exception()

    # --- on the writer's thread -------------------------------------------------------------------------------

    def _run(self) -> None:
        stopping = False
        self._commit([])
        while not stopping:
            puts, call, stopping = self._next()
            if puts or self._trouble or stopping:
                self._commit(puts, urgent=stopping)
            if call is not None:
                self._answer(call)
        self._disconnect()

    def _next(self) -> tuple[list[_Put], _Call | None, bool]:
        """Take from the queue: entries to store together, then at most one question; and whether to stop."""
        puts: list[_Put] = []
        wait = max(0.0, self._retry_at - time.monotonic()) if self._trouble else None
        try:
            item = self._queue.get(timeout=wait)
            while isinstance(item, _Put):
                puts.append(item)
                if len(puts) == _BATCH:
                    return puts, None, False
                item = self._queue.get_nowait()
        except queue.Empty:
            return puts, None, False
        return puts, item, item is None

    def _answer(self, call: _Call) -> None:
        try:
            if self._connection is None:
                raise LogbookError(self._trouble or "the logbook is not open")
            call.future.set_result(call.work(self._connection))
        except (sqlite3.Error, OSError, *writing.UNREADABLE) as exc:
            call.future.set_exception(LogbookError(writing.sentence(exc, self.path)))
        except Exception as exc:  # noqa: BLE001 - it belongs to the caller, who waits for it
            call.future.set_exception(exc)

    def _commit(self, puts: list[_Put], urgent: bool = False) -> None:
        """Store these and the waiting entries, or keep them aside."""
        self._session += (put.entry for put in puts)
        if self._trouble and not urgent and time.monotonic() < self._retry_at:
            self._keep_aside(puts)
            return
        try:
            refused = self._store(puts)
        except Exception as exc:  # noqa: BLE001 - a damaged file fails in ways nobody lists, and this thread must live
            self._fail(exc)
            self._keep_aside(puts)
            return
        told, self._waiting = [*self._waiting, *puts], []
        for put in told:
            why = refused.get(_line(put.entry), "") if refused else ""
            put.tell("refused" if why else "logbook", why)
        if self._trouble:
            self._say("")

    def _store(self, puts: list[_Put]) -> dict[str, str]:
        """Store all due entries in one transaction. Returns why entries were refused, by their line."""
        connection = self._connect()
        kept: list[dict[str, Any]] = []
        bad: list[bytes] = []
        if self._aside is not None and (self._trouble or not self._opened_before):
            kept, bad = self._aside.read()
        # After a reopening the whole session is written again, in its order; entries in the file already are skipped.
        fresh = [put.entry for put in (*self._waiting, *puts) if not put.journalled]
        due = [*self._session, *kept] if self._stale else [*kept, *fresh]
        refused: dict[str, str] = {}
        if due and not (len(due) == 1 and writing.at_once(connection, due[0])):
            connection.execute("BEGIN IMMEDIATE")
            try:
                for entry in due:
                    if why := writing.write(connection, entry):
                        refused[_line(entry)] = why
                connection.execute("COMMIT")
            except BaseException:
                if connection.in_transaction:
                    connection.execute("ROLLBACK")
                raise
        self._opened_before, self._stale = True, False
        if self._aside is not None and (kept or bad):
            bad += (_line(entry).encode() for entry in kept if _line(entry) in refused)
            with contextlib.suppress(OSError):  # they are stored: at worst the next start skips them
                self._aside.clear(bad)
        return refused

    def _keep_aside(self, puts: list[_Put]) -> None:
        self._waiting += puts
        fresh = [put for put in self._waiting if not put.journalled]
        error = self._trouble
        if fresh and self._aside is not None and self._lock is not None:
            try:
                self._aside.append([put.entry for put in fresh])
            except OSError as exc:
                error = f"{error}; entries cannot be kept aside either ({reason(exc)})"
            else:
                for put in fresh:
                    put.journalled = True
        for put in puts:
            if put.journalled:
                put.tell("aside", f"{error}; the entry is kept aside until it can be written")
            else:
                put.tell("memory", f"{error}; the entry is only in memory, and saving is tried again")

    def _fail(self, exc: Exception) -> None:
        if not writing.passing(exc):
            self._disconnect()
        self._retry_at = time.monotonic() + self._retry_s
        self._say(writing.sentence(exc, self.path))

    def _say(self, trouble: str) -> None:
        if trouble != self._trouble:
            self._trouble = trouble
            if self._on_trouble is not None:
                self._on_trouble(trouble)

    def _take_lock(self) -> None:
        if self.path is not None and self._lock is None:
            make_folder(self.path.parent)
            self._lock = WriterLock(self.path)

    def _connect(self) -> sqlite3.Connection:
        if self._connection is not None and self._inode != self._identity():
            self._disconnect()  # the file was replaced or removed: writes to it would be lost
        if self._connection is None:
            self._take_lock()
            self._connection = schema.connect(self.path, self._busy_s)
            self._inode = self._identity()
            self._stale = self._opened_before
        return self._connection

    def _identity(self) -> tuple[int, int] | None:
        if self.path is None:
            return None
        try:
            found = self.path.stat()
        except FileNotFoundError:
            return None
        return found.st_dev, found.st_ino

    def _disconnect(self) -> None:
        if self._connection is not None:
            try:
                self._connection.close()
            except sqlite3.Error as exc:
                self._say(writing.sentence(exc, self.path))
            self._connection = None


def _whole(connection: sqlite3.Connection, work: Callable[[sqlite3.Connection], None]) -> None:
    connection.execute("BEGIN IMMEDIATE")
    try:
        work(connection)
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def _line(entry: dict[str, Any]) -> str:
    return json.dumps(entry)
