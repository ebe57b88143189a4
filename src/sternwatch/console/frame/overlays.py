"""Overlays that cover the rods for a while: large words, lists, cautions, lost focus. They never block a key."""

from __future__ import annotations

from sternwatch.cautions import ALL
from sternwatch.console.acts import alerting
from sternwatch.console.frame.bars import ControlsPainted
from sternwatch.console.frame.notices import TURN_S
from sternwatch.console.paint.canvas import Grid
from sternwatch.console.paint.digits import big, rows_of, width_of
from sternwatch.console.paint.look import Look
from sternwatch.console.paint.terminal import LEAST_HEIGHT, LEAST_WIDTH
from sternwatch.console.words.text import wrapped
from sternwatch.gear.values.units import unit_label
from sternwatch.watch.picture.model import Session
from sternwatch.watch.sessions.prepare import REST

LOCKED = "KEYS LOCKED"
NO_PICTURE = "NO DEPTHS YET"
COMPUTING = "Computing the first depths."
LIST_CELLS = 37
BESIDE_LIST = 25  # cells left beside the widest list, so that names and depths of the rods stay visible
PATIENCE_S = 0.5  # a picture that comes within this time needs no words
FOCUS_LOST = "KEYS DO NOT ARRIVE: another window has the focus"


def box(grid: Grid, look: Look, title: str) -> None:
    """Draw a border around the grid with a title in it."""
    top, side, foot = ("+-+", "|", "+-+") if look.glyphs == "plain" else ("┏━┓", "┃", "┗━┛")
    inside = grid.width - 2
    for y in range(1, grid.height - 1):
        grid.put(0, y, side, "number")
        grid.put(grid.width - 1, y, side, "number")
    grid.put(0, 0, f"{top[0]}{top[1] * inside}{top[2]}", "number")
    grid.put(0, grid.height - 1, f"{foot[0]}{foot[1] * inside}{foot[2]}", "number")
    grid.put(2, 0, f" {title} ", "number")


def large(grid: Grid, look: Look, y: int, text: str, rows: int) -> int:
    """Write ``text`` in the middle from row ``y``, in the largest signs for ``rows`` rows; returns the next row."""
    scale = 1
    while width_of(text, scale + 1) <= grid.width - 4 and rows_of(scale + 1) <= rows:
        scale += 1
    if width_of(text, scale) > grid.width - 4:
        grid.put_middle(0, y + 1, grid.width, text, "number")
        return y + rows_of(1)
    x = (grid.width - width_of(text, scale)) // 2
    for row, signs in enumerate(big(text, scale, plain=look.glyphs == "plain")):
        grid.put(x, y + row, signs, "number")
    return y + rows_of(scale)


