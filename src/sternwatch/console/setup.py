"""Setting up a boat: one question at a time, with what to look at while standing in her."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Input, OptionList, Static

from sternwatch import places
from sternwatch.config import Preferences
from sternwatch.console.ashore import AshoreApp, Key, KeyBar, Page, Rows, TopBar
from sternwatch.console.editor_parts import Said
from sternwatch.console.notices import COMPUTED
from sternwatch.console.talk import Talk
from sternwatch.files import write_whole
from sternwatch.gear.interview import Question
from sternwatch.gear.questions import script
from sternwatch.gear.shelf import Shelf

KEPT = "setup.json"
HELP = (
    "Each question can be answered standing in the boat; nothing has to be measured beforehand. Enter takes what "
    "stands in the field, or the answer that is marked. A number without a unit is in the unit named beside it; "
    "another unit may be written behind it.",
    "Esc goes back one question; what was said since stays. Ctrl+Q leaves: everything said is kept, and taken up the "
    "next time.",
    "What nobody knows may be left: then a typical value is taken, from memory, and depths carry a wide interval. "
    "The best that can be done for a heavy line is 20 ft of it on a kitchen scale; the best for a depth is what "
    "touched bottom.",
    "At the end the answers become a spread file, which the editor changes further.",
    COMPUTED,
)
_OLDER = 6  # how many answers stand above the question, where there is room


class SetupScreen(Screen[None], inherit_bindings=False):
    """The question, its help, what was said before it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", show=False, priority=True),
        Binding("question_mark", "help", show=False, priority=True),
    ]

    def __init__(self, talk: Talk[str], path: Path) -> None:
        super().__init__()
        self.talk, self.path = talk, path

    def compose(self) -> ComposeResult:
        yield TopBar("SETTING UP")
        yield Static(id="said-before")
        yield Static(id="question")
        yield Static(id="words")
        yield Said()
        yield Input(id="answer", select_on_focus=True)
        yield Rows(id="choices")
        yield KeyBar(self._keys)

    def _keys(self) -> list[Key]:
        last = Key("enter", "Enter", "makes the spread file", "take")
        take = Key("enter", "Enter", "takes it", "take")
        back = Key("escape", "Esc", "the question before" if self.talk.number else "leaves", "back")
        help_key = Key("question_mark", "?", "help", "help")
        leave = Key("ctrl+q", "Ctrl+Q", "leaves; all is kept", "app.quit")
        return [take if self.talk.question else last, back, help_key, leave]

    def on_mount(self) -> None:
        self.renew()
        if self.talk.taken_up:
            self.query_one(Said).tell(f"{self.talk.taken_up} answers of the last time are taken up.")

    def renew(self, why: str = "") -> None:
        """Show the question that stands."""
        question, talk = self.talk.question, self.talk
        self.query_one(TopBar).tell(f"question {talk.number + 1} · {self.path.name}")
        said = [q for q in talk.stand.questions[: talk.number] if talk.answers.get(q.id)]
        older = _OLDER if self.size.height >= 30 else 2
        lines = [f"{q.asks}  {talk.answers[q.id]}" for q in said[-older:]]
        self.query_one("#said-before", Static).update(Content("\n".join(lines)))
        self._ask(question)
        self.query_one(Said).tell(why, wrong=bool(why))
        self.query_one(KeyBar).repaint()

    def _ask(self, question: Question | None) -> None:
        asks, words = self.query_one("#question", Static), self.query_one("#words", Static)
        field, choices = self.query_one(Input), self.query_one(Rows)
        if question is None:
            asks.update(Content("That is all."))
            words.update(
                Content(f"Enter writes {self.path}; the editor opens on it. Esc goes back to the questions.")
            )
        else:
            asks.update(Content(question.asks))
            words.update(Content(question.help))
        listed = question is not None and question.kind == "choice"
        field.display = question is not None and not listed
        choices.display = not field.display
        if question is None:
            choices.fill([("make the spread file", True)], 0)
            choices.focus()
        elif listed:
            before = self.talk.before or question.default
            at = question.choices.index(before) if before in question.choices else 0
            choices.fill([(f"{n} {choice}" if n < 10 else f"  {choice}", True)
                          for n, choice in enumerate(question.choices, 1)], at)  # fmt: skip
            choices.focus()
        else:
            field.value = self.talk.before
            unit = f"in {question.unit}" if question.unit else ""
            usual = (
                f"Enter: {question.default}"
                if question.default
                else "Enter leaves it out"
                if question.optional
                else ""
            )
            field.placeholder = ", ".join(part for part in (unit, usual) if part)
            field.focus()
            field.action_select_all()  # what is typed takes its place

    def on_key(self, event: events.Key) -> None:
        question = self.talk.question
        if question is not None and question.kind == "choice" and event.key.isdecimal() and event.key != "0":
            at = int(event.key) - 1
            if at < len(question.choices):
                event.stop()
                self._take(question.choices[at])

    def on_input_submitted(self, event: Input.Submitted) -> None:
        self._take(event.value)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        question = self.talk.question
        if question is None:
            self._finish()
        else:
            self._take(question.choices[event.option_index])

    def _take(self, text: str) -> None:
        self.renew(self.talk.answer(text))

    def _finish(self) -> None:
        made = self.talk.stand.made
        assert made is not None  # no question stands
        try:
            write_whole(self.path, made, keep=True)
        except OSError as wrong:
            self.query_one(Said).tell(f"not written: {self.path}: {wrong.strerror or wrong}", wrong=True)
            return
        self.talk.forget()
        self.app.exit(True)

    def action_take(self) -> None:
        if self.talk.question is None:
            self._finish()
        elif self.query_one(Input).display:
            self._take(self.query_one(Input).value)
        else:
            self.query_one(Rows).action_select()

    def action_back(self) -> None:
        if self.talk.back():
            self.renew()
        else:
            self.app.exit(False)

    def action_help(self) -> None:
        self.app.push_screen(Page("SETTING UP", HELP))


class SetupApp(AshoreApp[bool]):
    """The questions; True when a spread file was made of the answers."""

    def __init__(self, preferences: Preferences, shelf: Shelf, path: Path) -> None:
        super().__init__(preferences)
        self.talk = Talk(script(preferences.system, shelf), places.data_dir() / "drafts" / KEPT)
        self.path = path

    def get_default_screen(self) -> SetupScreen:
        return SetupScreen(self.talk, self.path)
