"""The shelf: pieces that a crew may tie on besides those in the spread file. The user has one such TOML file.

``[line.NAME]`` and ``[tackle.NAME]`` are as in a spread file, so that a piece can be copied unchanged.
``[leader.NAME]`` is a chain from the device to the lure, ``[rig.NAME]`` a whole chain from the rod tip.
``[prior."line NAME diameter"]`` says how far off a piece's numbers may be, as in a spread file, and goes with it.
Shipped pieces (``generic.toml``) come after the user's; a user's piece of the same name replaces a shipped one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from sternwatch import places
from sternwatch.gear.spread_file.known import PriorSpec
from sternwatch.gear.spread_file.lines import LineSpec
from sternwatch.gear.spread_file.load import model_faults, read_text, read_toml
from sternwatch.gear.spread_file.models import Item, LineItem
from sternwatch.gear.spread_file.tackle import Lure, Note, Tackle
from sternwatch.gear.values.faults import Fault, SpreadError
from sternwatch.gear.values.words import listed, nearest

NAME = "shelf.toml"
GENERIC = Path(__file__).with_name("generic.toml")


class _Chain(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")

    chain: Annotated[tuple[Item, ...], Field(json_schema_extra={"minItems": 1})]
    note: Note | None = None


class Leader(_Chain):
    """The line and tackle behind a device, in order outward, ending with the lure."""


class RigChain(_Chain):
    """A whole chain, as on a rod: one item has ``out``."""


class ShelfFile(BaseModel):
    """The model of a shelf file."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    line: dict[str, LineSpec] = Field(default_factory=dict)
    tackle: dict[str, Tackle] = Field(default_factory=dict)
    leader: dict[str, Leader] = Field(default_factory=dict)
    rig: dict[str, RigChain] = Field(default_factory=dict)
    prior: dict[str, PriorSpec] = Field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Shelf:
    """All pieces by name, the user's own first. ``tables``: the same pieces as written in a file."""

    lines: dict[str, LineSpec]
    tackle: dict[str, Tackle]
    leaders: dict[str, Leader]
    rigs: dict[str, RigChain]
    own: frozenset[tuple[str, str]]  # (line | tackle | leader | rig, name) of the user's pieces
    tables: dict[str, dict[str, dict[str, Any]]]

    @property
    def lures(self) -> dict[str, Lure]:
        """The lures among the tackle."""
        return {name: piece for name, piece in self.tackle.items() if isinstance(piece, Lure)}

    def parts(self, chain: tuple[Item, ...]) -> tuple[dict[str, dict[str, Any]], dict[str, dict[str, Any]]]:
        """The ``[line.…]`` and ``[tackle.…]`` tables that a chain needs, as written in a spread file."""
        lines: dict[str, dict[str, Any]] = {}
        tackle: dict[str, dict[str, Any]] = {}
        for item in chain:
            if isinstance(item, LineItem):
                lines[item.line] = self.tables["line"][item.line]
            else:
                tackle[item.tackle] = self.tables["tackle"][item.tackle]
        return lines, tackle

    def priors(self, kind: str, name: str) -> dict[str, dict[str, Any]]:
        """A piece's priors by property (``diameter`` …), as written in a spread file."""
        return priors_of(self.tables, kind, name)


def priors_of(tables: Mapping[str, Any], kind: str, name: str) -> dict[str, dict[str, Any]]:
    """A piece's priors by property, from a file's tables; not those of a piece whose longer name begins alike."""
    subject = f"{kind} {name} "
    others = tuple(f"{kind} {other} " for other in tables.get(kind, {}) if other.startswith(f"{name} "))
    believed = tables.get("prior", {}).items()
    return {
        known.removeprefix(subject): it
        for known, it in believed
        if known.startswith(subject) and not known.startswith(others)
    }


def shelf_path() -> Path:
    """The path of the user's shelf, which need not exist."""
    return places.config_dir() / NAME


def load_shelf(path: Path | None = None) -> Shelf:
    """The user's shelf, then the shipped one. ``path`` None: the usual place; the file need not exist there.

    Raises ``gear.values.faults.SpreadError`` with a sentence that names file, entry, field and what would be
    accepted.
    """
    file = path or shelf_path()
    if path is None and not file.exists():
        return parse_shelf("", file)
    return parse_shelf(read_text(file, "shelf file"), file)


def parse_shelf(text: str, path: Path | str = NAME) -> Shelf:
    """As :func:`load_shelf`, from text; ``path`` is how errors name it."""
    own = read_toml(text, path)
    checked = _checked(own, path)
    shipped = generic()
    tables: dict[str, dict[str, dict[str, Any]]] = {}
    for kind in ShelfFile.model_fields:
        mine = own.get(kind, {})
        tables[kind] = {**mine, **{name: it for name, it in shipped.get(kind, {}).items() if name not in mine}}
    for kind in (
        "line",
        "tackle",
    ):  # a shipped piece's priors go with it where the user's piece replaces it
        for name in own.get(kind, {}):
            for what in priors_of(shipped, kind, name):
                if (known := f"{kind} {name} {what}") not in own.get("prior", {}):
                    del tables["prior"][known]
    whole = _checked(tables, path)
    faults = tuple(_faults(whole, checked))
    if faults:
        raise SpreadError(path, faults)
    names = frozenset((kind, name) for kind in ShelfFile.model_fields for name in getattr(checked, kind))
    return Shelf(whole.line, whole.tackle, whole.leader, whole.rig, names, tables)


@cache
def generic() -> dict[str, dict[str, dict[str, Any]]]:
    """The shipped pieces as tables. Their sizes are physical; each note says where its numbers come from."""
    found: dict[str, dict[str, dict[str, Any]]] = read_toml(GENERIC.read_text(encoding="utf-8"), GENERIC)
    return found


def _checked(data: dict[str, Any], path: Path | str) -> ShelfFile:
    try:
        return ShelfFile.model_validate(data)
    except ValidationError as error:
        raise SpreadError(path, model_faults(error, data, ShelfFile)) from error


def _faults(whole: ShelfFile, own: ShelfFile) -> list[Fault]:
    """Faults: pieces that the leaders and rigs name but nobody has, and rigs that do not start at a rod tip."""
    found: list[Fault] = []
    chains: list[tuple[str, _Chain]] = [(f"leader.{name}", leader) for name, leader in own.leader.items()]
    chains += [(f"rig.{name}", rig) for name, rig in own.rig.items()]
    for where, piece in chains:
        for number, item in enumerate(piece.chain, 1):
            kind, name = ("line", item.line) if isinstance(item, LineItem) else ("tackle", item.tackle)
            known = getattr(whole, kind)
            if name not in known:
                reason = f"no {kind} of that name{nearest(name, known)}; on the shelf: {listed(known)}"
                found.append(Fault(where, f"chain item {number}, {kind}", name, reason))
        if not piece.chain:
            found.append(Fault(where, "chain", None, "is empty; at least one item is needed"))
        outs = sum(isinstance(item, LineItem) and item.out_m is not None for item in piece.chain)
        if isinstance(piece, Leader) and outs:
            found.append(Fault(where, "chain", None, "has `out`; a leader's lines have `length`"))
        if isinstance(piece, RigChain) and piece.chain and outs != 1:
            found.append(Fault(where, "chain", None, f"{outs} items have `out`; exactly one does, at the rod tip"))
    return found
