"""The notices above the answer line: one sentence each while it is true, the most pressing first. No screen."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sternwatch.cautions import BOX, COLD, COLREG, NEUTRAL, WIRE
from sternwatch.console.acts import marking
from sternwatch.console.controls import planning, tour
from sternwatch.console.controls.controls import Controls
from sternwatch.console.keys.keymap import Keymap
from sternwatch.console.words.fish import fish_words
from sternwatch.console.words.text import read_alone, wrapped
from sternwatch.feed.readings import Quantity
from sternwatch.logbook.crew.facts import box_counts, rods_allowed
from sternwatch.watch.picture.model import Picture, RodState, Session

if TYPE_CHECKING:
    from sternwatch.watch.again.following import Following
    from sternwatch.watch.whole_pass.following import Passing

COLD_C = (60.0 - 32.0) / 1.8
TRIP_START_S = 60.0
FISH_SEEN_S = 60.0


@dataclass(frozen=True, slots=True)
class Notice:
    """One sentence and its ink."""

    text: str
    ink: str = "caution"
    stays: bool = True  # False: it stays for long, and takes turns with its like on one line
    tag: str = ""  # put before each sentence where there is room
    brief: str = ""  # replaces it where there are too few rows
    on: str = ""  # the only screen that shows it; else all do


@dataclass(frozen=True, slots=True)
class _Now:
    """What a rule uses: the controls, the keys, and the time."""

    controls: Controls
    keymap: Keymap
    since_start_s: float
    t_s: float

    def key(self, act_id: str) -> str:
        return self.keymap.label(self.controls.keyboard, act_id)


def standing(controls: Controls, keymap: Keymap, since_start_s: float, t_s: float) -> list[Notice]:
    """The notices that are true at monotonic time ``t_s`` [s], the most pressing first."""
    now = _Now(controls, keymap, since_start_s, t_s)
    found = [notice for rule in _ALWAYS for notice in rule(now)]
    if controls.picture is not None:
        found += [notice for rule in _WITH_PICTURE for notice in rule(now, controls.picture)]
    return found


def _troubles(now: _Now) -> Iterator[Notice]:
    """Entries that could not be stored, and faults of the console's own settings."""
    for text in now.controls.failed:
        yield Notice(f"NOT SAVED: {text} ({now.key('helm')} puts this line away)", "alarm band")
    for text in now.controls.remarks:
        yield Notice(f"{text} ({now.key('helm')} puts this line away)")


def _which_rod(now: _Now) -> Iterator[Notice]:
    """A bite or a late hit that waits for its rod key."""
    if now.controls.bite is not None:
        ago = int(now.t_s - now.controls.bite.t_s)
        yield Notice(f"BITE {ago} s ago: which rod? Press its key.", "caution band")
    if now.controls.late is not None:
        yield Notice(f"LATE HIT: which rod? ({now.key('helm')}: none)", "caution band")


def _plan(now: _Now) -> Iterator[Notice]:
    """The plan being shaped or kept."""
    if now.controls.plan is not None:
        whole, bones = planning.words(now.controls, now.controls.plan)
        yield Notice(whole, "state", brief=bones)


def _again(now: _Now) -> Iterator[Notice]:
    """How to steer so that a lure passes a place again."""
    following = now.controls.runner.again
    if following is not None:
        yield from _steered(now, following, "AGAIN")


def _passing(now: _Now) -> Iterator[Notice]:
    """How to steer on a planned pass."""
    passing = now.controls.runner.passing
    if passing is not None:
        yield from _steered(now, passing, "PASS")


def _steered(now: _Now, by: Following | Passing, tag: str) -> Iterator[Notice]:
    """The line to steer by and its way; neither where no way is wanted."""
    controls = now.controls
    steered, way = by.words(controls.units, {rod.key: controls.name(rod) for rod in controls.across()})
    if steered:
        yield Notice(f"{steered} {by.bar}".rstrip(), "caution band", brief=steered)
    if way:
        yield Notice(way, "state", stays=False, tag=tag)


def _doubtful(now: _Now) -> Iterator[Notice]:
    """Doubtful hits not confirmed yet."""
    controls, key = now.controls, now.key
    if doubtful := controls.doubtful(now.t_s):
        rods = ", ".join(dict.fromkeys(controls.name(controls.rod(hit.rod), hit.rod or "") for hit in doubtful))
        yield Notice(
            f"Not counted: {rods}. {key('boxed')}, {key('freed')} or {key('dropped')} counts the chosen rod's "
            f"doubtful hit, {key('no fish')} drops it.",
            stays=False,
            tag="DOUBTFUL.",
        )


def _busy(now: _Now) -> Iterator[Notice]:
    """What the session is busy with. Before the first picture large words show that instead."""
    if now.controls.picture is not None and (busy := now.controls.runner.busy):
        yield Notice(busy, "state")


def _tour(now: _Now, picture: Picture) -> Iterator[Notice]:
    """The demo's tour."""
    if text := tour.line(now.controls.tour, picture.t_s):
        yield Notice(f"LOOK: {text} (Any key ends the tour.)", "state")


