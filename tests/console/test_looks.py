"""What the painted helm looks like, kept as pictures: a change of look is a decision, not an accident.

Look at each new picture before it is kept: ``pytest tests/console/test_looks.py --snapshot-update``.
"""

from __future__ import annotations

from collections.abc import Callable

import fake_picture
import pytest
from fake_runner import FakeRunner
from painted import PaintedApp

from sternwatch.config import Preferences
from sternwatch.console.app import SternwatchApp

pytestmark = pytest.mark.usefixtures("at_rest")


@pytest.mark.parametrize(
    ("theme", "size", "case", "units"),
    [
        ("day", (120, 48), "turning", "us"),
        ("dusk", (120, 48), "straight", "metric"),
        ("night", (80, 24), "troubled", "us"),
        ("plain", (80, 24), "cold", "us"),
    ],
)
def test_painted(snap_compare: Callable[..., bool], theme: str, size: tuple[int, int], case: str, units: str) -> None:
    picture = fake_picture.CASES[case]()
    assert snap_compare(PaintedApp(picture, theme, units), terminal_size=size)


@pytest.mark.parametrize(("theme", "size"), [("dusk", (120, 48)), ("day", (80, 24))])
def test_helm(snap_compare: Callable[..., bool], theme: str, size: tuple[int, int]) -> None:
    picture = fake_picture.straight()
    app = SternwatchApp(FakeRunner(picture.session, picture), Preferences(theme=theme))
    app.clock = lambda: 1000.0
    app.started_s = 1000.0
    app.cautions_read = 99
    assert snap_compare(app, terminal_size=size)
