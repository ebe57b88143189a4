"""Keys as tokens: a printable key is its character, the others have the names in ``NAMED``."""

from __future__ import annotations

# Token → what the screen prints for it.
NAMED: dict[str, str] = {
    "space": "Space", "enter": "Enter", "escape": "Esc", "tab": "Tab", "backspace": "Backspace",
    "left": "←", "right": "→", "up": "↑", "down": "↓", "pageup": "PgUp", "pagedown": "PgDn",
    "home": "Home", "end": "End", "insert": "Ins", "delete": "Del",
    "ctrl+q": "Ctrl+Q", "ctrl+p": "Ctrl+P",
    **{f"f{n}": f"F{n}" for n in range(1, 13)},
}  # fmt: skip

# Further spellings of a token in the user's settings.
SPELLINGS: dict[str, str] = {
    "esc": "escape", "return": "enter", "pgup": "pageup", "pgdn": "pagedown", "page up": "pageup",
    "page down": "pagedown", "←": "left", "→": "right", "↑": "up", "↓": "down", "del": "delete", "ins": "insert",
}  # fmt: skip

# Textual's names of keys whose events have no printable character.
TEXTUAL_NAMES: dict[str, str] = {"shift+tab": "tab", "ctrl+h": "backspace", "ctrl+m": "enter", "ctrl+i": "tab"}


def printed(token: str) -> str:
    """A key in print."""
    return NAMED.get(token, token)


def token_of(key: str, character: str | None) -> str:
    """The token of a key event, from Textual's name of the key and the character it would type."""
    if character is not None and len(character) == 1 and character.isprintable() and character != " ":
        return character
    if key in ("space", " "):
        return "space"
    return TEXTUAL_NAMES.get(key, key)
