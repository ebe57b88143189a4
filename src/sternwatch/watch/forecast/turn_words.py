"""Turns and their limits in words. Imports little: the screen needs the words before the solver is loaded."""

from __future__ import annotations

from sternwatch.local_time import m_ss
from sternwatch.watch.picture.manoeuvre import side_of
from sternwatch.watch.picture.outlook import SideLimit


def turn_name(turn_deg: float) -> str:
    """The name of a turn, to starboard positive: "port U-turn"."""
    side, angle = side_of(turn_deg), round(abs(turn_deg))
    named = {180: "U-turn", 360: "full circle"}.get(angle, f"turn of {angle}°")
    return f"{side} {named}"


def crossing_share(share: float, members: int) -> str:
    """A share of the members: whole per cent, or "in none of 16", which does not mean zero."""
    return f"{100 * share:.0f} %" if share > 0.0 else f"in none of {members}"


def unlikely_words(danger: str, share: float, members: int) -> str:
    """A danger of a small share: "crossing unlikely (6 %)", or "crossing in none of 16"."""
    said = crossing_share(share, members)
    return f"{danger} unlikely ({said})" if share > 0.0 else f"{danger} {said}"


def risk_words(risk: float) -> str:
    """The risk of a limit: "risk at most 10 %"."""
    return f"risk at most {100 * risk:.0f} %"


def limit_words(limit: SideLimit) -> str:
    """A side's limit as helmsmen steer it: "PORT 180° in 1:50 or slower · 16° per 10 s"."""
    side = limit.side.upper()
    if limit.half_circle_s is None or limit.rate_deg_s is None:
        return f"{side}: no turn avoids crossing"
    return f"{side} 180° in {m_ss(limit.half_circle_s)} or slower · {10 * limit.rate_deg_s:.0f}° per 10 s"
