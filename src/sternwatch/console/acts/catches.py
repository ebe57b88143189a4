"""What else is said of a fish, at any time or never: that it was undersized, and a few words."""

from __future__ import annotations

from sternwatch.console.acts.hits import fish_meant
from sternwatch.console.desk.hand import Desk, Tone
from sternwatch.console.desk.typing_line import TypingLine
from sternwatch.logbook.crew.state import CrewHit


def _kept(desk: Desk, hit: str) -> CrewHit | None:
    crew = desk.picture.crew if desk.picture is not None else None
    return crew.hit(hit) if crew is not None else None


def undersized(desk: Desk, t_s: float) -> None:
    """The fish was too small to be kept; said once more, it was not."""
    hit = fish_meant(desk, t_s)
    if hit is None:
        return
    kept = _kept(desk, hit.id)
    so_far = bool(kept.undersized) if kept is not None else False
    so = not desk.expect.get(("undersized", hit.id), so_far, t_s)
    name = desk.name(desk.rod(hit.rod), hit.rod or "")
    words = f"fish on {name} {'undersized' if so else 'not undersized'}"
    action = desk.submit("catch", None, words, t_s, of=hit.id, undersized=so)
    desk.expect.put(("undersized", hit.id), so, t_s)
    desk.say(words.capitalize(), t_s, Tone.ENTRY, action)


def ask_note(desk: Desk, t_s: float) -> None:
    """Open the typing line for words about a hit."""
    hit = fish_meant(desk, t_s)
    if hit is None:
        return
    kept = _kept(desk, hit.id)
    name = desk.name(desk.rod(hit.rod), hit.rod or "")
    desk.listing = None
    earlier = kept.note if kept is not None else ""
    desk.typing = TypingLine(f"ABOUT THE HIT ON {name}", "hit note", hit.id, "", t_s, earlier, words=True)


def note_typed(desk: Desk, t_s: float) -> None:
    """Enter on words about a hit."""
    line = desk.typing
    assert line is not None
    desk.typing = None
    text = line.text.strip()
    if not text:
        desk.say(f"{line.title}: nothing typed, nothing changed", t_s)
        return
    action = desk.submit("catch", None, f"{line.title.lower()}: {text}", t_s, of=line.of, note=text)
    desk.say(f"{line.title.capitalize()}: {text}", t_s, Tone.ENTRY, action)
