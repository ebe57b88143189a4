"""An interview: the answers decide which question comes next. Every answer can be changed later.

A script is a plain function that calls ``ask`` for every question and makes something of the answers. Every run
starts at its beginning and stops at the first question without an answer: that is the next question.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Generic, Literal, NoReturn, TypeVar

from sternwatch.gear.values.typed_quantities import as_written
from sternwatch.gear.values.units import UNITS, Dimension, QuantityError, limit_words, parse_quantity
from sternwatch.gear.values.words import nearest

Kind = Literal["quantity", "number", "text", "choice"]
Made = TypeVar("Made")


@dataclass(frozen=True, slots=True)
class Question:
    """One question. A bare number gets ``unit``; an empty answer becomes ``default``; ``low`` and ``high`` are SI."""

    id: str
    asks: str
    help: str
    kind: Kind = "text"
    dimension: Dimension | None = None
    unit: str = ""
    low: float = 0.0
    high: float = 1e9
    choices: tuple[str, ...] = ()
    default: str = ""
    optional: bool = False
    longest: int = 40
    likely: str = ""  # what most would answer; used only to count the questions to come

    def checked(self, given: str) -> str:
        """The answer in the form that is kept. Raises ``ValueError`` with a sentence that says what is accepted."""
        text = " ".join(given.split()) or self.default
        if not text:
            if self.optional:
                return ""
            raise ValueError(self._wanted())
        match self.kind:
            case "choice":
                return self._choice(text)
            case "number":
                return self._number(text)
            case "quantity":
                return self._quantity(text)
            case _:
                if len(text) > self.longest:
                    raise ValueError(f"at most {self.longest} letters; this has {len(text)}")
                return text

    def _wanted(self) -> str:
        if self.kind == "choice":
            return f"one of these is wanted: {', '.join(self.choices)}"
        if self.dimension is not None:
            return f"a {self.dimension} is wanted, in {self.unit} unless you write another unit"
        return "please give a number" if self.kind == "number" else "please give a word or two"

    def _choice(self, text: str) -> str:
        if text.isdecimal() and 1 <= int(text) <= len(self.choices) and text not in self.choices:
            return self.choices[int(text) - 1]
        exact = [choice for choice in self.choices if choice.lower() == text.lower()]
        starts = [choice for choice in self.choices if choice.lower().startswith(text.lower())]
        if exact or len(starts) == 1:
            return (exact or starts)[0]
        raise ValueError(f'"{text}" is none of {", ".join(self.choices)}{nearest(text, self.choices)}')

    def _number(self, text: str) -> str:
        try:
            value = float(text.replace(",", "."))
        except ValueError:
            raise ValueError(f'"{text}" is not a number') from None
        if not self.low <= value <= self.high:
            raise ValueError(f"this wants {self.low:g} to {self.high:g}")
        return f"{value:g}"

    def _quantity(self, text: str) -> str:
        assert self.dimension is not None  # every quantity has one
        text = as_written(text, self.dimension, self.unit)
        try:
            value = parse_quantity(text, self.dimension)
        except QuantityError as wrong:
            raise ValueError(str(wrong)) from None
        if not self.low <= value <= self.high:
            unit = UNITS[self.unit]
            raise ValueError(f"this wants {unit.from_si(self.low):.2g} to {limit_words(self.high, self.unit)}")
        return text


class Unanswered(Exception):  # noqa: N818 - it is no error: the script has come to the next question
    """The script needs an answer that has not been given."""


@dataclass
class Asking:
    """One run of a script with the answers given so far."""

    answers: Mapping[str, str]
    questions: list[Question] = field(default_factory=list)
    stale: str = ""  # why the old answer to the last question is no longer accepted

    def ask(self, question: Question) -> str:
        """The answer. Raises :class:`Unanswered` where there is none, or where the question no longer accepts it."""
        self.questions.append(question)
        given = self.answers.get(question.id)
        if given is None:
            raise Unanswered
        try:
            return question.checked(given)
        except ValueError as wrong:
            self.stale = str(wrong)
            raise Unanswered from None

    def reopen(self, id: str, why: str) -> NoReturn:
        """Go back to a question whose answer conflicts with the others."""
        at = next(i for i, question in enumerate(self.questions) if question.id == id)
        del self.questions[at + 1 :]
        self.stale = why
        raise Unanswered


class _Likely(Asking):
    """Answers open questions as most would, to count how many will come."""

    def __init__(self, answers: Mapping[str, str]) -> None:
        self.said = dict(answers)
        super().__init__(self.said)

    def ask(self, question: Question) -> str:
        self.questions.append(question)
        some = question.choices[0] if question.choices else "12"
        for given in (self.answers.get(question.id), question.likely, some):
            try:
                answer = question.checked(given) if given is not None else None
            except ValueError:
                continue
            if answer is not None:
                self.said[question.id] = answer
                return answer
        raise Unanswered


@dataclass(frozen=True, slots=True)
class Stand(Generic[Made]):
    """The state of an interview: the questions so far. The last one is open unless ``made`` is set.

    ``about``: how many questions there will be if the user answers the rest as most would.
    """

    questions: tuple[Question, ...]
    made: Made | None
    stale: str = ""
    about: int = 0

    @property
    def open(self) -> Question | None:
        """The next question; None when all are answered."""
        return None if self.made is not None else self.questions[-1]


def stand_of(script: Callable[[Asking], Made], answers: Mapping[str, str]) -> Stand[Made]:
    """Run a script with the answers."""
    asking = Asking(answers)
    try:
        made = script(asking)
    except Unanswered:
        return Stand(tuple(asking.questions), None, asking.stale, _about(script, answers))
    return Stand(tuple(asking.questions), made, about=len(asking.questions))


def _about(script: Callable[[Asking], Made], answers: Mapping[str, str]) -> int:
    likely = _Likely(answers)
    with suppress(Unanswered):  # it goes back to a question: keep the count so far
        script(likely)
    return len(likely.questions)
