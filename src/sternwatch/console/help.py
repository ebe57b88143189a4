"""Help: what the screen shows, and every key that exists, from the registry."""

from __future__ import annotations

from textual.app import ComposeResult

from sternwatch.console.bars import DeskPainted, NoticeLines
from sternwatch.console.canvas import Grid
from sternwatch.console.desk import Desk
from sternwatch.console.keymap import Keymap
from sternwatch.console.keys import ACTS, GROUPS, Keyboard
from sternwatch.console.notices import COMPUTED, wrapped
from sternwatch.console.watch_screen import WatchScreen

ABOUT = {
    "helm": "The rods stand as they stand across the stern. Large: the computed depth of the lure. Beneath: its ± "
    "where known, line out and setting, the lure's speed through the water, the temperature there, the room to the "
    "bottom and to the nearest chain. A dash is a value not known. The strip on top tells every sensor's value, "
    "source and age, and which speed drives the depths.",
    "above": "The lines from above: the boat is up, they stream down the screen, each marked with its rod's key.",
    "side": "The lines from the side: the boat is left, depth goes down, the zone is shaded, the bottom is drawn "
    "where the boat has sounded it.",
    "glance": "What matters most, as large as it fits: the worst alert, speed, turning, each rod's depth and state, "
    "bottom and surface temperature, the last hit.",
}
ACCIDENTS = (
    "The same rod key within 2 s is one hit. A neighbouring key within 0.12 s, or three rod keys within a second, "
    "make doubtful hits: kept, and counted in nothing until an outcome confirms them."
)

Row = tuple[str, str, str]  # key, words, help; a heading has only words, a paragraph only help


def rows(desk: Desk, keymap: Keymap, about: str) -> list[Row]:
    """The help of this session's keys, one row per act."""
    made: list[Row] = [("", "", ABOUT.get(about, ABOUT["helm"])), ("", "", COMPUTED)]
    keyboard = desk.keyboard
    for group in GROUPS:
        acts = [act for act in ACTS if act.group == group and desk.offers(act)]
        if not acts:
            continue
        made.append(("", group, ""))
        stations = [act for act in acts if act.station is not None]
        if stations:
            keys = " ".join(keymap.label(keyboard, act.id) for act in stations)
            words = "hit" if keyboard is Keyboard.HELM else "choose"
            made.append((keys or "–", words, stations[0].help))
        for act in acts:
            label = keymap.label(keyboard, act.id)
            if act.station is None:
                made.append((label or "palette", act.words, act.help))
        if group == GROUPS[0] and keyboard is Keyboard.HELM:
            made.append(("", "", ACCIDENTS))
    return made


class HelpText(DeskPainted):
    """The rows, as many as fit from ``first``."""

    def __init__(self) -> None:
        super().__init__()
        self.first = 0
        self.about = "helm"

    def lines(self, width: int) -> list[tuple[str, str, str, str]]:
        """(key, words, text, ink) per line of the terminal."""
        key_width, words_width = 17, 18
        room = max(width - key_width - words_width - 3, 20)
        made: list[tuple[str, str, str, str]] = []
        for key, words, text in rows(self.desk, self.keymap, self.about):
            if not key and not words:
                made += [("", "", line, "text") for line in wrapped(text, width - 2, 9)]
                made.append(("", "", "", "text"))
            elif not key:
                made.append(("", words, "", "state"))
            else:
                first, *rest = wrapped(text, room, 5)
                made.append((key, words, first, "text"))
                made += [(" ", "", line, "text") for line in rest]
        return made

    @property
    def rows(self) -> int:
        """Rows not covered by what stands over the foot of the body."""
        notices = self.screen.query_one(NoticeLines)
        return max(self.size.height - (notices.size.height if notices.display else 0), 2)

    def scroll_by(self, count: int) -> None:
        """Go down (positive) or up by so many lines."""
        most = max(len(self.lines(self.size.width)) - self.rows + 1, 0)
        self.first = min(max(self.first + count, 0), most)

    def draw(self, grid: Grid) -> None:
        lines = self.lines(grid.width)
        room = self.rows - 1
        for y, (key, words, text, ink) in enumerate(lines[self.first : self.first + room]):
            if key:
                grid.put(1, y, key[:16], "key")
                grid.put(18, y, words, "number")
                grid.put(36, y, text, ink)
            elif words:
                grid.put(1, y, words.upper(), ink)
            else:
                grid.put(1, y, text, ink)
        last = min(self.first + room, len(lines))
        more = f"↓ ↑ PgDn PgUp: lines {self.first + 1}–{last} of {len(lines)} · Esc: helm"
        grid.put_right(grid.width - 1, room, more, "label")


class HelpScreen(WatchScreen):
    """Help over whatever runs; rod keys still are hits."""

    words = "HELP"
    shows_picture = False

    def __init__(self) -> None:
        super().__init__()
        self.about = "helm"

    def body(self) -> ComposeResult:
        yield HelpText()

    def fit_body(self) -> None:
        text = self.query_one(HelpText)
        text.about = self.about

    def key(self, token: str) -> bool:
        text = self.query_one(HelpText)
        page = max(text.rows - 2, 1)
        steps = {"up": -1, "down": 1, "pageup": -page, "pagedown": page, "home": -9999, "end": 9999}
        if token not in steps:
            return False
        text.scroll_by(steps[token])
        return True
