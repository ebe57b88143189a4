"""``sternwatch paths``: where the program keeps its files on this machine."""

from __future__ import annotations

import argparse

from sternwatch.cli.common.exits import Exit
from sternwatch.cli.common.options import add_json


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "paths",
        help="print where files are kept",
        description="Print where settings, the logbook, caches and logs are kept on this machine.",
    )
    add_json(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from sternwatch import places
    from sternwatch.gear.shelf.pieces import shelf_path

    found = {
        "config": places.config_dir(),
        "boat": places.boat_file(),
        "shelf": shelf_path(),
        "data": places.data_dir(),
        "cache": places.cache_dir(),
        "log": places.log_dir(),
        "demo_logs": places.shipped("demo_logs"),
        "themes": places.shipped("themes"),
    }
    if args.json:
        import json

        print(json.dumps({name: str(path) for name, path in found.items()}))
    else:
        for name, path in found.items():
            print(f"{name:<10} {path}")
    return Exit.DONE
