"""Acts on rods and their lines: choosing, lengths, settings, out and in."""

from __future__ import annotations

from sternwatch.console.controls.controls import Controls, Tone
from sternwatch.console.controls.typing_line import TypingLine
from sternwatch.console.words.rods import span
from sternwatch.debrief.counting.now_producing import PutBack, put_back
from sternwatch.gear.values.units import UNITS, limit_words
from sternwatch.watch.picture.model import RodPicture, RodState

LONGEST_M = 2000.0
SHORTEST_LEAD_M = 0.3
LONGEST_LEAD_M = 500.0


def choose(controls: Controls, step: int, t_s: float) -> None:
    """Choose the next rod to the right (+1) or left (−1) on the screen, without a hit."""
    keys = [rod.key for rod in controls.across()]
    if not keys:
        return
    at = keys.index(controls.chosen) if controls.chosen in keys else -step
    controls.chosen = keys[(at + step) % len(keys)]
    controls.say(f"{controls.name(controls.rod(controls.chosen))} chosen", t_s)


def next_fighting(controls: Controls, t_s: float) -> None:
    """Choose the next rod with a fish on."""
    rods = controls.across()
    keys = [rod.key for rod in rods]
    at = keys.index(controls.chosen) if controls.chosen in keys else 0
    for rod in (*rods[at + 1 :], *rods[: at + 1]):
        if controls.expect.get(("state", rod.key), rod.state, t_s) is RodState.FIGHTING:
            controls.chosen = rod.key
            controls.say(f"{controls.name(rod)} chosen: fish on", t_s)
            return
    controls.say("No rod has a fish on", t_s)


def _wanted(controls: Controls, rod: RodPicture, t_s: float) -> float | None:
    shown = rod.moving_to_m if rod.moving_to_m is not None else rod.line_out_m
    value = controls.expect.get(("line", rod.key), shown, t_s)
    return None if value is None else float(value)


def pay(controls: Controls, by_m: float, t_s: float) -> None:
    """Let out (positive) or take in line on the chosen rod [m]."""
    rod = controls.chosen_rod(t_s)
    if rod is None:
        return
    now = _wanted(controls, rod, t_s)
    if now is None:
        controls.say(f"{controls.name(rod)}: line out not known; type it first", t_s)
        return
    set_length(controls, rod, min(max(now + by_m, 0.0), LONGEST_M), t_s)


def set_length(controls: Controls, rod: RodPicture, length_m: float, t_s: float) -> None:
    """Set the wanted counter reading of ``rod`` [m]."""
    name = controls.name(rod)
    words = f"{name} line out {controls.length(length_m)}"
    action = controls.submit("length", rod.key, words, t_s, line_out_m=length_m)
    controls.expect.put(("line", rod.key), length_m, t_s)
    controls.say(words, t_s, Tone.ENTRY, action)


def open_typing(controls: Controls, t_s: float) -> None:
    """Open the typing line for the chosen rod's length."""
    rod = controls.chosen_rod(t_s)
    if rod is not None:
        controls.typing = TypingLine(f"LINE OUT {controls.name(rod)}", "length", rod.key, controls.units.length, t_s)


def length_typed(controls: Controls, t_s: float) -> None:
    """Take a typed length."""
    line = controls.typing
    assert line is not None
    value, rod = line.value, controls.rod(line.of)
    if value is None or rod is None:
        controls.typing = None
        return
    length_m = UNITS[line.unit].to_si(value)
    if length_m > LONGEST_M:
        controls.refuse(f"{value:g} {line.unit} is too much line: at most {limit_words(LONGEST_M, line.unit)}", t_s)
        return
    controls.typing = None
    set_length(controls, rod, length_m, t_s)


def setting(controls: Controls, step: int, t_s: float) -> None:
    """Change the diver's setting by a step up (+1) or down (−1), or the downrigger's lead to longer or shorter."""
    rod = controls.chosen_rod(t_s)
    if rod is None:
        return
    name = controls.name(rod)
    if rod.settings:
        now = controls.expect.get(("setting", rod.key), rod.setting, t_s)
        at = rod.settings.index(now) if now in rod.settings else 0
        to = min(max(at + step, 0), len(rod.settings) - 1)
        if rod.settings[to] == now:
            controls.say(f"{name} is at its {'highest' if step > 0 else 'lowest'} setting, {now}", t_s)
            return
        label = rod.settings[to]
        action = controls.submit("setting", rod.key, f"{name} set {label}", t_s, setting=label)
        controls.expect.put(("setting", rod.key), label, t_s)
        controls.say(f"{name} set {label}", t_s, Tone.ENTRY, action)
    elif rod.lead_m is not None:
        lead = (
            float(controls.expect.get(("lead", rod.key), rod.lead_m, t_s)) + step * controls.preferences.lead_step_m
        )
        lead = min(max(lead, SHORTEST_LEAD_M), LONGEST_LEAD_M)
        action = controls.submit("lead", rod.key, f"{name} lead {controls.length(lead)}", t_s, lead_m=lead)
        controls.expect.put(("lead", rod.key), lead, t_s)
        controls.say(f"{name} lead {controls.length(lead)}", t_s, Tone.ENTRY, action)
    else:
        controls.say(f"{name} has no setting and no lead to change", t_s)


