"""Asks only some of a script's questions; answers the rest with what is typical and notes that."""

from __future__ import annotations

import textwrap
from collections import ChainMap
from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import NoReturn

from sternwatch.gear.asking.interview import Asking, Question
from sternwatch.gear.asking.line_questions import ANOTHER


class Assuming(Asking):
    """Passes the questions in ``wanted`` on to an interview and answers the others itself.

    Parameters
    ----------
    asked
        The running interview.
    subject
        What the questions are about; begins every question.
    wanted
        The last parts of the ids of the questions to ask: ``disc`` for ``2.disc``.
    known
        Answers that follow from earlier ones, by whole id. An answer that a question refuses is ignored.
    """

    def __init__(self, asked: Asking, subject: str, wanted: Collection[str], known: Mapping[str, str]) -> None:
        self.filled: dict[str, str] = {}
        super().__init__(ChainMap(self.filled, dict(asked.answers)))
        self._asked, self._subject, self._wanted, self._known = asked, subject, wanted, known
        self.assumed: dict[str, str] = {}  # by id, in the order of the questions

    def ask(self, question: Question) -> str:
        last = question.id.partition(".")[2]
        if question.id in self._known:
            given = self._known[question.id]
        elif last in self._wanted:
            return self._asked.ask(replace(question, asks=f"{self._subject}. {question.asks}"))
        else:
            given = ""
            self.assumed[question.id] = ""
        try:
            answer = question.checked(given)
        except ValueError:
            answer = question.checked("")
        if question.id in self.assumed:
            self.assumed[question.id] = answer
        self.filled[question.id] = answer
        return answer

    def reopen(self, id: str, why: str) -> NoReturn:
        self._asked.reopen(id, why)

    def words(self) -> str:
        """The assumed answers, as lines for the file."""
        said = [
            f"{id.partition('.')[2].replace('.', ' ')} {answer}"
            for id, answer in self.assumed.items()
            if answer not in ("", ANOTHER) and not id.endswith(".name")
        ]
        return textwrap.fill("assumed: " + ", ".join(said), 110)
