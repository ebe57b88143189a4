"""A bare app around the painted widgets, and a widget painted without any app."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import cache
from typing import Any

from rich.style import Style
from textual.app import App, ComposeResult
from textual.containers import Horizontal
from textual.pilot import Pilot

from sternwatch.console.frame.alerts_area import AlertsArea
from sternwatch.console.helm.rods import RodBoard
from sternwatch.console.helm.strip import TopStrip
from sternwatch.console.helm.views import PlanView, SideView
from sternwatch.console.paint import themes
from sternwatch.console.paint.canvas import Grid, Painted
from sternwatch.console.paint.hiding import HidingApp
from sternwatch.console.paint.look import Look
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.picture.model import Picture


@cache
def look(name: str = "dusk") -> Look:
    """The look of a shipped theme."""
    return next(theme.look for theme in themes.load().themes if theme.name == name)


def paint(kind: type[Painted], picture: Picture, size: tuple[int, int], theme: str = "dusk", **kwargs: Any) -> Grid:
    """One widget of ``kind`` painted into a grid of ``size``."""
    wanted = look(theme)

    class Fixed(kind):  # type: ignore[valid-type,misc]
        look = property(lambda _self: wanted)

    grid = Grid(*size)
    Fixed(**kwargs).paint(grid, picture, wanted)
    return grid


def cells(app: App[Any]) -> list[list[tuple[str, tuple[int, int, int], tuple[int, int, int]]]]:
    """Each row's characters with the colours of front and back, as the terminal gets them."""
    made = []
    for strip in app.screen._compositor.render_strips()[: app.size.height]:
        row = []
        for segment in strip:
            style = segment.style or Style()
            front, back = (tuple(colour.get_truecolor()) if colour else (0, 0, 0) for colour in
                           (style.color, style.bgcolor))  # fmt: skip
            if style.reverse:
                front, back = back, front
            row += [(char, front, back) for char in segment.text]
        made.append(row)
    return made


class PaintedApp(HidingApp[None]):
    """Every painted widget of the helm, stacked as the helm stacks them."""

    CSS = """
    TopStrip, AlertsArea, RodBoard { height: auto; }
    #views { height: 1fr; }
    PlanView { width: 2fr; }
    SideView { width: 3fr; }
    """

    def __init__(self, picture: Picture, theme: str, units: str = "us") -> None:
        super().__init__()
        self.picture, self.wanted, self.units = picture, theme, SYSTEMS[units]
        self.shown = asyncio.Event()

    def compose(self) -> ComposeResult:
        yield TopStrip(units=self.units)
        yield AlertsArea(units=self.units)
        yield RodBoard(units=self.units)
        with Horizontal(id="views"):
            yield PlanView(units=self.units)
            yield SideView(units=self.units)

    def on_mount(self) -> None:
        themes.install(self)
        self.theme = self.wanted
        self.call_after_refresh(self.show, self.picture)

    def show(self, picture: Picture) -> None:
        """Show another picture."""
        for widget in self.query(Painted):
            widget.show(picture)
        self.shown.set()


@asynccontextmanager
async def settled(picture: Picture, size: tuple[int, int]) -> AsyncIterator[Pilot[None]]:
    """The app with ``picture`` on its widgets, in the layout it leads to. A pause alone may end before that."""
    app = PaintedApp(picture, "dusk")
    async with app.run_test(size=size) as pilot:
        await app.shown.wait()
        await pilot.pause()
        yield pilot
