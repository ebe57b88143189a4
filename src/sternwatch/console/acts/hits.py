"""Acts on hits: rod keys, bites, outcomes, doubt, kind of fish, undo."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from sternwatch.cautions import BOX
from sternwatch.console.controls.controls import BITE_S, Controls, Tone, Waiting
from sternwatch.console.controls.lists import Listing, latest_first
from sternwatch.console.controls.typing_line import TypingLine
from sternwatch.console.keys.acting import Keyboard
from sternwatch.gear.values.units import UNITS, limit_words
from sternwatch.local_time import clock_s
from sternwatch.logbook.crew.facts import box_counts
from sternwatch.logbook.crew.fold import WINDS_AFTER_S
from sternwatch.logbook.crew.state import CrewHit, When
from sternwatch.watch.picture.model import HitPicture, RodState

_NO_TIME = When(datetime.fromtimestamp(0, UTC))  # for a hit that no picture shows yet
HIT_TIME = "19:42, 19:42:30 or 1942, by the crew's clock"


def rod_key(controls: Controls, key: str, t_s: float) -> None:
    """Act on a station's key: enter a hit at this moment; over a recording only choose the rod."""
    rod = controls.rod(key)
    if not controls.keyboard.hits:
        if rod is None:
            controls.say(f"No rod at {key}", t_s)
        elif controls.late is not None:
            _late_hit(controls, key, t_s)
        else:
            controls.chosen = key
            controls.say(f"{controls.name(rod)} chosen", t_s)
        return
    verdict = controls.rod_keys.press(key, t_s)
    if rod is None and controls.picture is not None:
        controls.say(f"No rod at {key}: nothing entered", t_s)
        return
    # Before the first picture the rods are unknown, but a hit still counts.
    controls.chosen = key
    name = controls.name(rod, key)
    if verdict.repeat:
        controls.say(f"{name} again within 2 s: taken as the same hit", t_s)
        return
    fields: dict[str, object] = {}
    if controls.bite is not None and t_s - controls.bite.t_s <= BITE_S:
        fields["bite"] = controls.bite.id
    is_in = controls.expect.get(("state", key), rod.state if rod else None, t_s) is RodState.IN
    if verdict.doubtful:
        fields |= {"doubtful": True, "why": verdict.why}
    elif is_in:
        fields["why"] = "the rod was in"
    hit = controls.submit("hit", key, f"hit on {name}", t_s, **fields)
    controls.rod_keys.entered(key, hit)
    _remember(controls, hit, key, verdict.doubtful, t_s)
    for earlier in verdict.also_doubt:
        controls.runner.submit("doubt", None, of=earlier, why=verdict.why, part_of=hit)
        controls.expect.put(("doubt", earlier), True, t_s)
    controls.bite = None
    depth = f" at {controls.length(rod.depth_m)}" if rod is not None and rod.depth_m is not None else ""
    bite = ", at the bite's time" if "bite" in fields else ""
    if verdict.doubtful:
        controls.say(f"Doubtful hit on {name}: {verdict.why}", t_s, Tone.DOUBT, hit)
    elif is_in:
        controls.say(f"Hit on {name} kept, but it is in. Arrow keys choose without a hit", t_s, Tone.DOUBT, hit)
    else:
        controls.say(f"HIT  {name}{depth}{bite}", t_s, Tone.ENTRY, hit)


def _remember(controls: Controls, hit: str, key: str, doubtful: bool, t_s: float) -> None:
    now = controls.picture
    controls.new_hits[hit] = HitPicture(
        id=hit, t_s=now.t_s if now else 0.0, utc_s=now.utc_s if now else None, rod=key, state="open",
        doubtful=doubtful, depth_m=None,
    )  # fmt: skip
    controls.last_hit = hit
    controls.expect.put(("doubt", hit), doubtful, t_s)


