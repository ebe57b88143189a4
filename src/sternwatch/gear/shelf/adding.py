"""Puts things on the user's shelf. Checks the whole file before writing it, and keeps its comments."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from sternwatch.files import write_whole
from sternwatch.gear.editing.edits import put_table
from sternwatch.gear.shelf.pieces import parse_shelf, priors_of
from sternwatch.gear.spread_file.load import read_text
from sternwatch.gear.values.faults import Fault, SpreadError

HEAD = "# The shelf: lines, tackle, lures, leaders and rigs of your own. sternwatch shelf lists it.\n\n"


@dataclass(frozen=True, slots=True)
class Piece:
    """A thing for the shelf. ``kind``: line, tackle, leader or rig. ``priors``: by property (``diameter`` …)."""

    kind: str
    name: str
    table: dict[str, Any]
    priors: dict[str, dict[str, Any]] = field(default_factory=dict)


def put_on_shelf(path: Path, *pieces: Piece) -> None:
    """Write pieces to the shelf. They replace those of the same kind and name.

    Raises :class:`SpreadError` where the file is wrong or would be, ``OSError`` where it cannot be written.
    """
    text = read_text(path, "shelf file") if path.exists() else HEAD
    parse_shelf(text, path)
    try:
        document = tomlkit.parse(text if text.endswith("\n") else f"{text}\n")
        for piece in pieces:
            put_table(document, piece.kind, piece.name, piece.table)
            for what, believed in piece.priors.items():
                put_table(document, "prior", f"{piece.kind} {piece.name} {what}", believed)
        made = document.as_string()
    except TOMLKitError as wrong:
        raise SpreadError(path, (Fault("", "", None, str(wrong)),)) from wrong
    parse_shelf(made, path)
    write_whole(path, made, keep=True)


def pieces_of(tables: dict[str, Any], chain: Sequence[dict[str, Any]]) -> list[Piece]:
    """The lines and tackle of a chain, with the spread's tables."""
    found: dict[tuple[str, str], Piece] = {}
    for item in chain:
        kind = "line" if "line" in item else "tackle"
        name = str(item[kind])
        found[kind, name] = piece_of(tables, kind, name)
    return list(found.values())


def piece_of(tables: dict[str, Any], kind: str, name: str) -> Piece:
    """A line or piece of tackle of a spread, with its priors."""
    return Piece(kind, name, dict(tables[kind][name]), priors_of(tables, kind, name))
