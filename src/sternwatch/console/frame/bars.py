"""The bars around the rods: the frame with the kind of session, notices, the answer line, the keys."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from textual.command import CommandPalette

from sternwatch.cautions import COMPUTED
from sternwatch.console.controls.controls import SAID_S, Controls, Tone
from sternwatch.console.frame.footer import in_palette, offered
from sternwatch.console.frame.notices import Notice, fitted, standing
from sternwatch.console.frame.session_app import SessionApp
from sternwatch.console.keys.keymap import Keymap
from sternwatch.console.keys.tokens import printed
from sternwatch.console.paint.canvas import Grid, Painted
from sternwatch.console.paint.hiding import key_names
from sternwatch.watch.picture.stern import SESSION_WORDS


class ControlsPainted(Painted):
    """A painted widget that shows the controls."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.now = 0.0

    @property
    def watch_app(self) -> SessionApp:
        return self.app  # type: ignore[return-value]

    @property
    def controls(self) -> Controls:
        return self.watch_app.controls

    @property
    def keymap(self) -> Keymap:
        return self.watch_app.keymap

    @property
    def free_rows(self) -> int:
        """The rows that no notice and no caution lies over."""
        return int(self.size.height - getattr(self.screen, "covered", 0))

    def renew(self, now: float) -> None:
        """Paint the state of the controls at monotonic time ``now`` [s]."""
        self.now = now
        self.repaint()


class FrameBar(ControlsPainted):
    """The top edge of every screen: the kind of session and the name of the screen."""

    def __init__(self, screen_words: str, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.screen_words = screen_words

    def draw(self, grid: Grid) -> None:
        session = self.controls.runner.session
        middle = f" {self.screen_words} "
        if session in SESSION_WORDS:
            tag, words = SESSION_WORDS[session]
            grid.fill(0, 0, grid.width, 1, "━" if self.look.glyphs != "plain" else "=", "rule")
            tag = f" {tag} "
            grid.put(0, 0, tag, "session")
            begun = grid.put(len(tag) + 1, 0, f" {words} ", "label")
            grid.put_right(grid.width, 0, tag, "session")
            self._calibration(grid, begun + 1, grid.put_right(grid.width - len(tag) - 1, 0, middle, "text"))
            return
        grid.fill(0, 0, grid.width, 1, "─" if self.look.glyphs != "plain" else "-", "rule")
        begun = grid.put(1, 0, " sternwatch ", "text")
        self._calibration(grid, begun + 1, grid.put_right(grid.width - 1, 0, middle, "text"))

    def _calibration(self, grid: Grid, begin: int, end: int) -> None:
        """The name of the calibration behind the coefficients, where there is room."""
        name = self.controls.picture.calibration if self.controls.picture is not None else ""
        form = next((text for text in (f" calibrated {name} ", f" {name} ") if len(text) <= end - begin - 1), "")
        if name and form:
            grid.put(begin, 0, form, "label")


class NoticeLines(ControlsPainted):
    """Sentences that show while they are true. They cover the body's lowest rows, so that nothing moves."""

    def lines(self, width: int, most: int, now: float) -> list[Notice]:
        """The lines to show at this width."""
        found = standing(self.controls, self.keymap, now - self.watch_app.started_s, now)
        glyphs = self.look.glyphs
        notices = [
            replace(notice, text=key_names(notice.text, glyphs), brief=key_names(notice.brief, glyphs))
            for notice in found
            if notice.on in ("", getattr(self.screen, "words", ""))
        ]
        return fitted(notices, max(width - 2, 10), most, now)

    def draw(self, grid: Grid) -> None:
        for y, notice in enumerate(self.lines(grid.width, grid.height, self.now)):
            if notice.ink.endswith("band"):
                grid.fill(0, y, grid.width, 1, " ", notice.ink)
            grid.put(1, y, notice.text, notice.ink)


# The answer line's words for where an entry is. Only one on the disk is called saved.
KEPT = {
    "": ("storing", "state"),
    "logbook": ("saved", "label"),
    "aside": ("saved aside", "label"),
    "memory": ("NOT SAVED YET", "alarm"),
    "failed": ("NOT SAVED", "alarm"),
}


class SaidLine(ControlsPainted):
    """The answer to the last key press and whether its entry is stored; later the newest entry."""

    def draw(self, grid: Grid) -> None:
        said = self.controls.said
        if said is None or self.now - said.t_s > SAID_S:
            newest = self.controls.ledger.newest()
            if newest is not None:
                x = grid.put(1, 0, "newest entry ", "label")
                grid.put(x, 0, newest.words)
            return
        mark = ""
        if said.id:
            mark, ink = KEPT[said.kept]
            grid.put_right(grid.width - 1, 0, mark, ink)
        inks = {Tone.QUIET: "text", Tone.ENTRY: "number", Tone.DOUBT: "caution", Tone.ERROR: "alarm"}
        room = grid.width - 3 - len(mark)
        text = said.text if len(said.text) <= room else said.brief or said.text
        text = key_names(text, self.look.glyphs)
        text = text if len(text) <= room else text[: room - 1] + "…"
        grid.put(1, 0, text, inks[said.tone])


class KeyFooter(ControlsPainted):
    """The keys that matter now, and the permanent caution."""

    def draw(self, grid: Grid) -> None:
        own = getattr(self.screen, "own_keys", ())
        here = getattr(self.screen, "foot", ())
        other = frozenset(printed(token) for token in own)
        searching = isinstance(self.app.screen, CommandPalette)
        lead, keys = (
            in_palette(self.controls, self.keymap)
            if searching
            else offered(self.controls, self.keymap, self.now, other, here)
        )
        taken = searching or self.controls.typing is not None or self.controls.listing is not None
        help_label = "" if taken else self.keymap.label(self.controls.keyboard, "help")
        end = f"{help_label} help"
        x, room = 1, grid.width - 1 - (len(end) + 2)
        if lead:
            x = grid.put(x, 0, lead, "state") + 2
        for printed_key, words in keys:
            label = key_names(printed_key, self.look.glyphs)
            if x + len(label) + 1 + len(words) > room:
                continue
            x = grid.put(x, 0, label, "key") + 1
            x = grid.put(x, 0, words, "act") + 2
        if help_label:
            at = grid.put_right(grid.width - 1, 0, " help", "act")
            grid.put_right(at, 0, help_label, "key")
        if grid.height > 1:
            grid.put(1, grid.height - 1, COMPUTED, "label")
            quit_label = self.keymap.label(self.controls.keyboard, "quit")
            at = grid.put_right(grid.width - 1, grid.height - 1, " quits", "act")
            grid.put_right(at, grid.height - 1, quit_label, "key")
