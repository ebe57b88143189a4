"""Asks questions on the screen, one at a time, to set up a boat or to put something on the shelf."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Input, OptionList, Static

from sternwatch import places
from sternwatch.cautions import COMPUTED
from sternwatch.config import Preferences
from sternwatch.console.ashore.base import AnswerLine, AshoreApp, AskInput, Key, KeyBar, Page, Rows, TopBar, stale
from sternwatch.console.ashore.interview import Interview
from sternwatch.console.ashore.rig_pictures import PICTURES, TALL, stern
from sternwatch.console.paint.canvas import Grid, Painted
from sternwatch.files import EARLIER, write_whole
from sternwatch.gear.asking import boat_questions as questions
from sternwatch.gear.asking import shelf_questions as questions_shelf
from sternwatch.gear.asking import whole_boat
from sternwatch.gear.asking.interview import Question
from sternwatch.gear.shelf.adding import Piece, put_on_shelf
from sternwatch.gear.shelf.pieces import Shelf
from sternwatch.gear.spread_file.models import ROD_KEYS
from sternwatch.gear.values.faults import SpreadError
from sternwatch.system_words import reason

SETUP_HELP = (
    "You can answer every question standing in the boat, with nothing measured beforehand. Enter takes what is in "
    "the field, or the marked answer. A number without a unit is in the unit named beside it; you may write "
    "another unit behind it.",
    "Esc goes back one question; later answers are kept. Ctrl+Q leaves: all answers are kept for the next time.",
    "You may leave open what you do not know: then a typical value is used, and the depths get a wide interval. "
    "The best check of a heavy line is 20 ft of it on a kitchen scale; the best check of a depth is a rod that "
    "touched bottom.",
    "What is not asked is taken as typical, and the file says what was assumed for each rod. At the end you may go "
    "on with the questions that narrow the depths most: counters checked against a tape, and depths that you know. "
    "The answers become a spread file, which the editor changes further; `sternwatch setup --every-question` asks "
    "all of every rod.",
    COMPUTED,
)
SHELF_HELP = (
    "The shelf holds your own lines, tackle and lures in one file, beside the generic ones that come with "
    "sternwatch. Put what is on it on a rod in the editor, or on the water with c. A lure's name and colour are "
    "kept with every hit.",
    "Enter takes what is in the field, or the marked answer. Esc goes back one question.",
)
Drawn = Callable[[Mapping[str, str]], dict[str, list[str]]]
_OLDER = 6  # how many answers show above the question, where there is room


@dataclass(frozen=True, slots=True)
class About:
    """The purpose of an interview: its title, the file it changes, its help, and what it does at the end."""

    title: str
    path: Path
    help: tuple[str, ...]
    last: str  # what Enter does at the end
    drawn: Drawn | None = None  # the boat as far as it is described


class Drawing(Painted):
    """The selected rig from the side, and below it the boat from above."""

    def __init__(self, drawn: Drawn) -> None:
        super().__init__()
        self._drawn = drawn
        self._rows: list[str] = []

    def tell(self, answers: Mapping[str, str], pointed_at: str) -> None:
        rig = list(PICTURES.get(pointed_at, ()))
        rig += [""] * (TALL + 1 - len(rig)) if rig else []
        self._rows = [*rig, *stern(self._drawn(answers), ROD_KEYS)]
        self.repaint()

    def draw(self, grid: Grid) -> None:
        for y, row in enumerate(self._rows[: grid.height]):
            grid.put(1, y, row[: grid.width - 1], "text")


class QuestionsScreen(Screen[None], inherit_bindings=False):
    """The question, its help, and the answers before it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", show=False, priority=True),
        Binding("question_mark", "help", show=False, priority=True),
    ]

    def __init__(self, interview: Interview[Any], about: About, finish: Callable[[Any], str]) -> None:
        super().__init__()
        self.interview, self.about, self._end = interview, about, finish

    def compose(self) -> ComposeResult:
        yield TopBar(self.about.title)
        with Horizontal(id="asking"):
            with Vertical(id="asked"):
                yield Static(id="said-before")
                yield Static(id="question")
                yield Static(id="words")
                yield AnswerLine()
                yield AskInput(id="answer", select_on_focus=True)
                yield Rows(id="choices")
            if self.about.drawn is not None:
                yield Drawing(self.about.drawn)
        yield KeyBar(self._keys)

    def _keys(self) -> list[Key]:
        last = Key("enter", "Enter", self.about.last, "take")
        take = Key("enter", "Enter", "takes it", "take")
        back = Key("escape", "Esc", "the question before" if self.interview.number else "leaves", "back")
        help_key = Key("question_mark", "?", "help", "help")
        leave = Key("ctrl+q", "Ctrl+Q", "leaves; all is kept", "app.quit")
        return [take if self.interview.question else last, back, help_key, leave]

    def on_mount(self) -> None:
        self.renew()
        if self.interview.taken_up:
            self.query_one(AnswerLine).tell(f"{self.interview.taken_up} answers from last time are filled in.")

    def renew(self, why: str = "") -> None:
        """Show the present question."""
        question, interview = self.interview.question, self.interview
        at, about = interview.number + 1, interview.stand.about
        of = f"question {at} of about {about}" if question is not None else f"all {about} questions answered"
        self.query_one(TopBar).tell(f"{of} · {self.about.path.name}")
        said = [q for q in interview.stand.questions[: interview.number] if interview.answers.get(q.id)]
        older = _OLDER if self.size.height >= 30 else 2
        lines = [f"{q.asks}  {interview.answers[q.id]}" for q in said[-older:]]
        self.query_one("#said-before", Static).update(Content("\n".join(lines)))
        self._ask(question)
        self.query_one(AnswerLine).tell(why, wrong=bool(why))
        self.query_one(KeyBar).repaint()
        self._draw(self.interview.before or (question.default if question is not None else ""))

    def _draw(self, highlighted: str) -> None:
        if self.about.drawn is not None:
            self.query_one(Drawing).tell(self.interview.answers, highlighted)

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        question = self.interview.question
        if question is not None and question.choices and not stale(event):
            self._draw(question.choices[event.option_index])

    def _ask(self, question: Question | None) -> None:
        asks, words = self.query_one("#question", Static), self.query_one("#words", Static)
        field, choices = self.query_one(Input), self.query_one(Rows)
        if question is None:
            asks.update(Content("That is all."))
            kept = f"; the file that is there goes into the folder “{EARLIER}”" if self.about.path.exists() else ""
            words.update(Content(f"Enter writes {self.about.path}{kept}. Esc goes back to the questions."))
        else:
            asks.update(Content(question.asks))
            words.update(Content(question.help))
        listed = question is not None and question.kind == "choice"
        field.display = question is not None and not listed
        choices.display = not field.display
        if question is None:
            choices.fill([(self.about.last, True)], 0)
            choices.focus()
        elif listed:
            before = self.interview.before or question.default
            at = question.choices.index(before) if before in question.choices else 0
            rows = [choice if key == choice else f"{key:1} {choice}" for key, choice in _keyed(question.choices)]
            choices.fill([(row, True) for row in rows], at)
            choices.focus()
        else:
            field.value = self.interview.before
            named = "inches" if question.unit == "in" else question.unit
            unit = f"in {named}, or write a unit" if question.unit else ""
            usual = (
                f"Enter: {question.default}"
                if question.default
                else "Enter leaves it out"
                if question.optional
                else ""
            )
            field.placeholder = ", ".join(part for part in (unit, usual) if part)
            field.focus()
            field.action_select_all()  # typing replaces it

    def on_key(self, event: events.Key) -> None:
        question = self.interview.question
        if question is None or question.kind != "choice":
            return
        wanted = next((choice for key, choice in _keyed(question.choices) if key == event.key), None)
        if wanted is not None:
            event.stop()
            self._take(wanted)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        self._take(event.value)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        question = self.interview.question
        if stale(event):
            return
        if question is None:
            self._finish()
        else:
            self._take(question.choices[event.option_index])

    def _take(self, text: str) -> None:
        self.renew(self.interview.answer(text))

    def _finish(self) -> None:
        made = self.interview.stand.made
        assert made is not None  # there is no question
        if why := self._end(made):
            self.query_one(AnswerLine).tell(why, wrong=True)
            return
        self.interview.forget()
        self.app.exit(True)

    def action_take(self) -> None:
        if self.interview.question is None:
            self._finish()
        elif self.query_one(Input).display:
            self._take(self.query_one(Input).value)
        else:
            self.query_one(Rows).action_select()

    def action_back(self) -> None:
        if self.interview.back():
            self.renew()
        else:
            self.app.exit(False)

    def action_help(self) -> None:
        self.app.push_screen(Page(self.about.title, self.about.help))


