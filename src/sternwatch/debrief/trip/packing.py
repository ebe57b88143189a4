"""Packs a trip into one file: feed, actions, spread and their particulars. So it moves between machines whole.

The file is a ZIP archive (APPNOTE.TXT, version 2.0) with a manifest in JSON. The same trip packs to the same bytes.
"""

from __future__ import annotations

import filecmp
import gzip
import json
import math
import os
import shutil
import zipfile
import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any, cast

from pydantic import TypeAdapter

from sternwatch.answers.belief import calibration_file
from sternwatch.debrief.trip import manifest
from sternwatch.debrief.trip.manifest import FORMAT, Manifest
from sternwatch.debrief.trip.sources import TripData, TripError
from sternwatch.feed.recording.unpacking import MOST_BYTES, TooMuchError, blocks
from sternwatch.files import move
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.values.faults import SpreadError
from sternwatch.logbook.actions.base import Moment
from sternwatch.logbook.actions.kinds import ActionError, iso, lines, parse_actions
from sternwatch.logbook.store.trips import Event
from sternwatch.printable import printable
from sternwatch.reading import UnreadableError, json_of, text_of

SUFFIX = ".trip"
_EPOCH = (1980, 1, 1, 0, 0, 0)  # the oldest moment in an archive: packing adds no time of its own
_MANIFEST, _ACTIONS, _SPREAD, _EVENTS, _FEED = (
    "trip.json",
    "actions.jsonl",
    "spread.toml",
    "events.jsonl",
    "feed.nmea",
)
# A long day with twelve rods has a tenth of a megabyte of manifest, one of entries, three of alerts.
_MOST = {_MANIFEST: 8 << 20, _ACTIONS: 16 << 20, _SPREAD: 1 << 20, _EVENTS: 32 << 20, _FEED: MOST_BYTES}
_MOMENT: TypeAdapter[datetime] = TypeAdapter(Moment)
_PLAIN = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)  # the others unpack in steps of many megabytes


def pack(data: TripData, target: Path) -> None:
    """Write a trip to one file, whole or not at all. Raises OSError."""
    told = {
        "format": FORMAT,
        "id": data.id,
        "begun": iso(data.begun),
        "ended": iso(data.ended) if data.ended else None,
        "session": data.session,
        "start": data.start,
        "calibration": data.calibration,
        "about": dict(data.about),
        "feed": data.feed is not None,
    }
    if data.practised is not None:
        told["practised"] = dict(data.practised)
    unfinished = target.with_name(target.name + ".part")
    try:
        with zipfile.ZipFile(unfinished, "w", zipfile.ZIP_DEFLATED) as archive:
            _put(archive, _MANIFEST, printable(json.dumps(told, indent=1, sort_keys=True, ensure_ascii=False)) + "\n")
            _put(archive, _SPREAD, data.spread_text)
            _put(archive, _ACTIONS, lines(data.actions))
            _put(archive, _EVENTS, event_lines(data.events))
            if data.feed is not None:
                info = zipfile.ZipInfo(_FEED, _EPOCH)
                info.compress_type = zipfile.ZIP_DEFLATED
                opener = gzip.open if data.feed.suffix == ".gz" else open
                with opener(data.feed, "rb") as source, archive.open(info, "w", force_zip64=True) as part:
                    shutil.copyfileobj(cast("Any", source), part, 1 << 20)
        move(unfinished, target)
    except BaseException:
        unfinished.unlink(missing_ok=True)
        raise


def _put(archive: zipfile.ZipFile, name: str, text: str) -> None:
    info = zipfile.ZipInfo(name, _EPOCH)
    info.compress_type = zipfile.ZIP_DEFLATED
    archive.writestr(info, text.encode())


def event_lines(events: Iterable[Event]) -> str:
    """Alert events as JSON Lines."""
    return "".join(_event_line(event) for event in events)


def parse_events(text: str, source: str) -> list[Event]:
    """Alert events from JSON Lines. Raises TripError that names ``source`` and the line."""
    return [_event(line, f"{source}, line {n}") for n, line in enumerate(text.split("\n"), 1) if line.strip()]


def _event_line(event: Event) -> str:
    fields: dict[str, Any] = {
        "id": event.id,
        "elapsed_s": event.elapsed_s,
        "kind": event.kind,
        "priority": event.priority,
        "state": event.state,
        "keys": list(event.keys),
        "text": event.text,
        "advice": event.advice,
        "time": iso(event.time) if event.time else None,
    }
    return printable(json.dumps(fields, ensure_ascii=False)) + "\n"


def unpack(source: Path, folder: Path) -> TripData:
    """Unpack a trip and put its feed into ``folder`` as ``<id>.nmea``.

    Raises TripError for a file that is damaged or no packed trip; OSError. Then it leaves no file behind.
    """
    with unpacked(source, folder) as data:
        return data


