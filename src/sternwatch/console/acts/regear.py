"""Acts on the gear of rods: another lure, leader, setting or rig (`c`), or a rig moved to another station (`x`).

There are two lists; the first decides the second. Rod keys still enter hits. Impossible changes are not offered; one
that turns out impossible is refused with a sentence before anything is stored.
"""

from __future__ import annotations

from sternwatch.console.controls.controls import Controls, Tone
from sternwatch.console.controls.lists import Listing
from sternwatch.gear.editing import changes
from sternwatch.gear.editing.changes import ChangeError
from sternwatch.gear.shelf import offers
from sternwatch.gear.shelf.offers import As, Offer
from sternwatch.gear.shelf.pieces import Shelf, load_shelf, parse_shelf
from sternwatch.gear.spread_file.models import Rod, Spread
from sternwatch.gear.values.faults import SpreadError
from sternwatch.watch.chains.spread_in_force import Rigging
from sternwatch.watch.picture.model import RodPicture, RodState

WHATS = ("lure", "attractor", "leader", "setting", "rig")


def _rigged(controls: Controls, t_s: float) -> tuple[RodPicture, Rod, Spread] | None:
    """The chosen rod with its gear. Where the gear is unknown, say why."""
    shown, picture = controls.rod(controls.chosen), controls.picture
    gear = picture.crew.gear if picture is not None and picture.crew is not None else None
    rod = gear.spread.rod_by_key(shown.key) if shown is not None and isinstance(gear, Rigging) else None
    if shown is None or rod is None or not isinstance(gear, Rigging):
        controls.say(
            "No rod chosen" if shown is None else f"What hangs from {controls.name(shown)} is not known", t_s
        )
        return None
    return shown, rod, gear.spread


def shelf_of(controls: Controls, t_s: float) -> Shelf:
    """The user's shelf from the present file. Where the file is faulty, say so and offer the shipped pieces."""
    try:
        return load_shelf()
    except SpreadError as fault:
        controls.say(str(fault), t_s, Tone.ERROR)
        return parse_shelf("")


def change(controls: Controls, t_s: float) -> None:
    """Ask what to change on the chosen rod."""
    found = _rigged(controls, t_s)
    if found is None:
        return
    shown, rod, spread = found
    if controls.expect.get(("state", rod.key), shown.state, t_s) is RodState.FIGHTING:
        controls.say(f"{controls.name(shown)} has a fish on: say first how it ended", t_s)
        return
    controls.typing = None
    on = {what: _on(controls, spread, rod, shown, what) for what in WHATS}
    there = {what: words for what, words in on.items() if words is not None}
    options = tuple(f"{what:<9} {words}".rstrip() for what, words in there.items())
    controls.listing = Listing(
        f"{controls.name(shown)}: change what", rod.key, options, t_s, what="change", values=tuple(there)
    )


def _on(controls: Controls, spread: Spread, rod: Rod, shown: RodPicture, what: str) -> str | None:
    """The piece on the rod now; None where there is no such piece to change."""
    match what:
        case "lure":
            return changes.piece_on(spread, rod, what) or "none"
        case "attractor":
            return changes.piece_on(spread, rod, what)
        case "leader":
            chain = rod.chain[changes.leader_at(spread, rod) :]
            return offers.chain_words(chain[:-1] or chain, controls.units) or "none"  # the lure has its own row
        case "setting":
            return (shown.setting or "") if len(spread.settings(rod)) > 1 else None
    return _rig(controls, spread, rod)


def _rig(controls: Controls, spread: Spread, rod: Rod) -> str:
    """A rod's rig in few words: its device and lure, with its present line and setting."""
    from sternwatch.watch.memory.sample_rows import rig_of  # needs the solver, which a picture has loaded

    shown = controls.rod(rod.key)
    if shown is None:
        return rig_of(spread, rod, None).words
    line = "" if shown.line_out_m is None else f", {controls.length(shown.line_out_m)}"
    return f"{rig_of(spread, rod, shown.setting).words}{line}{f' {shown.setting}' if shown.setting else ''}"