def _trip_ended(now: _Now, picture: Picture) -> Iterator[Notice]:
    """The trip is over and the feed goes on."""
    ended = picture.crew.facts.ended if picture.crew is not None else None
    if ended is not None and now.controls.runner.trips is not None:
        since = f"THE TRIP IS ENDED since {picture.clock(now.controls.units).hm(ended)}: no fishing time counts."
        yield Notice(f"{since} {now.key('palette')} begins another.")


def _fish_and_pulling(now: _Now, picture: Picture) -> Iterator[Notice]:
    """Lines being pulled, fish being fought, fish seen, with their cautions."""
    pulling = marking.pulling_words(now.controls)
    fish_on = any(rod.state is RodState.FIGHTING for rod in picture.rods)
    if pulling:
        yield Notice(pulling, "caution band")
    for number, text in enumerate(marking.fight_words(now.controls)):  # leave a row for the cautions
        yield Notice(text, "caution band", stays=number == 0 and not pulling)
    if fish_on or pulling:
        tag = "FISH ON." if fish_on else "PULLING."
        yield from (Notice(text, stays=False, tag=tag) for text in (NEUTRAL, WIRE))
    if picture.fish_seen and (picture.fish_seen[-1].age_s or 0.0) < FISH_SEEN_S:
        words = fish_words(picture.fish_seen[-1], now.controls.units)
        yield Notice(words, "state", not fish_on and not pulling, "FISH SEEN.")


def _check_finds(now: _Now, picture: Picture) -> Iterator[Notice]:
    """The check's worst finding, while every rod is in."""
    checked = now.controls.runner.findings()
    if checked is not None and checked.line and all(rod.state is RodState.IN for rod in picture.rods):
        shows = now.key("check") or now.key("view")
        yield Notice(f"{checked.line} ({shows} shows it)", stays=False, on="HELM")


def _at_the_start(now: _Now, picture: Picture) -> Iterator[Notice]:
    """In the first minute: the source of a recording's times, and the lookout; on a trip also water and box."""
    if now.since_start_s >= TRIP_START_S:
        return
    if picture.session is Session.REPLAY:
        control = now.controls.runner.replay
        if control is not None and (timing := control.status().timing):
            yield Notice(f"Times come from {timing}", "label", stays=False)
        yield Notice(COLREG, "label", stays=False)
        return
    surface = picture.sensors.get(Quantity.WATER_TEMPERATURE)
    value = surface.value if surface is not None else None
    cold = isinstance(value, float | int) and value < COLD_C
    yield from (Notice(text, "label", stays=False) for text in ((COLREG, COLD, BOX) if cold else (COLREG, BOX)))


def _own_numbers(now: _Now, picture: Picture) -> Iterator[Notice]:  # noqa: ARG001
    """Rods out and fish in the box against the crew's typed numbers."""
    if picture.crew is None:
        return
    facts = picture.crew.facts
    allowed = rods_allowed(facts, picture.rods_per_person, picture.people)
    out = sum(rod.state is not RodState.IN for rod in picture.rods)
    if allowed is not None and out > allowed:
        yield Notice(
            f"{out} rods are out; with {picture.people} aboard your own numbers allow {allowed}", stays=False
        )
    counts = box_counts(picture.crew.hits, facts)
    full = [count.words for count in counts if count.left is not None and count.left <= 0]
    if full:
        yield Notice(f"Box: {', '.join(full)}, by your own numbers", stays=False)


# The rules in the order of their notices, the most pressing first. A new notice is a rule here.
_ALWAYS: tuple[Callable[[_Now], Iterator[Notice]], ...] = (
    _troubles, _which_rod, _again, _passing, _plan, _doubtful, _busy,
)  # fmt: skip
_WITH_PICTURE: tuple[Callable[[_Now, Picture], Iterator[Notice]], ...] = (
    _tour,
    _trip_ended,
    _fish_and_pulling,
    _own_numbers,
    _check_finds,
    _at_the_start,
)


TURN_S = 6.0


def fitted(notices: list[Notice], width: int, most: int, t_s: float) -> list[Notice]:
    """The lines that fit ``most`` rows of ``width`` cells: pressing notices, and one line for the others in turn.

    So long-lasting notices use the one row that the body keeps for them, and cover nothing. A pressing one that has
    too few rows shows its sentences in turn.
    """
    turn = int(t_s / TURN_S)
    lines: list[Notice] = []
    for notice in (n for n in notices if n.stays):
        room = most - len(lines)
        rows = wrapped(notice.text, width, 2)
        if notice.brief and (len(rows) > room or rows[-1].endswith("…")):
            rows = wrapped(notice.brief, width, 1)
        if len(rows) > room:
            parts = read_alone(notice.text, width)
            rows = [parts[turn % len(parts)]]
        lines += [Notice(line, notice.ink) for line in rows]
    lines = lines[:most]
    turns = [Notice(line, n.ink) for n in notices if not n.stays for line in read_alone(n.text, width, n.tag)]
    if turns and len(lines) < most:
        lines.append(turns[turn % len(turns)])
    return lines
