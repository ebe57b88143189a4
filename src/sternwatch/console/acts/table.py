"""Maps an act's id to its function at the controls. The app has the acts of the screen itself."""

from __future__ import annotations

from collections.abc import Callable

from sternwatch.console.acts import (
    alerting,
    catches,
    gauge,
    hits,
    lines,
    marking,
    moments,
    observing,
    recording,
    regear,
    spread_plan,
    trip,
)
from sternwatch.console.acts.current import current_typed, open_current
from sternwatch.console.acts.practice import steering
from sternwatch.console.acts.practice.faults import fault_taken, open_faults
from sternwatch.console.acts.ways import again, whole_pass
from sternwatch.console.controls import planning
from sternwatch.console.controls.controls import Controls
from sternwatch.console.controls.countdown import call_turn
from sternwatch.console.controls.lists import Picked
from sternwatch.console.controls.typing_line import Typed
from sternwatch.console.keys.acting import STATIONS

Effect = Callable[[Controls, float], None]


def _station(key: str) -> Effect:
    return lambda controls, t_s: hits.rod_key(controls, key, t_s)


def _words(what: str) -> Effect:
    return lambda controls, t_s: trip.ask_words(controls, what, t_s)


def _observed(what: str) -> Effect:
    return lambda controls, t_s: observing.ask(controls, what, t_s)


def _outcome(how: str) -> Effect:
    return lambda controls, t_s: hits.outcome(controls, how, t_s)


EFFECTS: dict[str, Effect] = {
    **{f"rod {key}": _station(key) for key in STATIONS},
    "bite": hits.bite,
    "call turn": call_turn,
    "undo": hits.take_back,
    "restore": hits.put_back,
    **{how: _outcome(how) for how in ("boxed", "freed", "dropped", "no fish")},
    "confirm": hits.confirm,
    "fish": hits.what_fish,
    "earlier": hits.earlier,
    "hit time": hits.ask_time,
    "undersized": catches.undersized,
    "hit note": catches.ask_note,
    "late hit": hits.late,
    "left": lambda controls, t_s: lines.choose(controls, -1, t_s),
    "right": lambda controls, t_s: lines.choose(controls, 1, t_s),
    "fighting": lines.next_fighting,
    "deeper": lambda controls, t_s: lines.pay(controls, controls.preferences.little_m, t_s),
    "shallower": lambda controls, t_s: lines.pay(controls, -controls.preferences.little_m, t_s),
    "much deeper": lambda controls, t_s: lines.pay(controls, controls.preferences.lot_m, t_s),
    "much shallower": lambda controls, t_s: lines.pay(controls, -controls.preferences.lot_m, t_s),
    "length": lines.open_typing,
    "gauge": gauge.open_gauge,
    "less": lambda controls, t_s: lines.setting(controls, -1, t_s),
    "more": lambda controls, t_s: lines.setting(controls, 1, t_s),
    "out": lines.going_out,
    "in": lines.take_in,
    "as hit": lines.as_hit,
    "checked": lines.checked,
    "change": regear.change,
    "move": regear.move,
    "plan": planning.press,
    "acknowledge": alerting.acknowledge,
    "mark": marking.mark,
    "again": again.again,
    "again here": again.again_here,
    "again seen": again.again_seen,
    "again by ground": again.by_ground,
    "no more again": again.no_more,
    "plan a pass": whole_pass.ask,
    "pass in view": whole_pass.ask_in_view,
    "no more pass": whole_pass.no_more,
    "fish seen": marking.fish_seen,
    "touched": observing.touched,
    **{f"observed {what}": _observed(what) for what in observing.WHAT},
    "pull": marking.pull,
    "begin trip": trip.begin,
    "end trip": trip.end,
    "people": trip.people,
    "target": trip.target,
    "limit": trip.limit,
    "current": open_current,
    **{what: _words(what) for what in ("wind", "sea", "note")},
    "helm port": lambda controls, t_s: steering.helm(controls, -1.0, t_s),
    "helm starboard": lambda controls, t_s: steering.helm(controls, 1.0, t_s),
    "hold": steering.hold,
    "throttle less": lambda controls, t_s: steering.throttle(controls, -1.0, t_s),
    "throttle more": lambda controls, t_s: steering.throttle(controls, 1.0, t_s),
    "engine": steering.engine,
    "fault": open_faults,
    "play": recording.play,
    "back": lambda controls, t_s: recording.step(controls, -10.0, t_s),
    "on": lambda controls, t_s: recording.step(controls, 10.0, t_s),
    "step back": lambda controls, t_s: recording.single(controls, -1, t_s),
    "step on": lambda controls, t_s: recording.single(controls, 1, t_s),
    "moment": moments.ask,
    "faster": lambda controls, t_s: recording.rate(controls, 1, t_s),
    "slower": lambda controls, t_s: recording.rate(controls, -1, t_s),
    "event before": lambda controls, t_s: recording.event(controls, -1, t_s),
    "event after": lambda controls, t_s: recording.event(controls, 1, t_s),
}

