"""Acts on the whole trip: people aboard, wanted fish, limits, wind and sea, and the crew's notes."""

from __future__ import annotations

from sternwatch.console.controls.controls import Controls, Tone
from sternwatch.console.controls.lists import Listing
from sternwatch.console.controls.typing_line import TypingLine
from sternwatch.logbook.crew.facts import Facts, rods_allowed
from sternwatch.watch.picture.model import RodState

ABOARD = "HOW MANY ARE ABOARD"
MOST_PEOPLE = 50
MOST_IN_BOX = 1000
_WORDS = {"wind": "WIND", "sea": "SEA", "note": "NOTE"}


def _facts(controls: Controls) -> Facts:
    crew = controls.picture.crew if controls.picture is not None else None
    return crew.facts if crew is not None else Facts()


def begin(controls: Controls, t_s: float) -> None:
    """End the trip and begin another. The questions about its facts come when it has begun."""
    trips = controls.runner.trips
    if trips is None:
        controls.say("Trips are begun on the water", t_s)
        return
    trips.begin()
    controls.asking = ["people", "target", "wind", "sea"]
    controls.say("The trip has ended; another begins", t_s, Tone.ENTRY)


def begun(controls: Controls, t_s: float) -> None:
    """Take the first picture of another trip."""
    controls.say("Another trip has begun, with a recording of its own", t_s, Tone.ENTRY)
    ask_next(controls, t_s)


def ask_next(controls: Controls, t_s: float) -> None:
    """Open the next question about a new trip, unless one is open."""
    if not controls.asking or controls.typing is not None or controls.listing is not None:
        return
    what = controls.asking.pop(0)
    if what == "people":
        controls.typing = TypingLine(ABOARD, "people", "", "", t_s, skippable=True)
    elif what == "target":
        target(controls, t_s)
        if controls.listing is None:
            ask_next(controls, t_s)
    else:
        ask_words(controls, what, t_s)


def end(controls: Controls, t_s: float) -> None:
    """Enter that the trip is over."""
    ended = _facts(controls).ended
    if ended is not None:
        controls.say(f"The trip is ended, since {controls.boat_time.hm(ended)}", t_s)
        return
    out = [rod.key for rod in controls.across() if rod.state is not RodState.IN]
    action = controls.submit("end", None, "trip ended", t_s)
    rods = f"; rod{'s' * (len(out) > 1)} {' '.join(out)} taken as in" if out else ""
    controls.say(f"The trip is ended{rods}", t_s, Tone.ENTRY, action)


def people(controls: Controls, t_s: float) -> None:
    """Ask for the number of people aboard."""
    controls.typing = TypingLine(ABOARD, "people", "", "", t_s)


def people_typed(controls: Controls, t_s: float) -> None:
    """Take the number of people."""
    line = controls.typing
    assert line is not None
    count = _whole(line)
    if line.skippable and not line.text:
        controls.typing = None
        return
    if count is None or not 1 <= count <= MOST_PEOPLE:
        controls.want(line.text, f"a whole number from 1 to {MOST_PEOPLE}", t_s)
        return
    controls.typing = None
    action = controls.submit("trip", None, f"{count} aboard", t_s, people=count)
    picture = controls.picture
    allowed = rods_allowed(Facts(people=count), picture.rods_per_person if picture is not None else None)
    rods = f": {allowed} rods by your own number" if allowed is not None else ""
    controls.say(f"{count} aboard{rods}", t_s, Tone.ENTRY, action)


def limit(controls: Controls, t_s: float) -> None:
    """Ask which fish has a limit."""
    _ask_fish(controls, "limit", "Box limit: for which fish", t_s)


def target(controls: Controls, t_s: float) -> None:
    """Ask which fish is wanted; choosing it again removes it."""
    _ask_fish(controls, "target", "Which fish do you want", t_s)


def _ask_fish(controls: Controls, what: str, title: str, t_s: float) -> None:
    controls.typing = None
    if not controls.preferences.species:
        controls.say("No fish to choose from: the preferences name none", t_s)
        return
    controls.listing = Listing(title, "", controls.preferences.species, t_s, what=what)


def limit_taken(controls: Controls, t_s: float) -> None:
    """Take the fish with a limit and ask for the number."""
    listing = controls.listing
    assert listing is not None
    controls.listing = None
    controls.typing = TypingLine(f"MOST IN THE BOX: {listing.choice}", "limit", listing.choice, "", t_s)


def limit_typed(controls: Controls, t_s: float) -> None:
    """Take the limit."""
    line = controls.typing
    assert line is not None
    count = _whole(line)
    if count is None or count > MOST_IN_BOX:
        controls.want(line.text, f"a whole number up to {MOST_IN_BOX}", t_s)
        return
    controls.typing = None
    words = f"{line.of}: at most {count} in the box, by your own number"
    action = controls.submit("trip", None, words, t_s, limits={**_facts(controls).limits, line.of: count})
    controls.say(words, t_s, Tone.ENTRY, action)


def target_taken(controls: Controls, t_s: float) -> None:
    """Take the wanted fish."""
    listing = controls.listing
    assert listing is not None
    controls.listing = None
    fish, before = listing.choice, _facts(controls).target
    wanted = tuple(name for name in before if name != fish) if fish in before else (*before, fish)
    words = f"after {', '.join(wanted)}" if wanted else "no fish wanted more than another"
    action = controls.submit("trip", None, words, t_s, target=wanted)
    controls.say(words.capitalize(), t_s, Tone.ENTRY, action)


def put_away(controls: Controls, t_s: float) -> None:
    """Close one of these lists."""
    assert controls.listing is not None
    controls.say(f"{controls.listing.title}: nothing changed", t_s)
    controls.listing = None


def ask_words(controls: Controls, what: str, t_s: float) -> None:
    """Open the typing line for words about the ``wind``, the ``sea``, or a ``note``."""
    earlier = "" if what == "note" else getattr(_facts(controls), what)
    controls.typing = TypingLine(_WORDS[what], what, "", "", t_s, earlier, words=True)


def words_typed(controls: Controls, t_s: float) -> None:
    """Take the typed words."""
    line = controls.typing
    assert line is not None
    text = line.text.strip()
    controls.typing = None
    if not text:
        controls.say(f"{line.title}: nothing typed, nothing changed", t_s)
    elif line.what == "note":
        controls.say(f"NOTE  {text}", t_s, Tone.ENTRY, controls.submit("note", None, f"note: {text}", t_s, text=text))
    else:
        words = f"{line.what} {text}"
        controls.say(
            words.capitalize(), t_s, Tone.ENTRY, controls.submit("trip", None, words, t_s, **{line.what: text})
        )


def _whole(line: TypingLine) -> int | None:
    return None if line.value is None or not line.value.is_integer() else int(line.value)
