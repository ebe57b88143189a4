"""The cautions stand where they are needed: in help, on the limits, in the first minute of a trip."""

from __future__ import annotations

import pytest

from console.frame.test_app import console, settled
from sternwatch.cautions import ALL, COLREG, IN_CHARGE, KNOWS_NO
from sternwatch.console.frame.notices import standing
from sternwatch.console.pages.help import rows
from sternwatch.watch.forecast.turn_words import crossing_share, risk_words, unlikely_words
from sternwatch.watch.picture.model import Session


def test_the_list_holds_each_caution() -> None:
    assert {COLREG, IN_CHARGE, KNOWS_NO} <= set(ALL)
    assert "no nets but those you marked" in KNOWS_NO


@pytest.mark.parametrize(("share", "said"), [(0.0, "in none of 16"), (0.0625, "6 %"), (1.0, "100 %")])
def test_none_of_sixteen_is_not_nought(share: float, said: str) -> None:
    assert crossing_share(share, 16) == said


def test_small_shares_stay_unlikely_and_a_limit_says_its_risk() -> None:
    assert unlikely_words("crossing", 0.0625, 16) == "crossing unlikely (6 %)"
    assert unlikely_words("crossing", 0.0, 16) == "crossing in none of 16"
    assert risk_words(0.1) == "risk at most 10 %"


@pytest.mark.parametrize("about", ["helm", "ahead", "side", "glance", "check", "sensors"])
async def test_the_whole_list_stands_in_the_help_of_every_screen(about: str) -> None:
    app = console("straight")
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        made = [text for _, _, text in rows(app.controls, app.keymap, about)]
        assert all(caution in made for caution in ALL)
        assert any("In none of 16 does not mean never" in text for text in made)


@pytest.mark.parametrize("session", [Session.LIVE, Session.REPLAY])
async def test_lookout_and_colreg_are_said_in_the_first_minute_and_then_no_more(session: Session) -> None:
    app = console("straight", session=session)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        said = {
            since: [n.text for n in standing(app.controls, app.keymap, since, 0.0)] for since in (1.0, 59.0, 61.0)
        }
        assert COLREG in said[1.0]
        assert COLREG in said[59.0]
        assert COLREG not in said[61.0]
