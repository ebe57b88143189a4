"""Further facts of a fish, which the crew may enter at any time: that it was undersized, and a few words."""

from __future__ import annotations

from sternwatch.console.acts.hits import fish_meant
from sternwatch.console.controls.controls import Controls, Tone
from sternwatch.console.controls.typing_line import TypingLine
from sternwatch.logbook.crew.state import CrewHit


def _kept(controls: Controls, hit: str) -> CrewHit | None:
    crew = controls.picture.crew if controls.picture is not None else None
    return crew.hit(hit) if crew is not None else None


def undersized(controls: Controls, t_s: float) -> None:
    """Mark the fish as too small to keep; a second press unmarks it."""
    hit = fish_meant(controls, t_s)
    if hit is None:
        return
    kept = _kept(controls, hit.id)
    so_far = bool(kept.undersized) if kept is not None else False
    so = not controls.expect.get(("undersized", hit.id), so_far, t_s)
    name = controls.name(controls.rod(hit.rod), hit.rod or "")
    words = f"fish on {name} {'undersized' if so else 'not undersized'}"
    action = controls.submit("catch", None, words, t_s, of=hit.id, undersized=so)
    controls.expect.put(("undersized", hit.id), so, t_s)
    controls.say(words.capitalize(), t_s, Tone.ENTRY, action)


def ask_note(controls: Controls, t_s: float) -> None:
    """Open the typing line for words about a hit."""
    hit = fish_meant(controls, t_s)
    if hit is None:
        return
    kept = _kept(controls, hit.id)
    name = controls.name(controls.rod(hit.rod), hit.rod or "")
    controls.listing = None
    earlier = kept.note if kept is not None else ""
    controls.typing = TypingLine(f"ABOUT THE HIT ON {name}", "hit note", hit.id, "", t_s, earlier, words=True)


def note_typed(controls: Controls, t_s: float) -> None:
    """Take the typed words about a hit."""
    line = controls.typing
    assert line is not None
    controls.typing = None
    text = line.text.strip()
    if not text:
        controls.say(f"{line.title}: nothing typed, nothing changed", t_s)
        return
    action = controls.submit("catch", None, f"{line.title.lower()}: {text}", t_s, of=line.of, note=text)
    controls.say(f"{line.title.capitalize()}: {text}", t_s, Tone.ENTRY, action)
