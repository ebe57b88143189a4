"""The manual aboard: every page is there, is found, and tells of nothing that the program does not have."""

from __future__ import annotations

import os
import re
import shlex
from pathlib import Path

import pytest

from manual.commands_page import commands_of, commands_text
from sternwatch.cautions import COMPUTED
from sternwatch.cli.main import build_parser
from sternwatch.config import Preferences
from sternwatch.console.keys.registry import ACTS
from sternwatch.console.words.manual import every_page
from sternwatch.manual.book import Page, search, written

COMMANDS = {name: command for name, _, command in commands_of(build_parser())}

FILLED_IN = {"N": "1", "SECONDS": "60"}  # words in capitals for which numbers are wanted

COMMANDS_PAGE = Path(__file__).parents[2] / "src/sternwatch/manual/pages/15-commands.md"


def test_the_pages_in_order() -> None:
    assert [page.name for page in every_page()] == [
        "first-day", "helm", "letting-out", "turns", "how-sure", "deck", "debrief", "practice", "feeds", "setting-up",
        "questions", "chart", "again", "pass", "commands", "keys", "glossary", "preferences",
    ]  # fmt: skip


def test_the_page_of_commands_is_what_the_commands_say() -> None:
    """``STERNWATCH_PAGES=write pytest tests/manual`` writes it anew."""
    if os.environ.get("STERNWATCH_PAGES") == "write":
        COMMANDS_PAGE.write_text(commands_text(), encoding="utf-8")
    assert COMMANDS_PAGE.read_text(encoding="utf-8") == commands_text()


def test_the_first_page_begins_with_the_caution() -> None:
    assert COMPUTED in written()[0].text.split("##")[0]


@pytest.mark.parametrize("page", written(), ids=lambda page: page.name)
def test_every_command_in_a_page_can_be_typed_as_it_stands(page: Page) -> None:
    said = re.findall(r"`sternwatch ([a-z]+[^`]*)`", page.text)
    assert said or "sternwatch" not in page.text
    for line in said:
        typed = [FILLED_IN.get(word, word) for word in shlex.split(line)]
        try:
            assert build_parser().parse_args(typed).run
        except SystemExit as refused:
            raise AssertionError(f"sternwatch {line}") from refused


def test_every_command_preference_and_act_stands_in_a_page_made_from_it() -> None:
    texts = {page.name: page.text for page in every_page()}
    assert all(f"\n## {name}\n" in texts["commands"] for name in COMMANDS)
    assert all(f"| `{name}` |" in texts["preferences"] for name in Preferences.model_fields)
    assert all(f"| {act.words} |" in texts["keys"] for act in ACTS if act.station is None)


@pytest.mark.parametrize(
    ("words", "page", "heading"),
    [
        ("blowback", "glossary", "What hangs from a rod"),
        ("tape", "how-sure", "Make it narrower"),
        ("near pass", "turns", "Four words for two lines"),
        ("gloves", "helm", "Gloves, spray and dark"),
        ("counter narrower", "how-sure", "Make it narrower"),
        ("boards", "glossary", "What hangs from a rod"),
        ("leadcore", "letting-out", "Lead-core"),
        ("batteries", "questions", "Questions"),
        ("colors", "questions", "Questions"),
        ("lost fish", "questions", "Questions"),
        ("fog", "questions", "Questions"),
        ("wifi", "deck", "Opening it"),
    ],
)
def test_a_word_is_found_where_it_is_explained(words: str, page: str, heading: str) -> None:
    found = search(every_page(), words)
    assert (page, heading) in [(one.page.name, one.heading) for one in found[:3]]


def test_of_the_glossary_only_the_word_asked_for() -> None:
    part = next(one for one in search(every_page(), "blowback") if one.page.name == "glossary")
    assert part.text.count("- **") == 1


@pytest.mark.parametrize("word", ["OLD", "NO DEPTH", "LINE ?", "REEL", "PULLED UNDER", "SETTLES"])
def test_a_word_as_it_stands_beside_a_rod_is_explained_first_and_alone(word: str) -> None:
    first = search(every_page(), word)[0]
    assert (first.page.name, first.heading) == ("glossary", "One word at a rod")
    assert first.text.count("- **") == 1
    assert word.lower() in first.text.partition(":")[0]


def test_of_the_questions_only_those_about_the_word() -> None:
    part = next(one for one in search(every_page(), "battery") if one.page.name == "questions")
    assert part.text.startswith("# Questions\n\n**Does it drain the battery?** ")
    assert part.text.count("?**") == 1


def test_nothing_is_found_of_nothing() -> None:
    assert search(every_page(), "  ") == []
    assert search(every_page(), "xylophone") == []
