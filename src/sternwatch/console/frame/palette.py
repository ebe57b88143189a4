"""The command palette: an entry for every act of the registry that exists in this session."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from textual.command import DiscoveryHit, Hit, Hits, Provider
from textual.content import Content

from sternwatch.console.frame.session_app import SessionApp
from sternwatch.console.keys.acting import Act
from sternwatch.console.keys.registry import ACTS
from sternwatch.console.paint.hiding import key_names
from sternwatch.console.paint.look import look_of

# The usual reasons to open the palette: pages and trip acts without a key. None of them is an entry on a rod, so that
# Enter on an empty line changes nothing of the spread.
FIRST = (
    "view", "how sure", "check", "debrief", "producing", "sensors", "spread plan", "fit", "manual", "words",
    "begin trip", "end trip", "people", "target", "limit",
)  # fmt: skip

HELP_SCORE = 0.01  # less than the score of any matching title


def _place(act: Act) -> tuple[bool, int]:
    """An act's rank: those used most first, the rods last, the others in the registry's order."""
    return act.station is not None, FIRST.index(act.id) if act.id in FIRST else len(FIRST)


class Acts(Provider):
    """Finds every act by its words and its help."""

    @property
    def watch_app(self) -> SessionApp:
        return self.app  # type: ignore[return-value]

    def entries(self) -> Iterator[tuple[str, Act]]:
        """(words, act): those used most first, the rods last."""
        controls, keymap = self.watch_app.controls, self.watch_app.keymap
        for act in sorted(ACTS, key=_place):
            if not controls.offers(act):
                continue
            words = act.words
            if act.station is not None:
                rod = controls.rod(act.station)
                words = f"{'hit on' if controls.keyboard.hits else 'choose'} {controls.name(rod)}"
            label = key_names(keymap.label(controls.keyboard, act.id), look_of(self.app.current_theme).glyphs)
            yield f"{words} · {label}" if label else words, act

    async def discover(self) -> Hits:
        for title, act in self.entries():
            yield DiscoveryHit(Content(title), self._chooser(act), text=title, help=act.help)

    async def search(self, query: str) -> Hits:
        # Fuzzy matching tries every way to find the letters. In a long sentence that takes seconds, so the help is
        # searched by whole words.
        matcher = self.matcher(query)
        wanted = query.lower().split()
        for title, act in self.entries():
            score = matcher.match(title) or (HELP_SCORE if all(word in act.help.lower() for word in wanted) else 0.0)
            if score > 0:
                yield Hit(score, matcher.highlight(title), self._chooser(act), text=title, help=act.help)

    def _chooser(self, act: Act) -> Callable[[], None]:
        return lambda: self.watch_app.chosen_in_palette(act)
