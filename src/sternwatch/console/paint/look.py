"""How a theme shows each ink: its style, and the characters that lines are drawn with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from rich.style import Style
from textual.theme import Theme

Glyphs = Literal["braille", "block", "plain"]

# Every ink a painted widget may use; a theme says how each looks, or leaves it as `text`.
INKS: tuple[str, ...] = (
    "text",  # words
    "label",  # what a number is
    "rule",  # separating lines, ticks
    "number",  # the depth digits and every other number that is known and current
    "old",  # numbers that are not current or not settled
    "unknown",  # the dash
    "state",  # IN, OUT, UNSETTLED …
    "fight",  # FIGHTING
    "chosen",  # the chosen rod's name tab
    "name",  # the other rods' name tabs
    "transom",  # the stern's bar above the rods
    "caution",
    "warning",
    "alarm",
    "caution band",  # the same as full-width lines
    "warning band",
    "alarm band",
    "acknowledged",
    "session",  # DEMO, REPLAY, PRACTICE
    "boat",
    "water",  # the surface
    "zone",  # the band of temperatures wanted, as a ground
    "zone word",
    "bottom",
    "bed",  # what lies below the bottom, as a ground
    "depth a",  # the bottom on a chart, as grounds: the shoalest in view
    "depth b",
    "depth c",
    "depth d",  # the deepest
    "contour",
    "line a",
    "line b",
    "line c",
    "line d",
    "line chosen",
    "lure",  # a rod's key at its lure
    "lure chosen",
    "lure fight",
    "tackle",
    "ahead",  # where the chains will be
    "ahead pair",  # the two that come closest
    "ahead mark",  # where they do
    "fish",
    "key",  # a key in the footer
    "act",  # what it does
)


@dataclass(frozen=True)
class Look:
    """A theme as the painter uses it."""

    name: str
    title: str
    glyphs: Glyphs
    inks: Mapping[str, Style]
    _made: dict[tuple[str, str], Style] = field(default_factory=dict, repr=False, compare=False)

    def style(self, ink: str, ground: str = "") -> Style:
        """The style of ``ink``, on the background of the ink ``ground`` when one is given."""
        made = self._made.get((ink, ground))
        if made is None:
            own = Style() if ink == "text" else self.inks.get(ink, Style())
            made = self.inks["text"] + own
            # An ink with a background of its own stands out of any ground.
            if ground and own.bgcolor is None:
                made = made + Style(bgcolor=self.inks.get(ground, Style()).bgcolor)
            self._made[(ink, ground)] = made
        return made


FALLBACK = Look("fallback", "Fallback", "plain", {"text": Style.parse("#ffffff on #000000")})


@dataclass
class LookTheme(Theme):
    """A Textual theme that carries its look."""

    look: Look = FALLBACK
