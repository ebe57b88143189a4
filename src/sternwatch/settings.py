"""Changes the preferences file from a screen, one setting at a time. Checks the whole file, keeps its comments."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from sternwatch.config import MOST_RISK, NAME, ConfigError, Preferences, parse_preferences
from sternwatch.files import write_whole
from sternwatch.gear.values.units import Dimension
from sternwatch.places import config_dir
from sternwatch.reading import UnreadableError, read_text, toml_of
from sternwatch.system_words import reason
from sternwatch.water.zones import ZONES

Check = Callable[[Preferences, str], object]
"""What else must hold of preferences, raising ``ConfigError`` or ``ValueError``: the key map, the feeds."""


def config_path() -> Path:
    """The path of the preferences' file, which need not exist."""
    return config_dir() / NAME


def change(name: Sequence[str], value: Any, path: Path | None = None, check: Check | None = None) -> Preferences:
    """Set the value at ``name`` (``("zones", "coho", "low")``) in the file; None removes it. Returns all preferences.

    See :func:`change_all`.
    """
    return change_all({tuple(name): value}, path, check)


def change_all(
    changes: Mapping[tuple[str, ...], Any], path: Path | None = None, check: Check | None = None
) -> Preferences:
    """Change several values at once, all or none. Returns all preferences.

    Writes nothing unless the new file is valid; keeps earlier versions. Raises ``ConfigError``: a sentence that names
    file, field, the value given and what is accepted, or says why the file cannot be written.
    """
    file = path or config_path()
    try:
        document = tomlkit.parse(_text(file))
    except (UnreadableError, TOMLKitError) as error:
        raise ConfigError(f"{file}: {error}") from None
    for name, value in changes.items():
        _put(document, name, value, file)
    found = parse_preferences(document.unwrap(), str(file))
    if check is not None:
        try:
            check(found, str(file))
        except ValueError as error:
            raise ConfigError(str(error)) from None
    try:
        write_whole(file, tomlkit.dumps(document), keep=True)
    except OSError as error:
        raise ConfigError(f"{file}: cannot be written ({reason(error)})") from None
    return found


def _text(file: Path) -> str:
    """The file's text, checked to be TOML; empty where there is no file. Raises UnreadableError."""
    try:
        text = read_text(file)
    except FileNotFoundError:
        return ""
    try:
        toml_of(text)
    except UnreadableError as error:
        raise UnreadableError(f"not valid TOML: {error}") from None
    return text


def _put(document: Any, name: Sequence[str], value: Any, file: Path) -> None:
    table = document
    for part in name[:-1]:
        if part not in table:
            if value is None:
                return
            table[part] = tomlkit.table()
        table = table[part]
        if not isinstance(table, Mapping):
            raise ConfigError(f"{file}: {part} is {table!r}; a table is expected")
    if value is not None:
        table[name[-1]] = value
    elif name[-1] in table:
        del table[name[-1]]


@dataclass(frozen=True, slots=True)
class Row:
    """One setting as a screen shows it."""

    name: tuple[str, ...]
    title: str
    now: str  # its value in words
    about: str
    choices: tuple[tuple[str, Any], ...] = ()  # words and value of each choice; empty: the user types the value
    own: bool = False  # whether the file has it; else it is the default


_TITLES = {
    "units": "units",
    "theme": "theme to start with",
    "mouse": "mouse on helm screens",
    "mirror": "columns mirrored",
    "little": "a little line",
    "lot": "a lot of line",
    "lead_step": "a step of lead",
    "let_out_rate": "line let out in a second",
    "zone": "zone wanted",
    "risk": "risk of a turn",
    "bell": "bell",
    "alert_command": "command at an alert",
    "species": "fish to choose from",
}
_PERCENT = ("risk",)  # shares of one, which the crew reads and types in per cent
_TABLES = ("feed", "keys", "zones")
_LISTS = ("species", "alert_command")


