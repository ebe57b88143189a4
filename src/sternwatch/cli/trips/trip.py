"""``sternwatch trip``: lists the logbook's trips and moves them between machines and other programs."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sternwatch.cautions import COMPUTED
from sternwatch.cli.common.books import TRIP_HELP
from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.cli.common.options import add_json, spread_file
from sternwatch.cli.common.written import to_write, unwritten, write
from sternwatch.files import move
from sternwatch.system_words import reason

if TYPE_CHECKING:
    from sternwatch.cli.common.books import Book
    from sternwatch.debrief.trip.sources import TripData
    from sternwatch.logbook.store.trips import Event

WHAT = ("hits", "exposure", "return", "gpx", "geojson", "actions", "alerts")


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "trip",
        help="list, end, pack, unpack, import, export trips",
        description="The trips of the logbook.",
        epilog=COMPUTED,
    )
    acts = parser.add_subparsers(title="what to do", dest="act", metavar="ACT", required=True)
    listed = acts.add_parser("list", help="every trip, oldest first")
    add_json(listed)
    listed.set_defaults(run=run_list)
    end = acts.add_parser("end", help="end the open trip")
    end.set_defaults(run=run_end)
    pack = acts.add_parser("pack", help="make one file with feed, entries and spread; it holds every position")
    pack.add_argument("trip", metavar="TRIP", help=TRIP_HELP)
    pack.add_argument("file", nargs="?", type=to_write, metavar="FILE", help="default: <id>.trip in this folder")
    pack.set_defaults(run=run_pack)
    unpack = acts.add_parser("unpack", help="take a packed trip into the logbook")
    unpack.add_argument("file", type=Path, metavar="FILE")
    unpack.set_defaults(run=run_unpack)
    imported = acts.add_parser("import", help="take in a recording with its entries, or an old notebook")
    imported.add_argument(
        "file", metavar="FILE", help="a recording, as replay takes it (n2k:PATH, signalk:PATH), or a CSV file"
    )
    imported.add_argument("--notebook", action="store_true", help="hits of an old notebook: CSV, see --columns")
    imported.add_argument("--spread", type=spread_file, metavar="SPREAD", help="the recording's spread file")
    imported.add_argument("--actions", type=Path, metavar="FILE", help="what the crew did, as JSON Lines")
    imported.add_argument("--alerts", type=Path, metavar="FILE", help="the alerts that were raised, as JSON Lines")
    imported.add_argument(
        "--utc-offset", type=_offset, metavar="UTC±HH:MM", help="the crew's clock; else this computer's"
    )
    imported.set_defaults(run=run_import)
    export = acts.add_parser("export", help=f"for other programs: {', '.join(WHAT)}")
    export.add_argument("trip", metavar="TRIP", nargs="+", help=TRIP_HELP)
    export.add_argument(
        "--what", required=True, choices=WHAT, help="hits, exposure, return: CSV; actions, alerts: JSON Lines"
    )
    export.add_argument("--out", type=to_write, metavar="FILE", help="else standard output")
    export.add_argument("--positions", action="store_true", help="tell places too")
    export.set_defaults(run=run_export)


def run(args: argparse.Namespace) -> int:
    return int(args.run(args))


def _offset(given: str) -> int:
    import re

    match = re.fullmatch(r"(?:UTC)?([+-])(\d{1,2}):?(\d{2})", given.replace("−", "-"))
    if match is None or int(match[2]) > 14 or int(match[3]) > 59:
        raise argparse.ArgumentTypeError(f'"{given}": accepted is, for example, UTC-04:00')
    minutes = int(match[2]) * 60 + int(match[3])
    return -minutes if match[1] == "-" else minutes


def run_list(args: argparse.Namespace) -> int:
    from sternwatch.cli.common.books import opened
    from sternwatch.debrief.clocks import clock_of, said_clock
    from sternwatch.debrief.trip.sources import recording_of
    from sternwatch.logbook.actions.kinds import iso
    from sternwatch.logbook.store.trips import trips
    from sternwatch.places import data_dir

    with opened() as book:
        found = trips(book.reader)
        hits = dict(book.reader.execute("SELECT t.id, count(*) FROM hit h JOIN trip t ON t.no = h.trip_no "
                                        "WHERE h.counts = 1 GROUP BY t.id"))  # fmt: skip
        debriefed = {i for (i,) in book.reader.execute("SELECT t.id FROM digest d JOIN trip t ON t.no = d.trip_no")}
        clocks = {trip.id: clock_of(trip.about, said_clock(book.reader, trip.id)) for trip in found}
    if args.json:
        import json

        for trip in found:
            print(json.dumps({
                "id": trip.id, "begun": iso(trip.begun),
                "utc_offset_min": clocks[trip.id].offset_min(trip.begun),
                "ended": iso(trip.ended) if trip.ended else None,
                "session": trip.session, "spread": trip.spread_name, "hits": hits.get(trip.id),
                "recording": recording_of(trip, data_dir()) is not None, "debriefed": trip.id in debriefed,
            }, ensure_ascii=False))  # fmt: skip
        return Exit.DONE
    for trip in found:
        clock = clocks[trip.id]
        ended = clock.hm(trip.ended) if trip.ended else "open "
        feed = "" if recording_of(trip, data_dir()) is not None else ", no recording"
        n = hits.get(trip.id)
        said = "" if n is None else f", {n} hit{'s' * (n != 1)}"
        print(f"{trip.id}  {clock.at(trip.begun):%Y-%m-%d %H:%M}–{ended}  {trip.session}{said}{feed}")
    return Exit.DONE


def run_end(args: argparse.Namespace) -> int:  # noqa: ARG001
    from datetime import UTC, datetime

    from sternwatch.cli.common.books import opened

    with opened() as book:
        writer = book.need_writer("ending the trip")
        trip = writer.open_trip()
        if trip is None:
            raise InputError("no trip is open")
        kept = writer.end_trip(trip.id, datetime.now(UTC))
        if kept.error:
            raise InputError(kept.error)
    print(f"{trip.id} is ended")
    return Exit.DONE


def run_pack(args: argparse.Namespace) -> int:
    from contextlib import nullcontext

    from sternwatch.cli.common.books import opened, trip_data
    from sternwatch.debrief.trip.foretold import with_foretold
    from sternwatch.debrief.trip.packing import SUFFIX, pack

    with nullcontext() if args.trip == "demo" else opened() as book:
        data = with_foretold(trip_data(args.trip, book))  # else its debrief would tell less elsewhere
    target = args.file or Path(f"{data.id}{SUFFIX}")
    try:
        pack(data, target)
    except OSError as fault:
        raise unwritten(target, fault) from fault
    if data.feed is None:
        print(f"sternwatch: the recording of {data.id} is not there: packed without it", file=sys.stderr)
    else:
        print("sternwatch: the file holds the whole recording, every position in it", file=sys.stderr)
    print(target)
    return Exit.DONE


def run_unpack(args: argparse.Namespace) -> int:
    from sternwatch.cli.common.books import opened
    from sternwatch.debrief.trip.packing import unpacked
    from sternwatch.debrief.trip.sources import TripError
    from sternwatch.places import data_dir

    with opened(make=True) as book:
        book.need_writer("unpacking a trip")
        try:
            with unpacked(args.file, data_dir() / "recordings") as data:
                _take_in(book, data)
        except TripError as fault:
            raise InputError(str(fault)) from fault
        except OSError as fault:
            raise InputError(f"{fault.filename or args.file}: {reason(fault)}") from fault
    print(f"{data.id}: {len(data.actions)} entries" + ("" if data.feed else ", no recording"))
    return Exit.DONE


def run_import(args: argparse.Namespace) -> int:
    from sternwatch.cli.common.books import opened, worked_through
    from sternwatch.places import data_dir

    if args.notebook and (args.spread or args.actions or args.alerts):
        raise InputError("--notebook takes no --spread, --actions or --alerts: a notebook has hits alone")
    with opened(make=True) as book:
        book.need_writer("importing")
        kept = set((data_dir() / "recordings").glob("*"))
        for data in _notebook(args) if args.notebook else [_recording(args)]:
            try:
                _take_in(book, data)
            except InputError:
                if data.feed is not None and data.feed not in kept:
                    data.feed.unlink(missing_ok=True)
                raise
            if args.notebook:
                worked_through(data, book)
            print(f"{data.id}: {len(data.actions)} entries")
    return Exit.DONE


def _minutes(args: argparse.Namespace) -> int:
    from datetime import datetime

    if args.utc_offset is not None:
        return int(args.utc_offset)
    offset = datetime.now().astimezone().utcoffset()
    return round(offset.total_seconds() / 60) if offset is not None else 0


def _notebook(args: argparse.Namespace) -> list[TripData]:
    from sternwatch.debrief.trip.notebook import read_notebook
    from sternwatch.debrief.trip.sources import TripError

    try:
        return read_notebook(Path(args.file), _minutes(args))
    except TripError as fault:
        raise InputError(str(fault)) from fault
    except OSError as fault:
        raise InputError(f"{args.file} cannot be read: {reason(fault)}") from fault


def _recording(args: argparse.Namespace) -> TripData:
    """A trip made of a recording, its spread and its actions. The same files give the same trip."""
    import hashlib
    import os
    import shutil
    from datetime import UTC, datetime, timedelta

    from sternwatch.cli.common.inputs import actions_of, spread_of, told_recording_of
    from sternwatch.debrief.trip.sources import TripData
    from sternwatch.feed.readings import SENTENCES
    from sternwatch.feed.recording.rewriting import write_anew
    from sternwatch.logbook.crew.fold import start_state
    from sternwatch.places import data_dir

    if args.spread is None:
        raise InputError("a recording needs --spread: without it nobody knows what was towed")
    spread_of(args.spread)
    actions = actions_of(args.actions)
    events = _alerts(args.alerts) if args.alerts is not None else []
    recording, speech = told_recording_of(args.file)
    with recording:
        start, span, path = recording.start_utc, recording.span_s, recording.path
        plain = speech == SENTENCES
        told = b"" if plain else f"{speech.tongue} {speech.combined} {speech.si}".encode()
        with path.open("rb") as file:
            whole = hashlib.file_digest(file, "sha256")
        whole.update(told)
        digest = whole.hexdigest()[:8]
        begun = datetime.fromtimestamp(start, UTC) if start is not None else datetime(1970, 1, 1, tzinfo=UTC)
        trip_id = f"{begun:%Y%m%dT%H%M%SZ}-{digest}"
        target = data_dir() / "recordings" / (f"{trip_id}.nmea" + (".gz" if plain and path.suffix == ".gz" else ""))
        unfinished = target.with_name(target.name + ".part")
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            if not target.exists():
                if plain:
                    shutil.copyfile(path, unfinished)
                else:
                    write_anew(recording, unfinished)
                # Which dates are credible depends on when the recording was written.
                changed = path.stat()
                os.utime(unfinished, ns=(changed.st_atime_ns, changed.st_mtime_ns))
                move(unfinished, target)
            text = args.spread.read_text(encoding="utf-8")
        except OSError as fault:
            unfinished.unlink(missing_ok=True)
            raise InputError(f"{fault.filename}: {reason(fault)}") from fault
    about: dict[str, Any] = {"utc_offset_min": _minutes(args)}
    if args.alerts is None:
        about["foretold"] = False  # no console looked ahead, or its alerts are not given
    return TripData(
        trip_id, begun, text, actions, target, start_state(actions), begun + timedelta(seconds=span), "live",
        about=about, events=events,
    )  # fmt: skip


def _alerts(path: Path) -> list[Event]:
    from sternwatch.debrief.trip.packing import parse_events
    from sternwatch.debrief.trip.sources import TripError
    from sternwatch.reading import UnreadableError, read_text

    try:
        return parse_events(read_text(path, 64 << 20), str(path))
    except TripError as fault:
        raise InputError(str(fault)) from fault
    except FileNotFoundError:
        raise InputError(f"{path}: there is no such file") from None
    except UnreadableError as fault:
        raise InputError(f"{path}: {fault}") from None


def _take_in(book: Book, data: TripData) -> None:
    """Store a whole trip in the logbook, or nothing of it. Entries in the logbook already are skipped."""
    from sternwatch.gear.spread_file.load import parse_spread
    from sternwatch.logbook.store import writing
    from sternwatch.logbook.store.trips import Trip

    writer = book.need_writer("taking a trip in")
    name = parse_spread(data.spread_text).boat.name if data.spread_text else "notebook"
    trip = Trip(
        data.id, data.begun, data.session, data.start, name, data.spread_text, data.calibration, "", data.about,
        data.ended,
    )  # fmt: skip
    entries = writing.whole(trip, data.actions, data.events, data.practised)
    try:
        writer.derive(lambda connection: writing.write_all(connection, entries)).result()
    except writing.RefusedError as fault:
        raise InputError(str(fault)) from fault


def run_export(args: argparse.Namespace) -> int:
    from contextlib import nullcontext

    from sternwatch.cli.common.books import opened, trip_data, worked_through

    if args.what == "gpx" and not args.positions:
        raise InputError("a GPX file holds nothing but places: add --positions if you want them in a file")
    if len(args.trip) > 1 and args.what not in ("return", "hits", "exposure"):
        raise InputError(f"--what {args.what} takes one trip")
    with nullcontext() if args.trip == ["demo"] else opened() as book:
        found = [trip_data(asked, book) for asked in args.trip]
        digests = [worked_through(data, book) for data in found] if args.what not in ("actions", "alerts") else []
    text = _exported(args.what, found, digests, positions=args.positions)
    if args.out is None:
        sys.stdout.write(text)
        return Exit.DONE
    write(args.out, text, newline="")
    return Exit.DONE


def _exported(what: str, found: list[TripData], digests: list[Any], *, positions: bool) -> str:
    from sternwatch.cli.common.session import preferences
    from sternwatch.debrief.trip import exports
    from sternwatch.debrief.trip.packing import event_lines

    match what:
        case "return":
            return exports.return_csv(zip(found, digests, strict=True))
        case "hits" | "exposure":
            made = exports.hits_csv if what == "hits" else exports.exposure_csv
            texts = [made(data, digest, positions=positions) for data, digest in zip(found, digests, strict=True)]
            return texts[0] + "".join(text.split("\r\n", 1)[1] for text in texts[1:])
        case "gpx":
            return exports.gpx(digests[0], found[0].id, preferences().system)
        case "geojson":
            return exports.geojson(digests[0], found[0].id, positions=positions)
        case "alerts":
            return event_lines(found[0].events)
    return exports.actions_jsonl(found[0].actions, positions=positions)
