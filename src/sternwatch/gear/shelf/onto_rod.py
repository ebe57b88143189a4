"""Turns a rig on the shelf into a rod of a spread: its chain for that side, its tip, its name, its pieces."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tomlkit import TOMLDocument

from sternwatch.gear.editing.edits import EditError, define, free_keys, free_name
from sternwatch.gear.shelf.pieces import Shelf
from sternwatch.gear.values.units import UNITS, Dimension, DisplaySystem, QuantityError, parse_quantity

Chain = list[dict[str, Any]]

BOARD = "side board"
_TO_BOARD = {"ft": "60 ft", "m": "20 m"}
# A crew's short word for each device: at most six letters, which leaves room for the side before it.
_SHOUTED = {"diver": "DIVER", "ball": "DOWN", "weight": "WEIGHT", "lead-core": "LEAD", "copper": "COPPER"}
# A first place for a tip that nobody has placed yet: astern, outside the gunwale, height [m]. Memory.
_PLACES = ((0.3, 0.8, 1.0), (0.0, 1.4, 1.2), (-0.8, 0.6, 1.5), (0.6, -0.4, 0.9), (-1.8, 0.2, 2.2), (-2.6, 0.0, 2.4))
_CENTRE = ((0.5, 0.0, 1.5), (-1.0, 0.0, 2.5), (1.0, 0.0, 1.0))
_NO_BEAM_M = 2.5


def show_length(value_m: float, units: DisplaySystem) -> str:
    """A length as text for a file, in the user's unit, to a hundredth."""
    return f"{round(UNITS[units.length].from_si(value_m), 2):g} {units.length}"


def kind_of(tables: Mapping[str, Any], chain: Chain) -> str:
    """The word for a chain by what takes it down: diver, ball, weight, lead-core, copper; "" for a flat line."""
    found = ""
    for item in chain:
        if "tackle" in item:
            kind = tables.get("tackle", {}).get(item["tackle"], {}).get("kind", "")
            if kind in ("diver", "ball", "weight"):
                return str(kind)
        else:
            material = str(tables.get("line", {}).get(item.get("line"), {}).get("material", ""))
            found = found or next((metal for metal in ("lead-core", "copper") if metal in material), "")
    return found


def has_board(tables: Mapping[str, Any], chain: Chain) -> bool:
    """Whether a board carries the chain."""
    pieces = tables.get("tackle", {})
    return any(pieces.get(item.get("tackle"), {}).get("kind") == "board" for item in chain)


def behind_board(chain: Chain, units: DisplaySystem, board: str = BOARD) -> Chain:
    """The chain behind a board that carries it to the side. The former line out now hangs behind the board."""
    at = _out(chain)
    line = chain[at]
    carried = {"line": line["line"], "length": line["out"]}
    return [
        *(dict(item) for item in chain[:at]),
        {"line": line["line"], "out": _TO_BOARD[units.length]},
        {"tackle": board},
        carried,
        *(dict(item) for item in chain[at + 1 :]),
    ]


def without_board(tables: Mapping[str, Any], chain: Chain) -> Chain:
    """The chain without its board. The line behind it becomes the line out again."""
    pieces = tables.get("tackle", {})
    at = next(i for i, item in enumerate(chain) if pieces.get(item.get("tackle"), {}).get("kind") == "board")
    before, after = [dict(item) for item in chain[:at]], [dict(item) for item in chain[at + 1 :]]
    out = _out(before) if before else -1
    if out != len(before) - 1:
        raise EditError(
            "the board does not hang at the end of the line at the rod tip; take it out of the chain itself"
        )
    if after and after[0].get("line") == before[out]["line"] and "length" in after[0]:
        before[out]["out"] = after[0]["length"]
        after = after[1:]
    return [*before, *after]


def _out(chain: Chain) -> int:
    for at, item in enumerate(chain):
        if "out" in item:
            return at
    raise EditError("no item has `out`, the line at the rod tip")


