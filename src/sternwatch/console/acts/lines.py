"""Acts on rods and their lines: choosing, lengths, settings, out and in."""

from __future__ import annotations

from sternwatch.console.desk.hand import Desk, Tone
from sternwatch.console.desk.typing_line import TypingLine
from sternwatch.console.words.rods import ago
from sternwatch.debrief.counting.live import PutBack, put_back
from sternwatch.gear.values.units import UNITS, convert
from sternwatch.watch.picture.model import RodPicture, RodState

LONGEST_M = 2000.0
SHORTEST_LEAD_M = 0.3
LONGEST_LEAD_M = 500.0


def choose(desk: Desk, step: int, t_s: float) -> None:
    """Choose the next rod to the right (+1) or left (−1) on the screen; no hit."""
    keys = [rod.key for rod in desk.across()]
    if not keys:
        return
    at = keys.index(desk.chosen) if desk.chosen in keys else -step
    desk.chosen = keys[(at + step) % len(keys)]
    desk.say(f"{desk.name(desk.rod(desk.chosen))} chosen", t_s)


def next_fighting(desk: Desk, t_s: float) -> None:
    """Choose the next rod with a fish on."""
    rods = desk.across()
    keys = [rod.key for rod in rods]
    at = keys.index(desk.chosen) if desk.chosen in keys else 0
    for rod in (*rods[at + 1 :], *rods[: at + 1]):
        if desk.expect.get(("state", rod.key), rod.state, t_s) is RodState.FIGHTING:
            desk.chosen = rod.key
            desk.say(f"{desk.name(rod)} chosen: fish on", t_s)
            return
    desk.say("No rod has a fish on", t_s)


def _wanted(desk: Desk, rod: RodPicture, t_s: float) -> float | None:
    shown = rod.moving_to_m if rod.moving_to_m is not None else rod.line_out_m
    value = desk.expect.get(("line", rod.key), shown, t_s)
    return None if value is None else float(value)


def pay(desk: Desk, by_m: float, t_s: float) -> None:
    """Let out (positive) or take in line on the chosen rod [m]."""
    rod = desk.chosen_rod(t_s)
    if rod is None:
        return
    now = _wanted(desk, rod, t_s)
    if now is None:
        desk.say(f"{desk.name(rod)}: line out not known; type it first", t_s)
        return
    set_length(desk, rod, min(max(now + by_m, 0.0), LONGEST_M), t_s)


def set_length(desk: Desk, rod: RodPicture, length_m: float, t_s: float) -> None:
    """The counter's reading wanted on ``rod`` [m]."""
    name = desk.name(rod)
    words = f"{name} line out {desk.length(length_m)}"
    action = desk.submit("length", rod.key, words, t_s, line_out_m=length_m)
    desk.expect.put(("line", rod.key), length_m, t_s)
    desk.say(words, t_s, Tone.ENTRY, action)


def open_typing(desk: Desk, t_s: float) -> None:
    """Open the typing line for the chosen rod's length."""
    rod = desk.chosen_rod(t_s)
    if rod is not None:
        desk.typing = TypingLine(f"LINE OUT {desk.name(rod)}", "length", rod.key, desk.units.length, t_s)


def length_typed(desk: Desk, t_s: float) -> None:
    """Enter on a typed length."""
    line = desk.typing
    assert line is not None
    value, rod = line.value, desk.rod(line.of)
    if value is None or rod is None:
        desk.typing = None
        return
    length_m = UNITS[line.unit].to_si(value)
    if length_m > LONGEST_M:
        line.text = ""
        desk.say(f"{value:g} {line.unit} is too much line: at most {convert(LONGEST_M, line.unit):.0f}", t_s)
        return
    desk.typing = None
    set_length(desk, rod, length_m, t_s)


def setting(desk: Desk, step: int, t_s: float) -> None:
    """The diver's setting a step up (+1) or down (−1), or the downrigger's lead longer or shorter."""
    rod = desk.chosen_rod(t_s)
    if rod is None:
        return
    name = desk.name(rod)
    if rod.settings:
        now = desk.expect.get(("setting", rod.key), rod.setting, t_s)
        at = rod.settings.index(now) if now in rod.settings else 0
        to = min(max(at + step, 0), len(rod.settings) - 1)
        if rod.settings[to] == now:
            desk.say(f"{name} is at its {'highest' if step > 0 else 'lowest'} setting, {now}", t_s)
            return
        label = rod.settings[to]
        action = desk.submit("setting", rod.key, f"{name} set {label}", t_s, setting=label)
        desk.expect.put(("setting", rod.key), label, t_s)
        desk.say(f"{name} set {label}", t_s, Tone.ENTRY, action)
    elif rod.lead_m is not None:
        lead = float(desk.expect.get(("lead", rod.key), rod.lead_m, t_s)) + step * desk.preferences.lead_step_m
        lead = min(max(lead, SHORTEST_LEAD_M), LONGEST_LEAD_M)
        action = desk.submit("lead", rod.key, f"{name} lead {desk.length(lead)}", t_s, lead_m=lead)
        desk.expect.put(("lead", rod.key), lead, t_s)
        desk.say(f"{name} lead {desk.length(lead)}", t_s, Tone.ENTRY, action)
    else:
        desk.say(f"{name} has no setting and no lead to change", t_s)


