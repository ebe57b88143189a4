"""A trip as one file: feed, actions, spread and what belongs to them. It moves between machines whole.

A ZIP archive (APPNOTE.TXT, version 2.0) with a manifest in JSON. The same trip packs to the same bytes.
"""

from __future__ import annotations

import gzip
import json
import math
import shutil
import zipfile
import zlib
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from typing import Any, cast

from sternwatch.debrief.trip.sources import TripData, TripError
from sternwatch.logbook.actions.kinds import ActionError, iso, lines, load_actions
from sternwatch.logbook.crew.state import RodWord
from sternwatch.logbook.store.trips import Event

FORMAT = 1
SUFFIX = ".trip"
_EPOCH = (1980, 1, 1, 0, 0, 0)  # the oldest moment an archive can say: packing tells no time of its own
_MANIFEST, _ACTIONS, _SPREAD, _EVENTS, _FEED = (
    "trip.json",
    "actions.jsonl",
    "spread.toml",
    "events.jsonl",
    "feed.nmea",
)
_MOST = {_MANIFEST: 1 << 20, _ACTIONS: 1 << 28, _SPREAD: 1 << 22, _EVENTS: 1 << 28, _FEED: 1 << 34}


def pack(data: TripData, target: Path) -> None:
    """Write a trip as one file, whole or not at all. Raises OSError."""
    manifest = {
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
        manifest["practised"] = dict(data.practised)
    unfinished = target.with_name(target.name + ".part")
    try:
        with zipfile.ZipFile(unfinished, "w", zipfile.ZIP_DEFLATED) as archive:
            _put(archive, _MANIFEST, json.dumps(manifest, indent=1, sort_keys=True, ensure_ascii=False) + "\n")
            _put(archive, _SPREAD, data.spread_text)
            _put(archive, _ACTIONS, lines(data.actions))
            _put(archive, _EVENTS, event_lines(data.events))
            if data.feed is not None:
                info = zipfile.ZipInfo(_FEED, _EPOCH)
                info.compress_type = zipfile.ZIP_DEFLATED
                opener = gzip.open if data.feed.suffix == ".gz" else open
                with opener(data.feed, "rb") as source, archive.open(info, "w", force_zip64=True) as part:
                    shutil.copyfileobj(cast("Any", source), part, 1 << 20)
        unfinished.replace(target)
    except BaseException:
        unfinished.unlink(missing_ok=True)
        raise


def _put(archive: zipfile.ZipFile, name: str, text: str) -> None:
    info = zipfile.ZipInfo(name, _EPOCH)
    info.compress_type = zipfile.ZIP_DEFLATED
    archive.writestr(info, text.encode())


def event_lines(events: Iterable[Event]) -> str:
    """Alerts as they were raised, as JSON Lines."""
    return "".join(_event_line(event) for event in events)


def parse_events(text: str, source: str) -> list[Event]:
    """The alerts in JSON Lines. Raises TripError, which names ``source`` and the line."""
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
    return json.dumps(fields, ensure_ascii=False) + "\n"


def unpack(source: Path, folder: Path) -> TripData:
    """A packed trip with its feed put into ``folder`` as ``<id>.nmea``.

    Raises TripError for a file that is no packed trip or is damaged, OSError. Nothing is left behind then.
    """
    feed: Path | None = None
    try:
        with zipfile.ZipFile(source) as archive:
            manifest = _manifest(archive, source)
            spread_text = _text(archive, _SPREAD, source)
            actions_file = folder / f"{manifest['id']}.actions.part"
            folder.mkdir(parents=True, exist_ok=True)
            try:
                actions_file.write_text(_text(archive, _ACTIONS, source), encoding="utf-8")
                actions = load_actions(actions_file)
            except ActionError as fault:
                raise TripError(str(fault).replace(str(actions_file), f"{source}: {_ACTIONS}")) from None
            finally:
                actions_file.unlink(missing_ok=True)
            told = _text(archive, _EVENTS, source) if _EVENTS in archive.namelist() else ""  # older packs have none
            events = parse_events(told, f"{source}: {_EVENTS}")
            if manifest["feed"]:
                feed = _feed(archive, folder / f"{manifest['id']}.nmea", source)
    except (zipfile.BadZipFile, zlib.error, EOFError) as fault:
        raise TripError(f"{source}: is no packed trip, or is damaged ({fault})") from None
    return TripData(
        manifest["id"], datetime.fromisoformat(manifest["begun"]), spread_text, actions, feed,
        cast("RodWord", manifest["start"]),
        datetime.fromisoformat(manifest["ended"]) if manifest["ended"] else None, manifest["session"],
        manifest["calibration"], manifest["about"], events, manifest.get("practised"),
    )  # fmt: skip


def _manifest(archive: zipfile.ZipFile, source: Path) -> dict[str, Any]:
    try:
        found: dict[str, Any] = json.loads(_text(archive, _MANIFEST, source))
        if found["format"] != FORMAT:
            raise TripError(f"{source}: packed in format {found['format']}; this sternwatch reads format {FORMAT}")
        if not str(found["id"]).replace("-", "").isalnum():
            raise TripError(f"{source}: {found['id']!r} is no id of a trip")
        datetime.fromisoformat(found["begun"])
        for name in ("session", "start", "calibration"):
            if not isinstance(found[name], str):
                raise TypeError(name)
        if not isinstance(found["about"], dict):
            raise TypeError("about")
        if not isinstance(found.get("practised"), dict | None):
            raise TypeError("practised")
    except (KeyError, TypeError, ValueError) as fault:
        if isinstance(fault, TripError):
            raise
        raise TripError(f"{source}: {_MANIFEST} is not that of a packed trip ({fault})") from None
    return found


def _text(archive: zipfile.ZipFile, name: str, source: Path) -> str:
    try:
        info = archive.getinfo(name)
    except KeyError:
        raise TripError(f"{source}: {name} is missing, so this is no packed trip") from None
    if info.file_size > _MOST[name]:
        raise TripError(f"{source}: {name} would unpack to {info.file_size} bytes; nothing of a trip is that large")
    try:
        return archive.read(info).decode()
    except UnicodeDecodeError:
        raise TripError(f"{source}: {name} is not a UTF-8 text") from None


def _event(line: str, where: str) -> Event:
    try:
        given = json.loads(line)
        words = {name: given[name] for name in ("id", "kind", "priority", "state", "text", "advice")}
        for name, word in words.items():
            if not isinstance(word, str):
                raise TypeError(f"{name} is no text")
        elapsed_s, keys = float(given["elapsed_s"]), given["keys"]
        if not math.isfinite(elapsed_s):
            raise ValueError("elapsed_s is no number of seconds")
        if not isinstance(keys, list) or not all(isinstance(key, str) for key in keys):
            raise TypeError("keys are no list of rods' keys")
        time = datetime.fromisoformat(given["time"]) if given["time"] else None
        return Event(elapsed_s=elapsed_s, keys=tuple(keys), time=time, **words)
    except KeyError as fault:
        raise TripError(f"{where}: is no alert ({fault} is missing)") from None
    except (TypeError, ValueError, OverflowError) as fault:
        raise TripError(f"{where}: is no alert ({fault})") from None


def _feed(archive: zipfile.ZipFile, target: Path, source: Path) -> Path:
    """The feed as a file; one that lies there already must be the same."""
    unfinished = target.with_name(target.name + ".part")
    try:
        try:
            with archive.open(_FEED) as part, unfinished.open("wb") as file:
                shutil.copyfileobj(part, file, 1 << 20)
        except KeyError:
            raise TripError(f"{source}: {_FEED} is missing") from None
        if target.exists() and target.read_bytes() != unfinished.read_bytes():
            raise TripError(f"{target}: another recording of the same name lies there already; it was left as it is")
        unfinished.replace(target)
    finally:
        unfinished.unlink(missing_ok=True)
    return target
