"""What the commands share that propose ways from a moment of a trip: the watch then, and how ways are told."""

from __future__ import annotations

import argparse
import json
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sternwatch.cautions import COMPUTED
from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.cli.common.options import add_json, add_units
from sternwatch.cli.common.solver import prepare_solver
from sternwatch.cli.common.written import to_write, write

if TYPE_CHECKING:
    from sternwatch.debrief.trip.sources import TripData
    from sternwatch.watch.again.steering import Way
    from sternwatch.watch.core.engine import Watch
    from sternwatch.watch.grids.model import LakeGrid


@dataclass(frozen=True)
class Ways:
    """What a command found. ``why``: nothing was found, in a sentence without its full stop."""

    watch: Watch
    named: Sequence[tuple[str, Way]] = ()  # the name of each way's route
    why: str = ""


def add_ways_options(parser: argparse.ArgumentParser, what: str) -> None:
    """``--gpx``, ``--json`` and the units. ``what``: what is written as routes."""
    parser.add_argument("--gpx", type=to_write, metavar="FILE", help=f"write {what} (it tells places)")
    add_json(parser)
    add_units(parser)


def grids_of(data: TripData) -> list[LakeGrid]:
    """The grids of a trip's bottom: the demo's own, or those imported."""
    from sternwatch.watch.grids.store import charts_for
    from sternwatch.watch.picture.model import Session

    return charts_for(Session.DEMO if data.id == "demo" else Session.LIVE)


def moment_of(data: TripData, text: str) -> tuple[float, str]:
    """The feed time [s] that a typed moment of a trip means, and how it is told. Raises InputError."""
    from sternwatch.debrief.clocks import clock_of
    from sternwatch.feed.recording.reader import open_recording
    from sternwatch.local_time import clock_at, h_mm_ss, typed_moment
    from sternwatch.logbook.crew.fold import fold

    if data.feed is None:
        raise InputError(f"the recording of {data.id} is not there, so nothing can be planned from it")
    with open_recording(data.feed) as recording:
        span_s, begun = (0.0, recording.span_s), recording.start_utc
    clock = clock_of(data.about, fold(data.actions, ()).facts.utc_offset_min)
    ahead_s = None if begun is None else begun + 60.0 * clock.offset_min(begun)
    if re.fullmatch(r"\d+(\.\d*)?", text):
        found: float | str = float(text)
    else:
        found = typed_moment(text, span_s, ahead_s, 0.0)
    if isinstance(found, str):
        raise InputError(f"--at {text}: {found}")
    return found, h_mm_ss(found) if ahead_s is None else clock_at(found, ahead_s)


def played_to(data: TripData, t_s: float, zone_c: tuple[float, float] | None = None) -> Watch:
    """The watch of a trip at a feed time. Raises InputError where the recording is missing."""
    from sternwatch.feed.recording.reader import open_recording
    from sternwatch.watch.core.player import Player

    if data.feed is None:
        raise InputError(f"the recording of {data.id} is not there, so nothing can be planned from it")
    prepare_solver()
    setup = replace(data.setup(), grids=tuple(grids_of(data)))
    with open_recording(data.feed) as recording:
        player = Player(recording, setup if zone_c is None else replace(setup, zone_c=zone_c), data.actions)
        player.to(t_s)
        return player.watch


def tell(
    args: argparse.Namespace,
    found: Ways,
    about: Mapping[str, Any],
    lines: Callable[[Mapping[str, str]], list[str]],
) -> int:
    """Write the routes that ``--gpx`` asks for, then print the ways: as JSON (``about``), or as lines.

    ``lines``: makes them from the rods' names by key. Raises InputError where a route cannot be written.
    """
    if args.gpx is not None:
        _write_routes(args.gpx, found)
    if args.json:
        print(json.dumps({"caution": COMPUTED, **about}, indent=2))
        return Exit.DONE
    from sternwatch.watch.again.words import PROPOSAL

    if found.why:
        print(found.why + ".")
        return Exit.DONE
    for line in lines({rod.key: f"{rod.key} {rod.name}" for rod in found.watch.spread.rods}):
        print(line)
    print(PROPOSAL)
    return Exit.DONE


def _write_routes(path: Path, found: Ways) -> None:
    from sternwatch.watch.again.rows import routes

    origin = found.watch.bottom.origin_deg
    if found.why or origin is None:
        why = found.why or "the boat's place is not known"
        raise InputError(f"there is no way to write to {path}: {why}")
    write(path, routes(found.named, origin))
