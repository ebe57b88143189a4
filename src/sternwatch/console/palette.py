"""The command palette: an entry for every act of the registry that exists in this session."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from textual.command import DiscoveryHit, Hit, Hits, Provider

from sternwatch.console.keys import ACTS, Act

if TYPE_CHECKING:
    from sternwatch.console.app import SternwatchApp


class Acts(Provider):
    """Every act, by its words and its help."""

    @property
    def watch_app(self) -> SternwatchApp:
        return self.app  # type: ignore[return-value]

    def entries(self) -> Iterator[tuple[str, str, Act]]:
        """(what it is called, its help, the act), in the registry's order."""
        desk, keymap = self.watch_app.desk, self.watch_app.keymap
        for act in ACTS:
            if desk.keyboard not in act.on:
                continue
            words = act.words
            if act.station is not None:
                rod = desk.rod(act.station)
                if rod is None:
                    continue
                words = f"hit on {desk.name(rod)}" if desk.keyboard == "helm" else f"choose {desk.name(rod)}"
            label = keymap.label(desk.keyboard, act.id)
            title = f"{words}  [{label}]" if label and "[" not in label and "]" not in label else words
            yield title, act.help, act

    async def discover(self) -> Hits:
        for title, help_text, act in self.entries():
            yield DiscoveryHit(title, lambda act=act: self.watch_app.chosen_in_palette(act), help=help_text)

    async def search(self, query: str) -> Hits:
        matcher = self.matcher(query)
        for title, help_text, act in self.entries():
            score = max(matcher.match(title), 0.6 * matcher.match(help_text))
            if score > 0:
                yield Hit(
                    score,
                    matcher.highlight(title),
                    lambda act=act: self.watch_app.chosen_in_palette(act),
                    help=help_text,
                )
