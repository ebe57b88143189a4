"""``sternwatch manual``: shows a page of the manual, or its parts about a word."""

from __future__ import annotations

import argparse
import sys

from sternwatch.cli.common import terminal
from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.gear.values.words import nearest
from sternwatch.manual.book import Page, search
from sternwatch.printable import printable

_MOST = 6  # the most parts printed for a word


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "manual",
        help="the manual: a page, or what it says about a word",
        description="The manual, for where there is no internet. Without a word it opens on the screen, where you "
        "can search it. With a word it prints the page of that name, or what the manual says about it.",
    )
    parser.add_argument("word", nargs="*", metavar="WORD", help="a page, such as turns, or words to look for")
    parser.add_argument("--plain", action="store_true", help="print it as plain Markdown")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from sternwatch.console.words.manual import every_page

    pages = every_page()
    words = " ".join(args.word)
    if not words and not args.plain and sys.stdout.isatty() and terminal.there():
        from sternwatch.config import ConfigError, Preferences, load_preferences
        from sternwatch.console.ashore.manual import ManualApp

        try:
            preferences = load_preferences()
        except ConfigError:
            preferences = Preferences()  # the manual opens even where the preferences are faulty
        ManualApp(preferences, pages).run(mouse=True)
        return Exit.DONE
    for text in _wanted(pages, words):
        _print(text, plain=args.plain)
    return Exit.DONE


def _wanted(pages: tuple[Page, ...], words: str) -> list[str]:
    if not words:
        contents = "\n".join(f"- **{page.name}**: {page.title}" for page in pages)
        return [
            f"# The manual\n\n{contents}\n\n`sternwatch manual WORD` prints a page, or what it says about a word."
        ]
    for page in pages:
        if words.lower() in (page.name, page.title.lower()):
            return [page.text]
    found = search(pages, words)
    if not found:
        names = [page.name for page in pages]
        raise InputError(
            f'nothing about "{words}" in the manual{nearest(words, names)}; its pages: {", ".join(names)}'
        )
    parts = [f"{one.text}\n\n*({one.page.title}: sternwatch manual {one.page.name})*" for one in found[:_MOST]]
    if len(found) > _MOST:
        parts.append(f"*{len(found) - _MOST} more places; another word narrows it.*")
    return parts


def _print(text: str, *, plain: bool) -> None:
    if plain:
        print(text)
        return
    from rich.console import Console
    from rich.markdown import Markdown

    # A page is our own text: its styles do not pass the filter, the text does.
    console = Console(file=getattr(sys.stdout, "plain", None))
    console.print(Markdown(printable(text)), width=min(console.width, 100))
    console.print()