class NoPicture(ControlsPainted):
    """Fills the body while there is no picture: why there is none, and what one can do meanwhile."""

    @property
    def wanted(self) -> bool:
        waited_s = self.watch_app.clock() - self.watch_app.started_s
        return self.controls.picture is None and (bool(self.controls.runner.busy) or waited_s > PATIENCE_S)

    def meanwhile(self) -> tuple[str, ...]:
        """The things that work already."""
        keys, keyboard = self.keymap, self.controls.keyboard
        looks = f"{keys.label(keyboard, 'night')}: night, dusk, day.  {keys.label(keyboard, 'help')}: help."
        if self.controls.runner.session not in (Session.LIVE, Session.PRACTICE):
            return (looks,)
        hits = (
            "Meanwhile hits are kept, each with its time:",
            f"a rod's key for that rod, {keys.label(keyboard, 'bite')} where the rod is not known.",
        )
        recorded = ("The feed is being recorded.",) if self.controls.runner.session is Session.LIVE else ()
        return (*hits, *recorded, looks)

    def draw(self, grid: Grid) -> None:
        busy = self.controls.runner.busy
        if not busy or busy.startswith(REST):  # depths do not wait for the rest of the solver
            busy = COMPUTING
        why = wrapped(busy, min(grid.width - 6, 90), 3)
        below = [*why, "", *self.meanwhile()]
        rows = min(max(grid.height - len(below) - 3, 3), 9)
        y = max((grid.height - len(below) - rows - 2) // 2, 0)
        y = large(grid, self.look, y, NO_PICTURE, rows) + 1
        for row, line in enumerate(below):
            grid.put_middle(0, y + row, grid.width, line, "number" if row < len(why) else "text")


class LargeWords(ControlsPainted):
    """The typing line and the wiping lock, in words readable from two metres."""

    @property
    def wanted(self) -> bool:
        return self.watch_app.lock.on or self.controls.typing is not None

    def draw(self, grid: Grid) -> None:
        if self.watch_app.lock.on:
            self._locked(grid)
        elif self.controls.typing is not None:
            self._typing(grid)

    def _locked(self, grid: Grid) -> None:
        box(grid, self.look, "WIPING LOCK")
        count = self.watch_app.lock.swallowed
        unlock = self.keymap.label(self.controls.keyboard, "lock")
        large(grid, self.look, 2, LOCKED, grid.height - 4)
        below = f"{count} key{'' if count == 1 else 's'} swallowed · {unlock} unlocks"
        grid.put_middle(0, grid.height - 2, grid.width, below, "text")

    def _typing(self, grid: Grid) -> None:
        line = self.controls.typing
        assert line is not None
        box(grid, self.look, "TYPING: no key is a hit" if line.words else "TYPING: digits are not hits")
        grid.put_middle(0, 1, grid.width, line.title, "text")
        if line.words:
            written = wrapped(f"{line.text}_", grid.width - 6, 9)
            for row, text in enumerate(written[-(grid.height - 5) :]):
                grid.put(3, 3 + row, text, "number")
        else:
            large(
                grid,
                self.look,
                2,
                f"{line.text or '–'} {unit_label(line.unit)}".strip(),
                grid.height - (5 if line.hint else 4),
            )
        if line.hint:
            grid.put_middle(0, grid.height - 3, grid.width, line.hint, "label")
        tab = f"Tab: {line.other} · " if line.other else ""
        sets = "goes there" if line.what == "moment" else "sets"
        anew = "a digit replaces it · " if line.offered else ""
        left = f"Enter {sets} · {anew}{tab}Esc or {line.left_s(self.now):.0f} s drops"
        grid.put_middle(0, grid.height - 2, grid.width, left, "text")


class FishList(ControlsPainted):
    """The list to choose from: fish, marks, gear."""

    @property
    def wanted_rows(self) -> int:
        listing = self.controls.listing
        return 0 if listing is None else min(len(listing.options) + 2, max(self.screen.size.height - 9, 5))

    @property
    def wanted_width(self) -> int:
        """The cells for the longest option; longer ones are cut."""
        listing = self.controls.listing
        longest = 0 if listing is None else max(map(len, (listing.title, *listing.options)))
        return min(max(longest + 8, LIST_CELLS), max(self.screen.size.width - BESIDE_LIST, LIST_CELLS))

    def draw(self, grid: Grid) -> None:
        listing = self.controls.listing
        if listing is None:
            return
        box(grid, self.look, listing.title)
        rows = grid.height - 2
        first = min(max(listing.index - rows + 1, 0), max(len(listing.options) - rows, 0))
        for y, option in enumerate(listing.options[first : first + rows]):
            at = first + y == listing.index
            room = grid.width - 6
            text = option if len(option) <= room else f"{option[: room - 1]}…"
            line = f" {'>' if at else ' '} {text}".ljust(grid.width - 2)
            grid.put(1, 1 + y, line, "chosen" if at else "text")


class Cautions(ControlsPainted):
    """Cautions to read once per version, one at a time so that no drawing is covered. Keys still work."""

    def lines(self, width: int, most: int, now: float) -> list[str]:
        """The next caution to read, wrapped; by turns where it has too few rows. None when all are read."""
        read = self.watch_app.cautions_read
        if read >= len(ALL) or most < 1:
            return []
        key = self.keymap.label(self.controls.keyboard, "helm")
        here = self.watch_app.at_helm  # elsewhere the same key goes back to the helm
        told = f"READ ONCE, {read + 1} of {len(ALL)} ({key + ': next' if here else 'on the helm'}). "
        made = wrapped(told + ALL[read], width - 2, 4)
        if len(made) <= most:
            return made
        made = wrapped(told + ALL[read], width - 6, 4)  # with room to mark where it goes on
        first = int(now / TURN_S) * most % len(made)
        shown = made[first : first + most]
        if first:
            shown[0] = f"… {shown[0]}"
        if first + most < len(made):
            shown[-1] += " …"
        return shown

    def draw(self, grid: Grid) -> None:
        for y, line in enumerate(self.lines(grid.width, grid.height, self.now)):
            grid.put(1, y, line, "state")


class TooSmall(ControlsPainted):
    """Fills the screen where the window is too small: the size needed, and still the worst alert."""

    @property
    def wanted(self) -> bool:
        size = self.screen.size
        return size.width < LEAST_WIDTH or size.height < LEAST_HEIGHT

    def draw(self, grid: Grid) -> None:
        needs = f"needs {LEAST_WIDTH}×{LEAST_HEIGHT}".replace("×", "x" if self.look.glyphs == "plain" else "×")
        lines = [(needs, "number"), (f"this window has {grid.width} by {grid.height}", "text")]
        lines.append(("every key works meanwhile", "text"))
        alerts = alerting.standing(self.controls)
        if alerts:
            worst = alerts[0]
            said = f"{worst.priority.value.upper()} {worst.text}"
            lines += [(line, f"{worst.priority.value} band") for line in wrapped(said, grid.width - 2, 3)]
        y = max((grid.height - len(lines)) // 2, 0)
        for row, (text, ink) in enumerate(lines):
            grid.put_middle(0, y + row, grid.width, text, ink)


class FocusBanner(ControlsPainted):
    """Says that the terminal has lost the focus, so that no key arrives."""

    def draw(self, grid: Grid) -> None:
        grid.fill(0, 0, grid.width, grid.height, " ", "warning band")
        grid.put_middle(0, grid.height // 2, grid.width, FOCUS_LOST, "warning band")
