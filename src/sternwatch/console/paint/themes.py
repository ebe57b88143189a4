"""Reads and checks theme files, and makes looks and Textual themes from them.

A theme is one TOML file; its file name is its name. ``[paint]`` names colours, ``[ink]`` uses them for each ink of
``look.INKS``, ``[screen]`` gives the few colours that Textual's own widgets need. The shipped files are read first,
then the user's folder, whose files add themes or replace shipped ones. A faulty file is left out with a notice; the
screen still starts.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from rich.style import Style
from textual.app import App
from textual.theme import BUILTIN_THEMES

from sternwatch import places
from sternwatch.console.paint.look import FALLBACK, INKS, Glyphs, Look, LookTheme
from sternwatch.console.paint.terminal import PLAIN, wants_plain
from sternwatch.reading import UnreadableError, read_text, toml_of
from sternwatch.system_words import reason

# The order in which one key steps through them; the user's own follow by name.
ORDER = ("day", "dusk", "night", "plain")

_HEX = re.compile(r"#[0-9a-fA-F]{6}")
_ATTRIBUTES = ("bold", "italic", "underline", "reverse")


class ThemeError(ValueError):
    """A theme file cannot be used. The message is a sentence that names file and field."""


class _Screen(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)

    background: str
    surface: str
    panel: str
    text: str
    faint: str
    accent: str
    on_accent: str
    warning: str
    alarm: str


class _File(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)

    title: str = Field(min_length=1, max_length=16)
    dark: bool
    glyphs: Literal["braille", "block", "plain"]
    paint: dict[str, str]
    ink: dict[str, str]
    screen: _Screen


@dataclass(frozen=True)
class Loaded:
    """Every usable theme, in order, and sentences for the user about the others."""

    themes: tuple[LookTheme, ...]
    notices: tuple[str, ...]

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(theme.name for theme in self.themes)


def load(folders: Iterable[Path] | None = None) -> Loaded:
    """Read the theme files of ``folders`` (the shipped ones, then the user's). Later folders take precedence."""
    if folders is None:
        folders = (places.shipped("themes"), places.config_dir() / "themes")
    found: dict[str, LookTheme] = {}
    notices: list[str] = []
    for folder in folders:
        for path in sorted(folder.glob("*.toml")):
            try:
                found[path.stem] = read(path)
            except ThemeError as wrong:
                kept = " The shipped one is used." if path.stem in found else " It is left out."
                notices.append(f"{wrong}{kept}")
    if not found:
        notices.append("No theme file could be read; the screen uses white on black.")
        found[FALLBACK.name] = _textual(FALLBACK, dark=True, screen=_FALLBACK_SCREEN)
    order = [name for name in ORDER if name in found] + sorted(set(found) - set(ORDER))
    return Loaded(tuple(found[name] for name in order), tuple(notices))


def install(app: App[Any], loaded: Loaded | None = None) -> Loaded:
    """Register every theme with ``app`` and remove foreign ones, without switching yet."""
    loaded = load() if loaded is None else loaded
    for theme in loaded.themes:
        app.register_theme(theme)
    return loaded


def begin(app: App[Any], loaded: Loaded, preferred: str | None, remembered: str | None) -> None:
    """Choose a theme before anything is painted: no white flash before dawn.

    The user's preference precedes what the terminal can show, and that precedes the last theme, which may have been
    for another terminal.
    """
    names = loaded.names
    terminals = PLAIN if wants_plain() else None
    wanted = (preferred, terminals, remembered, *ORDER, *names)
    app.set_reactive(App.theme, next(name for name in wanted if name in names))
    app.stylesheet.set_variables(app.get_css_variables())  # made before our theme was there
    for name in BUILTIN_THEMES:
        if name not in names:
            app.unregister_theme(name)


def following(loaded: Loaded, name: str) -> LookTheme:
    """The theme after a named one: night, dusk, day, and the user's own."""
    at = loaded.names.index(name) if name in loaded.names else -1
    return loaded.themes[(at + 1) % len(loaded.themes)]


def read(path: Path) -> LookTheme:
    """Read one theme file. Raises :class:`ThemeError` with one sentence."""
    try:
        given = toml_of(read_text(path))
    except (OSError, UnreadableError) as wrong:
        raise ThemeError(f"Theme file {path.name} cannot be read: {reason(wrong)}.") from wrong
    try:
        file = _File.model_validate(given)
    except ValidationError as wrong:
        raise ThemeError(f"Theme file {path.name}: {_first_fault(wrong)}.") from wrong
    return _make(path, file)


def _first_fault(wrong: ValidationError) -> str:
    first = wrong.errors()[0]
    place = ".".join(str(part) for part in first["loc"])
    return f"{place}: {first['msg'][0].lower()}{first['msg'][1:]}"


def _make(path: Path, file: _File) -> LookTheme:
    for name, colour in file.paint.items():
        if not _HEX.fullmatch(colour):
            raise ThemeError(f'Theme file {path.name}: paint.{name} is "{colour}"; a colour is written "#rrggbb".')
    inks: dict[str, Style] = {}
    for ink, words in file.ink.items():
        if ink not in INKS:
            raise ThemeError(f'Theme file {path.name}: there is no ink "{ink}"{_nearest(ink, INKS)}.')
        inks[ink] = _style(path, ink, words, file.paint)
    text = inks.get("text")
    if text is None or text.color is None or text.bgcolor is None:
        raise ThemeError(f'Theme file {path.name}: ink.text must give both colours, as in "ink on paper".')
    screen = {
        name: _colour(path, f"screen.{name}", value, file.paint) for name, value in file.screen.model_dump().items()
    }
    return _textual(Look(path.stem, file.title, file.glyphs, inks), dark=file.dark, screen=screen)


def _style(path: Path, ink: str, words: str, paint: dict[str, str]) -> Style:
    attributes: dict[str, bool] = {}
    colours: dict[str, str] = {}
    slot = "color"
    for word in words.split():
        if word in _ATTRIBUTES:
            attributes[word] = True
        elif word == "on":
            slot = "bgcolor"
        else:
            colours[slot] = _colour(path, f"ink.{ink}", word, paint)
    return Style(**attributes, **colours)  # type: ignore[arg-type]


def _colour(path: Path, place: str, word: str, paint: dict[str, str]) -> str:
    if word in paint:
        return paint[word].lower()
    if _HEX.fullmatch(word):
        return word.lower()
    raise ThemeError(
        f'Theme file {path.name}: {place} says "{word}"; a name from [paint], "#rrggbb", "on" or one of '
        f"{', '.join(_ATTRIBUTES)} is accepted{_nearest(word, [*paint, *_ATTRIBUTES])}."
    )


def _nearest(word: str, accepted: Iterable[str]) -> str:
    close = difflib.get_close_matches(word, list(accepted), n=1)
    return f'; did you mean "{close[0]}"?' if close else ""


_FALLBACK_SCREEN = {
    "background": "#000000", "surface": "#000000", "panel": "#1c1c1c", "text": "#ffffff", "faint": "#b0b0b0",
    "accent": "#ffffff", "on_accent": "#000000", "warning": "#ffffff", "alarm": "#ffffff",
}  # fmt: skip


def _textual(look: Look, *, dark: bool, screen: dict[str, str]) -> LookTheme:
    """The Textual theme of a look. It gives every derived colour that Textual would mix with white or black."""
    text, faint, accent, on_accent = screen["text"], screen["faint"], screen["accent"], screen["on_accent"]
    surface, panel = screen["surface"], screen["panel"]
    variables = {
        "text": text,
        "text-muted": faint,
        "text-disabled": faint,
        "text-primary": accent,
        "text-secondary": text,
        "text-accent": accent,
        "text-warning": screen["warning"],
        "text-error": screen["alarm"],
        "text-success": text,
        "foreground": text,
        "foreground-muted": faint,
        "foreground-disabled": faint,
        "rule": _colour_of(look.style("rule")),
        "border": accent,
        "border-blurred": faint,
        "scrollbar": faint,
        "scrollbar-hover": text,
        "scrollbar-active": accent,
        "scrollbar-background": surface,
        "scrollbar-background-hover": surface,
        "scrollbar-background-active": surface,
        "scrollbar-corner-color": surface,
        "block-cursor-foreground": on_accent,
        "block-cursor-background": accent,
        "block-cursor-text-style": "bold",
        "block-cursor-blurred-foreground": text,
        "block-cursor-blurred-background": panel,
        "block-cursor-blurred-text-style": "bold underline",  # the panel is next to the surface in the dark
        "block-hover-background": panel,
        "input-cursor-background": text,
        "input-cursor-foreground": screen["background"],
        "input-selection-background": panel,
        "footer-foreground": text,
        "footer-background": surface,
        "footer-key-foreground": accent,
        "footer-key-background": surface,
        "footer-description-foreground": text,
        "button-foreground": text,
        "button-color-foreground": on_accent,
        "link-color": accent,
        "link-background": surface,
        "link-color-hover": on_accent,
        "link-background-hover": accent,
    }
    return LookTheme(
        name=look.name,
        primary=accent,
        secondary=accent,
        accent=accent,
        warning=screen["warning"],
        error=screen["alarm"],
        success=text,
        foreground=text,
        background=screen["background"],
        surface=surface,
        panel=panel,
        boost=panel,
        dark=dark,
        variables=variables,
        look=look,
    )


def _colour_of(style: Style) -> str:
    triplet = style.color.triplet if style.color else None
    return triplet.hex if triplet else "#808080"


__all__ = ["ORDER", "Glyphs", "Loaded", "ThemeError", "install", "load", "read"]
