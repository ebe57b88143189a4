"""Acts of *again*: bring a hit's or the chosen rod's lure through a place once more; take the next way; stop."""

from __future__ import annotations

import math

from sternwatch.console.controls.controls import Controls
from sternwatch.watch.chart.trail import struck
from sternwatch.watch.picture.ground import PlacePicture

NOT_YET = "The solver is being prepared; press it again in a moment"
LURING = ("fish", "bait", "break")  # marks that one returns to; nets and snags are avoided


def again(controls: Controls, t_s: float) -> None:
    """Pass the chosen rod's newest hit again, else the newest of all. Another press steers the next way."""
    following = controls.runner.again
    if following is None:
        controls.say(NOT_YET, t_s)
        return
    hits = [hit for hit in controls.hits() if hit.rod is not None]
    hit = next((one for one in reversed(hits) if one.rod == controls.chosen), hits[-1] if hits else None)
    if following.wanted is not None and (hit is None or following.wanted.hit in ("", hit.id)):
        following.next()
        controls.say("AGAIN the next way", t_s)
        return
    if hit is None:
        controls.say("No hit yet to repeat; you can choose a place on the chart", t_s)
        return
    _no_pass(controls)
    following.want_hit(hit.id)
    controls.say(f"AGAIN {controls.name(controls.rod(hit.rod), hit.rod or '')}, its last hit", t_s)


def again_here(controls: Controls, t_s: float) -> None:
    """Pass the hit, mark or fish seen at the chart's chosen place again, else that place, with the chosen rod."""
    following, place = controls.runner.again, controls.chosen_place
    if following is None:
        controls.say(NOT_YET, t_s)
        return
    if place is None:
        controls.say("No place is chosen: on the chart the arrows choose one", t_s)
        return
    here = (place[1], place[0])
    hit = _hit_near(controls, here)
    if hit is not None:
        _no_pass(controls)
        following.want_hit(hit[0])
        controls.say(f"AGAIN {controls.name(controls.rod(hit[1]), hit[1])}, the hit there", t_s)
        return
    rod = controls.chosen_rod(t_s)
    if rod is None:
        return
    there = [
        one for one in _places(controls) if math.dist((one.north_m, one.east_m), here) <= controls.chosen_reach_m
    ]
    if there:
        _through(controls, min(there, key=lambda one: math.dist((one.north_m, one.east_m), here)), t_s)
        return
    _no_pass(controls)
    following.want_place(rod.key, here)
    controls.say(f"AGAIN {controls.name(rod)} through the place chosen", t_s)


def again_seen(controls: Controls, t_s: float) -> None:
    """Bring the chosen rod's lure through the newest fish seen or mark; another press takes the one before."""
    following = controls.runner.again
    if following is None:
        controls.say(NOT_YET, t_s)
        return
    places = _places(controls)
    if not places:
        controls.say("No fish were seen in the last half hour, and no bait or break is marked", t_s)
        return
    if controls.chosen_rod(t_s) is None:
        return
    ids, now = [one.id for one in places], following.wanted.of if following.wanted is not None else ""
    _through(controls, places[(ids.index(now) + 1) % len(places) if now in ids else 0], t_s)


def _through(controls: Controls, place: PlacePicture, t_s: float) -> None:
    following, rod = controls.runner.again, controls.rod(controls.chosen)
    if following is None or rod is None:
        return
    _no_pass(controls)
    following.want_place(rod.key, (place.north_m, place.east_m), place.depth_m, place.id)
    deep = f" at {controls.length(place.depth_m)}" if place.depth_m is not None else ""
    what = "the fish seen" if place.what == "fish" else f"the {place.what} marked"
    controls.say(f"AGAIN {controls.name(rod)} through {what}{deep}", t_s)


def _no_pass(controls: Controls) -> None:
    """Put a planned pass away: one can steer only one way."""
    if controls.runner.passing is not None:
        controls.runner.passing.drop()


def _places(controls: Controls) -> list[PlacePicture]:
    """Fish seen, then marks, each the newest first."""
    ground = controls.picture.ground if controls.picture is not None else None
    found = [one for one in (ground.places if ground is not None else ()) if one.what in LURING]
    return sorted(found, key=lambda one: (one.what != "fish", math.inf if one.age_s is None else one.age_s))


def _hit_near(controls: Controls, here: tuple[float, float]) -> tuple[str, str] | None:
    """(id, rod) of the hit whose lure's place is nearest to a given place, within reach."""
    picture = controls.picture
    if picture is None or picture.ground is None:
        return None
    best, least = None, controls.chosen_reach_m
    for row in picture.hit_rows:
        for one in struck((row,), picture.ground.origin_deg):
            off = math.dist((one.north_m, one.east_m), here)
            if off <= least:
                best, least = (row.id, row.rod), off
    return best


def by_ground(controls: Controls, t_s: float) -> None:
    """Take the wanted speed as through the water or over ground, and plan again."""
    following = controls.runner.again
    if following is None:
        controls.say(NOT_YET, t_s)
        return
    following.by_ground(not following.over_ground)
    which = "over ground" if following.over_ground else "through the water"
    controls.say(f"AGAIN at the speed {which}", t_s)


def no_more(controls: Controls, t_s: float) -> None:
    """Stop: no place is to be passed again."""
    if controls.runner.again is not None:
        controls.runner.again.drop()
    controls.say("AGAIN dropped", t_s)
