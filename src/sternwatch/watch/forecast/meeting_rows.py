"""What two lines do, as JSON fields of a pair besides its closest point. Times count from the manoeuvre's start."""

from __future__ import annotations

from typing import Any

from sternwatch.hydro.separation.verdicts import NAMES, Verdict
from sternwatch.watch.picture.outlook import PairForecast


def meeting_row(pair: PairForecast) -> dict[str, Any]:
    """``verdict``, ``probabilities`` by verdict, of how many ``members``; the median near pass and first contact."""
    if pair.verdict is None:
        none: dict[str, Any] = {"near_pass": None, "contact": None, "passes": []}
        return {"verdict": None, "probabilities": None, "members": pair.members, **none}
    near, contact = pair.near_pass, pair.contact
    parts = pair.shares
    return {
        "verdict": NAMES[pair.verdict],
        "probabilities": {
            NAMES[Verdict.NEAR_PASS]: _rounded(parts.near_pass),
            NAMES[Verdict.TOUCH]: _rounded(parts.touch),
            NAMES[Verdict.WRAPPED]: _rounded(parts.wrapped),
        },
        "members": pair.members,
        "near_pass": None
        if near is None
        else {
            "over": near.over,
            "under": near.under,
            "apart_again_s": _rounded(near.apart_again_s),
            "over_until_s": _rounded(near.over_until_s),
        },
        # After the first contact it is only indicative: each line moves as if the other were not there.
        "contact": None
        if contact is None
        else {
            "time_s": _rounded(contact.time_s),
            "depth_m": _rounded(contact.depth_m),
            "astern_m": _rounded(contact.astern_m),
            "abeam_m": _rounded(contact.abeam_m),
            "touching_s": _rounded(contact.touching_s),
            "slides_m": _rounded(contact.slides_m),
        },
        "passes": []
        if contact is None
        else [
            {
                "time_s": _rounded(one.time_s),
                "arc_m": [_rounded(arc) for arc in one.arc_m],
                "depth_m": _rounded(one.depth_m),
                "sign": one.sign,
                "on_tackle": one.on_tackle,
            }
            for one in contact.passes
        ],
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 4)
