"""Changes on the water: another lure, leader or rig on a rod, or a rig moved to another station. Pure.

A spread and a change give a new spread. The models and rules of a file check it, and refuse a faulty one with a
sentence. Stations (key, name, side, tip and the line to a release) stay; chain, counter and the lure's particulars
move with a rig.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import ValidationError

from sternwatch.gear.spread_file.load import model_faults
from sternwatch.gear.spread_file.models import LineItem, Rod, Spread, TackleItem
from sternwatch.gear.spread_file.rules import find_faults
from sternwatch.gear.spread_file.tackle import Lure
from sternwatch.gear.values.materials import find_material
from sternwatch.gear.values.words import a, listed, nearest

Table = Mapping[str, Any]
Chain = tuple[LineItem | TackleItem, ...]

DEVICES = ("diver", "ball", "weight", "board", "snubber")


class ChangeError(ValueError):
    """A change is refused; the message says why in one sentence."""


def with_pieces(spread: Spread, lines: Mapping[str, Table], tackle: Mapping[str, Table]) -> Spread:
    """The spread with kinds of line and pieces of tackle added, each given as in a file.

    Raises ChangeError for a faulty one, and for a name that the spread uses for something else.
    """
    data = {"line": dict(lines), "tackle": dict(tackle), "rod": []}
    made = _read(data)
    for kind in ("line", "tackle"):
        known: dict[str, Any] = dict(getattr(spread, kind))
        for name, piece in getattr(made, kind).items():
            if known.setdefault(name, piece) != piece:
                raise ChangeError(f'{kind} "{name}": this spread has another of that name; give this one its own')
        spread = spread.model_copy(update={kind: known})
    return spread


def with_tackle(spread: Spread, key: str, what: str, name: str) -> Spread:
    """Put another lure or attractor (``what``) on a rod, by name. A bare line gets its first lure.

    The rod keeps its range of speeds only if the new lure has the old one's form.
    """
    rod = _rod(spread, key)
    piece = spread.tackle.get(name)
    if piece is None:
        known = [n for n, t in spread.tackle.items() if t.kind == what]
        raise ChangeError(f'no {what} "{name}"{nearest(name, known)}; accepted: {listed(known)}')
    if piece.kind != what:
        raise ChangeError(f'"{name}" is {a(piece.kind)}, not {a(what)}')
    at = _index_of(spread, rod, what)
    if at is None and what != "lure":
        raise ChangeError(f"{_words(rod)} has no {what} to change; another leader may bring one")
    chain = list(rod.chain)
    if at is None:
        chain.append(TackleItem(tackle=name))
    else:
        chain[at] = TackleItem(tackle=name)
    before = spread.tackle[rod.chain[at].tackle] if at is not None else None  # type: ignore[union-attr]
    keeps = what != "lure" or (isinstance(before, Lure) and isinstance(piece, Lure) and before.form == piece.form)
    return _with(spread, rod, {"chain": tuple(chain)} | ({} if keeps else {"speeds_m_s": None}))


def with_leader(spread: Spread, key: str, chain: Sequence[Table]) -> Spread:
    """Replace the leader with its lure: all past the rod's last device, weighted line or adjustable lead."""
    rod = _rod(spread, key)
    made = items_of(rod, chain)
    if any(isinstance(item, LineItem) and item.out_m is not None for item in made):
        raise ChangeError("a leader's lines have `length`, not `out`")
    kept = rod.chain[: leader_at(spread, rod)]
    return _with(spread, rod, {"chain": (*kept, *made), "speeds_m_s": None})


def with_rig(spread: Spread, key: str, chain: Sequence[Table]) -> Spread:
    """Replace the whole rig of a rod. What belonged to the old one (bottom, line to a ball) goes too."""
    rod = _rod(spread, key)
    made = items_of(rod, chain)
    ball = any(isinstance(item, TackleItem) and _kind(spread, item) == "ball" for item in made)
    fields: dict[str, Any] = {"chain": made, "speeds_m_s": None, "bottom": None, "clearance_m": None}
    if not ball:
        fields["rod_line"] = None
    return _with(spread, rod, fields)


# The fields that move with a rig to another station.
_CARRIED = ("chain", "counter", "target_depth_m", "rod_length_m", "speeds_m_s", "crossing", "bottom", "clearance_m")


def moved(spread: Spread, key: str, to: str) -> Spread:
    """Swap the rigs of two stations."""
    here, there = _rod(spread, key), _rod(spread, to)
    if here is there:
        raise ChangeError(f"{_words(here)} stands there already")
    for rod in (here, there):
        if rod.clipped_to is not None:
            raise ChangeError(f"{_words(rod)} hangs on rod {rod.clipped_to.rod}'s cable and cannot change places")
    balls = [rod for rod in (here, there) if _has_ball(spread, rod)]
    if len(balls) == 1:
        raise ChangeError(f"{_words(balls[0])}'s ball and cable stay at their station; change the rig instead")
    mine, its = ({name: getattr(rod, name) for name in _CARRIED} for rod in (here, there))
    for fields, old, new in ((mine, here, there), (its, there, here)):
        fields["chain"] = mirrored(fields["chain"], old, new)
    rods = tuple(
        rod.model_copy(update=its) if rod is here else rod.model_copy(update=mine) if rod is there else rod
        for rod in spread.rods
    )
    return _checked(spread, spread.model_copy(update={"rod": rods}))


