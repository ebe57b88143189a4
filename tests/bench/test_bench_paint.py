"""What one redraw of the helm's painted widgets costs, beside the same words laid out by a general table.

Run with ``pytest tests/bench/test_bench_paint.py -m bench -p benchmark``; the ratio of the two groups' medians is the
figure. The whole console's share of a core is measured in a terminal, not here.
"""

from __future__ import annotations

import io
import sys
from pathlib import Path
from typing import Any

import pytest
from rich.console import Console
from rich.table import Table
from rich.text import Text

sys.path.insert(0, str(Path(__file__).parents[1] / "console"))

import fake_picture
from painted import look, paint

from sternwatch.console.helm.rods import RodBoard
from sternwatch.console.helm.views import PlanView, SideView

pytestmark = pytest.mark.bench


@pytest.mark.benchmark(group="rods")
def test_own_rods(benchmark: Any) -> None:
    dusk, picture = look("dusk"), fake_picture.turning()

    def redraw() -> int:
        grid = paint(RodBoard, picture, (120, 15))
        return sum(len(list(grid.strip(y, dusk))) for y in range(grid.height))

    assert benchmark(redraw) > 15


@pytest.mark.benchmark(group="rods")
def test_rods_as_a_table(benchmark: Any) -> None:
    words = [line.split() for line in paint(RodBoard, fake_picture.turning(), (120, 15)).text().splitlines()]
    console = Console(width=120, file=io.StringIO(), force_terminal=True, color_system="truecolor")

    def redraw() -> int:
        table = Table.grid(padding=(0, 1))
        for _ in range(8):
            table.add_column()
        for row in words:
            table.add_row(*(Text(word, style="bold #e3d3a0") for word in row[:8]))
        return len(console.render_lines(table))

    assert benchmark(redraw) >= 15


@pytest.mark.benchmark(group="views")
@pytest.mark.parametrize("kind", [PlanView, SideView])
@pytest.mark.parametrize("theme", ["day", "dusk", "plain"])
def test_views(benchmark: Any, kind: Any, theme: str) -> None:
    wanted, picture = look(theme), fake_picture.turning()

    def redraw() -> int:
        grid = paint(kind, picture, (72, 28), theme)
        return sum(len(list(grid.strip(y, wanted))) for y in range(grid.height))

    assert benchmark(redraw) > 28
