"""Decides which keys the footer offers now, and in which order. No screen."""

from __future__ import annotations

from collections.abc import Sequence

from sternwatch.console.acts import alerting
from sternwatch.console.controls.controls import Controls
from sternwatch.console.keys.acting import STATIONS, Keyboard
from sternwatch.console.keys.keymap import Keymap
from sternwatch.console.keys.registry import BY_ID
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
_NO_PICTURE = ("bite", "undo", "restore", "night", "lock", "palette")  # what works before the rods are known
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
_DEMO = (
    "play",
    "event before+event after",
    "back+on",
    "faster+slower",
    "plan",
    "view",
    "undo",
    "night",
    "fish",
    "out",
    "in",
    "moment",
    "step back+step on",
    "gauge",
    "as hit",
    "change",
    "move",
    "palette",
)
_OFFERED = {Keyboard.HELM: _HELM, Keyboard.REPLAY: _REPLAY, Keyboard.DEMO: _DEMO}
_LISTS = {"mark": "MARK", "change": "CHANGE", "piece": "CHANGE", "move": "MOVE", "pass": "A PASS", "fault": "A FAULT"}
_ENTERS = {"moment": "goes there", "gauge depth": "then its reading"}  # what Enter does, where that is not "set"
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


Offer = tuple[str, list[tuple[str, str]]]


def in_palette(controls: Controls, keymap: Keymap) -> Offer:
    """The keys of the palette, which takes all but those of the rods."""
    hits = [(_stations(controls, keymap), "HIT")] if controls.keyboard.hits else []
    return "PALETTE", [("letters", "search"), ("↑ ↓", "choose"), ("Enter", "takes"), ("Esc", "drops"), *hits]


def offered(
    controls: Controls,
    keymap: Keymap,
    t_s: float,
    taken: frozenset[str] = frozenset(),
    here: Sequence[tuple[str, str]] = (),
) -> Offer:
    """The subject of the keys ("" where there is none), and (key, words) pairs, the most useful first.

    ``taken``: keys that mean something else on the screen that is shown; ``here``: its own, which stand first.
    """
    for taker in (_typing, _listing, _planning):
        if (offer := taker(controls)) is not None:
            return offer
    fish = controls.open_fish(t_s)
    pairs = list(here)
    if here and (back := keymap.label(controls.keyboard, "helm")):
        pairs.append((back, "helm"))
    if fish is None and (stations := _stations(controls, keymap)):
        pairs.append((stations, "HIT" if controls.keyboard.hits else "choose"))
    for name in _acts(controls, fish_open=fish is not None):
        labels = [keymap.label(controls.keyboard, act) for act in name.split("+")]
        if all(labels) and not any(label in taken for label in labels):
            pairs.append((" ".join(labels), _PAIRED.get(name) or BY_ID[name].foot))
    lead = "" if fish is None else f"{controls.name(controls.rod(fish.rod), fish.rod or '')}:"
    return lead, pairs


def _typing(controls: Controls) -> Offer | None:
    """The keys of an open typing line."""
    line = controls.typing
    if line is None:
        return None
    sets = _ENTERS.get(line.what, "sets")
    if line.skippable and line.what != "moment":
        sets = "sets, empty skips"
    typed = "letters" if line.words else "digits : +" if line.time else "digits"
    other = [("Tab", f"{line.other} instead")] if line.other else []
    meaning = "no key is a hit now" if line.words else "rod keys are digits now"
    return "TYPING", [(typed, "type"), ("Enter", sets), *other, ("Esc", "drops"), ("", meaning)]


def _listing(controls: Controls) -> Offer | None:
    """The keys of an open list."""
    if controls.listing is None:
        return None
    skips = "skips" if controls.listing.what == "species" else "drops"
    lead = _LISTS.get(controls.listing.what, "WHAT FISH")
    return lead, [("↑ ↓", "choose"), ("Enter", "takes"), ("Esc", skips), ("", "rod keys still hit")]


def _planning(controls: Controls) -> Offer | None:
    """The keys of a plan being shaped."""
    if controls.plan is None or not controls.plan.shaping:
        return None
    pairs = [("← →", "turn"), ("↑ ↓", "quicker, slower"), ("PgUp PgDn", "speed"), ("Tab", "stop")]
    return "PLAN", [*pairs, ("Enter", "keeps"), ("Esc", "drops"), ("", "rod keys still hit")]


def _acts(controls: Controls, *, fish_open: bool) -> list[str]:
    """The acts to offer, in order: a fish's end, the practice boat, an alert to acknowledge, the keyboard's own."""
    helm = controls.keyboard is not Keyboard.REPLAY
    if controls.picture is None and controls.keyboard is Keyboard.HELM:
        return list(_NO_PICTURE)
    acts = list(_OFFERED[controls.keyboard])
    chosen = controls.rod(controls.chosen)
    if helm and chosen is not None and chosen.hits and chosen.state is RodState.IN:
        acts = ["as hit", *(act for act in acts if act != "as hit")]  # the usual next act
    elif (
        controls.keyboard is Keyboard.HELM
        and chosen is not None
        and chosen.state in (RodState.IN, RodState.LETTING_OUT)
    ):
        acts = ["left+right", *(act for act in acts if act != "left+right")]  # the next rod, without a hit
    if alerting.to_acknowledge(controls):
        acts = ["acknowledge", *acts]
    if controls.runner.session is Session.PRACTICE:
        acts = [*_PRACTICE, *acts]
    return [*OUTCOMES, *acts] if fish_open else acts


def _stations(controls: Controls, keymap: Keymap) -> str:
    """The rod keys of this spread; a run of the number row as first–last."""
    known = STATIONS if controls.picture is None else [rod.key for rod in controls.across()]
    keys = [keymap.label(controls.keyboard, f"rod {key}") for key in known]
    keys = [key for key in keys if key]
    if not keys:
        return ""
    ordered = sorted(keys, key=lambda k: STATIONS.find(k) if k in STATIONS else 99)
    row = "".join(ordered)
    return f"{ordered[0]}–{ordered[-1]}" if len(row) > 2 and row in STATIONS else " ".join(ordered)
