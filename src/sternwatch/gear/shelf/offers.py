"""Offers what can go on a rod: the user's own pieces first, then the spread's, other rods' rigs, and generic ones.

Each offer is a change ready to be entered. It defines the pieces that the spread lacks. A piece gets another name
where the spread uses its name for something else.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sternwatch.gear.editing import changes
from sternwatch.gear.editing.changes import ChangeError, Table
from sternwatch.gear.shelf.pieces import Shelf
from sternwatch.gear.spread_file.models import LineItem, Rod, Spread, TackleItem
from sternwatch.gear.values.units import Dimension, DisplaySystem

NAME_CELLS = 60  # the longest name in an entry


@dataclass(frozen=True, slots=True)
class Offer:
    """One piece, leader or rig to choose. ``words``: its text in a list."""

    what: str  # lure | attractor | leader | rig
    name: str
    words: str
    chain: tuple[Table, ...] | None = None
    line: Mapping[str, Table] = field(default_factory=dict)
    tackle: Mapping[str, Table] = field(default_factory=dict)

    @property
    def fields(self) -> dict[str, Any]:
        """The fields of the logbook entry."""
        given: dict[str, Any] = {"what": self.what, "name": self.name}
        given |= {} if self.chain is None else {"chain": list(self.chain)}
        return given | {kind: dict(getattr(self, kind)) for kind in ("line", "tackle") if getattr(self, kind)}

    def on(self, spread: Spread, key: str) -> Spread:
        """The spread with this on a rod. Raises ChangeError."""
        spread = changes.with_pieces(spread, self.line, self.tackle)
        if self.chain is None:
            return changes.with_tackle(spread, key, self.what, self.name)
        return (changes.with_rig if self.what == "rig" else changes.with_leader)(spread, key, self.chain)


@dataclass(frozen=True, slots=True)
class As:
    """A rod's present line out, setting and lead, for another rod that is rigged like it."""

    line_out_m: float | None = None
    setting: str | None = None
    lead_m: float | None = None


def pieces(spread: Spread, shelf: Shelf, rod: Rod, what: str) -> list[Offer]:
    """Lures or attractors (``what``), without the one on the rod."""
    shown = {name: piece for name, piece in shelf.tackle.items() if piece.kind == what}
    own = [name for name in shown if ("tackle", name) in shelf.own]
    filed = [name for name, piece in spread.tackle.items() if piece.kind == what]
    made = []
    for name in dict.fromkeys((*own, *filed, *shown)):
        if name in spread.tackle and name not in own:
            piece = spread.tackle[name]
            made.append(Offer(what, name, _with_colour(name, piece)))
            continue
        put = _Shelved(spread, shelf)
        as_named = put.tackle(name)
        made.append(Offer(what, as_named, _with_colour(as_named, shown[name]), None, {}, put.pieces["tackle"]))
    return _possible(spread, rod, made)


def leaders(spread: Spread, shelf: Shelf, rod: Rod, units: DisplaySystem) -> list[Offer]:
    """Leaders: the user's own from the shelf, those of the other rods, and generic ones."""
    own = [_shelved(spread, shelf, "leader", name, units) for name in shelf.leaders if ("leader", name) in shelf.own]
    rest = [_shelved(spread, shelf, "leader", n, units) for n in shelf.leaders if ("leader", n) not in shelf.own]
    filed = []
    for other in spread.rods:
        chain = other.chain[changes.leader_at(spread, other) :]
        if chain and other.key != rod.key:
            told = chain_words(chain, units)
            filed.append(Offer("leader", told[:NAME_CELLS], told, tuple(changes.tables_of(chain))))
    return _possible(spread, rod, [*own, *filed, *rest])


