"""One row of a practice session: helm and throttle, the state of the drill, the newest event."""

from __future__ import annotations

from sternwatch.console.acts.practice.steering import rudder_words
from sternwatch.console.frame.bars import ControlsPainted
from sternwatch.console.paint.canvas import Grid
from sternwatch.local_time import m_ss
from sternwatch.watch.picture.model import PracticePicture

SCALE = 15  # cells of the rudder's scale, the middle one amidships
FULL_RUDDER_DEG = 35.0
WIDE = 100


class PracticeBar(ControlsPainted):
    """Helm and throttle on the left, the drill on the right, the newest event between."""

    def draw(self, grid: Grid) -> None:
        picture = self.controls.picture
        boat = picture.practice if picture is not None else None
        if boat is None:
            grid.put(1, 0, "Getting the practice boat ready", "state")
            return
        wide = grid.width >= WIDE
        x = self._helm(grid, boat, wide)
        lever = "neutral" if boat.engine == "kicker" and boat.lever <= 0.0 else f"{100 * boat.lever:.0f} %"
        x = grid.put(x + 2, 0, boat.engine, "label")
        x = grid.put(x + 1, 0, lever, "number") + 2
        end = self._drill(grid, boat, wide)
        said = boat.vessel or (boat.says[-1] if boat.says else "")
        if boat.striking:
            said = boat.says[-1] if boat.says else ""
        room = end - x - 2
        if said and room > 3:
            grid.put(x, 0, said if len(said) <= room else said[: room - 1] + "…", "fish" if boat.striking else "text")

    def _helm(self, grid: Grid, boat: PracticePicture, wide: bool) -> int:
        x = grid.put(1, 0, "helm", "label") + 1
        if wide:
            plain = self.look.glyphs == "plain"
            grid.fill(x, 0, SCALE, 1, "-" if plain else "─", "rule")
            grid.put(x + SCALE // 2, 0, "|" if plain else "┼", "rule")
            share = min(max(boat.rudder_deg / FULL_RUDDER_DEG, -1.0), 1.0)
            grid.put(x + SCALE // 2 + round(share * (SCALE // 2)), 0, "#" if plain else "█", "number")
            x += SCALE + 1
        words = rudder_words(boat.rudder_deg) if wide else _short(boat.rudder_deg)
        x = grid.put(x, 0, words, "number")
        if boat.heading_held_deg is not None:
            x = grid.put(x + 1, 0, f"holds {boat.heading_held_deg:03.0f}°", "state")
        return x

    def _drill(self, grid: Grid, boat: PracticePicture, wide: bool) -> int:
        key = self.keymap.label(self.controls.keyboard, "drill")
        if boat.over:
            return grid.put_right(grid.width - 1, 0, f"OVER: {key} shows the result", "state")
        if boat.waits:
            return grid.put_right(grid.width - 1, 0, f"Enter begins · {key} briefing", "state")
        if boat.drill_s < 0.0:
            return grid.put_right(grid.width - 1, 0, f"begins in {m_ss(-boat.drill_s)} · {key} briefing", "state")
        turned = ""
        if wide and abs(boat.turned_deg) >= 1.0:
            turned = f"turned {abs(boat.turned_deg):.0f}° {'S' if boat.turned_deg > 0 else 'P'}  "
        if boat.held_s is not None and boat.hold_s:
            held = f"{m_ss(boat.held_s)} of {m_ss(boat.hold_s)} held"
            return grid.put_right(grid.width - 1, 0, f"{turned}{held}", "state")
        left = "" if boat.time_left_s is None else f", {m_ss(boat.time_left_s)} left"
        return grid.put_right(grid.width - 1, 0, f"{turned}drill {m_ss(boat.drill_s)}{left}", "label")


def _short(rudder_deg: float) -> str:
    if abs(rudder_deg) < 0.5:
        return "0°"
    return f"{abs(rudder_deg):.0f}°{'S' if rudder_deg > 0 else 'P'}"