def bite(controls: Controls, t_s: float) -> None:
    """Enter a bite on an unknown rod."""
    action = controls.submit("bite", None, "bite, rod not known", t_s)
    controls.bite = Waiting(t_s, action)
    controls.say("BITE: the next rod key within 60 s takes this time", t_s, Tone.ENTRY, action)


def late(controls: Controls, t_s: float) -> None:
    """Over a recording: keep the moment for a missing hit; its rod key comes next."""
    if controls.picture is None:
        return
    controls.late = Waiting(t_s, "", controls.picture.t_s)
    controls.say("Late hit at this moment: now its rod key (Esc: none)", t_s)


def _late_hit(controls: Controls, key: str, t_s: float) -> None:
    assert controls.late is not None
    at_t_s = controls.late.at_t_s
    controls.late = None
    name = controls.name(controls.rod(key), key)
    hit = controls.submit("hit", key, f"hit on {name}", t_s, why="entered over the recording")
    _remember(controls, hit, key, False, t_s)
    now = controls.picture
    if now is not None and at_t_s is not None and abs(now.t_s - at_t_s) > 0.5:
        to = controls.moment(at_t_s)
        controls.runner.submit("retime", None, of=hit, to=to, to_elapsed_s=at_t_s, part_of=hit)
    controls.chosen = key
    controls.say(f"Late hit on {name}", t_s, Tone.ENTRY, hit)


def outcome(controls: Controls, how: str, t_s: float) -> None:
    """Enter the outcome ``how`` for the open fish."""
    hit = controls.open_fish(t_s)
    if hit is None:
        controls.say("No open fish", t_s)
        return
    name = controls.name(controls.rod(hit.rod), hit.rod or "")
    action = controls.submit("outcome", hit.rod, f"{how}, {name}", t_s, of=hit.id, outcome=how)
    controls.expect.put(("outcome", hit.id), how, t_s)
    controls.last_hit = hit.id
    controls.chosen = hit.rod
    after = "; w says what fish" if how in ("boxed", "freed") else ""
    if how == "dropped" and t_s - hit.t_s > WINDS_AFTER_S:
        after = "; how much line is out is unknown until you say it"
    said = f"{name}: {how}{after}"
    if how == "boxed":
        controls.say(f"{said}. {BOX}", t_s, Tone.ENTRY, action, brief=f"{said}. Limits: see your local rules")
    else:
        controls.say(said, t_s, Tone.ENTRY, action)


def confirm(controls: Controls, t_s: float) -> None:
    """Confirm a doubtful hit: the chosen rod's, else the newest."""
    waiting = controls.doubtful(t_s)
    own = [hit for hit in waiting if hit.rod == controls.chosen]
    if not waiting:
        controls.say("No doubtful hit", t_s)
        return
    hit = (own or waiting)[-1]
    name = controls.name(controls.rod(hit.rod), hit.rod or "")
    action = controls.submit("confirm", None, f"confirmed hit on {name}", t_s, of=hit.id)
    controls.expect.put(("doubt", hit.id), False, t_s)
    controls.say(f"Hit on {name} confirmed", t_s, Tone.ENTRY, action)


def _last_of_chosen(controls: Controls, t_s: float) -> HitPicture | None:
    """The chosen rod's last hit. Where it has none, say so and return None."""
    rod = controls.rod(controls.chosen)
    own = [hit for hit in controls.hits() if hit.rod == controls.chosen and controls.outcome(hit, t_s) != "no fish"]
    if rod is None or not own:
        controls.say(f"{controls.name(rod, controls.chosen or '')} has no hit", t_s)
        return None
    return own[-1]


def ask_time(controls: Controls, t_s: float) -> None:
    """Open the typing line for when the chosen rod's last hit was."""
    hit = _last_of_chosen(controls, t_s)
    if hit is None:
        return
    controls.listing = None
    name = controls.name(controls.rod(hit.rod), hit.rod or "")
    controls.typing = TypingLine(f"WHEN WAS THE HIT ON {name}", "hit time", hit.id, "", t_s, time=True, hint=HIT_TIME)