def rows(preferences: Preferences, given: Mapping[str, Any], themes: Sequence[str]) -> list[Row]:
    """Every setting in the order of the file's documentation. ``given``: the values in the file."""
    made = []
    for name, field in Preferences.model_fields.items():
        if name in _TABLES:
            continue
        choices = _choices(name, preferences, themes)
        value = given.get(name)
        words = next((words for words, one in choices if one == getattr(preferences, name)), "")
        if not choices:
            words = _words(name, value) if name in given else _default(name, preferences)
        title = _TITLES.get(name, name.replace("_", " "))
        about = f"{field.description or ''}{_example(name, preferences)}"
        made.append(Row((name,), title, words, about, choices, name in given))
    for name, entry in preferences.feed.items():
        source = str(entry.get("source", "–")) if isinstance(entry, Mapping) else str(entry)
        made.append(
            Row(("feed", name, "source"), f"feed {name}", source, "a source; nothing takes it away", own=True)
        )
    made.append(
        Row(("feed",), "another feed", "–", 'a name and a source, as "gps=serial:auto" or "net=tcp:HOST:10110"')
    )
    return made


def given(path: Path | None = None) -> dict[str, Any]:
    """The values in the file, unchecked; nothing where there is no file or it cannot be read."""
    file = path or config_path()
    try:
        return toml_of(_text(file))
    except UnreadableError:
        return {}


def typed(row: Row, text: str) -> tuple[tuple[str, ...], Any]:
    """The name and value that a typed line means for a row. Value None: remove it from the file.

    Raises ``ConfigError`` where the line is not valid.
    """
    text = text.strip()
    if row.name == ("feed",):
        name, mark, source = text.partition("=")
        if not mark or not name.strip() or not source.strip():
            raise ConfigError(f'another feed: {text!r}; a name, =, and a source are wanted, as "gps=serial:auto"')
        return ("feed", name.strip(), "source"), source.strip()
    if not text:
        return (row.name[:2] if row.name[0] == "feed" else row.name), None
    if row.name[0] in _LISTS:
        separator = "," if row.name[0] == "species" else None
        return row.name, [part.strip() for part in text.split(separator) if part.strip()]
    if row.name[0] in _PERCENT:
        return row.name, _share(row, text)
    return row.name, text


def _share(row: Row, text: str) -> float:
    """A percentage as it was typed, as a share of one."""
    try:
        share = float(text.removesuffix("%").replace(",", ".")) / 100.0
    except ValueError:
        raise ConfigError(f"{row.title}: {text!r} is no percentage ({row.about})") from None
    if not 0.0 <= share <= MOST_RISK:
        raise ConfigError(f"{row.title}: {text!r} is not between 0 and {MOST_RISK * 100.0:.0f} %")
    return share


def _choices(name: str, preferences: Preferences, themes: Sequence[str]) -> tuple[tuple[str, Any], ...]:
    if name == "units":
        return (
            ("us: mph, ft, °F, lb", "us"),
            ("metric: km/h, m, °C, kg", "metric"),
            ("knots: kn, m, °C, kg", "knots"),
        )
    if name == "clock":
        return (("the boat's local time", "boat"), ("UTC", "UTC"))
    if name == "theme":
        return (("the last used", None), *((theme, theme) for theme in themes))
    if name == "zone":
        zones = dict.fromkeys((*preferences.zones, *ZONES))
        return (("none", None), *((zone, zone) for zone in zones))
    if Preferences.model_fields[name].annotation is bool:
        return (("off", False), ("on", True))
    return ()


# Words for a quantity that is not in the file: the value that then holds.
_USUAL = {
    "little": ("little_m", Dimension.LENGTH),
    "lot": ("lot_m", Dimension.LENGTH),
    "lead_step": ("lead_step_m", Dimension.LENGTH),
    "let_out_rate": ("let_out_m_s", Dimension.LENGTH),  # in a second
}


def _default(name: str, preferences: Preferences) -> str:
    """The value that holds without an entry in the file."""
    if name in _USUAL:
        return f"the usual, {_usual(name, preferences)}"
    return _words(name, getattr(preferences, name))


def _example(name: str, preferences: Preferences) -> str:
    """How a quantity is typed, in the crew's own units."""
    return f', as "{_usual(name, preferences)}"' if name in _USUAL else ""


def _usual(name: str, preferences: Preferences) -> str:
    attribute, dimension = _USUAL[name]
    rate = name == "let_out_rate"
    text = preferences.system.show(getattr(preferences, attribute), dimension, 1 if rate else 0)
    return f"{text}/s" if rate else text


def _words(name: str, value: Any) -> str:
    if name in _PERCENT and isinstance(value, int | float):
        return f"{value * 100.0:g} %"
    if isinstance(value, list | tuple):
        return ", ".join(map(str, value)) or "none"
    return "none" if value is None else str(value)