def going_out(desk: Desk, t_s: float) -> None:
    """The chosen rod goes out; when it is going out already, it is set."""
    rod = desk.chosen_rod(t_s)
    if rod is None:
        return
    name = desk.name(rod)
    state = desk.expect.get(("state", rod.key), rod.state, t_s)
    if state is RodState.FISHING:
        desk.say(f"{name} is fishing already", t_s)
        return
    if state in (RodState.LETTING_OUT, RodState.REELING):
        action = desk.submit("set", rod.key, f"{name} set", t_s)
        desk.expect.put(("state", rod.key), RodState.FISHING, t_s)
        desk.say(f"{name} is set", t_s, Tone.ENTRY, action)
        return
    action = desk.submit("going out", rod.key, f"{name} going out", t_s)
    desk.expect.put(("state", rod.key), RodState.LETTING_OUT, t_s)
    wanted = _wanted(desk, rod, t_s)
    to = f" to {desk.length(wanted)}" if wanted is not None else ""
    desk.say(f"{name} going out{to}; the same key again when it is set", t_s, Tone.ENTRY, action)


def take_in(desk: Desk, t_s: float) -> None:
    """The chosen rod is in."""
    rod = desk.chosen_rod(t_s)
    if rod is None:
        return
    name = desk.name(rod)
    if desk.expect.get(("state", rod.key), rod.state, t_s) is RodState.IN:
        desk.say(f"{name} is in already", t_s)
        return
    action = desk.submit("in", rod.key, f"{name} in", t_s)
    desk.expect.put(("state", rod.key), RodState.IN, t_s)
    desk.say(f"{name} is in", t_s, Tone.ENTRY, action)


def _as_hit(desk: Desk, t_s: float) -> tuple[RodPicture, PutBack] | None:
    """The chosen rod and what it had at its last hit; said why not when there is nothing to put back."""
    rod, picture = desk.chosen_rod(t_s), desk.picture
    if rod is None or picture is None or picture.crew is None:
        return None
    hit = picture.crew.last_hit(rod.key)
    row = next((row for row in picture.hit_rows if hit is not None and row.id == hit.id), None)
    back = put_back(picture.crew, rod.key, desk.units, row)
    if isinstance(back, str):
        desk.say(back, t_s)
        return None
    return rod, back


def show_as_hit(desk: Desk, t_s: float) -> None:
    """What the chosen rod had at its last hit beside what it has."""
    found = _as_hit(desk, t_s)
    if found is None:
        return
    rod, back = found
    hit = next((hit for hit in desk.hits() if hit.id == back.hit), None)
    when = "" if hit is None or desk.picture is None else f" {ago(desk.picture.t_s - hit.t_s)} ago"
    where = "" if hit is None or hit.depth_m is None else f" at {desk.length(hit.depth_m)}"
    now = "the same" if back.now == back.then else back.now
    desk.say(f"{desk.name(rod)}, hit{when}: {back.then}{where}; now {now}; again puts it back", t_s)


def as_hit(desk: Desk, t_s: float) -> None:
    """The chosen rod goes out as it was at its last hit."""
    found = _as_hit(desk, t_s)
    if found is None:
        return
    rod, back = found
    name = desk.name(rod)
    action = desk.submit("put back", rod.key, f"{name} put back", t_s, **back.fields)
    desk.expect.put(("state", rod.key), RodState.LETTING_OUT, t_s)
    for what, field in (("line", "line_out_m"), ("setting", "setting"), ("lead", "lead_m")):
        if field in back.fields:
            desk.expect.put((what, rod.key), back.fields[field], t_s)
    desk.say(f"{name} going out as at its hit: {back.then} (had {back.now})", t_s, Tone.ENTRY, action)


def checked(desk: Desk, t_s: float) -> None:
    """The chosen rod's line was looked at and is clean."""
    rod = desk.chosen_rod(t_s)
    if rod is None:
        return
    name = desk.name(rod)
    last = ""
    if rod.set_t_s is not None and desk.picture is not None:
        last = f"; last set or checked {ago(desk.picture.t_s - rod.set_t_s)} ago"
    action = desk.submit("checked", rod.key, f"{name} line checked", t_s)
    desk.say(f"{name} line checked, clean{last}", t_s, Tone.ENTRY, action)