def rigs(spread: Spread, shelf: Shelf, rod: Rod, now: Mapping[str, As], units: DisplaySystem) -> list[Offer]:
    """Whole rigs: the user's own, the other rods' as they are now, and generic ones."""
    own = [_shelved(spread, shelf, "rig", name, units) for name in shelf.rigs if ("rig", name) in shelf.own]
    rest = [_shelved(spread, shelf, "rig", name, units) for name in shelf.rigs if ("rig", name) not in shelf.own]
    filed = []
    for other in spread.rods:
        if other.key == rod.key or other.clipped_to is not None:
            continue
        as_now = now.get(other.key, As())
        tables = changes.tables_of(
            changes.mirrored(other.chain, other, rod),
            line_out_m=as_now.line_out_m,
            setting=as_now.setting,
            lead_m=as_now.lead_m,
        )
        name = f"as {other.key} {other.name}"
        filed.append(Offer("rig", name, f"{name}: {chain_words(other.deployed, units)}", tuple(tables)))
    return _possible(spread, rod, [*own, *filed, *rest])


def moves(spread: Spread, rod: Rod) -> list[Rod]:
    """Stations that this rod can swap rigs with, in file order."""
    found = []
    for other in spread.rods:
        try:
            if other.key != rod.key:
                changes.moved(spread, rod.key, other.key)
                found.append(other)
        except ChangeError:
            continue
    return found


def chain_words(chain: Iterable[LineItem | TackleItem], units: DisplaySystem) -> str:
    """A chain in words, outward: "165 ft wire, disc, 7 ft leader, fly"."""
    said = []
    for item in chain:
        if isinstance(item, LineItem):
            length = item.out_m if item.out_m is not None else item.length_m
            digits = 0 if length is None or length >= 1.0 else 1
            said.append(f"{units.show(length, Dimension.LENGTH, digits)} {item.line}")
        else:
            said.append(item.tackle + (f" {item.setting}" if item.setting is not None else ""))
    return ", ".join(said)


# -- parts ---------------------------------------------------------------------------------------------------------


def _with_colour(name: str, piece: Any) -> str:
    colour = getattr(piece, "colour", None)
    return f"{name}, {colour}" if colour and colour.lower() not in name.lower() else name


def _possible(spread: Spread, rod: Rod, offers: Sequence[Offer]) -> list[Offer]:
    """The offers that the spread accepts and that change something, without repeats."""
    found: list[Offer] = []
    seen = [rod.chain]
    for offer in offers:
        try:
            made = offer.on(spread, rod.key).rod_by_key(rod.key)
        except ChangeError:
            continue
        if made is not None and made.chain not in seen:
            seen.append(made.chain)
            found.append(offer)
    return found


class _Shelved:
    """Pieces copied from a shelf into a spread: those that need a definition, and under which names."""

    def __init__(self, spread: Spread, shelf: Shelf) -> None:
        self._spread, self._shelf = spread, shelf
        self.pieces: dict[str, dict[str, Table]] = {"line": {}, "tackle": {}}

    def line(self, name: str) -> str:
        return self._take("line", name, self._shelf.lines[name])

    def tackle(self, name: str) -> str:
        return self._take("tackle", name, self._shelf.tackle[name])

    def _take(self, kind: str, name: str, piece: object) -> str:
        known: Mapping[str, object] = getattr(self._spread, kind)
        other = name
        for number in range(2, len(known) + 3):
            if other not in known or known[other] == piece:
                break
            other = f"{name} {number}"
        if other not in known:
            self.pieces[kind][other] = self._shelf.tables[kind][name]
        return other


def _shelved(spread: Spread, shelf: Shelf, what: str, name: str, units: DisplaySystem) -> Offer:
    piece = shelf.rigs[name] if what == "rig" else shelf.leaders[name]
    put, tables = _Shelved(spread, shelf), []
    for item, table in zip(piece.chain, shelf.tables[what][name]["chain"], strict=True):
        named = {"line": put.line(item.line)} if isinstance(item, LineItem) else {"tackle": put.tackle(item.tackle)}
        tables.append({**table, **named})
    words = f"{name}: {chain_words(piece.chain, units)}"
    return Offer(what, name[:NAME_CELLS], words, tuple(tables), put.pieces["line"], put.pieces["tackle"])