@contextmanager
def unpacked(source: Path, folder: Path) -> Iterator[TripData]:
    """As :func:`unpack`, as a context. An error inside it removes the feed again, unless it was there before."""
    feed: Path | None = None
    if source.exists() and not source.is_file():  # reading a pipe would block
        raise TripError(f"{source}: is not a plain file; a packed trip is wanted")
    try:
        with zipfile.ZipFile(source) as archive:
            told = _manifest(archive, source)
            spread_text = _text(archive, _SPREAD, source)
            if spread_text or told.session != "notebook":
                parse_spread(spread_text, f"{source}: {_SPREAD}")
            if told.calibration:
                calibration_file.parse(told.calibration, f"{source}: {_MANIFEST}: calibration")
            actions = parse_actions(_text(archive, _ACTIONS, source), f"{source}: {_ACTIONS}")
            alerts = _text(archive, _EVENTS, source) if _EVENTS in archive.namelist() else ""  # older packs have none
            events = parse_events(alerts, f"{source}: {_EVENTS}")
            if told.feed:
                feed = folder / f"{told.id}.nmea"
                new = _feed(archive, feed, source)
                if new:  # which dates are credible depends on when it was written
                    written = (told.ended or told.begun).timestamp()
                    os.utime(feed, (written, written))
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError) as fault:
        raise TripError(f"{source}: is no packed trip, or is damaged ({fault})") from None
    except (ActionError, SpreadError, calibration_file.CalibrationError) as fault:
        raise TripError(str(fault)) from None
    try:
        yield TripData(
            told.id, told.begun, spread_text, actions, feed, told.start, told.ended, told.session, told.calibration,
            told.about, events, told.practised,
        )  # fmt: skip
    except BaseException:
        if feed is not None and new:
            feed.unlink(missing_ok=True)
        raise


def _manifest(archive: zipfile.ZipFile, source: Path) -> Manifest:
    try:
        return manifest.read(_text(archive, _MANIFEST, source))
    except UnreadableError as fault:
        raise TripError(f"{source}: {_MANIFEST}: {fault}") from None


def _blocks(archive: zipfile.ZipFile, name: str, source: Path) -> Iterator[bytes]:
    """The bytes of one packed file, within bounds. Raises TripError."""
    try:
        info = archive.getinfo(name)
    except KeyError:
        raise TripError(f"{source}: {name} is missing, so this is no packed trip") from None
    if info.compress_type not in _PLAIN or info.flag_bits & 1:
        raise TripError(f"{source}: {name} is packed in a way (or with a password) that sternwatch does not pack in")
    try:
        with archive.open(info) as part:
            yield from blocks(part.read, info.compress_size, _MOST[name])
    except TooMuchError as fault:
        raise TripError(f"{source}: {name} {fault}") from None


def _text(archive: zipfile.ZipFile, name: str, source: Path) -> str:
    data = b"".join(_blocks(archive, name, source))
    try:
        return text_of(data)
    except UnreadableError as fault:
        raise TripError(f"{source}: {name}: {fault}") from None


def _event(line: str, where: str) -> Event:
    try:
        given = json_of(line)
        words = {name: given[name] for name in ("id", "kind", "priority", "state", "text", "advice")}
        for name, word in words.items():
            if not isinstance(word, str):
                raise TypeError(f"{name} is not text")
        elapsed_s, keys = float(given["elapsed_s"]), given["keys"]
        if not math.isfinite(elapsed_s):
            raise ValueError("elapsed_s is not a number of seconds")
        if not isinstance(keys, list) or not all(isinstance(key, str) for key in keys):
            raise TypeError("keys are no list of rods' keys")
        time = _MOMENT.validate_python(given["time"]) if given["time"] else None
        return Event(elapsed_s=elapsed_s, keys=tuple(keys), time=time, **words)
    except KeyError as fault:
        raise TripError(f"{where}: is no alert ({fault} is missing)") from None
    except (TypeError, ValueError, OverflowError) as fault:
        raise TripError(f"{where}: is no alert ({fault})") from None


def _feed(archive: zipfile.ZipFile, target: Path, source: Path) -> bool:
    """Write the feed to a file. False where it is there already; raises TripError where another file is there."""
    target.parent.mkdir(parents=True, exist_ok=True)
    unfinished = target.with_name(target.name + ".part")
    try:
        with unfinished.open("wb") as file:
            for block in _blocks(archive, _FEED, source):
                file.write(block)
        if target.exists():
            if not filecmp.cmp(target, unfinished, shallow=False):
                raise TripError(
                    f"{target}: another recording of the same name lies there already; it was left as it is"
                )
            return False
        move(unfinished, target)
        return True
    finally:
        unfinished.unlink(missing_ok=True)