def change_taken(controls: Controls, t_s: float) -> None:
    """Take the kind of change and ask for the piece."""
    listing = controls.listing
    assert listing is not None
    controls.listing = None
    found = _rigged(controls, t_s)
    if found is None or found[1].key != listing.of:
        return
    shown, rod, spread = found
    what = str(listing.value)
    title = f"{controls.name(shown)}: {what}"
    if what == "setting":
        labels = tuple(label for label in spread.settings(rod) if label != shown.setting)
        controls.listing = Listing(title, rod.key, labels, t_s, what="piece", values=labels)
        return
    found_offers = _offers(controls, spread, rod, what, t_s)
    if not found_offers:
        controls.say(f"No other {what} for {controls.name(shown)}: the shelf file and the spread name none", t_s)
        return
    options = tuple(offer.words for offer in found_offers)
    controls.listing = Listing(title, rod.key, options, t_s, what="piece", values=tuple(found_offers))


def _offers(controls: Controls, spread: Spread, rod: Rod, what: str, t_s: float) -> list[Offer]:
    shelf = shelf_of(controls, t_s)
    if what == "leader":
        made = offers.leaders(spread, shelf, rod, controls.units)
    elif what == "rig":
        rods = (
            controls.picture.crew.rods if controls.picture is not None and controls.picture.crew is not None else {}
        )
        now = {key: As(mine.line_out_m, mine.setting, mine.lead_m) for key, mine in rods.items()}
        made = offers.rigs(spread, shelf, rod, now, controls.units)
    else:
        made = offers.pieces(spread, shelf, rod, what)
    used = controls.gear_used
    return sorted(made, key=lambda offer: -used.index(offer.name) - 1 if offer.name in used else 0)


def piece_taken(controls: Controls, t_s: float) -> None:
    """Put the chosen piece on the rod."""
    listing = controls.listing
    assert listing is not None
    controls.listing = None
    found = _rigged(controls, t_s)
    if found is None:
        return
    spread, shown = found[2], controls.rod(listing.of)
    name, offer = controls.name(shown, listing.of), listing.value
    out = shown is not None and shown.state is not RodState.IN
    after = "; its depth settles anew" if out else ""
    if not isinstance(offer, Offer):
        action = controls.submit("setting", listing.of, f"{name} set {offer}", t_s, setting=offer)
        controls.expect.put(("setting", listing.of), offer, t_s)
        controls.say(f"{name} set {offer}{after}", t_s, Tone.ENTRY, action)
        return
    try:
        offer.on(spread, listing.of)
    except ChangeError as fault:
        controls.say(f"{name}: {fault}", t_s)
        return
    action = controls.submit("change", listing.of, f"{name} {offer.what} {offer.name}", t_s, **offer.fields)
    controls.gear_used = [*(used for used in controls.gear_used if used != offer.name), offer.name]
    controls.say(f"{name} {offer.what} {offer.words}{after}", t_s, Tone.ENTRY, action)


def move(controls: Controls, t_s: float) -> None:
    """Ask for the station to which the chosen rod's rig moves."""
    found = _rigged(controls, t_s)
    if found is None:
        return
    shown, rod, spread = found
    controls.typing = None
    can = {other.key: other for other in offers.moves(spread, rod)}
    there = [other for other in controls.across() if other.key in can]
    if not there:
        why = "hangs on another's cable" if rod.clipped_to is not None else "fits no other station"
        controls.say(f"{controls.name(shown)}: its rig {why}", t_s)
        return
    options = tuple(f"{controls.name(o):<10} {_rig(controls, spread, can[o.key])}" for o in there)
    keys = tuple(other.key for other in there)
    beside = min(range(len(keys)), key=lambda n: (abs(_place(controls, keys[n]) - _place(controls, rod.key)), n))
    title = f"{controls.name(shown)}: change places with"
    controls.listing = Listing(title, rod.key, options, t_s, beside, what="move", values=keys)


def _place(controls: Controls, key: str) -> int:
    return [rod.key for rod in controls.across()].index(key)


def move_taken(controls: Controls, t_s: float) -> None:
    """Swap the rigs with the chosen station. The choice stays with the rig."""
    listing = controls.listing
    assert listing is not None
    controls.listing = None
    found = _rigged(controls, t_s)
    if found is None:
        return
    here, to = listing.of, str(listing.value)
    name, other = controls.name(controls.rod(here), here), controls.name(controls.rod(to), to)
    try:
        changes.moved(found[2], here, to)
    except ChangeError as fault:
        controls.say(str(fault), t_s)
        return
    words = f"rigs of {name} and {other} changed places"
    action = controls.submit("move", here, words, t_s, to=to)
    controls.chosen = to
    controls.say(f"Rigs of {name} and {other} have changed places; {other} chosen", t_s, Tone.ENTRY, action)
