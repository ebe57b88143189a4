"""Maps keys to acts: the registry's defaults with the user's own ``[keys]``.

A station keeps its name in the spread file and in the log, whatever key the user presses for it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sternwatch.config import ConfigError, Preferences, nearest
from sternwatch.console.keys.acting import RECORDING, Act, Keyboard
from sternwatch.console.keys.registry import ACTS, BY_ID, tokens_of
from sternwatch.console.keys.tokens import NAMED, SPELLINGS, printed


def token_from(written: str, where: str) -> str:
    """The token for a user's spelling of a key.

    Raises ``ConfigError`` that names ``where`` and the nearest known key.
    """
    if len(written) == 1 and written.isprintable() and written != " ":
        return SPELLINGS.get(written, written)
    name = " " if written == " " else written.strip().lower()
    token = SPELLINGS.get(name, "space" if name == " " else name)
    if token in NAMED:
        return token
    hint = nearest(name, [*NAMED, *SPELLINGS])
    raise ConfigError(f"{where}: there is no key {written!r}; a single character, or one of {', '.join(NAMED)}{hint}")


@dataclass(frozen=True)
class Keymap:
    """Tokens to acts and back, for both keyboards."""

    acts: Mapping[Keyboard, Mapping[str, Act]]
    keys: Mapping[Keyboard, Mapping[str, tuple[str, ...]]]  # act id → tokens

    def act(self, keyboard: Keyboard, token: str) -> Act | None:
        """The act of a key. A capital acts as its small letter unless it has its own act."""
        table = self.acts[keyboard]
        return table.get(token) or table.get(token.lower() if len(token) == 1 else token)

    def keys_of(self, keyboard: Keyboard, act_id: str) -> tuple[str, ...]:
        """The keys of an act as tokens; empty where it has none there."""
        return self.keys[keyboard].get(act_id, ())

    def label(self, keyboard: Keyboard, act_id: str) -> str:
        """The keys of an act in print. A key to be pressed twice is printed twice."""
        shown = [printed(token) for token in self.keys_of(keyboard, act_id)]
        if BY_ID[act_id].twice:
            shown = [f"{key} {key}" for key in shown]
        return " or ".join(shown)


def build(changed: Mapping[str, str | Sequence[str]], where: str = "keys") -> Keymap:
    """The key map with the user's changes. Raises ``ConfigError`` for an unknown act or key, or a key used twice."""
    own: dict[str, tuple[str, ...]] = {}
    for act_id, written in changed.items():
        if act_id not in BY_ID:
            raise ConfigError(
                f"{where}: there is no act {act_id!r}{nearest(act_id, BY_ID)} (the help screen, key ?, lists them)"
            )
        listed = [written] if isinstance(written, str) else list(written)
        own[act_id] = tuple(token_from(key, f"{where}: {act_id!r}") for key in listed)
    return Keymap(*_tables(own, where))


def check(preferences: Preferences, where: str) -> None:
    """Refuse invalid keys. ``where`` names the file. Raises ``ConfigError``."""
    build(preferences.keys, f"{where}: keys")


def _tables(
    own: Mapping[str, tuple[str, ...]], where: str
) -> tuple[dict[Keyboard, dict[str, Act]], dict[Keyboard, dict[str, tuple[str, ...]]]]:
    acts: dict[Keyboard, dict[str, Act]] = {}
    keys: dict[Keyboard, dict[str, tuple[str, ...]]] = {}
    for keyboard in Keyboard:
        acts[keyboard], keys[keyboard] = {}, {}
        # In the demo the keys for playing come first, and the helm's acts get the remaining keys.
        demo = keyboard is Keyboard.DEMO
        for act in sorted(ACTS, key=lambda act: demo and act.group != RECORDING):
            tokens = tokens_of(act, keyboard)
            if tokens is None:
                continue
            if tokens or not any(act.on.values()):  # here only the palette has this act: its key belongs to another
                tokens = own.get(act.id, tokens)
            if demo:
                tokens = tuple(token for token in tokens if token not in acts[keyboard])
            keys[keyboard][act.id] = tokens
            for token in tokens:
                before = acts[keyboard].setdefault(token, act)
                if before is not act:
                    raise ConfigError(
                        f"{where}: {printed(token)} would mean both {before.id!r} and {act.id!r} "
                        f"({keyboard} keys); give one of them another key"
                    )
    return acts, keys