def mirrored(chain: Chain, old: Rod, new: Rod) -> Chain:
    """The same chain on another rod. What pulled to the old rod's side pulls to the new rod's side."""
    return tuple(
        item.model_copy(update={"side": new.side if item.side == old.side else old.side})
        if isinstance(item, TackleItem) and item.side is not None and new.side != old.side and old.side != "centre"
        else item
        for item in chain
    )


def items_of(rod: Rod, chain: Sequence[Table]) -> Chain:
    """A rod's chain from its items as written in a file."""
    data = {"rod": [{"key": rod.key, "name": rod.name, "side": rod.side, "chain": list(chain)}]}
    return _read(data).rods[0].chain


def _read(data: dict[str, Any]) -> Spread:
    try:
        return Spread.model_validate(data)
    except ValidationError as error:
        raise ChangeError(model_faults(error, data)[0].sentence()) from error


def tables_of(
    chain: Chain, *, line_out_m: float | None = None, setting: str | None = None, lead_m: float | None = None
) -> list[dict[str, Any]]:
    """A chain's items as a file writes them, exactly. A value given here replaces the chain's own.

    ``setting`` replaces that of the first piece that has one.
    """
    made: list[dict[str, Any]] = []
    waiting = setting
    for item in chain:
        if isinstance(item, LineItem):
            table: dict[str, Any] = {"line": item.line}
            if item.out_m is not None:
                table["out"] = _metres(item.out_m if line_out_m is None else line_out_m)
            if item.length_m is not None:
                table["length"] = _metres(lead_m if item.adjust and lead_m is not None else item.length_m)
            if item.adjust:
                table["adjust"] = True
        else:
            table = {"tackle": item.tackle}
            if item.setting is not None:
                table["setting"], waiting = waiting or item.setting, None
            table |= {"side": item.side} if item.side is not None else {}
            table |= {name: True for name in ("crossing", "tripped") if getattr(item, name)}
        made.append(table)
    return made


def leader_at(spread: Spread, rod: Rod) -> int:
    """The index in a rod's chain where its leader begins: past the last device, weighted line or adjustable lead."""
    last = 0 if rod.clipped_to is not None or rod.out_index is None else rod.out_index
    for number, item in enumerate(rod.chain):
        if isinstance(item, LineItem):
            material = find_material(spread.line[item.line].material or "")
            if item.adjust or (material is not None and any(m in material.name for m in ("lead-core", "copper"))):
                last = max(last, number)
        elif _kind(spread, item) in DEVICES:
            last = max(last, number)
    return last + 1


def piece_on(spread: Spread, rod: Rod, what: str) -> str | None:
    """The name of a rod's lure or attractor."""
    at = _index_of(spread, rod, what)
    item = rod.chain[at] if at is not None else None
    return item.tackle if isinstance(item, TackleItem) else None


# -- parts ---------------------------------------------------------------------------------------------------------


def _metres(value_m: float) -> str:
    return f"{value_m!r} m"


def _rod(spread: Spread, key: str) -> Rod:
    rod = spread.rod_by_key(key)
    if rod is None:
        raise ChangeError(f"no rod {key}; the spread has {', '.join(r.key for r in spread.rods)}")
    return rod


def _words(rod: Rod) -> str:
    return f"{rod.key} {rod.name}"


def _kind(spread: Spread, item: TackleItem) -> str:
    piece = spread.tackle.get(item.tackle)
    return piece.kind if piece is not None else ""


def _has_ball(spread: Spread, rod: Rod) -> bool:
    return any(isinstance(item, TackleItem) and _kind(spread, item) == "ball" for item in rod.chain)


def _index_of(spread: Spread, rod: Rod, what: str) -> int | None:
    """The index of the last piece of a kind; of the first for attractors."""
    found = [i for i, it in enumerate(rod.chain) if isinstance(it, TackleItem) and _kind(spread, it) == what]
    return None if not found else found[0] if what == "attractor" else found[-1]


def _with(spread: Spread, rod: Rod, fields: dict[str, Any]) -> Spread:
    rods = tuple(rod.model_copy(update=fields) if other is rod else other for other in spread.rods)
    return _checked(spread, spread.model_copy(update={"rod": rods}))


def _checked(before: Spread, made: Spread) -> Spread:
    """The new spread. Raises ChangeError for a fault that the old spread did not have."""
    old = {fault.sentence() for fault in find_faults(before)}
    new = [fault.sentence() for fault in find_faults(made) if fault.sentence() not in old]
    if new:
        raise ChangeError(new[0])
    return made
