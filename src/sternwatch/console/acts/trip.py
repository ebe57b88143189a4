"""Acts on the trip as a whole: who is aboard, what is wanted, limits, wind and sea, and the crew's own notes."""

from __future__ import annotations

from sternwatch.console.desk.hand import Desk, Tone
from sternwatch.console.desk.lists import Listing
from sternwatch.console.desk.typing_line import TypingLine
from sternwatch.logbook.crew.facts import Facts, rods_allowed
from sternwatch.watch.picture.model import RodState

ABOARD = "HOW MANY ARE ABOARD"
MOST_PEOPLE = 50
MOST_IN_BOX = 1000
_WORDS = {"wind": "WIND", "sea": "SEA", "note": "NOTE"}


def _facts(desk: Desk) -> Facts:
    crew = desk.picture.crew if desk.picture is not None else None
    return crew.facts if crew is not None else Facts()


def begin(desk: Desk, t_s: float) -> None:
    """End the trip and begin another; its facts are asked when it has begun."""
    trips = desk.runner.trips
    if trips is None:
        desk.say("Trips are begun on the water", t_s)
        return
    trips.begin()
    desk.asking = ["people", "target", "wind", "sea"]
    desk.say("The trip is ended, another begins", t_s, Tone.ENTRY)


def begun(desk: Desk, t_s: float) -> None:
    """The first picture of another trip has come."""
    desk.say("Another trip has begun, with a recording of its own", t_s, Tone.ENTRY)
    ask_next(desk, t_s)


def ask_next(desk: Desk, t_s: float) -> None:
    """Open the next question of a trip just begun, unless one is open."""
    if not desk.asking or desk.typing is not None or desk.listing is not None:
        return
    what = desk.asking.pop(0)
    if what == "people":
        desk.typing = TypingLine(ABOARD, "people", "", "", t_s, skippable=True)
    elif what == "target":
        target(desk, t_s)
        if desk.listing is None:
            ask_next(desk, t_s)
    else:
        ask_words(desk, what, t_s)


def end(desk: Desk, t_s: float) -> None:
    """The trip is over: an entry like any other."""
    ended = _facts(desk).ended
    if ended is not None:
        desk.say(f"The trip is ended, since {desk.boat_time.hm(ended)}", t_s)
        return
    out = [rod.key for rod in desk.across() if rod.state is not RodState.IN]
    action = desk.submit("end", None, "trip ended", t_s)
    rods = f"; rod{'s' * (len(out) > 1)} {' '.join(out)} taken as in" if out else ""
    desk.say(f"The trip is ended{rods}", t_s, Tone.ENTRY, action)


def people(desk: Desk, t_s: float) -> None:
    """Ask how many are aboard."""
    desk.typing = TypingLine(ABOARD, "people", "", "", t_s)


def people_typed(desk: Desk, t_s: float) -> None:
    """Enter on the number of people."""
    line = desk.typing
    assert line is not None
    count = _whole(line)
    if line.skippable and not line.text:
        desk.typing = None
        return
    if count is None or not 1 <= count <= MOST_PEOPLE:
        _refuse(desk, line, f"a whole number from 1 to {MOST_PEOPLE} is accepted", t_s)
        return
    desk.typing = None
    action = desk.submit("trip", None, f"{count} aboard", t_s, people=count)
    picture = desk.picture
    allowed = rods_allowed(Facts(people=count), picture.rods_per_person if picture is not None else None)
    rods = f": {allowed} rods by your own number" if allowed is not None else ""
    desk.say(f"{count} aboard{rods}", t_s, Tone.ENTRY, action)


def limit(desk: Desk, t_s: float) -> None:
    """Ask of what fish there is a limit."""
    _ask_fish(desk, "limit", "Limit of what fish", t_s)


def target(desk: Desk, t_s: float) -> None:
    """Ask what fish is wanted; chosen once more it is not."""
    _ask_fish(desk, "target", "What fish is wanted", t_s)


def _ask_fish(desk: Desk, what: str, title: str, t_s: float) -> None:
    desk.typing = None
    if not desk.preferences.species:
        desk.say("No fish to choose from: the preferences name none", t_s)
        return
    desk.listing = Listing(title, "", desk.preferences.species, t_s, what=what)


def limit_taken(desk: Desk, t_s: float) -> None:
    """Enter on the fish with a limit: how many is next."""
    listing = desk.listing
    assert listing is not None
    desk.listing = None
    desk.typing = TypingLine(f"MOST {listing.choice} IN THE BOX", "limit", listing.choice, "", t_s)


def limit_typed(desk: Desk, t_s: float) -> None:
    """Enter on the limit."""
    line = desk.typing
    assert line is not None
    count = _whole(line)
    if count is None or count > MOST_IN_BOX:
        _refuse(desk, line, f"a whole number up to {MOST_IN_BOX} is accepted", t_s)
        return
    desk.typing = None
    words = f"{line.of}: at most {count} in the box, by your own number"
    action = desk.submit("trip", None, words, t_s, limits={**_facts(desk).limits, line.of: count})
    desk.say(words, t_s, Tone.ENTRY, action)


def target_taken(desk: Desk, t_s: float) -> None:
    """Enter on the fish wanted."""
    listing = desk.listing
    assert listing is not None
    desk.listing = None
    fish, before = listing.choice, _facts(desk).target
    wanted = tuple(name for name in before if name != fish) if fish in before else (*before, fish)
    words = f"after {', '.join(wanted)}" if wanted else "no fish wanted more than another"
    action = desk.submit("trip", None, words, t_s, target=wanted)
    desk.say(words.capitalize(), t_s, Tone.ENTRY, action)


def put_away(desk: Desk, t_s: float) -> None:
    """Esc on one of these lists."""
    assert desk.listing is not None
    desk.say(f"{desk.listing.title}: nothing changed", t_s)
    desk.listing = None


def ask_words(desk: Desk, what: str, t_s: float) -> None:
    """Open the typing line for words about the ``wind``, the ``sea``, or a ``note``."""
    earlier = "" if what == "note" else getattr(_facts(desk), what)
    desk.typing = TypingLine(_WORDS[what], what, "", "", t_s, earlier, words=True)


def words_typed(desk: Desk, t_s: float) -> None:
    """Enter on words."""
    line = desk.typing
    assert line is not None
    text = line.text.strip()
    desk.typing = None
    if not text:
        desk.say(f"{line.title}: nothing typed, nothing changed", t_s)
    elif line.what == "note":
        desk.say(f"NOTE  {text}", t_s, Tone.ENTRY, desk.submit("note", None, f"note: {text}", t_s, text=text))
    else:
        words = f"{line.what} {text}"
        desk.say(words.capitalize(), t_s, Tone.ENTRY, desk.submit("trip", None, words, t_s, **{line.what: text}))


def _whole(line: TypingLine) -> int | None:
    return None if line.value is None or not line.value.is_integer() else int(line.value)


def _refuse(desk: Desk, line: TypingLine, accepted: str, t_s: float) -> None:
    desk.say(f"{line.text or 'nothing'}: {accepted}", t_s)
    line.text = ""
