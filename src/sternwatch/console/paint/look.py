"""How a theme shows each ink: its style, and the characters for drawing lines."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from rich.style import Style
from textual.theme import Theme

Glyphs = Literal["braille", "block", "plain"]

# Every ink that a painted widget may use. A theme gives each a look, or leaves it as `text`.
INKS: tuple[str, ...] = (
    "text",  # words
    "label",  # labels of numbers
    "rule",  # separating lines, ticks
    "number",  # depth digits and all other known, current numbers
    "old",  # numbers that are old or not settled
    "unknown",  # the dash for unknown values
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
    "zone",  # the band of wanted temperatures, as a ground
    "zone word",
    "bottom",
    "bed",  # all below the bottom, as a ground
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
    "ahead pair",  # the two chains that come closest
    "ahead mark",  # where they come closest
    "fish",
    "key",  # a key's name in the footer
    "act",  # what that key does
)


@dataclass(frozen=True)
class Look:
    """A theme for the painter."""

    name: str
    title: str
    glyphs: Glyphs
    inks: Mapping[str, Style]
    _made: dict[tuple[str, str], Style] = field(default_factory=dict, repr=False, compare=False)

    def style(self, ink: str, ground: str = "") -> Style:
        """The style of ``ink``, on the background of the ink ``ground`` where one is given."""
        made = self._made.get((ink, ground))
        if made is None:
            own = Style() if ink == "text" else self.inks.get(ink, Style())
            made = self.inks["text"] + own
            # An ink with its own background keeps it on any ground.
            if ground and own.bgcolor is None:
                made = made + Style(bgcolor=self.inks.get(ground, Style()).bgcolor)
            self._made[(ink, ground)] = made
        return made


FALLBACK = Look("fallback", "Fallback", "plain", {"text": Style.parse("#ffffff on #000000")})


@dataclass
class LookTheme(Theme):
    """A Textual theme that carries its look."""

    look: Look = FALLBACK


def look_of(theme: Theme) -> Look:
    """The look of an app's theme; plain where the theme is not one of ours."""
    return theme.look if isinstance(theme, LookTheme) else FALLBACK
