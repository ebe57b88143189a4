"""A running interview, without a screen: the present question, the answers so far, going back. Nothing is lost."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Generic, TypeVar

from sternwatch.files import remove, write_whole
from sternwatch.gear.asking.interview import Asking, Question, Stand, stand_of
from sternwatch.reading import UnreadableError, json_of, read_text
from sternwatch.system_words import reason

Made = TypeVar("Made")


class Interview(Generic[Made]):
    """An interview that saves every answer in a file at once, and resumes from it next time."""

    def __init__(self, script: Callable[[Asking], Made], kept: Path) -> None:
        self._script, self._kept = script, kept
        self.answers = _read(kept)
        self.taken_up = len(self.answers)
        self.stand: Stand[Made] = stand_of(script, self.answers)
        self._again: str | None = None  # the question to which the user went back

    @property
    def question(self) -> Question | None:
        """The present question; None when all are answered."""
        if self._again is not None:
            return next((q for q in self.stand.questions if q.id == self._again), self.stand.open)
        return self.stand.open

    @property
    def before(self) -> str:
        """Its earlier answer; "" where there is none."""
        question = self.question
        return self.answers.get(question.id, "") if question is not None else ""

    @property
    def number(self) -> int:
        """How many questions come before the present one."""
        question = self.question
        ids = [q.id for q in self.stand.questions]
        return ids.index(question.id) if question is not None else len(ids)

    def answer(self, text: str) -> str:
        """Answer the present question. Returns why the answer is refused, or ""."""
        question = self.question
        if question is None:
            return ""
        try:
            self.answers[question.id] = question.checked(text)
        except ValueError as wrong:
            return str(wrong)
        was_again = self._again is not None
        self.stand = stand_of(self._script, self.answers)
        self._again = self._next_said(question.id) if was_again else None
        why = self._keep()
        if self.stand.stale and self.stand.open is not None and (not was_again or self._again is None):
            return self.stand.stale
        return why

    def back(self) -> bool:
        """Go back one question; False at the first."""
        at = self.number
        if at == 0:
            return False
        self._again = self.stand.questions[at - 1].id
        return True

    def _next_said(self, id: str) -> str | None:
        """The question after the one gone back to, as long as it still has its answer."""
        ids = [q.id for q in self.stand.questions]
        at = ids.index(id) + 1 if id in ids else len(ids)
        open_id = self.stand.open.id if self.stand.open is not None else None
        return ids[at] if at < len(ids) and ids[at] != open_id else None

    def over(self) -> None:
        """Start again without answers."""
        self.answers.clear()
        self._again, self.taken_up = None, 0
        self.stand = stand_of(self._script, self.answers)
        self.forget()

    def forget(self) -> None:
        """Delete the saved answers: they have been used."""
        remove(self._kept)

    def _keep(self) -> str:
        try:
            write_whole(self._kept, json.dumps(self.answers, ensure_ascii=False, indent=1))
        except OSError as wrong:
            return f"the answers so far cannot be kept: {self._kept}: {reason(wrong)}"
        return ""


def _read(path: Path) -> dict[str, str]:
    try:
        given = json_of(read_text(path))
    except (OSError, UnreadableError):
        return {}
    if not isinstance(given, dict):
        return {}
    return {str(key): value for key, value in given.items() if isinstance(value, str)}
