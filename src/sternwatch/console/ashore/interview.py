"""An interview under way, without a screen: which question stands, what was said, going back, nothing lost."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Generic, TypeVar

from sternwatch.files import write_whole
from sternwatch.gear.asking.interview import Asking, Question, Stand, stand_of
from sternwatch.reading import UnreadableError, json_of, read_text

Made = TypeVar("Made")


class Interview(Generic[Made]):
    """Answers are kept in a file after each one, and taken up from it the next time."""

    def __init__(self, script: Callable[[Asking], Made], kept: Path) -> None:
        self._script, self._kept = script, kept
        self.answers = _read(kept)
        self.taken_up = len(self.answers)
        self.stand: Stand[Made] = stand_of(script, self.answers)
        self._again: str | None = None  # a question gone back to

    @property
    def question(self) -> Question | None:
        """The question that stands; None when everything is said."""
        if self._again is not None:
            return next((q for q in self.stand.questions if q.id == self._again), self.stand.open)
        return self.stand.open

    @property
    def before(self) -> str:
        """What was answered to it before; "" if nothing."""
        question = self.question
        return self.answers.get(question.id, "") if question is not None else ""

    @property
    def number(self) -> int:
        """How many questions lie before the one that stands."""
        question = self.question
        ids = [q.id for q in self.stand.questions]
        return ids.index(question.id) if question is not None else len(ids)

    def answer(self, text: str) -> str:
        """Answer the question that stands; why that cannot be, or ""."""
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
        """Go back to the question before; False at the first."""
        at = self.number
        if at == 0:
            return False
        self._again = self.stand.questions[at - 1].id
        return True

    def _next_said(self, id: str) -> str | None:
        """The question after one that was gone back to, while it has its answer still."""
        ids = [q.id for q in self.stand.questions]
        at = ids.index(id) + 1 if id in ids else len(ids)
        open_id = self.stand.open.id if self.stand.open is not None else None
        return ids[at] if at < len(ids) and ids[at] != open_id else None

    def over(self) -> None:
        """Begin anew: nothing was said."""
        self.answers.clear()
        self._again, self.taken_up = None, 0
        self.stand = stand_of(self._script, self.answers)
        self.forget()

    def forget(self) -> None:
        """What was said has gone where it belongs."""
        self._kept.unlink(missing_ok=True)

    def _keep(self) -> str:
        try:
            write_whole(self._kept, json.dumps(self.answers, ensure_ascii=False, indent=1))
        except OSError as wrong:
            return f"the answers so far cannot be kept: {self._kept}: {wrong.strerror or wrong}"
        return ""


def _read(path: Path) -> dict[str, str]:
    try:
        given = json_of(read_text(path))
    except (OSError, UnreadableError):
        return {}
    if not isinstance(given, dict):
        return {}
    return {str(key): value for key, value in given.items() if isinstance(value, str)}
