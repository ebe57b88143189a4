"""The pages of the manual that are made from the program itself: keys, words, preferences."""

from __future__ import annotations

from sternwatch.config import Preferences
from sternwatch.console.keys.acting import GROUPS, Keyboard
from sternwatch.console.keys.registry import ACTS
from sternwatch.console.keys.tokens import printed
from sternwatch.console.words.glossary import SECTIONS
from sternwatch.manual.book import Page, page_of, written


def every_page() -> tuple[Page, ...]:
    """All pages, in the order of the contents: those in files, then keys, glossary and preferences."""
    return (
        *written(),
        page_of("keys", _keys()),
        page_of("glossary", _glossary()),
        page_of("preferences", _preferences()),
    )


def _keys() -> str:
    lines = [
        "# Keys", "",
        "As they are unless your preferences say otherwise. An act without a key is in the palette (Ctrl+P).", "",
    ]  # fmt: skip
    for group in GROUPS:
        lines += [f"## {group}", "", "| at the helm | over a recording | act | what it does |", "|---|---|---|---|"]
        stations = [act for act in ACTS if act.group == group and act.station is not None]
        if stations:
            lines.append(f"| 1 … = | | hit | {_cell(stations[0].help)} |")
        for act in ACTS:
            if act.group == group and act.station is None:
                helm, replay = (_labels(act.on.get(board)) for board in (Keyboard.HELM, Keyboard.REPLAY))
                lines.append(f"| {helm} | {replay} | {act.words} | {_cell(act.help)} |")
        lines.append("")
    return "\n".join(lines)


def _labels(tokens: tuple[str, ...] | None) -> str:
    if tokens is None:
        return "–"
    named = [f"`` {token} ``" if token == "`" else f"`{printed(token)}`" for token in tokens]
    return " ".join(named) or "palette"


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


def _glossary() -> str:
    lines = ["# Glossary", ""]
    for title, entries in SECTIONS:
        lines += [f"## {title}", "", *(f"- **{word}**: {meaning}" for word, meaning in entries), ""]
    return "\n".join(lines)


def _preferences() -> str:
    lines = [
        "# Preferences", "",
        "`sternwatch preferences` shows and changes them. They are a TOML file, `config.toml` in the folder that "
        "`sternwatch paths` calls *config*; what is left out stays as it is.", "",
        "| name | what it is |", "|---|---|",
    ]  # fmt: skip
    lines += [f"| `{name}` | {_cell(field.description or '')} |" for name, field in Preferences.model_fields.items()]
    return "\n".join(lines)
