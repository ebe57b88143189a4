"""Acts on places: marking one, fish seen on the sounder; and pulling all lines."""

from __future__ import annotations

from sternwatch.console.controls.controls import Controls, Tone
from sternwatch.console.controls.lists import Listing
from sternwatch.console.controls.typing_line import TypingLine
from sternwatch.gear.values.units import UNITS, limit_words
from sternwatch.logbook.actions.place_acts import MARK_KINDS
from sternwatch.watch.forecast.slowed import slowed_words
from sternwatch.water.profile import DEEPEST_M

NAMED = 3  # so many next rods are named, the others go by key


def mark(controls: Controls, t_s: float) -> None:
    """Mark the place at the key's moment, and ask from a list what is here."""
    controls.typing = None
    controls.marking_deg = _place(controls)
    controls.listing = Listing("What is here?", "", MARK_KINDS, t_s, what="mark")


def _place(controls: Controls) -> tuple[float, float] | None:
    return controls.picture.own.position_deg if controls.picture is not None else None


def _at(place_deg: tuple[float, float] | None) -> dict[str, float]:
    return {} if place_deg is None else {"latitude_deg": place_deg[0], "longitude_deg": place_deg[1]}


def marked(controls: Controls, t_s: float) -> None:
    """Take the chosen kind of mark."""
    listing = controls.listing
    assert listing is not None
    controls.listing = None
    what = listing.choice
    action = controls.submit("mark", None, f"{what} marked", t_s, what=what, **_at(controls.marking_deg))
    unknown = "" if controls.marking_deg is not None else "; the boat's place is not known now"
    controls.say(f"MARK  {what}{unknown}", t_s, Tone.ENTRY, action)


def fish_seen(controls: Controls, t_s: float) -> None:
    """Ask for the depth at which the sounder shows fish."""
    controls.marking_deg = _place(controls)
    controls.typing = TypingLine("FISH SEEN: at what depth?", "fish depth", "", controls.units.length, t_s)


def fish_typed(controls: Controls, t_s: float) -> None:
    """Take the typed depth and enter it."""
    line = controls.typing
    assert line is not None
    assert line.value is not None
    depth_m = UNITS[line.unit].to_si(line.value)
    if depth_m > DEEPEST_M:
        controls.refuse(f"{line.value_words} is too deep: at most {limit_words(DEEPEST_M, line.unit)}", t_s)
        return
    controls.typing = None
    words = f"fish seen at {controls.length(depth_m)}"
    action = controls.submit("fish seen", None, words, t_s, depth_m=depth_m, **_at(controls.marking_deg))
    controls.say(f"FISH SEEN  at {controls.length(depth_m)}", t_s, Tone.ENTRY, action)


def pull(controls: Controls, t_s: float) -> None:
    """Show the order for pulling all lines until they are in; the key again, or Esc, puts it away."""
    controls.pulling = not controls.pulling and controls.picture is not None and controls.picture.pulling is not None
    controls.say("Pulling all lines, in the order said above" if controls.pulling else "No lines to pull", t_s)


def pulling_words(controls: Controls) -> str:
    """The rods still out, in order, and the time needed; empty where there is nothing to say."""
    picture = controls.picture
    if picture is None or picture.pulling is None or not controls.pulling:
        return ""
    keys, time_s, hands = picture.pulling.keys, picture.pulling.time_s, picture.pulling.hands
    order = ", ".join(controls.name(controls.rod(key), key) for key in keys[:NAMED])
    if len(keys) > NAMED:
        order += f", then {' '.join(keys[NAMED:])}"
    pulls = "1 pulls" if hands == 1 else f"{hands} pull"
    about = f" · about {max(time_s / 60.0, 1.0):.0f} min, {pulls}" if time_s is not None else ""
    return f"PULL {order}{about}"


def fight_words(controls: Controls) -> list[str]:
    """For every fish on: the lines to clear, in order, and those still down."""
    picture = controls.picture
    if picture is None:
        return []
    said = []
    for fight in picture.fights:
        name = controls.name(controls.rod(fight.key), fight.key)
        if fight.clear is None:
            text = f"{name}: no way to tell which lines are in its way: where it struck is not known"
        elif fight.clear:
            rods = ", ".join(controls.name(controls.rod(key), key) for key in fight.clear)
            order = ", in this order" if len(fight.clear) > 1 else ""
            text = f"{name}: clear {rods}{order}"
        else:
            text = f"{name}: no line is in its way, as computed"
        said.append(f"FISH ON {text}{'; its ball is still down' if fight.ball_down else ''}")
    if picture.fights and controls.outlook is not None and controls.outlook.if_slowed is not None:
        names = {rod.key: rod.name for rod in picture.rods}
        said.append(f"IF SHE SLOWS {slowed_words(controls.outlook.if_slowed, names, controls.units)}")
    return said
