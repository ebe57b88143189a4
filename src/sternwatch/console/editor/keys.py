"""The editor's keys, and which of them work now."""

from __future__ import annotations

from sternwatch.console.ashore.base import Key
from sternwatch.console.editor.edited_spread import EditedSpread

SIDES = ("port", "starboard", "centre")
KEYS = (
    Key("left", "← →", "rod", "step(-1)"),
    Key("a", "a", "add", "add"),
    Key("r", "r", "rig", "rig"),
    Key("g", "g", "move tip", "grab"),
    Key("i", "i", "item in", "insert"),
    Key("s", "s", "save", "save"),
    Key("u", "u", "undo", "back('undo')"),
    Key("d", "d", "rod out", "do('remove')"),
    Key("c", "c", "copy", "do('copy')"),
    Key("x", "x", "item out", "take"),
    Key("b", "b", "board", "do('board')"),
    Key("m", "m", "mirror", "do('mirror')"),
    Key("left_square_bracket", "[ ]", "item up, down", "shift(-1)"),
    Key("h", "h", "to the shelf", "shelve"),
    Key("y", "y", "redo", "back('redo')"),
    Key("k", "k", "keys in order", "do('keys_in_order')"),
    Key("n", "n", "night", "theme"),
    Key("question_mark", "?", "help", "help"),
    Key("escape", "Esc", "leave", "leave"),
)
TYPING = (Key("enter", "Enter", "takes it", "submit"), Key("escape", "Esc", "drops it", "leave"))
MOVING = (
    Key("", "← → ↑ ↓", "move the tip", "nothing"),
    Key("enter", "Enter", "leaves it there", "let_go(True)"),
    Key("escape", "Esc", "puts it back", "leave"),
)


def offered(edited: EditedSpread, *, on_item: bool) -> list[Key]:
    """The keys that work now. ``on_item``: the selected row is an item of the chain."""
    without = set() if edited.rods else {"left", "k"}
    without |= set() if edited.chosen is not None else {"c", "m", "g", "d", "r", "b", "i", "h"}
    without |= set() if on_item else {"x", "left_square_bracket"}
    without |= set() if edited.document.changed and edited.rods else {"s"}
    without |= {key for key, can in zip("uy", edited.document.steps, strict=True) if not can}
    return [key for key in KEYS if key.key not in without]
