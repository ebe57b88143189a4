"""The help page: what the screen shows, and every key, from the registry."""

from __future__ import annotations

from string import ascii_lowercase
from typing import ClassVar

from textual.app import ComposeResult

from sternwatch.cautions import ALL, COMPUTED
from sternwatch.console.controls.controls import Controls
from sternwatch.console.frame.scrolled import READING_CELLS, Line, Scrolled, ScrolledScreen
from sternwatch.console.keys.acting import GROUPS, Keyboard
from sternwatch.console.keys.keymap import Keymap
from sternwatch.console.keys.registry import ACTS, BY_ID
from sternwatch.console.paint.hiding import key_names
from sternwatch.console.words import rods as words
from sternwatch.console.words.text import wrapped
from sternwatch.water.zones import ZONES

ABOUT = {
    "helm": "The rods stand as they stand across the stern. Large: the computed depth of the lure. Beneath: the "
    "two depths between which it lies nine times in ten; line out and setting; the lure's speed through "
    "the water; the temperature there; the room to the bottom and to the nearest line; the hits, and how "
    "long ago the last was; how long since the line was let out, changed or looked at. A dash is a value "
    "not known; ~ is a bottom sounded beside the lure. If other tackle than the lure has the least room, "
    "it is named. The strip on top tells every sensor's value, source and age, and which speed the depths "
    "use. The line beneath it tells how fast she is turning, and how fast she may turn to either side. "
    "Dotted lines show where the lines will be at the worst moment of the forecast; a cross marks where "
    "two come closest.",
    "above": "The lines from above: the boat is at the top and they stream down the screen, each marked with its "
    "rod's key; marked places and fish seen are there too. Above stands the nearest mark ahead; beside "
    "the hull, for traffic astern, how far back and how wide the lines are.",
    "side": "The lines from the side: the boat is at the left, depth goes down, the zone is shaded. The bottom is "
    "drawn where the boat has sounded it, on this trip or an earlier one, whose age is shown. Fish seen "
    "are at their depth, marks where they were made.",
    "chart": "Over ground, to scale: your track, hits by their rods at the lure's place, marks, fish seen, the "
    "boat with her lines and lures; dotted, where they will be. The bottom is drawn from your own "
    "soundings on all trips, where newer ones count more; where you have not sounded, an imported grid is "
    "drawn dotted. Arrows choose a place, which stays in the middle; Home follows the boat again, PgUp "
    "and PgDn zoom, Tab puts north or her course up, End colours the track by depth, temperature or "
    "speed. It shows no latitude or longitude.",
    "check": "What could break, trip, tangle, drag or not reach the net, on a straight course with the present "
    "lengths and settings of all rods, out or in. Each finding says what, why it matters and how to avoid "
    "it; the worst comes first. It is made anew when a length, a setting, the speed or the bottom "
    "changes; until she trolls it is made for the usual speed, and the bottom is left out. Finding "
    "nothing is not a guarantee: at the end it says what it could not check.",
    "how sure": "The two depths between which the chosen rod's lure lies nine times in ten, and why they are so "
    "far apart: each row is something not known exactly, with the ± that it alone would leave and its "
    "share of the whole. It is computed for a straight course with the present speed, line and "
    "setting. A rod clipped to another's cable is computed with that cable as it is in the file. A "
    "share shrinks when the crew measures, and when a turn shows the current.",
    "fit": "What this trip's observations, and the [[known]] entries of the file, say about the tackle. OBSERVED: "
    "what was seen and its error, what was believed, what the fit makes of it, and how many deviations that "
    "is off; one that tells nothing is listed with the reason. DEPTHS: every rod before and now; observed "
    "ones are bold. LEARNED: a factor on the value in use, or a shift of it, and the two ends between which "
    "it lies nine times in ten. Enter twice adds it to the season, as the end of the trip does by itself; "
    "later trips use it and say so. This trip goes on as it is.",
    "calibrate": "A quarter of an hour with one rod. Over flat bottom that the sounder shows, three touches at "
    "three speeds: the page says how fast, about how much line, and what to press when it ticks; then "
    "how narrow its interval became. Left and right choose another rod; a rod's key is still a hit. "
    "Earlier touches do not count.",
    "deck page": "Phones at the stern show the same picture: scan the code, or type the address. They only show it. "
    "Whoever has the address can read it, until the session ends.",
    "producing": "Hits per hour of fishing, for every rod, rig, lure, setting, side, depth, temperature, lure "
    "speed, turn, current and hour, each beside the rest of its kind. It draws a conclusion only "
    "where luck alone would hardly do that, all comparisons taken together; else it says that there "
    "is not enough to tell, and how many more rod-hours it would take. Enter shows for each rate the "
    "interval in which it lies nine times in ten.",
    "debrief": "The trip in parts; left and right change between them: the summary and what produced; speed, "
    "depths and temperatures against the time, with hits and alerts; the chart, to scale; every hit, "
    "rate and alert with what followed it, and which lines came closest. Up and down choose a row; "
    "beneath stands what has no room in its columns; over a recording Enter goes to that moment. The "
    "chosen rod's depth is drawn heavy. Places are shown only after Tab. A live trip is shown as far as "
    "it has come; what you enter while looking at a past one counts when it is opened again.",
    "spread plan": "What to put where: settings and line out for every rod, so that the lures spread evenly "
    "between two depths and no pair crosses in more than one version in ten in a U-turn to "
    "either side, out of a straight tow at her speed. The proposal stands beside the present state, "
    "in an order of letting out in which none touches another on its way, as simulated; beneath it, "
    "what stands in the way. The views show the planned lines dotted. Enter accepts all of it as "
    "one entry, which one key takes back; Tab asks for other depths.",
    "ahead": "What is forecast: the tightest turn to either side and the slowest speed that keep the risk of any "
    "crossing as low as your preferences ask; what happens if she holds course, if she goes on turning as "
    "now, and with the plan; which pairs touch or pass near; and every lure's depth against time, with "
    "the 5 and 95 % of the versions dotted.",
    "glance": "What matters most, as large as it fits: the worst alert, speed, turning, each rod's depth and state, "
    "bottom and surface temperature, the last hit.",
    "sensors": "First which speed the depths use, or why no depth is known. Then every quantity a boat tells: its "
    "value and state (fresh; no value: the sensor says it has none; silent; suspect: it jumped), how "
    "old it is, how often it comes, after how long it counts as silent (limit), and its source; a mark "
    "shows the one in use, the others are in reserve. Then every source: what it is doing, which "
    "sentences it sends, and what was refused, by cause, with the last line of each as it came.",
}
WITHIN = (
    "The two depths beneath a depth (90 % within) come from many versions of each line, no two with the same drag, "
    "weight, setting and current; they differ by as much as the tackle's data and the speed are uncertain. They "
    "are not always equally far from the depth. Where they are farther apart than a quarter of the depth, its "
    "large digits are not filled, or ~ stands before it. They cannot know what nobody entered: weed, a fish, a "
    "wrong length."
)
IN_NONE = (
    "Percentages count the versions computed of each line: sixteen, and forty-eight of two lines that cross in one "
    "to three of the sixteen. In none of 16 does not mean never: when none of sixteen crossed, the true share can "
    "still be up to 17 in a hundred (with a confidence of 95 %; Clopper & Pearson 1934). Weed, a fish or another "
    "boat are in no percentage. A limit is given with its risk: risk at most 10 % means that within it lines touch, "
    "or worse, in up to one of ten versions. It never means that a turn or a speed is safe."
)
ACCIDENTS = (
    "The same rod key within 2 s is one hit. A neighbouring key within 0.12 s, or three rod keys within a second, "
    "make doubtful hits: they are kept, but count only once an outcome confirms them."
)