def going_out(controls: Controls, t_s: float) -> None:
    """Let the chosen rod go out; if it is going out already, set it."""
    rod = controls.chosen_rod(t_s)
    if rod is None:
        return
    name = controls.name(rod)
    state = controls.expect.get(("state", rod.key), rod.state, t_s)
    if state is RodState.FISHING:
        controls.say(f"{name} is fishing already", t_s)
        return
    if state in (RodState.LETTING_OUT, RodState.REELING):
        action = controls.submit("set", rod.key, f"{name} set", t_s)
        controls.expect.put(("state", rod.key), RodState.FISHING, t_s)
        controls.say(f"{name} is set", t_s, Tone.ENTRY, action)
        return
    action = controls.submit("going out", rod.key, f"{name} going out", t_s)
    controls.expect.put(("state", rod.key), RodState.LETTING_OUT, t_s)
    wanted = _wanted(controls, rod, t_s)
    to = f" to {controls.length(wanted)}" if wanted is not None else ""
    controls.say(f"{name} going out{to}; the same key again when it is set", t_s, Tone.ENTRY, action)


def take_in(controls: Controls, t_s: float) -> None:
    """Enter that the chosen rod is in."""
    rod = controls.chosen_rod(t_s)
    if rod is None:
        return
    name = controls.name(rod)
    if controls.expect.get(("state", rod.key), rod.state, t_s) is RodState.IN:
        controls.say(f"{name} is in already", t_s)
        return
    action = controls.submit("in", rod.key, f"{name} in", t_s)
    controls.expect.put(("state", rod.key), RodState.IN, t_s)
    controls.say(f"{name} is in", t_s, Tone.ENTRY, action)


def _as_hit(controls: Controls, t_s: float) -> tuple[RodPicture, PutBack] | None:
    """The chosen rod and its state at its last hit. Where there is nothing to put back, say why."""
    rod, picture = controls.chosen_rod(t_s), controls.picture
    if rod is None or picture is None or picture.crew is None:
        return None
    hit = picture.crew.last_hit(rod.key)
    row = next((row for row in picture.hit_rows if hit is not None and row.id == hit.id), None)
    back = put_back(picture.crew, rod.key, controls.units, row)
    if isinstance(back, str):
        controls.say(back, t_s)
        return None
    return rod, back


def show_as_hit(controls: Controls, t_s: float) -> None:
    """Show the chosen rod's state at its last hit beside its present one."""
    found = _as_hit(controls, t_s)
    if found is None:
        return
    rod, back = found
    hit = next((hit for hit in controls.hits() if hit.id == back.hit), None)
    when = "" if hit is None or controls.picture is None else f" {span(controls.picture.t_s - hit.t_s)} ago"
    where = "" if hit is None or hit.depth_m is None else f" at {controls.length(hit.depth_m)}"
    now = "the same" if back.now == back.then else back.now
    controls.say(f"{controls.name(rod)}, hit{when}: {back.then}{where}; now {now}; press again to put it back", t_s)


def as_hit(controls: Controls, t_s: float) -> None:
    """Let the chosen rod go out as at its last hit."""
    found = _as_hit(controls, t_s)
    if found is None:
        return
    rod, back = found
    name = controls.name(rod)
    action = controls.submit("put back", rod.key, f"{name} put back", t_s, **back.fields)
    controls.expect.put(("state", rod.key), RodState.LETTING_OUT, t_s)
    for what, field in (("line", "line_out_m"), ("setting", "setting"), ("lead", "lead_m")):
        if field in back.fields:
            controls.expect.put((what, rod.key), back.fields[field], t_s)
    controls.say(f"{name} going out as at its hit: {back.then} (had {back.now})", t_s, Tone.ENTRY, action)


def checked(controls: Controls, t_s: float) -> None:
    """Enter that the chosen rod's line was checked and is clean."""
    rod = controls.chosen_rod(t_s)
    if rod is None:
        return
    name = controls.name(rod)
    last = ""
    if rod.set_t_s is not None and controls.picture is not None:
        last = f"; last set or checked {span(controls.picture.t_s - rod.set_t_s)} ago"
    action = controls.submit("checked", rod.key, f"{name} line checked", t_s)
    controls.say(f"{name} line checked, clean{last}", t_s, Tone.ENTRY, action)