def _keyed(choices: Sequence[str]) -> list[tuple[str, str]]:
    """Each answer behind its key: a number is its own, so that 3 is three and not the third; the tenth has none."""
    if all(choice.isdecimal() for choice in choices):
        return [(choice, choice) for choice in choices]
    return [(str(n) if n < 10 else "", choice) for n, choice in enumerate(choices, 1)]


class QuestionsApp(AshoreApp[bool]):
    """An interview. Its result is True when it made something from the answers."""

    def __init__(
        self, preferences: Preferences, interview: Interview[Any], about: About, finish: Callable[[Any], str]
    ) -> None:
        super().__init__(preferences)
        self.interview, self.about, self.finish = interview, about, finish

    def get_default_screen(self) -> QuestionsScreen:
        return QuestionsScreen(self.interview, self.about, self.finish)


def setup_app(preferences: Preferences, shelf: Shelf, path: Path, *, every_question: bool = False) -> QuestionsApp:
    """The questions that make a spread file: for the whole boat, or in full for every rod."""

    def finish(text: str) -> str:
        try:
            write_whole(path, text, keep=True)
        except OSError as wrong:
            return f"not written: {path}: {reason(wrong)}"
        return ""

    made = (questions if every_question else whole_boat).script(preferences.system, shelf)
    kept = "setup-long.json" if every_question else "setup.json"
    interview = Interview(made, places.data_dir() / "drafts" / kept)
    drawn = None if every_question else whole_boat.sketch
    about = About("SETTING UP", path, SETUP_HELP, "makes the spread file", drawn)
    return QuestionsApp(preferences, interview, about, finish)


def shelf_app(preferences: Preferences, shelf: Shelf, path: Path) -> QuestionsApp:
    """The questions that put a piece on the shelf."""

    def finish(piece: Piece) -> str:
        try:
            put_on_shelf(path, piece)
        except (SpreadError, OSError) as wrong:
            return f"not written: {wrong}"
        return ""

    interview = Interview(
        questions_shelf.script(preferences.system, shelf), places.data_dir() / "drafts" / "shelf.json"
    )
    return QuestionsApp(
        preferences, interview, About("ON THE SHELF", path, SHELF_HELP, "puts it on the shelf"), finish
    )
