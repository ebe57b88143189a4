"""What stands above the answer line while it is true: one sentence each, the most pressing first. No screen."""

from __future__ import annotations

from dataclasses import dataclass

from sternwatch.console.acts import marking
from sternwatch.console.desk import planning
from sternwatch.console.desk.hand import Desk
from sternwatch.console.keys.keymap import Keymap
from sternwatch.console.words.cautions import BOX, COLD, NEUTRAL, WIRE
from sternwatch.console.words.fish import fish_words
from sternwatch.console.words.text import read_alone, wrapped
from sternwatch.feed.readings import Quantity
from sternwatch.logbook.crew.facts import box_counts, rods_allowed
from sternwatch.watch.picture.model import Picture, RodState, Session

COLD_C = (60.0 - 32.0) / 1.8
TRIP_START_S = 60.0
FISH_SEEN_S = 60.0


@dataclass(frozen=True, slots=True)
class Notice:
    """One sentence and the ink it is written with."""

    text: str
    ink: str = "caution"
    stays: bool = True  # False: it stands for long, and takes turns with its like on one line
    tag: str = ""  # said before each sentence where there is room
    brief: str = ""  # what is said instead where there are too few rows for all of it
    on: str = ""  # the one screen that says it; else all do


def standing(desk: Desk, keymap: Keymap, since_start_s: float, t_s: float) -> list[Notice]:
    """The notices that are true at monotonic time ``t_s`` [s], the most pressing first."""

    def key(act_id: str) -> str:
        return keymap.label(desk.keyboard, act_id)

    found = [Notice(f"NOT SAVED: {text} ({key('helm')} puts this line away)", "alarm band") for text in desk.failed]
    found += [Notice(f"{text} ({key('helm')} puts this line away)") for text in desk.remarks]
    if desk.bite is not None:
        ago = int(t_s - desk.bite.t_s)
        found.append(Notice(f"BITE {ago} s ago: which rod? Its key takes that time.", "caution band"))
    if desk.late is not None:
        found.append(Notice(f"LATE HIT: which rod? ({key('helm')}: none)", "caution band"))
    if desk.plan is not None:
        whole, bones = planning.words(desk, desk.plan)
        found.append(Notice(whole, "state", brief=bones))
    if doubtful := desk.doubtful(t_s):
        rods = ", ".join(dict.fromkeys(desk.name(desk.rod(hit.rod), hit.rod or "") for hit in doubtful))
        found.append(
            Notice(
                f"Counted in nothing: {rods}. {key('boxed')} {key('freed')} {key('dropped')} confirm the chosen "
                f"rod's, {key('no fish')} throws it out.",
                stays=False,
                tag="DOUBTFUL.",
            )
        )
    if desk.picture is not None and (busy := desk.runner.busy):  # before the first picture it stands large
        found.append(Notice(busy, "state"))
    picture = desk.picture
    if picture is None:
        return found
    ended = picture.crew.facts.ended if picture.crew is not None else None
    if ended is not None and desk.runner.trips is not None:
        since = f"THE TRIP IS ENDED since {ended.astimezone():%H:%M}: no fishing time counts."
        found.append(Notice(f"{since} {key('palette')} begins another."))
    if pulling := marking.pulling_words(desk):
        found.append(Notice(pulling, "caution band"))
    for number, text in enumerate(marking.fight_words(desk)):  # one stays, so that the cautions have a row
        found.append(Notice(text, "caution band", stays=number == 0 and not pulling))
    fish_on = any(rod.state is RodState.FIGHTING for rod in picture.rods)
    if fish_on or pulling:
        tag = "FISH ON." if fish_on else "PULLING."
        found += [Notice(text, stays=False, tag=tag) for text in (NEUTRAL, WIRE)]
    if picture.fish_seen and (picture.fish_seen[-1].age_s or 0.0) < FISH_SEEN_S:
        found.append(
            Notice(fish_words(picture.fish_seen[-1], desk.units), "state", not fish_on and not pulling, "FISH SEEN.")
        )
    found += _own_numbers(picture)
    checked = desk.runner.findings()
    if checked is not None and checked.line and all(rod.state is RodState.IN for rod in picture.rods):
        found.append(Notice(f"{checked.line} ({key('check') or key('view')} shows it)", stays=False, on="HELM"))
    if since_start_s >= TRIP_START_S:
        return found
    if picture.session is Session.REPLAY:
        control = desk.runner.replay
        if control is not None and (timing := control.status().timing):
            found.append(Notice(f"Times come from {timing}", "label", stays=False))
    else:
        surface = picture.sensors.get(Quantity.WATER_TEMPERATURE)
        value = surface.value if surface is not None else None
        cold = isinstance(value, float | int) and value < COLD_C
        found += [Notice(text, "label", stays=False) for text in ((COLD, BOX) if cold else (BOX,))]
    return found


def _own_numbers(picture: Picture) -> list[Notice]:
    """Rods out and fish in the box against the numbers that the crew typed."""
    if picture.crew is None:
        return []
    facts = picture.crew.facts
    found = []
    allowed = rods_allowed(facts, picture.rods_per_person, picture.people)
    out = sum(rod.state is not RodState.IN for rod in picture.rods)
    if allowed is not None and out > allowed:
        said = f"{out} rods are out; {allowed} by your own numbers, {picture.people} aboard"
        found.append(Notice(said, stays=False))
    counts = box_counts(picture.crew.hits, facts)
    full = [count.words for count in counts if count.left is not None and count.left <= 0]
    if full:
        found.append(Notice(f"Box: {', '.join(full)}, by your own numbers", stays=False))
    return found


TURN_S = 6.0


def fitted(notices: list[Notice], width: int, most: int, t_s: float) -> list[Notice]:
    """The lines that fit ``most`` rows of ``width`` cells: what is pressing, and one line for the rest by turns.

    So what stands for long takes the one row that the body keeps for it, and covers nothing.
    """
    lines: list[Notice] = []
    for notice in (n for n in notices if n.stays):
        rows = wrapped(notice.text, width, 2)
        if notice.brief and len(lines) + len(rows) > most:
            rows = wrapped(notice.brief, width, 1)
        lines += [Notice(line, notice.ink) for line in rows]
    lines = lines[:most]
    turns = [Notice(line, n.ink) for n in notices if not n.stays for line in read_alone(n.text, width, n.tag)]
    if turns and len(lines) < most:
        lines.append(turns[int(t_s / TURN_S) % len(turns)])
    return lines
