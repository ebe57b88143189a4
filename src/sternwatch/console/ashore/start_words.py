"""The offers of the start screen, each with its command. No screen."""

from __future__ import annotations

import json
import shlex
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from sternwatch import places
from sternwatch.cautions import COMPUTED
from sternwatch.config import Preferences
from sternwatch.feed.recording.speech_detection import has_feed
from sternwatch.local_time import BoatTime

if TYPE_CHECKING:
    from sternwatch.practice.drills.files import DrillFile

Command = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Answered:
    """The output of a command run beside the screen."""

    code: int
    out: str
    err: str


Ask = Callable[[Command], Answered]


HEAD = "Where every lure is, and what the next turn does to all of them."
HELP = (
    "The demo needs nothing: an invented evening off a harbour that does not exist. “set up my boat” asks about "
    "yours in 20 to 25 questions and makes a spread file; “edit the spread” changes it. “connect a feed” lists the "
    "serial ports and what each says, and keeps the one chosen; then “my boat” goes on the water with it.",
    "“practice” is a simulated boat to try turns on. “open a recording” replays a feed; “past trips” tells what they "
    "caught. “preferences” are units, theme and keys.",
    "Each line is also a command, shown beside it; sternwatch --help lists them all. Choose with arrows and Enter, "
    "or with the number; n changes to night; Esc leaves.",
    COMPUTED,
)
_SUFFIXES = (".nmea", ".nmea.gz", ".nmea0183", ".candump")
_PERHAPS = (".log", ".txt", ".raw")  # many a file is called so: only those with a feed in them are recordings
_MOST = 60
LOGGER_FILES = 5


@dataclass(frozen=True, slots=True)
class StartChoice:
    """A line of a list. ``command`` None opens another list. ``printed``: its output shows on a page."""

    name: str
    words: str
    about: str
    command: Command | None = None
    printed: bool = False


def spoken(command: Command) -> str:
    """The command line as one types it."""
    return shlex.join(("sternwatch", *command))


def choices(boat: Path, preferences: Preferences) -> list[StartChoice]:
    """The start screen's lines."""
    there = boat.exists()
    mine = (
        "sternwatch watch"
        if there and preferences.feed
        else "no feed yet: 3 connects one"
        if there
        else "no boat yet: 7 sets it up"
    )
    return [
        StartChoice("demo", "the demo", "sternwatch demo", ("demo",)),
        StartChoice("boat", "my boat", mine),
        StartChoice("feed", "connect a feed", "sternwatch ports --listen"),
        StartChoice("practice", "practice", "sternwatch practice"),
        StartChoice("recording", "open a recording", "sternwatch replay FILE"),
        StartChoice("trips", "past trips", "sternwatch trip list, debrief, season"),
        StartChoice("setup", "set up my boat", "sternwatch setup", ("setup", str(boat))),
        StartChoice("edit", "edit the spread", "sternwatch edit", ("edit", str(boat))),
        StartChoice("preferences", "preferences", "sternwatch preferences", ("preferences",)),
        StartChoice("manual", "the manual", "sternwatch manual", ("manual",)),
    ]


def boat_offers(boat: Path, preferences: Preferences) -> list[StartChoice]:
    """What one can do with the user's boat; without a boat, how to make one."""
    if not boat.exists():
        return [
            StartChoice("boat", "set it up", "20 to 25 questions, five minutes", ("setup", str(boat))),
            StartChoice("boat", "put it together", "in the spread editor", ("edit", str(boat))),
        ]
    spread = str(boat)
    evening = str(places.shipped("demo_logs") / "evening.nmea")
    feeds = ", ".join(str(entry.get("source", name)) for name, entry in preferences.feed.items() if _is_table(entry))
    water = [StartChoice("boat", "on the water", f"feed: {feeds}", ("watch", spread))] if preferences.feed else []
    dry = "your spread, on the demo's recorded evening"
    return [
        *water,
        StartChoice("boat", "a dry run", dry, ("replay", evening, "--spread", spread)),
        StartChoice("boat", "check it", "what could break, trip, tangle or drag", ("check", spread), printed=True),
        StartChoice("boat", "let-out cards", "line out for every depth", ("table", spread), printed=True),
        StartChoice("boat", "what was learned", "sternwatch fit", ("fit", spread), printed=True),
        StartChoice("boat", "practise with it", "a lake to try things on", ("practice", "--spread", spread)),
        StartChoice("boat", "edit it", "in the spread editor", ("edit", spread)),
        StartChoice("boat", "try the keys", "for number pads and other keyboards", ("keys", spread)),
        StartChoice(
            "boat", "tags for the holders", "key and name of every rod, to print", ("tags", spread), printed=True
        ),
        StartChoice("boat", "something for the shelf", "a lure, a line, a weight of your own", ("shelf", "--add")),
        StartChoice("boat", "what is on the shelf", "sternwatch shelf", ("shelf",), printed=True),
        StartChoice(
            "boat", "the season", "what is known about every piece", ("fit", "--season", spread), printed=True
        ),
    ]