# What the first press of a twice-pressed act shows. Acts not listed only say what the second press will do.
FIRST: dict[str, Effect] = {
    "as hit": lines.show_as_hit,
}

# What Enter and Tab do on the typing line, by the kind of input.
_TYPED: dict[str, Effect] = {
    "length": lines.length_typed,
    "fish length": hits.size_typed,
    "fish mass": hits.size_typed,
    "gauge depth": gauge.depth_typed,
    "gauge temperature": gauge.reading_typed,
    "gauge speed": gauge.reading_typed,
    "fish depth": marking.fish_typed,
    **dict.fromkeys((f"observed {what}" for what in observing.WHAT), observing.typed),
    "plan from": spread_plan.from_typed,
    "plan to": spread_plan.to_typed,
    "plan turn": spread_plan.turn_typed,
    "pass from": whole_pass.from_typed,
    "pass to": whole_pass.to_typed,
    "pass minutes": whole_pass.minutes_typed,
    "people": trip.people_typed,
    "limit": trip.limit_typed,
    "current": current_typed,
    "moment": moments.typed,
    "hit time": hits.time_typed,
    "hit note": catches.note_typed,
    **dict.fromkeys(("wind", "sea", "note"), trip.words_typed),
}
# What Enter and Esc do on a list, by the kind of choice.
_LISTED: dict[str, tuple[Effect, Effect]] = {
    "species": (hits.species_taken, hits.species_skipped),
    "limit": (trip.limit_taken, trip.put_away),
    "target": (trip.target_taken, trip.put_away),
    "fault": (fault_taken, trip.put_away),
    "mark": (marking.marked, trip.put_away),
    "pass": (whole_pass.taken, trip.put_away),
    "change": (regear.change_taken, trip.put_away),
    "piece": (regear.piece_taken, trip.put_away),
    "move": (regear.move_taken, trip.put_away),
}
_OTHER: dict[str, Effect] = {
    "fish length": hits.size_other,
    "fish mass": hits.size_other,
    "gauge temperature": gauge.other,
    "gauge speed": gauge.other,
    **dict.fromkeys((f"observed {what}" for what in observing.WHAT), observing.other),
}


def typed(controls: Controls, token: str, t_s: float) -> bool:
    """Give a key to the open list, typing line or plan, or to one that closed just now. Whether it took the key."""
    if controls.listing is not None:
        picked = controls.listing.key(token, t_s)
        taken, skipped = _LISTED[controls.listing.what]
        if picked is Picked.TAKEN:
            taken(controls, t_s)
        elif picked is Picked.SKIPPED:
            skipped(controls, t_s)
        trip.ask_next(controls, t_s)
        return picked is not Picked.OTHER
    line = controls.typing
    if line is None:
        return planning.key(controls, token, t_s) or controls.astray(token, t_s)
    if token == "tab" and line.other:
        _OTHER[line.what](controls, t_s)
        return True
    did = line.key(token, t_s)
    if did is Typed.SET:
        _TYPED[line.what](controls, t_s)
        trip.ask_next(controls, t_s)
    elif did is Typed.DROPPED:
        controls.typing = None
        controls.asking.clear()
        if not line.skippable:
            controls.say(f"{line.title}: dropped, nothing changed", t_s)
    return did is not Typed.OTHER
