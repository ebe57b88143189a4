"""Keys as a crew presses them, and as a cat does: from a seed, for whatever the console shows.

A crew looks at what is asked and mostly answers it; a cat walks over the keys, sits on one, or lies on several.
Windows are pulled to other sizes, words are pasted, another window comes to the front.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass

from textual import events
from textual.keys import _character_to_key

from sternwatch.console.app import SternwatchApp
from sternwatch.console.keys.registry import ACTS
from sternwatch.console.keys.tokens import NAMED

ROWS = ("`1234567890-=", "qwertyuiop[]\\", "asdfghjkl;'", "zxcvbnm,./")
MOVES = ("left", "right", "up", "down", "pageup", "pagedown", "home", "end", "tab", "enter", "escape")
SIZES = ((80, 24), (120, 36), (200, 60), (100, 30), (80, 24), (61, 19), (40, 12), (1, 1))
ANSWERS = ("12", "0", "999999", "3.5", "", "-4", "7 8", "0.3 090", "coho", "19:42", "+5", "1e9", "x", "50%", "\u00e9")
PASTED = ("12\n", "\x1b[2J", "q" * 300, "1e400", "\u202ecba", "")


def key_event(key: str) -> events.Key:
    """A key as a terminal sends it."""
    name = _character_to_key(key) if len(key) == 1 and not key.isalnum() else key
    return events.Key(name, " " if key == "space" else key if len(key) == 1 else None)


@dataclass(frozen=True)
class Move:
    """Keys in a row, ``gap_s`` apart, or something else that is done at the console."""

    keys: tuple[str, ...] = ()
    gap_s: float = 0.0
    act: str = ""  # chosen in the palette
    size: tuple[int, int] | None = None
    paste: str | None = None
    focus: bool | None = None


def _key(app: SternwatchApp, rng: random.Random) -> str:
    """A key that means something here; now and then a capital, or one that means nothing."""
    known = [token for tokens in app.keymap.keys[app.controls.keyboard].values() for token in tokens]
    if rng.random() < 0.05:
        known = [*NAMED, *"".join(ROWS).upper()]
    return rng.choice([token for token in known if token != "ctrl+q"])


def _answer(rng: random.Random) -> tuple[str, ...]:
    letters = ["space" if one == " " else one for one in rng.choice(ANSWERS)]
    corrected = ["backspace"] * rng.choice((0, 0, 0, 1, 3))
    return (*letters, *corrected, rng.choice(("enter", "enter", "enter", "tab", "escape", "up")))


def _cat(rng: random.Random) -> tuple[str, ...]:
    """From key to neighbouring key."""
    row, at, keys = rng.randrange(len(ROWS)), rng.randrange(10), []
    for _ in range(rng.randrange(4, 25)):
        row = min(max(row + rng.choice((-1, 0, 0, 1)), 0), len(ROWS) - 1)
        at = min(max(at + rng.choice((-1, 0, 1)), 0), len(ROWS[row]) - 1)
        keys.append(rng.choice((ROWS[row][at], ROWS[row][at], "space", "enter", "tab")[: rng.choice((2, 2, 2, 5))]))
    return tuple(keys)


def moves(app: SternwatchApp, rng: random.Random) -> Iterator[Move]:
    """One after the other, each by what is shown when it is asked for."""
    offered = [act.id for act in ACTS if act.id != "quit"]
    while True:
        asked = app.controls.typing is not None
        chance = rng.random()
        if app.lock.on and chance < 0.5:
            yield Move(("l", "l"), 0.2)
        elif asked and chance < 0.6:
            yield Move(_answer(rng), rng.choice((0.05, 0.3)))
        elif app.controls.listing is not None and chance < 0.6:
            yield Move((*("down",) * rng.randrange(6), rng.choice(("enter", "enter", "right", "escape", "a"))), 0.2)
        elif chance < 0.68:
            yield Move((_key(app, rng),) * rng.choice((1, 1, 1, 2)), 0.2)
        elif chance < 0.82:
            able = [act for act in ACTS if act.id in offered and app.controls.offers(act)]
            yield Move(act=rng.choice(able).id)
        elif chance < 0.90:
            yield Move(tuple(rng.choice(MOVES) for _ in range(rng.randrange(1, 6))), 0.15)
        elif chance < 0.93:
            yield Move(_cat(rng), rng.choice((0.01, 0.05, 0.2)))
        elif chance < 0.95:
            yield Move((_key(app, rng),) * rng.randrange(5, 40), 0.033)
        elif chance < 0.96:
            yield Move(("ctrl+p", *rng.choice(("hit", "debrief", "zz", "")), rng.choice(("enter", "escape"))), 0.1)
        elif chance < 0.98:
            yield Move(size=rng.choice(SIZES))
        elif chance < 0.99:
            yield Move(paste=rng.choice(PASTED))
        else:
            yield Move(focus=rng.random() < 0.5)
