"""Reads the pages of the manual and finds where a word is explained. No screen."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

_TITLE = re.compile(r"^# (.+)$", re.MULTILINE)
_PART = re.compile(r"^(?=## )", re.MULTILINE)
_LEAST = 3  # only a word of at least so many letters is sought inside others
_SPELLINGS = {"color": "colour", "center": "centre", "meter": "metre", "leadcore": "lead-core"}
_ENDING = re.compile(r"(?<=\w{3})(?:ies|y|ing|ed|es|s|e)$")


@dataclass(frozen=True, slots=True)
class Page:
    """One page: the word that opens it, its title, its Markdown text."""

    name: str
    title: str
    text: str


@dataclass(frozen=True, slots=True)
class Found:
    """A part of a page that contains the words."""

    page: Page
    heading: str
    text: str


@lru_cache(maxsize=1)
def written() -> tuple[Page, ...]:
    """The pages that people have written, in their order."""
    folder = resources.files("sternwatch.manual") / "pages"
    files = sorted((file for file in folder.iterdir() if file.name.endswith(".md")), key=lambda file: file.name)
    return tuple(page_of(file.name[3:-3], file.read_text(encoding="utf-8")) for file in files)


def page_of(name: str, text: str) -> Page:
    """A page from Markdown that begins with its title; its name serves where there is none."""
    title = _TITLE.search(text)
    return Page(name, title[1] if title is not None else name, text)


def search(pages: tuple[Page, ...], words: str) -> list[Found]:
    """Parts of pages that contain every word; first those that explain just that, then by heading, then by text.

    Where there is none, the words are sought without their endings: "boards" as "board", "turning" as "turn".
    """
    words = words.lower().strip()
    for other, written_here in _SPELLINGS.items():
        words = words.replace(other, written_here)
    wanted = re.findall(r"[\w°%'/-]+", words)
    found = _parts(pages, wanted, words)
    bare = [_ENDING.sub("", word) for word in wanted]
    return found if found or bare == wanted else _parts(pages, bare, words)


def _explains(text: str, asked: str) -> bool:
    """Whether a list of words and their meanings has just what is asked, as a word or another form of it."""
    words = re.findall(r"^- \*\*(.+?)\*\*", text.lower(), re.MULTILINE)
    return any(asked == form.strip() for word in words for form in word.split(","))


def _parts(pages: tuple[Page, ...], wanted: list[str], asked: str) -> list[Found]:
    if not wanted:
        return []
    found: list[tuple[bool, int, int, Found]] = []
    for number, page in enumerate(pages):
        for part in _PART.split(page.text):
            first = part.lstrip().splitlines()[0] if part.strip() else ""
            heading = first.lstrip("# ") if first.startswith("#") else page.title
            places = [_weight(word, page, heading, part) for word in wanted]
            if all(places) and "\n" in part.strip():
                one = Found(page, heading, _narrowed(part.strip(), wanted, asked))
                found.append((not _explains(part, asked), -sum(places), number, one))
    found.sort(key=lambda one: one[:3])
    return [one for *_, one in found]


def _narrowed(text: str, wanted: list[str], asked: str) -> str:
    """The part; of a list of words and their meanings, or of questions and answers, only those asked for."""
    heading, _, body = text.partition("\n")
    for begins, between in (("- **", "\n"), ("**", "\n\n")):
        entries = [entry for entry in body.split(between) if entry.strip()]
        if all(entry.lstrip().startswith(begins) for entry in entries):
            kept = [entry for entry in entries if all(word in entry.lower() for word in wanted)]
            kept = [entry for entry in kept if _explains(entry.lstrip(), asked)] or kept
            return f"{heading}\n\n{between.join(kept).strip()}" if kept else text
    return text


def _weight(word: str, page: Page, heading: str, text: str) -> int:
    """How well a part explains a word; 0: not at all."""
    if word in (page.name, page.title.lower()):
        return 20 if heading == page.title else 2
    where = rf"\b{re.escape(word)}" if len(word) >= _LEAST else rf"(?<!\w){re.escape(word)}(?!\w)"
    if re.search(where, heading.lower()):
        return 10
    bold = re.search(rf"\*\*[^*]*{where}[^*]*\*\*|`[^`]*{where}[^`]*`", text.lower())
    return 4 if bold else min(len(re.findall(where, text.lower())), 3)