# The ten keys needed first, by what one wants to do. "rod": the rod keys.
_PLAYING = (
    ("play", "stop the recording, and let it go on"),
    ("event after", "what happens next: a hit, a turn, an alert"),
    ("faster", "pass quickly over the quiet parts"),
)
_CREW = (
    ("rod", "a fish strikes"),
    ("boxed", "the fish is in the box"),
    ("undo", "the last entry was wrong"),
    ("plan", "what would this turn do to the lines?"),
    ("acknowledge", "the alert has been seen"),
    ("view", "see more: each view in turn"),
    ("night", "it grows dark, or light"),
)
TEN = {
    Keyboard.HELM: (
        *_CREW,
        ("left", "look at another rod"),
        ("deeper", "this lure should be a little deeper"),
        ("out", "a rod goes out, and then is set"),
    ),
    Keyboard.DEMO: (*_PLAYING, *_CREW),
    Keyboard.REPLAY: (
        *_PLAYING,
        ("back", "see that again"),
        ("moment", "go to a time of day"),
        ("rod", "look at another rod"),
        ("late hit", "a hit was not written down"),
        ("undo", "the last entry was wrong"),
        ("view", "see more: each view in turn"),
        ("night", "it grows dark, or light"),
    ),
}

_ACT_AT, _TEXT_AT = 18, 36  # cells
_FOOT = {act.words: act.foot for act in ACTS}

