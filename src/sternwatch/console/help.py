"""Help: what the screen shows, and every key that exists, from the registry."""

from __future__ import annotations

from textual.app import ComposeResult

from sternwatch.console.desk import Desk
from sternwatch.console.keymap import Keymap
from sternwatch.console.keys import ACTS, GROUPS, Keyboard
from sternwatch.console.notices import COMPUTED, wrapped
from sternwatch.console.scrolled import Line, Scrolled, ScrolledScreen

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

_WORDS_AT, _TEXT_AT = 18, 36  # cells

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


class HelpText(Scrolled):
    """What the screen shows, and the keys."""

    def __init__(self) -> None:
        super().__init__()
        self.about = "helm"

    def lines(self, width: int) -> list[Line]:
        room = max(width - _TEXT_AT - 2, 20)
        made: list[Line] = []
        for key, words, text in rows(self.desk, self.keymap, self.about):
            if not key and not words:
                made += [((1, line, "text"),) for line in wrapped(text, width - 2, 12)]
                made.append(())
            elif not key:
                made.append(((1, words.upper(), "state"),))
            else:
                first, *rest = wrapped(text, room, 5)
                made.append(((1, key[:16], "key"), (_WORDS_AT, words, "number"), (_TEXT_AT, first, "text")))
                made += [((_TEXT_AT, line, "text"),) for line in rest]
        return made


class HelpScreen(ScrolledScreen):
    """Help over whatever runs; rod keys still are hits."""

    words = "HELP"

    def __init__(self) -> None:
        super().__init__()
        self.about = "helm"

    def body(self) -> ComposeResult:
        yield HelpText()

    def fit_body(self) -> None:
        text = self.query_one(HelpText)
        text.about = self.about