def fitted(tables: Mapping[str, Any], chain: Chain, side: str) -> Chain:
    """The chain for this side: at the centre a diver is set straight, and a board gets a side."""
    if side != "centre":
        return [dict(item) for item in chain]
    made: Chain = []
    for item in chain:
        piece = tables.get("tackle", {}).get(item.get("tackle"), {})
        new = dict(item)
        if piece.get("kind") == "board" and new.get("side") not in ("port", "starboard"):
            new["side"] = "starboard"
        if piece.get("kind") == "diver" and new.get("side") is None:
            straight = [label for label, roll in piece.get("settings", {}).items() if _no_roll(roll)]
            if straight:
                new["setting"] = straight[0]
            else:
                new["side"] = "starboard"
        made.append(new)
    return made


def _no_roll(roll: object) -> bool:
    try:
        return parse_quantity(roll, Dimension.ANGLE) == 0.0
    except QuantityError:
        return False


def put_chain(document: TOMLDocument, shelf: Shelf, chain: Chain) -> Chain:
    """Copy a chain's pieces from the shelf into the spread; returns the chain with their names there."""
    have = document.unwrap()
    names: dict[tuple[str, str], str] = {}
    for item in chain:
        kind = "line" if "line" in item else "tackle"
        name = item[kind]
        table = shelf.tables[kind].get(name)
        if (kind, name) not in names and table is not None:
            given = names[kind, name] = define(document, kind, name, table)
            for what, believed in shelf.priors(kind, name).items():
                if f"{kind} {given} {what}" not in have.get("prior", {}):
                    define(document, "prior", f"{kind} {given} {what}", believed)
        elif table is None and name not in have.get(kind, {}):
            raise EditError(f'there is no {kind} "{name}", neither in this spread nor on the shelf')
    made = []
    for item in chain:
        kind = "line" if "line" in item else "tackle"
        made.append({**item, kind: names.get((kind, item[kind]), item[kind])})
    return made


def new_rod(
    tables: Mapping[str, Any], chain: Chain, side: str, units: DisplaySystem, tip: Mapping[str, str] | None = None
) -> dict[str, Any]:
    """The table of a new rod, with a free key and name, at ``tip`` or a free place. ``tables`` has its pieces."""
    keys = free_keys(tables)
    if not keys:
        raise EditError("every station has a rod")
    word = _SHOUTED.get(kind_of(tables, chain), "FLAT")
    word = "BOARD" if has_board(tables, chain) else word
    prefix = {"port": "P ", "starboard": "S "}.get(side, "")
    stands = dict(tip or free_tip(tables, side, units))
    rod: dict[str, Any] = {"key": keys[0], "name": free_name(tables, prefix + word), "side": side, "tip": stands}
    balls = [i for i, item in enumerate(chain) if _kind(tables, item) == "ball"]
    leads = [item["line"] for item in chain[balls[0] + 1 :] if "line" in item] if balls else []
    if leads:
        rod["rod_line"] = {"line": leads[0], "tip": {**stands, "height": show_length(1.8, units)}}
    rod["chain"] = fitted(tables, chain, side)
    return rod


def _kind(tables: Mapping[str, Any], item: Mapping[str, Any]) -> str:
    return str(tables.get("tackle", {}).get(item.get("tackle"), {}).get("kind", ""))


def free_tip(tables: Mapping[str, Any], side: str, units: DisplaySystem) -> dict[str, str]:
    """A free place for a rod tip on that side. The user moves it to where it really is."""
    beam = _length(tables.get("boat", {}).get("beam")) or _NO_BEAM_M
    own = [rod.get("tip", {}) for rod in tables.get("rod", ()) if rod.get("side") == side]
    taken = [(_length(tip.get("astern")) or 0.0, _length(tip.get("abeam")) or 0.0) for tip in own]
    gunwale = 0.0 if side == "centre" else beam / 2
    places = [(a, max(gunwale + o, 0.0), h) for a, o, h in (_CENTRE if side == "centre" else _PLACES)]
    free = [p for p in places if all(abs(p[0] - a) > 0.2 or abs(p[1] - b) > 0.2 for a, b in taken)]
    astern, abeam, height = free[0] if free else (0.3 - 0.5 * len(taken), *places[-1][1:])
    made = {"astern": show_length(astern, units), "abeam": show_length(abeam, units)}
    if side == "centre":
        del made["abeam"]
    return {**made, "height": show_length(height, units)}


def _length(given: object) -> float | None:
    try:
        return parse_quantity(given, Dimension.LENGTH)
    except QuantityError:
        return None
