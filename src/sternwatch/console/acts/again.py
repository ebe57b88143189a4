"""Acts of *again*: bring the lure of a hit, or the chosen rod's, through a place once more; the next way; no more."""

from __future__ import annotations

from sternwatch.console.desk.hand import Desk

NOT_YET = "The solver is being prepared; press it again in a moment"


def again(desk: Desk, t_s: float) -> None:
    """The chosen rod's newest hit, else the newest of all; pressed once more the next way is steered."""
    following = desk.runner.again
    if following is None:
        desk.say(NOT_YET, t_s)
        return
    hits = [hit for hit in desk.hits() if hit.rod is not None]
    hit = next((one for one in reversed(hits) if one.rod == desk.chosen), hits[-1] if hits else None)
    if following.wanted is not None and (hit is None or following.wanted.hit in ("", hit.id)):
        following.next()
        desk.say("AGAIN  the next way", t_s)
        return
    if hit is None:
        desk.say("No hit to do again yet; on the chart a place can be chosen", t_s)
        return
    following.want_hit(hit.id)
    desk.say(f"AGAIN  {desk.name(desk.rod(hit.rod), hit.rod or '')}, its last hit", t_s)


def again_here(desk: Desk, t_s: float) -> None:
    """The chosen rod's lure through the place that is chosen on the chart."""
    following, place = desk.runner.again, desk.chosen_place
    if following is None:
        desk.say(NOT_YET, t_s)
        return
    rod = desk.chosen_rod(t_s)
    if rod is None:
        return
    if place is None:
        desk.say("No place is chosen: on the chart the arrows choose one", t_s)
        return
    east_m, north_m = place
    following.want_place(rod.key, (north_m, east_m))
    desk.say(f"AGAIN  {desk.name(rod)} through the place chosen", t_s)


def no_more(desk: Desk, t_s: float) -> None:
    """Nothing is to be passed again."""
    if desk.runner.again is not None:
        desk.runner.again.drop()
    desk.say("AGAIN  put away", t_s)
