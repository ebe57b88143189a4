"""``sternwatch logbook``: checks the logbook, and copies it."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.cli.common.options import add_json
from sternwatch.cli.common.written import unwritten
from sternwatch.reading import is_file, is_folder, is_there

if TYPE_CHECKING:
    import sqlite3


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "logbook",
        help="check the logbook, copy it",
        description="Check the logbook entry by entry, or make a whole copy of it; both may run beside a console.",
    )
    acts = parser.add_subparsers(title="what to do", dest="act", metavar="ACT", required=True)
    verify = acts.add_parser("verify", help="every entry against its checksum, every row against its trip")
    verify.add_argument("file", nargs="?", type=Path, metavar="FILE", help="a copy; else the user's own logbook")
    add_json(verify)
    verify.set_defaults(run=run_verify)
    backup = acts.add_parser("backup", help="make a complete and consistent copy")
    backup.add_argument("target", type=Path, metavar="FILE", help="the copy; in a folder it is named by its date")
    backup.set_defaults(run=run_backup)


def run(args: argparse.Namespace) -> int:
    return int(args.run(args))


def _open(path: Path) -> sqlite3.Connection:
    import sqlite3

    from sternwatch.logbook.store import schema
    from sternwatch.logbook.store.schema import SchemaError
    from sternwatch.logbook.store.trips import open_read_only
    from sternwatch.logbook.store.writing import sentence

    if not is_file(path):
        raise InputError(f"{path}: there is no logbook there")
    try:
        connection = open_read_only(path)
    except sqlite3.Error as fault:
        raise InputError(sentence(fault, path)) from fault
    try:
        schema.check_kind(connection, path)
    except SchemaError as fault:
        connection.close()
        raise InputError(str(fault)) from fault
    except sqlite3.Error as fault:
        connection.close()
        raise InputError(sentence(fault, path)) from fault
    return connection


def own_path() -> Path:
    """The path of the user's logbook."""
    from sternwatch.places import data_dir

    return data_dir() / "logbook.sqlite"


def run_verify(args: argparse.Namespace) -> int:
    import sqlite3

    from sternwatch.logbook.store.trips import verify

    path = args.file or own_path()
    connection = _open(path)
    try:
        faults = verify(connection)
        counts = {
            table: connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in ("trip", "action")
        }
    except sqlite3.Error as fault:
        raise InputError(f"{path}: cannot be read to its end: {fault}") from fault
    finally:
        connection.close()
    if args.json:
        import json

        print(json.dumps({"file": str(path), **counts, "faults": faults}))
    else:
        for text in faults:
            print(text)
        print(f"{path}: {counts['trip']} trips, {counts['action']} entries, {len(faults) or 'no'} faults found")
    return Exit.WRONG_INPUT if faults else Exit.DONE


def run_backup(args: argparse.Namespace) -> int:
    import sqlite3
    from datetime import datetime

    from sternwatch.logbook.store import schema
    from sternwatch.logbook.store.writing import sentence

    source = own_path()
    target = args.target
    if is_folder(target):
        target = target / f"sternwatch-logbook-{datetime.now():%Y%m%d-%H%M%S}.sqlite"
    if is_there(target):
        raise InputError(f"{target} is there already; a copy is never put over another file")
    connection = _open(source)
    try:
        schema.backup(connection, target)
    except sqlite3.Error as fault:
        raise InputError(sentence(fault, target)) from fault
    except OSError as fault:
        raise unwritten(target, fault) from fault
    finally:
        connection.close()
    print(f"{target}: {target.stat().st_size / 1e6:.1f} MB")
    return Exit.DONE
