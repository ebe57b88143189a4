"""One line below the strip: her present rate of turn, the limits to both sides, and their age."""

from __future__ import annotations

from textual.geometry import Size

from sternwatch.console.paint.canvas import Grid, Painted
from sternwatch.console.paint.look import Look
from sternwatch.console.words import outlook as said
from sternwatch.console.words import rods as words
from sternwatch.watch.picture.model import Picture, RodState

_GAP = 3
NO_ROD = "no rod out: nothing to forecast"
NO_SPEED = "no speed: nothing to forecast"
LOOKING = "looking ahead: no forecast yet"
SEARCHING = "working out turn limits"


class TurnLine(Painted):
    """The present rate of turn against the limits."""

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002
        return 1

    def paint(self, grid: Grid, picture: Picture, look: Look) -> None:
        signs = words.SIGNS[look.glyphs]
        pieces = self.pieces(picture)
        shown = fitted([forms for forms, _, _ in pieces], grid.width - 2, order(picture, len(pieces)))
        x = 1
        for text, (_, ink, rule) in zip(shown, pieces, strict=True):
            if not text:
                continue
            if x > 1:
                grid.put(x + 1, 0, signs.bar if rule else " ", "rule")
                x += _GAP
            x = grid.put(x, 0, text, ink)

    def pieces(self, picture: Picture) -> list[tuple[words.Forms, str, bool]]:
        """The pieces of the line: forms, ink, and whether a rule precedes them."""
        outlook = picture.ahead
        over = said.over_limit(picture)
        straight = said.turning(picture)[0].startswith("going")
        now = (said.turning(picture), "warning band" if over else "label" if straight else "number", True)
        if outlook is None:
            out = any(rod.state is not RodState.IN for rod in picture.rods)
            why = NO_ROD if not out else NO_SPEED if picture.own.speed_m_s is None else LOOKING
            return [now, ((why,), "label", True)]
        if outlook.limits is None:
            return [now, ((SEARCHING,), "label", True)]
        limits = outlook.limits
        return [
            now,
            (said.side_forms(limits.port), "text", True),
            (said.side_forms(limits.starboard), "text", True),
            (said.slowest_forms(limits, self.units), "text", True),
            (said.risk_forms(limits), "text", True),
            (said.age_forms(picture, limits.t_s), "label", False),
        ]


def order(picture: Picture, count: int) -> list[int]:
    """The order in which pieces get room: the side of the turn, the present rate, the other side, the others."""
    rate = picture.own.rate_of_turn_deg_s or 0.0
    sides = [2, 1] if rate > 0 else [1, 2]
    return [n for n in (sides[0], 0, sides[1], 3, 4, 5) if n < count]


def fitted(pieces: list[words.Forms], room: int, first: list[int]) -> list[str]:
    """The longest forms that fit ``room`` together. All begin with the shortest, then each grows in turn."""
    at = [len(forms) - 1 for forms in pieces]

    def needed() -> int:
        lengths = [len(forms[level]) for forms, level in zip(pieces, at, strict=True)]
        return sum(lengths) + _GAP * (sum(length > 0 for length in lengths) - 1)

    grew = True
    while grew:
        grew = False
        for n in first:
            if at[n] == 0:
                continue
            at[n] -= 1
            if needed() > room:
                at[n] += 1
            else:
                grew = True
    return [forms[level] for forms, level in zip(pieces, at, strict=True)]
