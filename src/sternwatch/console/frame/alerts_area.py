"""Shows alerts, worst first, each with its advice; the worst as a full-width inverse line."""

from __future__ import annotations

from dataclasses import dataclass

from textual.geometry import Size

from sternwatch.console.paint.canvas import Grid, Painted
from sternwatch.console.paint.look import Look
from sternwatch.console.words.rods import SIGNS, span
from sternwatch.console.words.text import cut, wrapped
from sternwatch.watch.picture.alert import Alert, AlertState, Priority
from sternwatch.watch.picture.model import Picture

_QUIET = "No alert raised."
_HEAD = 10  # cells before the text, for the priority in words
_MOST = 6  # the most rows of one alert
_AROUND = 10  # rows of a narrow helm that are neither rods nor alerts, and one for notices


class AlertsArea(Painted):
    """The standing alerts."""

    _laid_out = (0, 0, 0)  # the rows and rods that the layout was last asked for
    told = ""  # every word that stands here, for what need not say it again

    def show(self, picture: Picture) -> None:
        needs = *_rows_of(picture.alerts, self.size.width), len(picture.rods)
        if needs != self._laid_out:
            self._laid_out = needs
            self.refresh(layout=True)
        super().show(picture)

    def rows_at(self, width: int) -> tuple[int, int]:
        """The rows needed for all alerts, and for the first of them, at a width that may not be the present one."""
        return _rows_of(self._picture.alerts, width) if self._picture is not None else (0, 0)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002
        """One or two rows in any case, so that the views do not move when an alert comes; more for more alerts.

        The worst alert's advice must be readable whole: it gets a third row of a low screen where every rod still has
        its own.
        """
        wanted, first = self.rows_at(width)
        if viewport.height < 30:
            rods = len(self._picture.rods) if self._picture is not None else 0
            least, most = 1, 3 if first > 2 and viewport.height - _AROUND - rods >= 4 else 2
        else:
            least, most = (1, 3) if viewport.height < 40 else (2, 5)
        return min(max(wanted, least), most)

    def paint(self, grid: Grid, picture: Picture, look: Look) -> None:
        self.told = ""
        if not picture.alerts:
            grid.put(1, 0, _QUIET, "label")
            return
        arrow = SIGNS[look.glyphs].to
        lines = _lines(picture.alerts, grid.width, arrow)
        if sum(line.alert is lines[0].alert for line in lines) > grid.height:
            lines = _lines(picture.alerts, grid.width, arrow, tight=grid.height)
        note = _note(_hidden(lines, grid.height))
        shown = lines[: grid.height]
        self.told = " ".join(f"{line.text} {line.advice}".strip() for line in shown)
        last = _row_for(note, shown, grid.width) if note else -1
        for y, line in enumerate(shown):
            _write(grid, y, line, note if y == last else line.state)


class WorstAlert(AlertsArea):
    """The worst alert on other pages: a row or two while there is one, else nothing."""

    def show(self, picture: Picture) -> None:
        self.display = bool(picture.alerts)
        super().show(picture)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002
        return min(max(self.rows_at(width)[1], 1), 2)


@dataclass(frozen=True)
class _Line:
    """One line of the area. A long alert uses more lines for its advice."""

    alert: Alert
    head: str
    at: int  # the first cell of ``text``
    text: str
    ink: str
    band: bool
    state: str = ""
    advice: str = ""  # advice beside the text, where it fits
    advice_at: int = 0


def _rows_of(alerts: tuple[Alert, ...], width: int) -> tuple[int, int]:
    """The rows needed for all alerts, and for the first of them: one more where the note of others would cut it."""
    lines = _lines(alerts, width, ">")
    first = sum(line.alert is lines[0].alert for line in lines)
    note = _note(_hidden(lines, first))
    cut_short = note and not any(_has_room(line, note, width) for line in lines[:first])
    return len(lines), first + bool(cut_short)


def _lines(alerts: tuple[Alert, ...], width: int, arrow: str, *, tight: int = 0) -> list[_Line]:
    """The lines of all alerts: the whole text, with the advice beside it where it fits, else below.

    ``tight``: the rows available for one alert. The advice follows directly on the text, and the text is cut at its
    last commas to make room.
    """
    split = _split(alerts, width)
    lines: list[_Line] = []
    for number, alert in enumerate(alerts):
        acknowledged = alert.state is AlertState.ACKNOWLEDGED
        # The worst alert and every alarm are inverse over the full width, unless they are acknowledged.
        band = not acknowledged and (number == 0 or alert.priority is Priority.ALARM)
        ink = "acknowledged" if acknowledged else f"{alert.priority.value} band" if band else alert.priority.value
        text, state = _text(alert), _state(alert)
        advice = f"{arrow} {alert.advice}" if alert.advice else ""
        end = _room(alert, width)
        start = max(split, _HEAD + len(text) + 2)
        if start + len(advice) > end:
            start = _HEAD + len(text) + 2
        beside = start + len(advice) <= end
        if beside or not advice:
            first, *rest = _broken(text, end - _HEAD, width - 1 - _HEAD)
            lines.append(_Line(alert, _head(alert), _HEAD, first, ink, band, state, advice, start))
            lines += [_Line(alert, "", _HEAD, line, ink, band) for line in rest]
            continue
        first, *rest = (
            _tightly(alert, text, advice, end, width, tight)
            if tight
            else _broken(text, end - _HEAD, width - 1 - _HEAD)
        )
        lines.append(_Line(alert, _head(alert), _HEAD, first, ink, band, state))
        lines += [_Line(alert, "", _HEAD, line, ink, band) for line in rest]
        if not tight:
            # Start at the edge where that saves a row.
            at = min((_HEAD, 1), key=lambda x: len(_broken(advice, width - 1 - x, width - 1 - x)))
            room = width - 1 - at
            lines += [_Line(alert, "", at, line, ink, band) for line in _broken(advice, room, room)]
    return lines


