"""Which keys the footer offers now, in what order. No screen."""

from __future__ import annotations

from sternwatch.console.acts import alerting
from sternwatch.console.desk.hand import Desk
from sternwatch.console.keys.keymap import Keymap
from sternwatch.console.keys.registry import BY_ID, STATIONS, Keyboard
from sternwatch.watch.picture.model import RodState, Session

OUTCOMES = ("boxed", "freed", "dropped", "no fish")
_HELM = (
    "bite",
    "out",
    "in",
    "deeper+shallower",
    "less+more",
    "plan",
    "undo",
    "length",
    "fish",
    "view",
    "night",
    "gauge",
    "left+right",
    "as hit",
    "checked",
    "change",
    "move",
    "fish seen",
    "mark",
    "pull",
    "note",
    "earlier",
    "restore",
    "lock",
    "palette",
)
_PRACTICE = ("helm port+helm starboard", "throttle less+throttle more", "hold", "drill")
_REPLAY = (
    "play",
    "back+on",
    "step back+step on",
    "moment",
    "faster+slower",
    "event before+event after",
    "late hit",
    "plan",
    "view",
    "night",
    "fish",
    "undo",
    "restore",
    "palette",
)
_LISTS = {"mark": "MARK", "change": "CHANGE", "piece": "CHANGE", "move": "MOVE"}
_PAIRED = {
    "deeper+shallower": "line",
    "less+more": "set",
    "left+right": "choose",
    "helm port+helm starboard": "helm",
    "throttle less+throttle more": "throttle",
    "back+on": "10 s",
    "step back+step on": "step",
    "faster+slower": "speed",
    "event before+event after": "event",
}


def offered(
    desk: Desk, keymap: Keymap, t_s: float, taken: frozenset[str] = frozenset()
) -> tuple[str, list[tuple[str, str]]]:
    """What the keys are about ("" when nothing special), and (key, words) pairs, the most useful first.

    ``taken``: keys that mean something else on the screen that is shown.
    """
    if desk.typing is not None:
        line = desk.typing
        sets = "sets, empty skips" if line.skippable else "then its reading" if line.what == "gauge depth" else "sets"
        typed = "letters" if line.words else "digits : +" if line.time else "digits"
        pairs = [(typed, "type"), ("Enter", "goes there" if line.what == "moment" else sets)]
        if line.other:
            pairs.append(("Tab", f"{line.other} instead"))
        meaning = "no key is a hit now" if line.words else "rod keys are digits now"
        return "TYPING", [*pairs, ("Esc", "drops"), ("", meaning)]
    if desk.listing is not None:
        skips = "skips" if desk.listing.what == "species" else "drops"
        lead = _LISTS.get(desk.listing.what, "WHAT FISH")
        return lead, [("↑ ↓", "choose"), ("Enter", "takes"), ("Esc", skips), ("", "rod keys still hit")]
    if desk.plan is not None and desk.plan.shaping:
        pairs = [("← →", "turn"), ("↑ ↓", "quicker, slower"), ("PgUp PgDn", "speed"), ("Tab", "stop")]
        return "PLAN", [*pairs, ("Enter", "keeps"), ("Esc", "drops"), ("", "rod keys still hit")]
    keyboard = desk.keyboard
    fish = desk.open_fish(t_s)
    lead, acts = "", list(_HELM if keyboard is Keyboard.HELM else _REPLAY)
    chosen = desk.rod(desk.chosen)
    if keyboard is Keyboard.HELM and chosen is not None and chosen.hits and chosen.state is RodState.IN:
        acts = ["as hit", *(act for act in acts if act != "as hit")]  # that is what is done with it next
    if alerting.to_acknowledge(desk):
        acts = ["acknowledge", *acts]
    if fish is not None:
        lead = f"{desk.name(desk.rod(fish.rod), fish.rod or '')}:"
        acts = [*OUTCOMES, *acts]
    pairs = []
    if fish is None and (stations := _stations(desk, keymap)):
        pairs.append((stations, "HIT" if keyboard is Keyboard.HELM else "choose"))
    if desk.runner.session is Session.PRACTICE:
        acts = [*acts[: len(OUTCOMES) if fish is not None else 0], *_PRACTICE, *acts[len(OUTCOMES) if fish else 0 :]]
    for name in acts:
        ids = name.split("+")
        labels = [keymap.label(keyboard, act) for act in ids]
        if all(labels) and not any(label in taken for label in labels):
            pairs.append((" ".join(labels), _PAIRED.get(name) or BY_ID[name].foot))
    return lead, pairs


def _stations(desk: Desk, keymap: Keymap) -> str:
    """The rod keys of this spread, a run of the number row as first–last."""
    keys = [keymap.label(desk.keyboard, f"rod {rod.key}") for rod in desk.across()]
    keys = [key for key in keys if key]
    if not keys:
        return ""
    ordered = sorted(keys, key=lambda k: STATIONS.find(k) if k in STATIONS else 99)
    row = "".join(ordered)
    return f"{ordered[0]}–{ordered[-1]}" if len(row) > 2 and row in STATIONS else " ".join(ordered)
