"""Questions about one thing for the shelf: what it is, its name, colour, size, and a note."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from sternwatch.gear.asking.interview import Asking, Question
from sternwatch.gear.asking.labels import GRADES, KINDS
from sternwatch.gear.asking.line_questions import FORMS, Pieces, choice, label_of
from sternwatch.gear.shelf.adding import Piece
from sternwatch.gear.shelf.pieces import Shelf
from sternwatch.gear.values.units import Dimension, DisplaySystem

WHAT = ("a lure", "a line", "an attractor", "a diver", "a ball", "an in-line weight")
_TESTS_LB = {"wire": 30, "cable": 150, "copper": 45}


def script(units: DisplaySystem, shelf: Shelf) -> Callable[[Asking], Piece]:
    """The questions as a script that makes a piece for the shelf."""

    def ask(asking: Asking) -> Piece:
        pieces = Pieces(units, shelf)
        what = asking.ask(choice("what", "What goes on the shelf?", "One piece at a time.", WHAT))
        if what == "a line":
            return _noted(asking, _line(asking, pieces))
        kind, table, usual = _tackle(asking, pieces, what)
        says = "Your own name for it: hits and statistics use it. A piece with the same name is replaced."
        name = asking.ask(Question("name", f"What do you call this {kind}?", says, default=usual, longest=24))
        return _noted(asking, Piece("tackle", name, table))

    return ask


def _noted(asking: Asking, piece: Piece) -> Piece:
    says = "Where it was bought, what it caught. Enter leaves it out."
    note = asking.ask(Question("note", "A note?", says, optional=True, longest=200))
    if not note:
        return piece
    before = f"; {piece.table['note']}" if "note" in piece.table else ""
    return Piece(piece.kind, piece.name, {**piece.table, "note": f"{note}{before}"[:200]}, piece.priors)


def _line(asking: Asking, pieces: Pieces) -> Piece:
    kinds = (*KINDS, *GRADES)
    kind = asking.ask(choice("kind", "What kind of line?", "The spool's label says it.", kinds))
    made = label_of(asking, pieces, "line", kind, _TESTS_LB.get(kind, 20))
    says = "Anything that tells it apart from another spool."
    name = asking.ask(Question("name", "What do you call this line?", says, default=made, longest=24))
    subject = f"line {made} "
    priors = {known.removeprefix(subject): it for known, it in pieces.prior.items()}
    return Piece("line", name, pieces.line[made], priors)


def _tackle(asking: Asking, pieces: Pieces, what: str) -> tuple[str, dict[str, Any], str]:
    """The word for a kind of tackle, its table, and its usual name."""

    def size(id: str, asks: str, default: str, unit: str, *, optional: bool = False) -> str:
        says = "With a ruler." + (" Enter leaves it out: the usual is taken." if optional else "")
        return asking.ask(Question(
            id, asks, says, "quantity", Dimension.LENGTH, unit,
            low=0.005, high=2.0, default=default, optional=optional,
        ))  # fmt: skip

    def mass(asks: str, default: str) -> str:
        unit = default.split()[1]
        return asking.ask(Question(
            "mass", asks, "As stamped on it.", "quantity", Dimension.MASS, unit, low=0.005, high=30.0, default=default
        ))  # fmt: skip

    small = "cm" if pieces.metric else "in"
    match what:
        case "a lure":
            form = asking.ask(choice("form", "What is it like in the water?", "Its kind decides its drag.", FORMS))
            colour = asking.ask(Question("colour", "Its colour?", "Enter leaves it out.", optional=True, longest=24))
            length = size("length", "How long is it?", "", small, optional=True)
            table = {"kind": "lure", "form": form, "colour": colour, "length": length}
            return "lure", {key: value for key, value in table.items() if value}, f"{colour} {form}".strip()
        case "an attractor":
            length = size("length", "How long is its blade?", "20 cm" if pieces.metric else "8 in", small)
            return "attractor", {"kind": "attractor", "length": length}, f"paddle {length}"
        case "a diver":
            across = size("across", "How wide is the disc?", "120 mm" if pieces.metric else "4.7 in", small)
            says = "A ring clipped around the disc makes it larger."
            ring = asking.ask(choice("ring", "Is there a ring around it?", says, ("no", "yes"))) == "yes"
            table_d: dict[str, Any] = {"kind": "diver", "diameter": across, **({"ring": True} if ring else {})}
            table_d["settings"] = {"straight": "0 deg", "low": "20 deg", "high": "45 deg"}
            return "diver", table_d, f"disc {across}"
        case "a ball":
            weight = mass("How heavy is the ball?", "4.5 kg" if pieces.metric else "10 lb")
            return "ball", {"kind": "ball", "mass": weight}, f"ball {weight}"
    weight = mass("How heavy is the weight?", "230 g" if pieces.metric else "8 oz")
    return "weight", {"kind": "weight", "mass": weight}, f"weight {weight}"
