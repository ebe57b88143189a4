"""Pictures for the questions of setting up: a rig from the side, and the boat from above as it grows.

Plain characters, so that every terminal shows them. The rod's tip is at the left; the boat moves to the left.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import zip_longest

WIDTH = 30
_SURFACE = r"_/~~~~~~~~~~~~~~~~~~~~~~~~"
_BOARD = r"_/------[>~~~~~~~~~~~~~~~~"
PICTURES: dict[str, tuple[str, ...]] = {
    "a low diver": (
        _SURFACE, r"   \ ", r"    \ ", r"     \ ", r"      \ ", r"       O----=--<", "disc: steep, near the boat",
    ),
    "a high diver": (
        _SURFACE, r"   `-._", r"       `-._", r"           `-O---=--<", "", "", "disc: shallow, out to a side",
    ),
    "a diver straight astern": (
        _SURFACE, r"    \ ", r"      \ ", r"        \ ", r"          O---=--<", "", "disc: straight behind",
    ),
    "a downrigger": (
        _SURFACE, r"  |\ ", r"  |  \ ", r"  |    \ ", r"  |______\ ", r"  @--------------<", "ball on a cable",
    ),
    "lead-core behind a board": (
        _BOARD, r"         ''--..__", r"                 ``--..", r"                       `<", "", "",
        "board out to a side",
    ),
    "lead-core": (
        _SURFACE, r"   ''--..__", r"           ``--..__", r"                   ``--<", "", "",
        "the line itself sinks",
    ),
    "copper behind a board": (
        _BOARD, r"         `-._", r"             `-._", r"                 `-._", r"                     `-<", "",
        "board out to a side",
    ),
    "copper": (
        _SURFACE, r"   `-._", r"       `-._", r"           `-._", r"               `-._", r"                   `-<",
        "the line itself sinks",
    ),
    "a flat line behind a board": (_BOARD, r"         ''''----....____<", "", "", "", "", "board out to a side"),
    "a flat line": (_SURFACE, r"   ''''''------......____<", "", "", "", "", "nothing but the lure"),
    "an in-line weight": (
        _SURFACE, r"   \ ", r"     \ ", r"       \ ", r"         o-----<", "", "a weight before the leader",
    ),
}  # fmt: skip
TALL = max(len(rows) for rows in PICTURES.values())


def stern(drawn: Mapping[str, Sequence[str]], keys: Sequence[str]) -> list[str]:
    """The boat from above, bow up: rods with their keys port to starboard, ``?`` for rods not described yet."""
    port, middle, starboard = (list(drawn.get(side, ())) for side in ("port", "centre", "starboard"))
    if not port and not starboard and not middle:
        return []
    names = iter(keys)
    port = [f"{label or '?'} {next(names, ' ')}" for label in port]
    middle = [f"{next(names, ' ')} {label or '?'}" for label in middle]
    right = [f"{next(names, ' ')} {label or '?'}" for label in reversed(starboard)][::-1]
    rows = ["bow".center(WIDTH), "/      \\".center(WIDTH)]
    for left, other in zip_longest(port, right, fillvalue=""):
        rows.append(f"{left:>9} |{'':8}| {other:<9}".ljust(WIDTH))
    rows.append(f"{'':10}|________|{'':10}")
    return [*rows, *(one.center(WIDTH) for one in middle)]