def time_typed(controls: Controls, t_s: float) -> None:
    """Take a hit's typed time of day: the latest moment when the crew's clock showed it."""
    line, picture = controls.typing, controls.picture
    assert line is not None
    of_day = clock_s(line.text)
    hit = next((hit for hit in controls.hits() if hit.id == line.of), None)
    if of_day is None or picture is None or hit is None:
        controls.want(line.text, HIT_TIME, t_s)
        return
    now = controls.moment(picture.t_s)
    offset = timedelta(minutes=controls.boat_time.offset_min(now))
    midnight = (now + offset).replace(hour=0, minute=0, second=0, microsecond=0) - offset
    when = midnight + timedelta(seconds=of_day)
    if when > now + timedelta(seconds=59):  # the whole of the present minute counts
        when -= timedelta(days=1)
    to = picture.t_s + (when - now).total_seconds()
    if to < 0.0:
        controls.refuse(f"{line.text} was before the trip began", t_s)
        return
    controls.typing = None
    to = min(to, picture.t_s)
    name = controls.name(controls.rod(hit.rod), hit.rod or "")
    action = controls.submit(
        "retime",
        None,
        f"hit on {name} at {line.text}",
        t_s,
        of=hit.id,
        to=controls.moment(to),
        to_elapsed_s=round(to, 3),
    )
    controls.expect.put(("time", hit.id), to, t_s)
    controls.say(f"Hit on {name} was at {line.text}, from memory", t_s, Tone.ENTRY, action)


def earlier(controls: Controls, t_s: float) -> None:
    """Move the chosen rod's last hit back by a minute; each further press by another."""
    hit = _last_of_chosen(controls, t_s)
    if hit is None:
        return
    to = float(controls.expect.get(("time", hit.id), hit.t_s, t_s)) - 60.0
    name = controls.name(controls.rod(hit.rod), hit.rod or "")
    action = controls.submit(
        "retime", None, f"hit on {name} a minute earlier", t_s, of=hit.id, to=controls.moment(to), to_elapsed_s=to
    )
    controls.expect.put(("time", hit.id), to, t_s)
    ago = (controls.picture.t_s - to) / 60.0 if controls.picture else 0.0
    controls.say(f"Hit on {name} was a minute earlier: {ago:.0f} min ago", t_s, Tone.ENTRY, action)


def take_back(controls: Controls, t_s: float) -> None:
    """Undo the newest entry."""
    demo = controls.keyboard is Keyboard.DEMO  # entries of the invented crew stay
    entry = controls.ledger.newest(own=demo)
    if entry is None:
        controls.say(
            "You have entered nothing yourself; the crew's entries stay" if demo else "Nothing to take back", t_s
        )
        return
    action = controls.runner.submit("undo", None, of=entry.id)
    controls.ledger.take_back(entry, action, t_s)
    controls.new_hits.pop(entry.id, None)
    if controls.bite is not None and controls.bite.id == entry.id:
        controls.bite = None
    controls.say(f"Taken back: {entry.words} (y puts it back)", t_s, Tone.ENTRY, action)


def put_back(controls: Controls, t_s: float) -> None:
    """Restore the entry undone last."""
    entry = controls.ledger.last_taken(own=controls.keyboard is Keyboard.DEMO)
    if entry is None:
        controls.say("Nothing was taken back", t_s)
        return
    action = controls.runner.submit("restore", None, of=entry.id)
    controls.ledger.put_back(entry, action, t_s)
    controls.say(f"Put back: {entry.words}", t_s, Tone.ENTRY, action)


# -- what fish -----------------------------------------------------------------------------------------------


def fish_meant(controls: Controls, t_s: float) -> HitPicture | None:
    """The fish to act on: the last one acted on, else the chosen rod's. Where there is none, say so; return None."""
    hits = [hit for hit in controls.hits() if controls.outcome(hit, t_s) not in ("no fish", "dropped")]
    own = [h for h in hits if h.id == controls.last_hit] or [h for h in hits if h.rod == controls.chosen] or hits
    if not own:
        controls.say("No fish to name", t_s)
        return None
    return own[-1]


