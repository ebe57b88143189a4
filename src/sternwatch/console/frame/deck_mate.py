"""The helm's part in the deck's page: begins it on request, and gives it what the screen shows.

Nothing of the page is imported before the request.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from sternwatch.console.controls.controls import Controls, Tone
from sternwatch.console.paint.look import Look

if TYPE_CHECKING:
    from sternwatch.deck.deck import Deck
    from sternwatch.watch.picture.model import Picture

Face = Literal["sun", "dusk", "night"]
_NIGHT_GREEN, _NIGHT_BLUE = 0x80, 0x40  # the greatest brightness of a night theme's text


def face_of(look: Look, *, dark: bool) -> Face:
    """The page's face for a theme."""
    if not dark:
        return "sun"
    colour = look.style("text").color
    drawn = None if colour is None else colour.get_truecolor()
    return "night" if drawn is not None and drawn.green < _NIGHT_GREEN and drawn.blue < _NIGHT_BLUE else "dusk"


class DeckMate:
    """The page of one session, if there is one."""

    def __init__(self, controls: Controls, deck: Deck | None = None) -> None:
        self._controls, self.deck = controls, deck
        self.why_none = ""  # why the last one could not begin
        self._picture_s = 0.0  # monotonic time of the newest picture

    def begin(self, t_s: float, *, lan: bool) -> None:
        """Begin a page, for this machine alone or for the boat's network. It replaces a page of the other kind."""
        from sternwatch.deck.deck import Deck
        from sternwatch.deck.where import DeckError, Where
        from sternwatch.places import data_dir

        positions = False
        if self.deck is not None:
            if self.deck.runs and self.deck.where.lan >= lan:
                return
            positions = self.deck.positions
            self.end()
        self.why_none = ""
        try:
            self.deck = Deck(Where(lan), self._controls.runner.session.value, data_dir(), positions=positions)
        except DeckError as fault:
            self.why_none = f"No page for the deck: {fault}"
            self._controls.say(self.why_none, t_s, Tone.ERROR)

    def end(self) -> None:
        """End the page."""
        if self.deck is not None:
            self.deck.stop()
            self.deck = None

    def came(self, t_s: float) -> None:
        """Note that a picture came."""
        self._picture_s = t_s

    def tell(self, picture: Picture | None, face: Face, t_s: float) -> None:
        """Give the page what the screen shows."""
        if self.deck is None:
            return
        from sternwatch.deck.shown import Shown, Turn

        controls = self._controls
        control = controls.runner.replay
        status = control.status() if control is not None else None
        # A recording that is paused, or plays slowly, is still as new as the helm's screen.
        held = status is not None and (not status.playing or status.rate < 1.0)
        made = controls.planning_spread.newest
        self.deck.offer(
            Shown(
                controls.runner.session,
                picture,
                controls.units,
                told_s=t_s if held or picture is None else self._picture_s,
                face=face,
                mirrored=controls.preferences.mirror,
                turn=None if controls.called is None else Turn(*controls.called),
                paused=status is not None and not status.playing,
                order=() if made is None else made.plan.letting_out.keys,
                busy=controls.runner.busy,
            )
        )
