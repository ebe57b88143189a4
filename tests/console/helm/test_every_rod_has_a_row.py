"""On the smallest screen every rod has a row, whatever else has something to say."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import product

import fake_outlook
import fake_picture
import pytest

from console.frame.test_app import console, settled
from sternwatch.cautions import ALL, COLREG
from sternwatch.console.app import SternwatchApp
from sternwatch.watch.picture.model import HitPicture, Session

LONGEST = ALL.index(COLREG)  # the number of cautions read before the longest
T_S, UTC_S = fake_picture.T_0, fake_picture.UTC_0
DOUBTFUL = HitPicture("d1", T_S - 5.0, UTC_S - 5.0, "3", "open", doubtful=True, depth_m=20.0)
LONG = "The preferences name a key that no act of this version has, so that its own key stands; see the manual."


def rows(app: SternwatchApp) -> list[str]:
    """The screen's lines as they are seen, overlays included."""
    return ["".join(segment.text for segment in strip) for strip in app.screen._compositor.render_strips()]


OTHERS = [(False, True)] * 3 + [(0, 1, 2)]  # warned, all cautions read, a doubtful hit, notices


async def lacking(session: Session, cases: Iterable[tuple[int, ...]]) -> list[object]:
    """The combinations in which a rod has no row."""
    found: list[object] = []
    app = console("straight", session=session)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        app.started_s -= 1000.0  # the notices of the start are over
        for count, warned, read, doubtful, notices in cases:
            picture = replace(fake_picture.many(count), session=session)
            app.runner.ahead = fake_outlook.turning() if warned else None
            app.cautions_read = len(ALL) if read else LONGEST
            app.controls.remarks[:] = [LONG] * notices
            app.runner.show(replace(picture, hits=(DOUBTFUL,) if doubtful else ()))
            await settled(pilot)
            seen = rows(app)
            assert ("TOUCH" in seen[5].upper()) == warned
            if lost := [r.key for r in picture.rods if not any(f" {r.key} {r.name}" in line[:14] for line in seen)]:
                found.append((count, warned, read, doubtful, notices, lost))
    return found


@pytest.mark.parametrize("session", [Session.LIVE, Session.PRACTICE])
async def test_whatever_else_stands(session: Session) -> None:
    assert (
        await lacking(session, [(8, True, False, True, 0), (8, True, False, True, 2), (12, True, False, True, 1)])
        == []
    )


@pytest.mark.campaign
@pytest.mark.parametrize("session", list(Session))
async def test_in_every_combination(session: Session) -> None:
    assert await lacking(session, product(range(1, 13), *OTHERS)) == []


async def test_a_caution_that_has_no_row_waits() -> None:
    app = console("straight", session=Session.PRACTICE, read=False)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        app.runner.ahead = fake_outlook.turning()
        app.runner.show(replace(fake_picture.many(12), session=Session.PRACTICE))
        app.controls.remarks[:] = [LONG]
        await settled(pilot)
        assert "READ ONCE" not in "".join(rows(app))
        await pilot.press("escape")
        assert app.cautions_read == 0  # nobody confirms what is not shown
        app.runner.show(replace(fake_picture.many(8), session=Session.PRACTICE))
        app.controls.remarks.clear()
        await settled(pilot)
        assert "READ ONCE, 1 of 8" in "".join(rows(app))