Row = tuple[str, str, str]  # key, words, help; a heading has only words, a paragraph only help


def zone_words(controls: Controls) -> str:
    """The zone: its meaning and its source, or how to set one."""
    picture = controls.picture
    if picture is None or not (shown := words.zone(picture, controls.units)):
        known = ", ".join(dict.fromkeys((*controls.preferences.zones, *ZONES)))
        return f'No zone of temperatures is chosen. In the preferences, zone = "…" chooses one: {known}.'
    named = f"{picture.zone_name}, " if picture.zone_name else ""
    return (
        f"The zone ({named}{shown}; source: {picture.zone_source or 'not told'}) is shaded from the side where the "
        "temperature is known, and a rod in it is marked. It is known between readings: those typed, a probe's, "
        "and the surface's once one lies beneath it."
    )


def station_keys(controls: Controls, keymap: Keymap) -> str:
    """The keys of the present rods."""
    return (
        " ".join(keymap.label(controls.keyboard, act.id) for act in ACTS if act.station and controls.offers(act))
        or "–"
    )


def ten_keys(controls: Controls, keymap: Keymap) -> list[Row]:
    """The ten keys needed first."""
    made: list[Row] = [("", "the ten keys to begin with", "")]
    for act_id, task in TEN[controls.keyboard]:
        if act_id == "rod":
            made.append((station_keys(controls, keymap), "hit" if controls.keyboard.hits else "choose", task))
        else:
            made.append((keymap.label(controls.keyboard, act_id) or "palette", BY_ID[act_id].words, task))
    return [*made, ("", "", "")]


def rows(controls: Controls, keymap: Keymap, about: str) -> list[Row]:
    """The help of this session's keys, one row per act."""
    made: list[Row] = ten_keys(controls, keymap) if about == "helm" else []
    made += [("", "", ABOUT.get(about, ABOUT["helm"])), ("", "", COMPUTED)]
    if about == "helm":
        made += [("", "", WITHIN), ("", "", zone_words(controls))]
    keyboard = controls.keyboard
    for group in GROUPS:
        acts = [act for act in ACTS if act.group == group and controls.offers(act)]
        if not acts:
            continue
        made.append(("", group, ""))
        stations = [act for act in acts if act.station is not None]
        if stations:
            does = "hit" if keyboard.hits else "choose"
            made.append((station_keys(controls, keymap), does, stations[0].help))
        for act in acts:
            label = keymap.label(keyboard, act.id)
            if act.station is None:
                made.append((label or "palette", act.words, act.help))
        if group == GROUPS[0] and keyboard.hits:
            made.append(("", "", ACCIDENTS))
    made += [("", "what a share means", ""), ("", "", IN_NONE), ("", "cautions", "")]
    made += [("", "", text) for text in ALL]
    return made


