"""The spread editor's screen. It shows the spread being edited and passes keys, text and clicks to it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.screen import Screen
from textual.widgets import Input, OptionList

from sternwatch.config import Preferences
from sternwatch.console.ashore.base import AnswerLine, AshoreApp, Key, KeyBar, Page, Pick, Rows, TopBar, stale
from sternwatch.console.editor import words as editor_words
from sternwatch.console.editor.edited_spread import EditedSpread, Work, work_out_prepared
from sternwatch.console.editor.keys import KEYS, MOVING, SIDES, TYPING, offered
from sternwatch.console.editor.parts import Depths, Findings
from sternwatch.console.editor.shelving import shelve
from sternwatch.console.editor.stern_view import SternView
from sternwatch.gear.editing.document import SpreadDocument
from sternwatch.gear.editing.rows import Row, hint
from sternwatch.gear.shelf.pieces import Shelf
from sternwatch.gear.spread_file.models import LineItem

LOOK_S = 0.2
_MEANWHILE = ("step", "nudge", "let_go", "leave", "submit", "nothing", "theme", "help")


class EditorScreen(Screen[None], inherit_bindings=False):
    """The stern, the rods, the chosen rod's rows."""

    BINDINGS: ClassVar[list[BindingType]] = [
        *(key.binding() for key in KEYS),
        Binding("right", "step(1)", show=False),
        Binding("right_square_bracket", "shift(1)", show=False),
        Binding("up", "nudge(1, 0)", show=False),
        Binding("down", "nudge(-1, 0)", show=False),
        Binding("enter", "let_go(True)", show=False),
    ]

    def __init__(self, edited: EditedSpread) -> None:
        super().__init__()
        self.edited = edited
        self.typing: tuple[Row, str] | None = None  # the row being typed on, and its text before
        self.moving: str | None = None  # the document's text before the tip being moved
        self._rows: list[Row] = []
        self._shown: object = None

    def compose(self) -> ComposeResult:
        yield TopBar("SPREAD EDITOR")
        yield SternView(self.edited.units)
        with Horizontal(id="middle"):
            yield Depths(self.edited)
            yield Rows(id="rows")
        yield AnswerLine()
        yield Input(id="typing", select_on_focus=True)
        yield Findings(self.edited)
        yield KeyBar(self.offered)

    def on_mount(self) -> None:
        self._fit()
        self.query_one(Rows).focus()
        self.renew(at=0)
        self.set_interval(LOOK_S, self._look)
        if self.edited.said:
            self.say(self.edited.said)

    def on_resize(self) -> None:
        self._fit()

    def _fit(self) -> None:
        tall = self.size.height
        self.query_one(SternView).styles.height = 7 if tall < 30 else 11 if tall < 44 else 15
        self.query_one(Findings).styles.height = 2 if tall < 30 else 4 if tall < 44 else 6

    @property
    def _busy(self) -> bool:
        """Whether the user types on a row or moves a tip: all else must wait."""
        return self.typing is not None or self.moving is not None

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        return not self._busy or action in _MEANWHILE

    def offered(self) -> Sequence[Key]:
        """The keys that work now."""
        if self.typing is not None or self.moving is not None:
            return TYPING if self.typing is not None else MOVING
        return offered(self.edited, on_item=self.row is not None and self.row.item is not None)

    # -- showing -------------------------------------------------------------------------------------------

    def renew(self, at: int | None = None) -> None:
        """Show the present spread."""
        edited = self.edited
        mark = " · not saved" if edited.document.changed else ""
        self.query_one(TopBar).tell(f"{edited.document.path.name}{mark}")
        spread = edited.document.spread
        beam = spread.boat.beam_m if spread is not None else None
        self.query_one(SternView).tell(edited.tips(), beam, edited.chosen)
        self._rows = edited.rows()
        width = max(18, max((len(row.label) for row in self._rows if row.ask or row.opens), default=0) + 1)
        lines = []
        for row in self._rows:
            heading = row.ask is None and row.opens is None
            lines.append((row.label if heading else f"{row.label:<{width}} {row.value}", not heading))
        self.query_one(Rows).fill(lines, at)
        self._look()
        self.query_one(KeyBar).repaint()
        if self.row is not None and self.typing is None and self.moving is None:
            self.say(hint(self.row, self.edited.units))

    def _look(self) -> None:
        for part in (self.query_one(Depths), self.query_one(Findings)):
            part.repaint()

    def say(self, words: str, *, wrong: bool = False) -> None:
        """Show an answer to the last key."""
        self.query_one(AnswerLine).tell(words, wrong=wrong)

    @property
    def row(self) -> Row | None:
        """The selected row."""
        at = self.query_one(Rows).highlighted
        return self._rows[at] if at is not None and at < len(self._rows) else None

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        if event.option_list.id == "rows" and self.row is not None and self.typing is None:
            self.say(hint(self.row, self.edited.units))
            self.query_one(KeyBar).repaint()

    # -- choosing and typing -------------------------------------------------------------------------------

    def action_step(self, by: int) -> None:
        if self.moving is not None:
            self.action_nudge(0, by)
            return
        self.edited.step(by)
        self.renew(at=0)

    def on_depths_picked(self, event: Depths.Picked) -> None:
        if self._busy:
            return
        self.edited.choose(event.index)
        self.renew(at=0)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        if stale(event):
            return
        row = self._rows[event.option_index]
        if self.moving is not None:
            self.action_let_go(True)
        elif row.opens is not None:
            self.edited.piece = row.opens
            self.renew(at=0)
        elif choices := self.edited.choices(row):
            self._pick(
                f"{row.label.strip()}", choices, lambda name: self._answer(self.edited.set(row, name)), row.value
            )
        elif row.ask is not None:
            self._type(row)

    def _pick(self, title: str, choices: tuple[str, ...], take: Callable[[str], None], at: str = "") -> None:
        self.app.push_screen(
            Pick(title, choices, self._notes(choices), at), lambda name: take(name) if name is not None else None
        )

    def _notes(self, choices: tuple[str, ...]) -> list[str]:
        """The notes on pieces of the shelf, to show beside their names."""
        shelf = self.edited.shelf
        found = []
        for name in choices:
            rig = shelf.rigs.get(name)
            piece = shelf.lines.get(name) or shelf.tackle.get(name)
            parts = [item.line if isinstance(item, LineItem) else item.tackle for item in rig.chain] if rig else []
            found.append(", ".join(parts) if rig else (piece.note or "") if piece else "")
        return found

    def _type(self, row: Row) -> None:
        self.typing = (row, self.edited.document.text)
        self.add_class("typing")
        field = self.query_one(Input)
        field.value = "" if row.value == "–" else row.value
        field.focus()
        self.say(f"{row.label.strip()}: {hint(row, self.edited.units)}")
        self.query_one(KeyBar).repaint()

    def on_input_changed(self, event: Input.Changed) -> None:
        if self.typing is None:
            return
        row, base = self.typing
        why = self.edited.set(row, event.value, base)
        self.say(why or f"{row.label.strip()}: {hint(row, self.edited.units)}", wrong=bool(why))
        self._look()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        if self.typing is None:
            return
        row, base = self.typing
        why = self.edited.set(row, event.value, base)
        if why:
            self.say(why, wrong=True)
            return
        self._end_typing()
        self._answer("")

    def _end_typing(self) -> None:
        self.typing = None
        self.remove_class("typing")
        self.query_one(Rows).focus()

    def _answer(self, why: str, words: str = "") -> None:
        """Show the spread after a change, or why the change was refused."""
        self.renew()
        if why or words:
            self.say(why or words, wrong=bool(why))

    # -- acts ----------------------------------------------------------------------------------------------

    def action_do(self, name: str) -> None:
        before = self.edited.chosen
        why = getattr(self.edited, name)()
        self.renew(at=0 if self.edited.chosen != before else None)
        if why:
            self.say(why, wrong=True)

    def action_add(self) -> None:
        self._add(None)

    def _add(self, place: tuple[float, float] | None) -> None:
        """Ask for the rig, and for the side where no place is given, then add a rod."""
        rigs = tuple(self.edited.shelf.rigs)
        if place is not None:
            side = "port" if place[1] < 0 else "starboard"
            tip = self.edited.tip_table(*place)
            self._pick(f"a rod to {side}: which rig?", rigs, lambda rig: self._added(self.edited.add(rig, side, tip)))
            return
        self._pick(
            "a rod more: which rig?",
            rigs,
            lambda rig: self._pick(
                f"{rig}: which side?", SIDES, lambda side: self._added(self.edited.add(rig, side))
            ),
        )

    def _added(self, why: str) -> None:
        self.renew(at=0)
        name = "" if why else self.edited.rods[-1]["name"]
        self.say(why or f"{name} is there: g moves its tip, Enter edits a row", wrong=bool(why))

    def action_rig(self) -> None:
        if self.edited.chosen is None:
            self.say("choose a rod for the rig", wrong=True)
            return
        self._pick("which rig?", tuple(self.edited.shelf.rigs), lambda rig: self._answer(self.edited.rig(rig)))

    def action_insert(self) -> None:
        edited = self.edited
        if edited.chosen is None or edited.piece is not None:
            self.say("choose a rod, and an item of its chain to put one behind", wrong=True)
            return
        after = self.row.item if self.row is not None else None
        lines = tuple(dict.fromkeys((*edited.tables.get("line", {}), *edited.shelf.lines)))
        tackle = tuple(dict.fromkeys((*edited.tables.get("tackle", {}), *edited.shelf.tackle)))

        def take(name: str) -> None:
            self._answer(edited.insert(after, "tackle" if name in tackle else "line", name))

        self._pick("what goes in?", (*tackle, *(name for name in lines if name not in tackle)), take)

    def action_take(self) -> None:
        self._answer(self.edited.take(self.row.item if self.row is not None else None))

    def action_shift(self, by: int) -> None:
        self._answer(self.edited.shift(self.row.item if self.row is not None else None, by))

    def action_back(self, way: str) -> None:
        words = getattr(self.edited, way)()
        done = "taken back" if way == "undo" else "done again"
        self._answer("", f"{done}: {words}" if words else "there is nothing more")

    def action_shelve(self) -> None:
        self.say(shelve(self.edited, self.row))

    def action_save(self) -> None:
        self._answer("", self.edited.save())

    # -- moving a tip --------------------------------------------------------------------------------------

    def action_grab(self) -> None:
        if self.edited.chosen is None or "tip" not in self.edited.rods[self.edited.chosen]:
            self.say("choose a rod whose tip is to be moved", wrong=True)
            return
        self.moving = self.edited.document.text
        self.set_focus(None)
        self.say("arrows move the tip; Enter leaves it there, Esc puts it back")
        self.query_one(KeyBar).repaint()

    def action_nudge(self, forward: int, starboard: int) -> None:
        index = self.edited.chosen
        if self.moving is None or index is None:
            return
        tip = next(tip for tip in self.edited.tips() if tip.index == index)
        step = self.edited.step_m
        why = self.edited.move(
            index, tip.forward_m + forward * step, tip.starboard_m + starboard * step, self.moving
        )  # fmt: skip
        self.renew()
        self.say(why or "arrows move the tip; Enter leaves it there, Esc puts it back", wrong=bool(why))

    def action_let_go(self, keep: bool) -> None:
        if self.moving is None:
            return
        base, self.moving = self.moving, None
        if not keep and self.edited.document.text != base:
            self.edited.undo()
        self.query_one(Rows).focus()
        self._answer("", "")

    def on_stern_view_chosen(self, event: SternView.Chosen) -> None:
        if self._busy:
            return
        self.edited.choose(event.index)
        self.renew(at=0)

    def on_stern_view_moved(self, event: SternView.Moved) -> None:
        if self.typing is not None:
            return
        if self.moving is None:
            self.moving = self.edited.document.text
        why = self.edited.move(event.index, event.forward_m, event.starboard_m, self.moving)
        if event.done:
            self.moving = None
        self._answer(why)

    def on_stern_view_pointed(self, event: SternView.Pointed) -> None:
        if not self._busy:
            self._add((event.forward_m, event.starboard_m))

    # -- leaving -------------------------------------------------------------------------------------------

    def action_leave(self) -> None:
        """Close what is open, else leave the editor. Nothing is lost."""
        if self.typing is not None:
            base = self.typing[1]
            if self.edited.document.text != base:
                self.edited.undo()
            self._end_typing()
            self._answer("")
        elif self.moving is not None:
            self.action_let_go(False)
        elif self.edited.piece is not None:
            self.edited.piece = None
            self.renew(at=0)
        else:
            self.app.exit()

    def action_theme(self) -> None:
        app = self.app
        assert isinstance(app, AshoreApp)  # only this application has this screen
        app.next_theme()

    def action_help(self) -> None:
        self.app.push_screen(Page("SPREAD EDITOR", editor_words.HELP))

    async def action_submit(self) -> None:
        await self.query_one(Input).action_submit()

    def action_nothing(self) -> None:
        """Nothing: the bar only names what the arrows do."""


class EditorApp(AshoreApp[None]):
    """The editor on one spread file."""

    def __init__(
        self, preferences: Preferences, document: SpreadDocument, shelf: Shelf, work: Work = work_out_prepared
    ) -> None:
        super().__init__(preferences)
        self.edited = EditedSpread(document, shelf, preferences.system, work)

    def get_default_screen(self) -> EditorScreen:
        return EditorScreen(self.edited)

    def on_unmount(self) -> None:
        self.edited.stop()


def edit(preferences: Preferences, path: Path, shelf: Shelf) -> str:
    """Edit a file until the user leaves the editor. Returns the words to show afterwards."""
    document = SpreadDocument.open(path)
    EditorApp(preferences, document, shelf).run()
    if document.changed:
        return f"{path}: not saved; the changes are kept, and the editor offers them next time"
    return ""
