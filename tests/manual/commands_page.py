"""The manual's page of commands, made from the parser's own words."""

from __future__ import annotations

import argparse

from sternwatch.cli.main import build_parser


def commands_text() -> str:
    """The page of commands, made from the parser's own words."""
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
