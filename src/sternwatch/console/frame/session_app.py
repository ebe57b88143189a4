"""What a session's screen may ask of its application."""

from __future__ import annotations

from typing import Protocol

from sternwatch.config import Preferences
from sternwatch.console.controls.controls import Controls
from sternwatch.console.frame.deck_mate import DeckMate
from sternwatch.console.keys.acting import Act
from sternwatch.console.keys.keymap import Keymap
from sternwatch.console.keys.lock import WipingLock
from sternwatch.debrief.counting.now_producing import Panel
from sternwatch.debrief.report.following import Following
from sternwatch.debrief.report.so_far import Debriefs
from sternwatch.watch.picture.model import Picture
from sternwatch.watch.sessions.runner import Runner


class SessionApp(Protocol):
    """The application for its screens. A screen changes no field here; it only calls methods."""

    controls: Controls
    runner: Runner
    preferences: Preferences
    keymap: Keymap
    lock: WipingLock
    following: Following[Panel]
    debriefs: Debriefs
    shown: Picture | None  # the picture on the screen, with steady numbers
    started_s: float  # monotonic, when the session or its trip began
    focused_terminal: bool
    view: str  # the name of the view that is shown
    cautions_read: int  # how many there are
    deck_mate: DeckMate

    @property
    def at_helm(self) -> bool:
        """Whether the helm is in front."""
        ...

    def clock(self) -> float:
        """Monotonic time [s]."""
        ...

    def show_view(self, view: str) -> None:
        """Show a view by its name."""
        ...

    def show_drill(self) -> None:
        """Show the drill's page."""
        ...

    def show_words(self) -> None:
        """Show what the words mean."""
        ...

    def chosen_in_palette(self, act: Act) -> None:
        """Do an act chosen in the palette."""
        ...