def _tightly(alert: Alert, text: str, advice: str, end: int, width: int, rows: int) -> list[str]:
    """The text with the advice after it, cut at its last commas until it has at most so many rows more than one."""
    listed = alert.kind == "crossing" and len(alert.keys) > 2  # commas separate rods; the advice follows
    made = _broken(f"{text} {advice}", end - _HEAD, width - 1 - _HEAD)
    while len(made) > rows and ", " in text and not listed:
        text = text.rpartition(", ")[0]
        made = _broken(f"{text} {advice}", end - _HEAD, width - 1 - _HEAD)
    return made


def _broken(text: str, first: int, room: int) -> list[str]:
    return [text] if len(text) <= first else wrapped(text, max(room, 1), _MOST, max(first, 1))


def _row_for(note: str, lines: list[_Line], width: int) -> int:
    """The lowest row that the note does not cut; the lowest of all where there is none."""
    rows = range(len(lines) - 1, -1, -1)
    return next((y for y in rows if _has_room(lines[y], note, width)), len(lines) - 1)


def _has_room(line: _Line, note: str, width: int) -> bool:
    """Whether the note stands at the end of a line without cutting it."""
    return not line.state and _end(line) + len(note) + 2 <= width - 1


def _note(more: int) -> str:
    return f"+{more} more" if more else ""


def _end(line: _Line) -> int:
    """The cell after the line's text and advice."""
    return line.advice_at + len(line.advice) if line.advice else line.at + len(line.text)


def _hidden(lines: list[_Line], room: int) -> int:
    """How many alerts have no line."""
    return len({line.alert.id for line in lines} - {line.alert.id for line in lines[:room]})


def _head(alert: Alert) -> str:
    word = alert.priority.value.upper()
    return f"{word:<8}" if alert.state is not AlertState.ACKNOWLEDGED else f"{word.lower():<8}"


def _state(alert: Alert) -> str:
    """Whether the crew acknowledged it, or how much time is left."""
    if alert.state is AlertState.ACKNOWLEDGED:
        return "acknowledged"
    if alert.time_left_s is None:
        return ""
    return "now" if alert.time_left_s < 1.0 else f"in {span(alert.time_left_s)}"


def _room(alert: Alert, width: int) -> int:
    """The cell where the state stands at the right of an alert's first line, or its end."""
    state = _state(alert)
    return width - 1 - (len(state) + 2 if state else 0)


def _split(alerts: tuple[Alert, ...], width: int) -> int:
    """The first cell of advice, the same on every line whose text ends before it."""
    begins = {alert.id: _HEAD + len(_text(alert)) + 2 for alert in alerts}
    tried = sorted({min(begin, width * 3 // 5) for begin in begins.values()}, reverse=True)
    sign = len("> ")

    def fits(at: int) -> bool:
        return all(at + sign + len(one.advice) <= _room(one, width) for one in alerts if begins[one.id] <= at)

    return next((at for at in tried if fits(at)), 0)


def _text(alert: Alert) -> str:
    """The alert's text, after the rods' keys unless it begins with one or names them all."""
    all_named = alert.kind == "crossing"  # the text names the rods
    named = not alert.keys or all_named or alert.text.startswith(alert.keys)
    what, _, cure = alert.text.rpartition(": ")
    # The text of several pairs ends with the cure in brief; beside the whole advice it would stand there twice.
    text = what if what and alert.advice.lower().startswith(cure.lower()) else alert.text
    return text if named else f"{' '.join(alert.keys)}  {text}"


def _write(grid: Grid, y: int, line: _Line, note: str) -> None:
    plain = line.ink if line.band or line.ink == "acknowledged" else "text"
    if line.band:
        grid.fill(0, y, grid.width, 1, " ", line.ink)
    end = grid.width - 1
    if note:
        end = grid.put_right(end, y, note, line.ink if line.band else "label") - 1
    grid.put(1, y, line.head, line.ink)
    grid.put(line.at, y, cut(line.text, max(end - line.at, 0)), plain)
    if line.advice:
        grid.put(line.advice_at, y, cut(line.advice, max(end - line.advice_at, 0)), plain)
