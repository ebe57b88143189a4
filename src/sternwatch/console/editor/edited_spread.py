"""A spread being edited, without a screen: the file, the chosen rod, and every change."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sternwatch import places
from sternwatch.console.editor.drafts import Draft
from sternwatch.files import write_whole
from sternwatch.gear.editing import edits
from sternwatch.gear.editing.document import SpreadDocument
from sternwatch.gear.editing.rows import Row, boat_rows, piece_rows, rod_rows
from sternwatch.gear.editing.typed_values import TypedError, value_of
from sternwatch.gear.shelf import onto_rod as rigging
from sternwatch.gear.shelf.pieces import Shelf
from sternwatch.gear.spread_file.models import ROD_KEYS, Spread
from sternwatch.gear.values.units import Dimension, DisplaySystem, parse_quantity
from sternwatch.system_words import reason
from sternwatch.watch.background import Beside

if TYPE_CHECKING:
    from sternwatch.answers.checks.depths_and_check import Worked

Edit = Callable[[Any], None]
Work = Callable[[tuple[Spread, DisplaySystem]], "Worked"]
_STEP_M = {"ft": 0.5 * 0.3048, "m": 0.1}


def work_out_prepared(question: tuple[Spread, DisplaySystem]) -> Worked:
    """Compute a spread. The first time the solver may have to be prepared."""
    from sternwatch.watch.sessions.prepare import prepare_all

    prepare_all()
    places.set_numba_cache()
    from sternwatch.answers.checks.depths_and_check import work_out

    return work_out(*question)


@dataclass(frozen=True, slots=True)
class TipAt:
    """A rod's tip for drawing: forward, to starboard [m]. ``carried``: the line is clipped to another's cable."""

    index: int
    key: str
    name: str
    forward_m: float
    starboard_m: float
    carried: bool = False


class EditedSpread:
    """All that the editor's screen shows and does. Methods that change the file return "" or why they failed."""

    def __init__(
        self, document: SpreadDocument, shelf: Shelf, units: DisplaySystem, work: Work = work_out_prepared
    ) -> None:
        self.document, self.shelf, self.units = document, shelf, units
        self.piece: tuple[str, str] | None = None  # the line or tackle whose own rows are open
        self.beside: Beside[tuple[Spread, DisplaySystem], Worked] = Beside(work, "editor")
        self._asked: Spread | None = None
        self.draft = Draft(document.path)
        self.said = self.draft.take_up(document)  # which may have rods where the file has none, or none
        self.chosen: int | None = 0 if document.spread is not None else None  # a rod; None: the boat
        self.ask()

    # -- what is shown -------------------------------------------------------------------------------------

    @property
    def tables(self) -> dict[str, Any]:
        return self.document.tables

    @property
    def rods(self) -> list[dict[str, Any]]:
        return list(self.tables.get("rod", ()))

    def rows(self) -> list[Row]:
        """The rows of the chosen rod, boat or piece."""
        if self.piece is not None:
            return piece_rows(self.tables, *self.piece, self.units)
        if self.chosen is None:
            return boat_rows(self.tables, self.units)
        return rod_rows(self.tables, self.chosen, self.units)

    def tips(self) -> list[TipAt]:
        """The places of the tips."""
        spread = self.document.spread
        if spread is None:
            return []
        place = {
            rod.key: (-rod.tip.astern_m, rod.tip_abeam_m) for rod in spread.rods if rod.tip is not None
        }  # fmt: skip
        made = []
        for index, rod in enumerate(spread.rods):
            carrier = rod.clipped_to.rod if rod.clipped_to is not None else rod.key
            forward, starboard = place.get(carrier, (0.0, 0.0))
            made.append(TipAt(index, rod.key, rod.name, forward, starboard, carried=rod.clipped_to is not None))
        return made

    def across(self) -> list[int]:
        """The rods' indices in the file, in the order of their stations, port to starboard."""
        return [tip.index for tip in sorted(self.tips(), key=lambda tip: ROD_KEYS.index(tip.key))]

    @property
    def worked(self) -> Worked | None:
        """The newest answer; None while there is none."""
        return self.beside.made

    @property
    def is_current(self) -> bool:
        """Whether the newest answer is about the present spread."""
        worked = self.beside.made
        return worked is not None and worked.spread is self.document.spread

    def choices(self, row: Row) -> tuple[str, ...]:
        """The choices of a row. For a line or piece of tackle the shelf's follow the spread's own."""
        ask = row.ask
        if ask is None:
            return ()
        if ask.kind == "flag":
            return ("yes", "no")
        field = str(row.path[-1])
        if field in ("line", "tackle") and (row.item is not None or row.path[-2:] == ("rod_line", "line")):
            more = self.shelf.lines if field == "line" else self.shelf.tackle
            return (*ask.choices, *(name for name in more if name not in ask.choices))
        return ask.choices

    def choose(self, index: int | None) -> None:
        """Choose a rod, or the boat."""
        self.chosen, self.piece = index, None

    def step(self, by: int) -> None:
        """Choose the next rod across the stern. The boat comes before the first rod."""
        order: list[int | None] = [None, *self.across()]
        at = order.index(self.chosen) if self.chosen in order else 0
        self.choose(order[(at + by) % len(order)])

    # -- values --------------------------------------------------------------------------------------------

    def set(self, row: Row, text: str, base: str | None = None) -> str:
        """Put the typed value of a row into the file. With ``base``: while it is typed, from that text on."""
        try:
            value = value_of(row, text, self.tables, self.units)
        except TypedError as wrong:
            return str(wrong)
        words = f"{row.label.strip()}: {text or 'left out'}"

        def edit(document: Any) -> None:
            given = value
            if row.item is not None and row.path[-1] in ("line", "tackle"):
                given = rigging.put_chain(document, self.shelf, [{row.path[-1]: value}])[0][row.path[-1]]
            edits.set_value(document, row.path, given)
            if row.item is not None and row.path[-1] == "tackle":
                self._settle_item(document, row.path[:-1])

        why = self._change(words, edit) if base is None else self._amend(row.label.strip(), base, edit)
        fault = self.document.fault
        # On its own row a fault need not name its place.
        return fault.reason if fault is not None and why == fault.sentence() else why

    def _settle_item(self, document: Any, path: edits.Path) -> None:
        """Give an item with a new piece a setting that the piece has."""
        tables = document.unwrap()
        item = edits.value_at(tables, path)
        piece = tables["tackle"][item["tackle"]]
        labels = list(piece.get("settings", {}))
        if piece["kind"] != "diver":
            edits.set_value(document, (*path, "setting"), None)
            if piece["kind"] != "board":
                edits.set_value(document, (*path, "side"), None)
        elif item.get("setting") not in labels:
            edits.set_value(document, (*path, "setting"), labels[0] if labels else None)
        rod = tables["rod"][int(path[1])]
        fitted = rigging.fitted(document.unwrap(), rod["chain"], str(rod.get("side")))[int(path[3])]
        for field in ("setting", "side"):
            if field in fitted and fitted[field] != item.get(field) and rod.get("side") == "centre":
                edits.set_value(document, (*path, field), fitted[field])

    # -- rods ----------------------------------------------------------------------------------------------

    def add(self, rig: str, side: str, tip: dict[str, str] | None = None) -> str:
        """Add a rod with a rig from the shelf."""

        def edit(document: Any) -> None:
            chain = rigging.put_chain(document, self.shelf, self.shelf.tables["rig"][rig]["chain"])
            edits.add_rod(document, rigging.new_rod(document.unwrap(), chain, side, self.units, tip))

        return self._new_rod(f"a rod more: {rig}", edit)

    def copy(self) -> str:
        """Add a copy of the chosen rod, a little further forward."""
        if self.chosen is None:
            return "choose a rod to copy"
        index = self.chosen

        def edit(document: Any) -> None:
            rod = edits.copied(self.tables, index)
            if "tip" in rod:
                rod["tip"] = {**rod["tip"], "astern": self._moved(rod["tip"].get("astern"), -3 * self.step_m)}
            edits.add_rod(document, rod)

        return self._new_rod(f"a copy of {self.rods[index]['name']}", edit)

    def mirror(self) -> str:
        """Add a copy of the chosen rod on the other side."""
        if self.chosen is None:
            return "choose a rod to mirror"
        index = self.chosen
        words = f"{self.rods[index]['name']} on the other side"
        return self._new_rod(words, lambda document: edits.add_rod(document, edits.mirrored(self.tables, index)))

    def remove(self) -> str:
        """Remove the chosen rod."""
        if self.chosen is None:
            return "choose a rod to take out"
        index = self.chosen
        why = self._change(f"{self.rods[index]['name']} out", lambda document: edits.remove_rod(document, index))
        if not why:
            self.choose(min(index, len(self.rods) - 1) if self.rods else None)
        return why

    def _new_rod(self, words: str, edit: Edit) -> str:
        why = self._change(words, edit)
        if not why:
            self.choose(len(self.rods) - 1)
        return why

    def keys_in_order(self) -> str:
        """Give the rods keys in their order, port to starboard."""
        if self.document.spread is None:
            return "there is no rod yet"
        return self._change("keys port to starboard", edits.keys_in_order)

    # -- where a tip stands --------------------------------------------------------------------------------

    @property
    def step_m(self) -> float:
        """How far an arrow moves a tip [m]."""
        return _STEP_M[self.units.length]

    def tip_table(self, forward_m: float, starboard_m: float, height: str | None = None) -> dict[str, str]:
        """A tip's table for a place, rounded to half a step."""
        step = self.step_m
        return {
            "astern": rigging.show_length(-round(forward_m / step) * step + 0.0, self.units),
            "abeam": rigging.show_length(abs(round(starboard_m / step)) * step, self.units),
            "height": height or rigging.show_length(1.0 if self.units.length == "m" else 4 * 0.3048, self.units),
        }

    def move(self, index: int, forward_m: float, starboard_m: float, base: str | None = None) -> str:
        """Move a rod's tip. Past the middle the rod changes sides."""
        rod = self.rods[index]
        if "tip" not in rod:
            return "it hangs on another rod's cable, and is where that rod is"
        tip = self.tip_table(forward_m, starboard_m, rod["tip"].get("height"))
        side = rod.get("side")
        if side == "centre":
            del tip["abeam"]
        elif parse_quantity(tip["abeam"], Dimension.LENGTH) > 0:
            side = "starboard" if starboard_m > 0 else "port"

        def edit(document: Any) -> None:
            for field, value in tip.items():
                edits.set_value(document, ("rod", index, "tip", field), value)
            if side != rod.get("side"):
                edits.set_value(document, ("rod", index, "side"), side)

        words = f"{rod['name']} moved"
        return self._change(words, edit) if base is None else self._amend(words, base, edit)

    def _moved(self, length: object, by_m: float) -> str:
        now = parse_quantity(length, Dimension.LENGTH) if length is not None else 0.0
        return rigging.show_length(now + by_m, self.units)

    # -- the chain -----------------------------------------------------------------------------------------

    def rig(self, name: str) -> str:
        """Put another whole rig from the shelf on the chosen rod."""
        if self.chosen is None:
            return "choose a rod for the rig"
        index = self.chosen

        def edit(document: Any) -> None:
            chain = rigging.put_chain(document, self.shelf, self.shelf.tables["rig"][name]["chain"])
            self._put(document, index, chain)

        return self._change(f"{name} on {self.rods[index]['name']}", edit)

    def board(self) -> str:
        """Put the chosen rod's rig behind a side board, or take it from behind one."""
        if self.chosen is None:
            return "choose a rod for the board"
        index = self.chosen
        chain = self.rods[index]["chain"]
        has = rigging.has_board(self.tables, chain)

        def edit(document: Any) -> None:
            if has:
                self._put(document, index, rigging.without_board(document.unwrap(), chain))
            else:
                made = rigging.behind_board(chain, self.units)
                self._put(document, index, rigging.put_chain(document, self.shelf, made))

        return self._change("the board out" if has else "a board in", edit)

    def _put(self, document: Any, index: int, chain: rigging.Chain) -> None:
        tables = document.unwrap()
        rod = tables["rod"][index]
        edits.set_chain(document, index, rigging.fitted(tables, chain, str(rod.get("side"))))
        if rigging.kind_of(tables, chain) != "ball":
            edits.set_value(document, ("rod", index, "rod_line"), None)
        if rigging.kind_of(tables, chain) == "ball" and "rod_line" not in rod:
            made = rigging.new_rod(tables, chain, str(rod.get("side")), self.units, rod.get("tip"))
            edits.set_value(document, ("rod", index, "rod_line"), made["rod_line"])

    def insert(self, after: int | None, kind: str, name: str) -> str:
        """Insert a line or a piece of tackle into the chosen rod's chain, after an item or at its end."""
        if self.chosen is None:
            return "choose a rod for it"
        index = self.chosen
        chain = self.rods[index]["chain"]
        at = len(chain) if after is None else after + 1

        def edit(document: Any) -> None:
            item = rigging.put_chain(document, self.shelf, [{kind: name}])[0]
            if kind == "line":
                item = {**item, "length": "10 ft" if self.units.length == "ft" else "3 m"}
            edits.insert_item(document, index, at, item)
            if kind == "tackle":
                self._settle_item(document, ("rod", index, "chain", at))

        return self._change(f"{name} in", edit)

    def take(self, item: int | None) -> str:
        """Remove an item from the chosen rod's chain."""
        if self.chosen is None or item is None:
            return "choose an item of a chain to take out"
        index = self.chosen
        return self._change(f"item {item + 1} out", lambda document: edits.remove_item(document, index, item))

    def shift(self, item: int | None, by: int) -> str:
        """Swap an item with the next one, outward or inward."""
        if self.chosen is None or item is None:
            return "choose an item of a chain to move"
        index = self.chosen
        return self._change("items changed places", lambda d: edits.move_item(d, index, item, item + by))

    # -- going back, keeping -------------------------------------------------------------------------------

    def undo(self) -> str:
        """Undo the newest change. Returns its words."""
        return self._gone(self.document.undo())

    def redo(self) -> str:
        """Redo the change undone last. Returns its words."""
        return self._gone(self.document.redo())

    def _gone(self, words: str) -> str:
        if self.chosen is not None and self.chosen >= len(self.rods):
            self.choose(len(self.rods) - 1 if self.rods else None)
        if self.piece is not None and self.piece[1] not in self.tables.get(self.piece[0], {}):
            self.piece = None
        self._after("")
        return words

    def save(self) -> str:
        """Write the file whole and keep its earlier version. Returns a sentence on the result."""
        document = self.document
        if document.spread is None:
            return "there is no rod yet: nothing is saved"
        try:
            kept = write_whole(document.path, document.text, keep=True)
            document.saved_text = document.text
            self.draft.forget()
        except OSError as wrong:
            return f"not saved: {document.path}: {reason(wrong)}"
        return f"saved: {document.path}" + (f"; the version before is kept in {kept.parent.name}" if kept else "")

    def _change(self, words: str, edit: Edit) -> str:
        return self._after(self.document.change(words, edit))

    def _amend(self, words: str, base: str, edit: Edit) -> str:
        return self._after(self.document.amend(words, base, edit))

    def _after(self, why: str) -> str:
        if not why:
            self.ask()
            return self.draft.keep(self.document)
        return why

    def ask(self) -> None:
        """Ask for the answer about the present spread."""
        spread = self.document.spread
        if spread is not None and spread is not self._asked:
            self._asked = spread
            self.beside.ask((spread, self.units))

    def stop(self) -> None:
        """Start no further computation."""
        self.beside.stop()