def practice_offers(drills: Sequence[DrillFile]) -> list[StartChoice]:
    """The lake without a task, the first day's course, and every drill with its length and difficulty."""
    tasks = [one for one in drills if not one.drill.free]
    first_day = sum(one.drill.course is not None for one in tasks)
    name = max((len(one.drill.name) for one in tasks), default=0)
    offers = [StartChoice("practice", "no task", "a lake, a boat and fish to try things on", ("practice",))]
    if first_day:
        words = f"a course of {first_day} drills in order; this begins the next"
        offers.append(StartChoice("practice", "the first day", words, ("practice", "--course")))
    for one in tasks:
        day = "" if one.drill.course is None else f"course {one.drill.course}"
        about = f"{one.drill.name:<{name}}  {one.drill.time_s / 60:>3.0f} min  {one.drill.difficulty or '':<4}  {day}"
        offers.append(StartChoice("practice", one.id, about.rstrip(), ("practice", one.id)))
    return offers


def _is_table(entry: object) -> bool:
    return isinstance(entry, dict)


def recordings(own: Path, here: Path) -> list[tuple[Path, str]]:
    """Recordings of trips and of the present folder, newest first, each with its time of writing."""
    found = [path for folder in dict.fromkeys((own, here)) for path in _in(folder)]
    found.sort(key=lambda path: path.stat().st_mtime, reverse=True)
    return [
        (path, f"{datetime.fromtimestamp(path.stat().st_mtime):%d %b %Y %H:%M}  {path.parent}") for path in found
    ][:_MOST]


def _in(folder: Path) -> Iterable[Path]:
    if not folder.is_dir():
        return []
    files = [path for path in folder.iterdir() if path.name.endswith((*_SUFFIXES, *_PERHAPS)) and path.is_file()]
    return [path for path in files if path.name.endswith(_SUFFIXES) or has_feed(path)]


def logger_files(*folders: Path) -> list[Path]:
    """Tables that may be a logger's, newest first."""
    found = [
        path
        for folder in dict.fromkeys(folders)
        if folder.is_dir()
        for path in folder.iterdir()
        if path.suffix.casefold() == ".csv" and path.is_file()
    ]
    return sorted(found, key=lambda path: path.stat().st_mtime, reverse=True)[:LOGGER_FILES]


def trip_offers(listed: str, loggers: Iterable[Path] = ()) -> list[StartChoice]:
    """What one can see of each trip of ``trip list --json``, newest first. ``name``: the trip's title.

    ``loggers``: files that may hold a logger's depths.
    """
    offers: list[StartChoice] = []
    for line in reversed(listed.splitlines()):
        trip = json.loads(line)
        begun = BoatTime(trip["utc_offset_min"]).at(datetime.fromisoformat(trip["begun"]))
        hits = "–" if trip["hits"] is None else trip["hits"]
        title = f"{begun:%a %d %b %Y %H:%M}  {trip['spread']}  hits {hits}"
        id = str(trip["id"])
        offers.append(StartChoice(title, "what it caught", f"sternwatch debrief {id}", ("debrief", id), printed=True))
        if trip["recording"]:
            about = "hour by hour, the recording beside it"
            offers.append(StartChoice(title, "on the screen", about, ("debrief", id, "--screen")))
            for path in loggers:
                command = ("observe", id, "--logger", str(path))
                about = "a logger's depths beside what was computed"
                offers.append(StartChoice(title, f"take in {path.name}", about, command, printed=True))
        offers.append(StartChoice(title, "all trips together", "sternwatch season", ("season",), printed=True))
    return offers


def last_line(text: str) -> str:
    """The last line that is not empty."""
    return next((line for line in reversed(text.splitlines()) if line.strip()), "")
