"""The coming minutes of every rod below its column, where the screen is high enough."""

from __future__ import annotations

from typing import Any

from textual.geometry import Size

from sternwatch.console.helm.minute_strips import own_span, paint_strip
from sternwatch.console.helm.rods import columns_of
from sternwatch.console.paint.canvas import Grid, Painted
from sternwatch.console.paint.look import Look
from sternwatch.console.words import outlook as said
from sternwatch.console.words import rods as words
from sternwatch.gear.values.units import Dimension
from sternwatch.local_time import m_ss
from sternwatch.watch.picture.model import Picture
from sternwatch.watch.picture.outlook import Forecast

ROWS = 4
FROM_ROWS = 52  # of the terminal


def forecast_of(picture: Picture) -> Forecast | None:
    """The forecast for the strips: the one in the views, else that of the present motion."""
    if picture.ahead is None:
        return None
    return said.shown_forecast(picture) or next(iter(picture.ahead.forecasts), None)


class ComingMinutes(Painted):
    """Depth by time, one strip per rod. Each has its own scale, with its ends written beside it."""

    def __init__(self, *, mirrored: bool = False, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.mirrored = mirrored

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002
        return ROWS

    def paint(self, grid: Grid, picture: Picture, look: Look) -> None:
        rods = words.across_stern(picture.rods, mirrored=self.mirrored)
        made = forecast_of(picture)
        if not rods or made is None:
            return
        place = columns_of(len(rods), grid.width)
        forecasts = {rod.key: rod for rod in made.rods}
        horizon = float(made.time_s[-1])
        self._gutter(grid, place.left, place.gutter, made, horizon)
        signs = words.SIGNS[look.glyphs]
        for number, rod in enumerate(rods):
            x = place.left + 1 + number * place.column
            found = forecasts.get(rod.key)
            span = own_span(found) if found is not None else None
            for y in range(ROWS - 1):
                grid.put(x - 1, y, signs.bar, "rule")
                grid.put(x - 1 + place.column, y, signs.bar, "rule")
            if found is None or span is None:
                continue
            ends = [words.whole(depth, self.units) for depth in span]
            label = max(len(end) for end in ends)
            grid.put(x, 0, ends[0].rjust(label), "label")
            grid.put(x, ROWS - 2, ends[1].rjust(label), "label")
            box = (x + label, 0, place.column - 1 - label, ROWS - 1)
            paint_strip(grid, box, found, made.time_s, horizon, span, look, picture.bottom_m)
        grid.fill(place.left, ROWS - 1, place.column * len(rods) + 1, 1, signs.rule, "rule")

    def _gutter(self, grid: Grid, left: int, gutter: int, made: Forecast, horizon_s: float) -> None:
        unit = self.units.label(Dimension.LENGTH)
        for y, forms in enumerate(
            ((f"next {m_ss(horizon_s)}", m_ss(horizon_s)), (f"depth {unit}", unit), (said.name_of(made),))
        ):
            text = next((form for form in forms if len(form) <= gutter - 2), "")
            grid.put_right(left - 1, y, text, "label")
