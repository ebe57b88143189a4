"""Every field of an outlook's row, from a value that is like no other's."""

from __future__ import annotations

import sys
from dataclasses import replace
from itertools import count
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

import made_outlooks

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.outlook import afterwards as afterwards_module
from sternwatch.watch.outlook import rows as rows_module
from sternwatch.watch.outlook.renewal import Wishes
from sternwatch.watch.outlook.rows import EVERY_S, OutlookRows, outlook_row
from sternwatch.watch.picture.manoeuvre import Manoeuvre
from sternwatch.watch.picture.meetings import Contact, LinePass, NearPass, Shares
from sternwatch.watch.picture.outlook import Advice, Forecast, Outlook, PairForecast, RodForecast, Touch

# More digits than any row has: values are told to the millisecond or the millionth, meetings to four digits.
UNTOLD = 0.123456789


def forecast(pair: PairForecast, touches: tuple[Touch, ...]) -> Forecast:
    value = (n + UNTOLD for n in count(20))
    rod = RodForecast(
        "1", next(value), next(value), 1.0, 2.0, next(value), next(value), next(value), 1.0, np.zeros(3)
    )
    plan = Manoeuvre("as it goes", next(value), next(value), to_speed_m_s=next(value))
    return replace(
        made_outlooks.forecast("hold", pair), manoeuvre=plan, members=16, ends_s=next(value), horizon_s=next(value),
        any_crossing=next(value), rods=(rod,), touches=touches,
    )  # fmt: skip


def row_of(pair: dict[str, Any], touches: list[Any]) -> dict[str, Any]:
    return {
        "manoeuvre": "as it goes", "turn_rad": 25.123457, "rate_rad_s": 26.123457, "to_speed_m_s": 27.123457,
        "members": 16, "ends_s": 28.123, "horizon_s": 29.123, "any_crossing": 30.123457, "pairs": [pair],
        "rods": [{"key": "1", "depth_min_m": 20.123457, "depth_max_m": 21.123457, "speed_min_m_s": 22.123457,
                  "slack_s": 23.123457, "out_of_zone_s": 24.123457}],
        "touches": touches,
    }  # fmt: skip


def test_every_value_has_its_place_and_its_digits() -> None:
    value = (n + UNTOLD for n in count(1))
    line_pass = LinePass(40 + UNTOLD, (41 + UNTOLD, 42 + UNTOLD), 43 + UNTOLD, -1, True)
    contact = Contact(*(n + UNTOLD for n in range(50, 56)), (line_pass,), 3)
    near = NearPass("1", "2", 9.0, 60 + UNTOLD, 61 + UNTOLD)
    known = PairForecast(
        ("1", "2"), *(next(value) for _ in range(8)), Shares(0.123456, 0.0654321, 0.0543219), contact, near, 48
    )
    unknown = PairForecast(("1", "2"), *([None] * 8))
    advice = Advice("Ease.", {"what": "line", "by_m": 2.0}, 0.0123456789, "ease")
    touch = Touch("1", 70 + UNTOLD, 71 + UNTOLD, (advice,))
    outlook = Outlook(
        80 + UNTOLD, 1.0, (forecast(known, (touch,)),), None, (advice,), "as it goes", (), forecast(unknown, ())
    )
    told = {
        "keys": ["1", "2"], "probability": 1.123457, "time_s": 2.123, "separation_m": 3.123457,
        "required_m": 4.123457, "depth_m": 5.123457, "astern_m": 6.123457, "abeam_m": 7.123457, "undercut_s": 8.123,
        "verdict": "touch", "probabilities": {"near_pass": 0.1235, "touch": 0.0654, "wrapped": 0.0543}, "members": 48,
        "near_pass": {"over": "1", "under": "2", "apart_again_s": 60.1235, "over_until_s": 61.1235},
        "contact": {"time_s": 50.1235, "depth_m": 51.1235, "astern_m": 52.1235, "abeam_m": 53.1235,
                    "touching_s": 54.1235, "slides_m": 55.1235},
        "passes": [{"time_s": 40.1235, "arc_m": [41.1235, 42.1235], "depth_m": 43.1235, "sign": -1,
                    "on_tackle": True}],
    }  # fmt: skip
    nothing = {
        **dict.fromkeys(told), "keys": ["1", "2"], "members": 0, "passes": [],
    }  # fmt: skip
    eased = {"text": "Ease.", "change": {"what": "line", "by_m": 2.0}, "probability_after": 0.012346}
    touching = [{"key": "1", "time_s": 70.123, "raise_m": 71.123457, "advice": [eased]}]
    assert outlook_row(outlook) == {
        "elapsed_s": 80.123, "advice_for": "as it goes", "advice": [eased],
        "forecasts": [row_of(told, touching)], "if_slowed": row_of(nothing, []),
    }  # fmt: skip
    assert outlook_row(replace(outlook, advice_for="", if_slowed=None, forecasts=()))["advice_for"] is None


def test_outlooks_in_rows_are_made_every_two_seconds() -> None:
    assert EVERY_S == 2.0


def test_a_row_waits_for_no_limits(monkeypatch: pytest.MonkeyPatch) -> None:
    """They have a share of the time between looks at the helm; a recording that is read has no such time."""
    made = made_outlooks.outlook(7.0, 0.0)
    asked: list[Wishes] = []

    def renewed(_: object, __: object, wishes: Wishes) -> Outlook:
        asked.append(wishes)
        return made

    monkeypatch.setattr(rows_module, "renewed", renewed)
    monkeypatch.setattr(rows_module, "look_from", lambda _: SimpleNamespace(moving=frozenset(), marked=None))
    rows: Any = OutlookRows(SimpleNamespace(rods=()), SYSTEMS["metric"])  # type: ignore[arg-type]
    for now_s in (7.0, 8.9, 9.0):
        rows._look(SimpleNamespace(now_s=now_s))
    assert [(one.units, one.limits_share_s) for one in asked] == [(SYSTEMS["metric"], 0.0)] * 2


@pytest.mark.parametrize(("now_s", "gone"), [(10.0, False), (17.0, False), (17.5, True)])
def test_an_outlook_is_gone_ten_seconds_after_there_was_anything_to_look_from(
    monkeypatch: pytest.MonkeyPatch, now_s: float, gone: bool
) -> None:
    """In rows and after a trip alike."""
    watch: Any = SimpleNamespace(now_s=now_s, crew=SimpleNamespace(acknowledged=()))
    spread: Any = SimpleNamespace(rods=())
    for module, made in (
        (rows_module, OutlookRows(spread, SYSTEMS["metric"])),
        (afterwards_module, afterwards_module.Afterwards(spread, SYSTEMS["metric"])),
    ):
        monkeypatch.setattr(module, "look_from", lambda _: None)
        look: Any = getattr(made, "_look", None) or made.look  # type: ignore[union-attr]
        look(watch)
        assert made._outlook is None
        made._outlook = made_outlooks.outlook(7.0, 0.0)
        look(watch)
        assert (made._outlook is None) is gone
