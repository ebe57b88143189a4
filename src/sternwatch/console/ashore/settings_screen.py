"""The preferences on a screen: every setting, its present value, what is accepted. Every change is saved at once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Input, OptionList

from sternwatch import settings
from sternwatch.config import ConfigError, Preferences
from sternwatch.console.ashore.base import (
    AnswerLine,
    AshoreApp,
    Key,
    KeyBar,
    LeftOnce,
    Page,
    Pick,
    Rows,
    TopBar,
    stale,
)
from sternwatch.console.ashore.keytest_screen import KeyScreen
from sternwatch.console.keys import keymap
from sternwatch.console.keys.acting import GROUPS, Keyboard
from sternwatch.console.keys.registry import ACTS, BY_ID
from sternwatch.console.paint.hiding import key_names
from sternwatch.console.paint.look import look_of
from sternwatch.console.words.text import cut
from sternwatch.feed.sources.specs import parse_config
from sternwatch.settings import Row

HELP = (
    "Every preference with its present value. Enter changes the marked one: you choose from a list, or type. An "
    "empty line takes it out of your file, and the usual value counts again. A dot marks the ones in your file.",
    "Each change is checked and saved at once. The file keeps its comments, and its earlier version goes into the "
    "folder 'earlier' beside it. What cannot be accepted is not saved, and you are told why.",
    "A running session goes on with the old values; the next one uses the new ones.",
    "keys: you may give any act another key. `sternwatch keys` asks for the key of every rod, for number pads and "
    "other keyboards. Zones of your own are written in the file itself, as the manual shows (setting-up).",
)
_KEYS = (
    Key("enter", "Enter", "change", "nothing"),
    Key("k", "k", "keys of acts", "acts"),
    Key("delete", "Del", "back to the usual", "usual"),
    Key("n", "n", "night", "theme"),
    Key("question_mark", "?", "help", "help"),
    Key("escape", "Esc", "leave", "leave"),
)
_TYPING = (Key("enter", "Enter", "takes it", "submit"), Key("escape", "Esc", "drops it", "leave"))


def checked(found: Preferences, where: str) -> None:
    """Check the preferences beyond their fields: no key twice, every feed a valid source."""
    keymap.check(found, where)
    parse_config(found.feed, where)


class SettingsScreen(LeftOnce[None], inherit_bindings=False):
    """The rows, the typing line, the answer."""

    BINDINGS: ClassVar[list[BindingType]] = [key.binding() for key in _KEYS if key.key != "enter"]

    def __init__(self, preferences: Preferences) -> None:
        super().__init__()
        self.preferences = preferences
        self.typing: Row | None = None
        self._rows: list[Row] = []

    def compose(self) -> ComposeResult:
        yield TopBar("PREFERENCES")
        yield Rows(id="rows")
        yield AnswerLine()
        yield Input(id="typing", select_on_focus=True)
        yield KeyBar(self.offered)

    def on_mount(self) -> None:
        self.query_one(Input).display = False
        self.query_one(TopBar).tell(str(settings.config_path()))
        self.query_one(Rows).focus()
        self.renew()

    def on_resize(self) -> None:
        self.renew()

    def offered(self) -> Sequence[Key]:
        """The keys that work now."""
        if self.typing is not None:
            return _TYPING
        row = self.row
        return [key for key in _KEYS if key.key != "delete" or (row is not None and row.own)]

    def renew(self) -> None:
        """Show the present values."""
        themes = self.ashore.loaded_themes.names
        self._rows = settings.rows(self.preferences, settings.given(), themes)
        width = max(len(row.title) for row in self._rows) + 2
        room = max(self.size.width - width - 5, 10)
        self.query_one(Rows).fill(
            [(f"{'·' if r.own else ' '} {r.title:<{width}}{cut(r.now, room)}", True) for r in self._rows]
        )
        self.query_one(KeyBar).repaint()
        self._hint()

    def say(self, words: str, *, wrong: bool = False) -> None:
        """Show an answer to the last key."""
        self.query_one(AnswerLine).tell(words, wrong=wrong)

    @property
    def ashore(self) -> AshoreApp[Any]:
        app = self.app
        assert isinstance(app, AshoreApp)  # only these applications have this screen
        return app

    @property
    def row(self) -> Row | None:
        """The selected row."""
        at = self.query_one(Rows).highlighted
        return self._rows[at] if at is not None and at < len(self._rows) else None

    def _hint(self) -> None:
        if self.row is not None:
            self.say(self.row.about)

    # -- changing ------------------------------------------------------------------------------------------

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        if event.option_list.id == "rows" and self.typing is None:
            self._hint()
            self.query_one(KeyBar).repaint()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        if stale(event):
            return
        row = self._rows[event.option_index]
        if row.choices:
            words = [one for one, _ in row.choices]
            values = dict(row.choices)
            self._pick(row.title, words, lambda one: self._change(row.name, values[one], row.title), row.now)
            return
        self.typing = row
        field = self.query_one(Input)
        field.display = True
        field.value = row.now if row.own else ""
        field.focus()
        self.say(f"{row.title}: {row.about}")
        self.query_one(KeyBar).repaint()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        row = self.typing
        if row is None:
            return
        try:
            name, value = settings.typed(row, event.value)
        except ConfigError as fault:
            self.say(str(fault), wrong=True)
            return
        if self._change(name, value, row.title):
            self._end_typing()

    def _end_typing(self) -> None:
        self.typing = None
        self.query_one(Input).display = False
        self.query_one(Rows).focus()
        self.query_one(KeyBar).repaint()

    def _change(self, name: tuple[str, ...], value: Any, title: str) -> bool:
        """Write one setting. Returns whether it was accepted."""
        try:
            self.preferences = settings.change(name, value, check=checked)
        except ConfigError as fault:
            self.say(str(fault), wrong=True)
            return False
        self.ashore.preferences = self.preferences
        if name == ("theme",) and self.preferences.theme is not None:
            self.ashore.theme = self.preferences.theme
        self.renew()
        self.say(f"{title}: {'the usual' if value is None else self._shown(name)}, written")
        return True

    def _shown(self, name: tuple[str, ...]) -> str:
        return next((row.now for row in self._rows if row.name == name), "taken")

    def _pick(self, title: str, choices: Sequence[str], take: Callable[[str], object], at: str = "") -> None:
        def taken(one: str | None) -> None:
            if one is not None:
                take(one)

        self.app.push_screen(Pick(title, choices, at=at), taken)

    def action_usual(self) -> None:
        row = self.row
        if row is not None and row.own:
            self._change(row.name[:2] if row.name[0] == "feed" else row.name, None, row.title)

    # -- the keys of acts ----------------------------------------------------------------------------------

    def action_acts(self) -> None:
        """Ask which act should have another key."""
        held, glyphs = keymap.build(self.preferences.keys), look_of(self.app.current_theme).glyphs
        acts = [act for group in GROUPS for act in ACTS if act.group == group and act.on.get(Keyboard.HELM)]
        self.app.push_screen(
            Pick("another key for which act?", [act.id for act in acts],
                 [f"{key_names(held.label(Keyboard.HELM, act.id), glyphs):<16}{act.words}" for act in acts]),
            self._ask_key,
        )  # fmt: skip

    def _ask_key(self, act_id: str | None) -> None:
        if act_id is None:
            return

        def take(token: str | None) -> None:
            if token is not None:
                self._change(("keys", act_id), token, act_id)

        self.app.push_screen(KeyScreen(f"the key for {BY_ID[act_id].words!r}"), take)

    # -- leaving -------------------------------------------------------------------------------------------

    def action_leave(self) -> None:
        """Leave the typing line, else the screen."""
        if self.typing is not None:
            self._end_typing()
            self._hint()
        else:
            self.dismiss()

    def action_theme(self) -> None:
        self.ashore.next_theme()

    def action_help(self) -> None:
        self.app.push_screen(Page("PREFERENCES", HELP))

    async def action_submit(self) -> None:
        await self.query_one(Input).action_submit()

    def action_nothing(self) -> None:
        """Nothing: the list itself handles Enter on a row."""


class SettingsApp(AshoreApp[None]):
    """The preferences alone."""

    def on_mount(self) -> None:
        self.push_screen(SettingsScreen(self.preferences), lambda _: self.exit())
