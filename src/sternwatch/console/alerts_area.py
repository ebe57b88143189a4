"""Alerts, worst first, the advice beside each; the worst as a full-width inverse line."""

from __future__ import annotations

from textual.geometry import Size

from sternwatch.console.canvas import Grid, Painted
from sternwatch.console.look import Look
from sternwatch.console.rod_words import SIGNS, ago
from sternwatch.watch.picture import Alert, AlertState, Picture, Priority

_QUIET = "No alert raised."


class AlertsArea(Painted):
    """The alerts that stand."""

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002
        """A height of its own, whatever stands: the views above must not move when an alert comes."""
        return 2 if viewport.height < 30 else 3 if viewport.height < 44 else 4

    def paint(self, grid: Grid, picture: Picture, look: Look) -> None:
        if not picture.alerts:
            grid.put(1, 0, _QUIET, "label")
            return
        split = _split(picture.alerts, grid.width)
        more = len(picture.alerts) - grid.height
        for y, alert in enumerate(picture.alerts[: grid.height]):
            last = y == grid.height - 1 and more > 0
            _line(grid, y, alert, split, SIGNS[look.glyphs].to, f"+{more} more" if last else "")


def _head(alert: Alert) -> str:
    word = alert.priority.value.upper()
    return f"{word:<8}" if alert.state is not AlertState.ACKNOWLEDGED else f"{word.lower():<8}"


def _state(alert: Alert) -> str:
    """What the crew did about it, or how long is left."""
    if alert.state is AlertState.ACKNOWLEDGED:
        return "acknowledged"
    return "" if alert.time_left_s is None else f"in {ago(alert.time_left_s)}"


def _split(alerts: tuple[Alert, ...], width: int) -> int:
    """The cell from which advice stands, the same on every line."""
    longest = max(len(alert.text) for alert in alerts) + 12
    return min(longest + 2, max(width * 3 // 5, 40))


def _line(grid: Grid, y: int, alert: Alert, split: int, arrow: str, more: str) -> None:
    acknowledged = alert.state is AlertState.ACKNOWLEDGED
    # The worst line, and every alarm, is inverse over the full width; an acknowledged one has been seen.
    band = not acknowledged and (y == 0 or alert.priority is Priority.ALARM)
    ink = "acknowledged" if acknowledged else f"{alert.priority.value} band" if band else alert.priority.value
    plain = ink if band or acknowledged else "text"
    if band:
        grid.fill(0, y, grid.width, 1, " ", ink)
    state = f"{_state(alert)}  {more}".strip()
    end = grid.width - 1
    if state:
        end = grid.put_right(end, y, state, ink if not more or band else "label") - 2
    x = grid.put(1, y, _head(alert), ink) + 1
    keys = f"{' '.join(alert.keys)}  " if alert.keys and not alert.text.startswith(alert.keys) else ""
    text = f"{keys}{alert.text}"
    advice = f"{arrow} {alert.advice}" if alert.advice else ""
    start = max(split, x + len(text) + 2) if advice else end
    if advice and start + len(advice) > end:
        start = min(start, max(end - len(advice), x + 12))
    grid.put(x, y, _cut(text, max(start - x - 1, 0)), plain)
    grid.put(start, y, _cut(advice, max(end - start, 0)), plain)


def _cut(text: str, room: int) -> str:
    return text if len(text) <= room else f"{text[: max(room - 1, 0)]}…"[:room]
