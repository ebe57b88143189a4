"""Puts a piece or a rod's whole rig from the edited spread on the shelf, for other rods and other days."""

from __future__ import annotations

from sternwatch.console.editor.edited_spread import EditedSpread
from sternwatch.gear.editing.rows import Row
from sternwatch.gear.shelf.adding import Piece, piece_of, pieces_of, put_on_shelf
from sternwatch.gear.shelf.pieces import load_shelf, shelf_path
from sternwatch.gear.values.faults import SpreadError


def shelve(edited: EditedSpread, row: Row | None) -> str:
    """Put the open piece, the selected row's piece, or the chosen rod's rig on the shelf. Returns the answer."""
    what = _meant(edited, row)
    if what is None:
        return "choose a rod, or a piece of one"
    kind, name = what
    if kind == "rig":
        chain = edited.rods[edited.chosen or 0]["chain"]
        pieces = [*pieces_of(edited.tables, chain), Piece("rig", name, {"chain": chain})]
    else:
        pieces = [piece_of(edited.tables, kind, name)]
    try:
        put_on_shelf(shelf_path(), *pieces)
        edited.shelf = load_shelf()
    except (SpreadError, OSError) as wrong:
        return f"not put on the shelf: {wrong}"
    return f"on the shelf: {kind} {name}"


def _meant(edited: EditedSpread, row: Row | None) -> tuple[str, str] | None:
    """Kind and name of the piece or rig to shelve."""
    if edited.piece is not None:
        return edited.piece
    if row is not None and row.opens is not None:
        return row.opens
    if edited.chosen is None:
        return None
    rod = edited.rods[edited.chosen]
    if row is None or row.item is None:
        return "rig", str(rod["name"])
    item = rod["chain"][row.item]
    kind = "line" if "line" in item else "tackle"
    return kind, str(item[kind])
