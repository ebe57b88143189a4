"""The page of what produces: sentences, the values behind them, and the crew's facts of the trip."""

from __future__ import annotations

import itertools
from operator import attrgetter
from typing import ClassVar

from textual.app import ComposeResult

from sternwatch.console.acts.moments import clock_or_start, on_boat_time
from sternwatch.console.frame.scrolled import Line, Scrolled, ScrolledScreen, ends
from sternwatch.console.words.text import wrapped
from sternwatch.debrief.counting.now_producing import Panel, PanelRow, trip_words
from sternwatch.debrief.report.following import Following
from sternwatch.watch.picture.model import Picture
from sternwatch.watch.sessions.runner import ReplayStatus

_MOST = 6  # the most lines of one sentence
_WIDEST = 96  # most cells of a table: in a wider one the eye loses its line
_LAST, _RATE = 16, 16  # cells for the last hour, and for the rate with its interval


def page(
    following: Following[Panel], picture: Picture | None, width: int, *, intervals: bool, unread: str = ""
) -> list[Line]:
    """The lines of the page, the first of which say what is ``unread``.

    ``intervals``: show each rate with the 90 % interval of the true rate.
    """
    made = _paragraph(unread, width, "caution") if unread else []
    if following.trouble:
        made += _paragraph(f"What is producing could not be worked out: {following.trouble}", width, "caution")
    panel = following.made
    if panel is None:
        made.append(((1, "Working out what is producing.", "state"),))
    else:
        made += _said(panel, width)
    if picture is not None and picture.crew is not None:
        trip = trip_words(picture.crew, picture.rods_per_person, picture.people)
        if trip:
            made += [(), ((1, "THE TRIP", "state"),)]
            for line in trip:
                made += _paragraph(line, width, "text")
    if panel is not None:
        made += _tables(panel.rows, width, intervals=intervals)
    return made


def not_read(status: ReplayStatus) -> str:
    """What a recording that began to play in its middle does not count yet, in words; else empty."""
    if status.since_s <= status.span_s[0]:
        return ""
    since = clock_or_start(status.since_s, status)
    return f"What was fished before {since} does not count yet: the recording is still being read."


def _said(panel: Panel, width: int) -> list[Line]:
    """The sentences, and the one for the radio."""
    found = bool(panel.today.findings)
    made: list[Line] = []
    for number, text in enumerate(panel.lines):
        made += _paragraph(text, width, "number" if found or number == 0 else "text")
    made += [(), ((1, "FOR THE RADIO", "state"),), *_paragraph(panel.radio, width, "text")]
    return made


def _paragraph(text: str, width: int, ink: str) -> list[Line]:
    return [((1, line, ink),) for line in wrapped(text, width - 2, _MOST)]


def _tables(rows: tuple[PanelRow, ...], width: int, *, intervals: bool) -> list[Line]:
    """One table per factor: hits and rod-hours of every value, today and in the last hour."""
    wide = width >= 100
    right = min(width - 2, _WIDEST)
    rate = right if intervals else None
    last = right - (_RATE if intervals else 0)
    hours = last - (_LAST if wide or not intervals else 0)
    room = hours - 18
    made: list[Line] = []
    for title, group in itertools.groupby(rows, attrgetter("title")):
        heads = [(1, title.upper(), "state"), ends(hours, "hits in rod-hours", "label")]
        if last != hours:
            heads.append(ends(last, "last hour", "label"))
        if rate is not None:
            heads.append(ends(rate, "an hour (90 %)", "label"))
        made += [(), tuple(heads)]
        for row in group:
            ink = "number" if row.stands_out == "more" else "text"
            stands = f", {row.stands_out} than the rest" if row.stands_out else ""
            name = row.name if len(row.name) + len(stands) <= room else f"{row.name[: room - len(stands) - 1]}…"
            spans = [
                (3, name + stands, ink),
                ends(hours, f"{row.hits} in {row.hours:.1f}", ink),
            ]
            if last != hours:
                spans.append(ends(last, f"{row.last_hits} in {row.last_hours:.1f}", "text"))
            if rate is not None:
                spans.append(ends(rate, _interval(row), ink))
            made.append(tuple(spans))
    return made


def _interval(row: PanelRow) -> str:
    if row.rate is None:
        return "–"
    low, high = row.interval
    return f"{row.rate:.1f} ({low:.1f}–{high:.1f})"


class ProducingText(Scrolled):
    """The page."""

    def __init__(self) -> None:
        super().__init__()
        self.intervals = False

    @property
    def hint(self) -> str:
        return f"Enter: {'without' if self.intervals else 'with'} intervals"

    def lines(self, width: int) -> list[Line]:
        replay = self.controls.runner.replay
        unread = not_read(on_boat_time(self.controls, replay.status())) if replay is not None else ""
        return page(self.watch_app.following, self.controls.picture, width, intervals=self.intervals, unread=unread)


class ProducingScreen(ScrolledScreen):
    """What is producing, over any session. Rod keys still enter hits."""

    words = "PRODUCING"
    foot = (("Enter", "rates"), ("↑ ↓", "move"))
    own_keys: ClassVar[tuple[str, ...]] = (*ScrolledScreen.own_keys, "enter")

    def body(self) -> ComposeResult:
        yield ProducingText()

    def show_picture(self, picture: Picture) -> None:
        super().show_picture(picture)
        self.watch_app.following.offer(picture)

    def key(self, token: str) -> bool:
        if token == "enter":
            text = self.query_one(ProducingText)
            text.intervals = not text.intervals
            return True
        return super().key(token)