def found(every: list[Row], wanted: str) -> list[Row]:
    """Of the help's rows those in which all the words stand, keys before what is only told.

    An act is found by the footer's word for it too: "undo" finds "take back".
    """
    parts = wanted.lower().split()
    texts = [" ".join((*row, _FOOT.get(row[1], ""))).lower() for row in every]
    hits = [row for row, text in zip(every, texts, strict=True) if row[2] and all(part in text for part in parts)]
    # The first ten keys stand in their groups once more, told in full.
    hits = list({row[:2] if row[0] else row: row for row in hits}.values())
    return sorted(hits, key=lambda row: (not any(p in row[1].lower() for p in parts), not row[0]))


class HelpText(Scrolled):
    """What the screen shows, and the keys; of them what is searched for."""

    def __init__(self) -> None:
        super().__init__()
        self.about = "helm"
        self.wanted = ""

    @property
    def hint(self) -> str:
        return f"{self.keymap.label(self.controls.keyboard, 'help')}: what the words mean"

    def lines(self, width: int) -> list[Line]:
        width = min(width, READING_CELLS)
        room = max(width - _TEXT_AT - 2, 20)
        every = rows(self.controls, self.keymap, self.about)
        made: list[Line] = [((1, "Type to search", "label"),), ()]
        if self.wanted:
            every = found(every, self.wanted)
            made = [((1, f"{self.wanted}_", "number"), (len(self.wanted) + 4, _count(len(every)), "label")), ()]
        for key, act, text in every:
            if not key and not act:
                made += [((1, line, "text"),) for line in wrapped(text, width - 2, 12)]
                made.append(())
            elif not key:
                if made[-1]:
                    made.append(())
                made.append(((1, act.upper(), "state"),))
            else:
                told: list[Line] = [((_TEXT_AT, line, "text"),) for line in wrapped(text, room, 5)]
                lead: Line = ((1, key_names(key, self.look.glyphs)[:16], "key"), (_ACT_AT, act, "number"))
                # Longer words have a line to themselves: the columns never collide.
                beside = len(act) < _TEXT_AT - _ACT_AT
                made += [(*lead, *told[0]), *told[1:]] if beside else [lead, *told]
        return made


def _count(rows_found: int) -> str:
    return f"{rows_found} found" if rows_found else "nothing found: Backspace takes a letter back"


class HelpScreen(ScrolledScreen):
    """Help over any session. Rod keys still enter hits; letters search."""

    words = "HELP"
    foot = (("letters", "search"), ("↑ ↓", "move"))
    own_keys: ClassVar[tuple[str, ...]] = (*ScrolledScreen.own_keys, "backspace", "space", *ascii_lowercase)

    def __init__(self) -> None:
        super().__init__()
        self.about = "helm"

    def body(self) -> ComposeResult:
        yield HelpText()

    def key(self, token: str) -> bool:
        controls = self.watch_app.controls
        if token in self.watch_app.keymap.keys_of(controls.keyboard, "help"):
            self.watch_app.show_words()
            return True
        text = self.query_one(HelpText)
        if len(token) == 1 and token.isalpha():
            text.wanted, text.first = text.wanted + token, 0
        elif token == "space" and text.wanted:
            text.wanted += " "
        elif token == "backspace":
            text.wanted, text.first = text.wanted[:-1], 0
        else:
            return super().key(token)
        return True

    def on_screen_suspend(self) -> None:
        self.query_one(HelpText).wanted = ""

    def fit_body(self) -> None:
        text = self.query_one(HelpText)
        text.about = self.about
