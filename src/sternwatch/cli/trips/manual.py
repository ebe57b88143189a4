"""``sternwatch manual``: shows a page of the manual, or its parts about a word."""

from __future__ import annotations

import argparse
import sys

from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.gear.values.words import nearest
from sternwatch.manual.book import Page, page_of, search, written

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
    pages = every_page()
    words = " ".join(args.word)
    if not words and sys.stdin.isatty() and sys.stdout.isatty() and not args.plain:
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


def every_page() -> tuple[Page, ...]:
    """All pages, in the order of the contents."""
    from sternwatch.console.words.manual import made_pages

    return (*written(), *made_pages(), page_of("commands", commands_text()))


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

    console = Console()
    console.print(Markdown(text), width=min(console.width, 100))
    console.print()


def commands_text() -> str:
    """The page of commands, made from the parser's own words."""
    from sternwatch.cli.main import build_parser

    lines = ["# Commands", "", "Every command takes `--help`. What is in CAPITALS you fill in.", ""]
    parser = build_parser()
    for name, help_text, command in commands_of(parser):
        lines += [f"## {name}", "", f"{(command.description or help_text).rstrip('.')}.", ""]
        for action in command._actions:
            if isinstance(action, argparse._SubParsersAction):
                lines += [f"- `{name} {part}`: {about}" for part, about, _ in commands_of(command)]
            elif action.help not in (None, argparse.SUPPRESS) and "--help" not in action.option_strings:
                lines.append(f"- `{_as_typed(action)}`: {action.help}")
        lines.append("")
    return "\n".join(lines).replace("%%", "%")


def commands_of(parser: argparse.ArgumentParser) -> list[tuple[str, str, argparse.ArgumentParser]]:
    """Name, help and parser of each command of a parser."""
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            about = {choice.dest: choice.help or "" for choice in action._choices_actions}
            return [(name, about.get(name, ""), command) for name, command in action.choices.items()]
    return []


def _as_typed(action: argparse.Action) -> str:
    filled = "" if action.nargs == 0 else action.dest.upper()
    metavar = action.metavar if isinstance(action.metavar, str) else filled
    if not action.option_strings:
        return metavar
    if action.choices is not None:
        metavar = "|".join(str(choice) for choice in action.choices)
    return f"{action.option_strings[0]} {metavar}".rstrip()