def what_fish(controls: Controls, t_s: float) -> None:
    """Ask for the kind of fish from a list, then for its size; both may be skipped."""
    hit = fish_meant(controls, t_s)
    if hit is None:
        return
    name = controls.name(controls.rod(hit.rod), hit.rod or "")
    controls.typing = None
    options = latest_first(controls.preferences.species, controls.species_used)
    if not options:
        _ask_length(controls, hit.id, name, t_s)
        return
    index = options.index(hit.species) if hit.species in options else 0
    controls.listing = Listing(f"What fish on {name}", hit.id, options, t_s, index)


def species_taken(controls: Controls, t_s: float) -> None:
    """Take the chosen kind of fish."""
    listing = controls.listing
    assert listing is not None
    species = listing.choice
    controls.listing = None
    controls.species_used.append(species)
    action = controls.submit("catch", None, species, t_s, of=listing.of, species=species)
    box = _box_words(controls, listing.of, species, t_s)
    controls.say(f"{listing.title.removeprefix('What fish on ')}: {species}{box}", t_s, Tone.ENTRY, action)
    _ask_length(controls, listing.of, species, t_s)


def _box_words(controls: Controls, hit_id: str, species: str, t_s: float) -> str:
    """The box with this fish against the crew's typed limit; empty where the fish is not in the box."""
    crew = controls.picture.crew if controls.picture is not None else None
    hit = next((hit for hit in controls.hits() if hit.id == hit_id), None)
    if crew is None or hit is None or controls.outcome(hit, t_s) != "boxed":
        return ""
    kept = crew.hit(hit_id) or CrewHit(hit_id, hit.rod, _NO_TIME, _NO_TIME)
    others = [one for one in crew.hits if one.id != kept.id]
    counts = box_counts([*others, replace(kept, species=species, outcome="boxed")], crew.facts)
    count = next(count for count in counts if count.species == species)
    return f". Box: {count.words}, by your own number" if count.limit is not None else f". Box: {count.words}"


def species_skipped(controls: Controls, t_s: float) -> None:
    """Skip the kind of fish; the size may still be given."""
    listing = controls.listing
    assert listing is not None
    controls.listing = None
    _ask_length(controls, listing.of, "fish", t_s)


def _ask_length(controls: Controls, hit: str, what: str, t_s: float, text: str = "") -> None:
    unit = "in" if controls.units.length == "ft" else "cm"
    controls.typing = TypingLine(f"LENGTH: {what}", "fish length", hit, unit, t_s, text, True, "weight")


def size_other(controls: Controls, t_s: float) -> None:
    """Switch between length and weight of the size."""
    line = controls.typing
    assert line is not None
    what = line.title.split(": ", 1)[-1]
    if line.what == "fish length":
        controls.typing = TypingLine(
            f"WEIGHT: {what}", "fish mass", line.of, controls.units.mass, t_s, line.text, True, "length"
        )
    else:
        _ask_length(controls, line.of, what, t_s, line.text)


def size_typed(controls: Controls, t_s: float) -> None:
    """Take the typed size; an empty line skips it."""
    line = controls.typing
    assert line is not None
    value = line.value
    if value is None:
        controls.typing = None
        return
    si = UNITS[line.unit].to_si(value)
    most = 3.0 if line.what == "fish length" else 200.0
    if not 0.0 < si <= most:
        controls.want(line.value_words, f"more than 0, and at most {limit_words(most, line.unit)}", t_s)
        return
    controls.typing = None
    field = "length_m" if line.what == "fish length" else "mass_kg"
    action = controls.submit("catch", None, f"{value:g} {line.unit}", t_s, of=line.of, **{field: si})
    controls.say(f"{line.title.split(': ', 1)[-1]}: {value:g} {line.unit}", t_s, Tone.ENTRY, action)
