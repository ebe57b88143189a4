"""Acts on what hangs from the rods: another lure, leader, setting or rig (`c`), a rig to another station (`x`).

Two lists, the second of what the first chose; rod keys go on to hit. What cannot be is not offered, and what turns
out impossible is refused with a sentence before anything is stored.
"""

from __future__ import annotations

from sternwatch.console.desk.hand import Desk, Tone
from sternwatch.console.desk.lists import Listing
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


def _rigged(desk: Desk, t_s: float) -> tuple[RodPicture, Rod, Spread] | None:
    """The chosen rod with what hangs from it; said why not when that is not known."""
    shown, picture = desk.rod(desk.chosen), desk.picture
    gear = picture.crew.gear if picture is not None and picture.crew is not None else None
    rod = gear.spread.rod_by_key(shown.key) if shown is not None and isinstance(gear, Rigging) else None
    if shown is None or rod is None or not isinstance(gear, Rigging):
        desk.say("No rod chosen" if shown is None else f"What hangs from {desk.name(shown)} is not known", t_s)
        return None
    return shown, rod, gear.spread


def shelf_of(desk: Desk, t_s: float) -> Shelf:
    """The user's shelf as the file is now; a fault in it is said, and the shipped pieces are offered."""
    try:
        return load_shelf()
    except SpreadError as fault:
        desk.say(str(fault), t_s, Tone.ERROR)
        return parse_shelf("")


def change(desk: Desk, t_s: float) -> None:
    """Ask what is to be changed on the chosen rod."""
    found = _rigged(desk, t_s)
    if found is None:
        return
    shown, rod, spread = found
    if desk.expect.get(("state", rod.key), shown.state, t_s) is RodState.FIGHTING:
        desk.say(f"{desk.name(shown)} has a fish on: say first how it ended", t_s)
        return
    desk.typing = None
    on = {what: _on(desk, spread, rod, shown, what) for what in WHATS}
    there = {what: words for what, words in on.items() if words is not None}
    options = tuple(f"{what:<9} {words}".rstrip() for what, words in there.items())
    desk.listing = Listing(
        f"{desk.name(shown)}: change what", rod.key, options, t_s, what="change", values=tuple(there)
    )


def _on(desk: Desk, spread: Spread, rod: Rod, shown: RodPicture, what: str) -> str | None:
    """What is on now; None: there is no such thing to change."""
    match what:
        case "lure":
            return changes.piece_on(spread, rod, what) or "none"
        case "attractor":
            return changes.piece_on(spread, rod, what)
        case "leader":
            return offers.chain_words(rod.chain[changes.leader_at(spread, rod) :], desk.units) or "none"
        case "setting":
            return (shown.setting or "") if len(spread.settings(rod)) > 1 else None
    return _rig(desk, spread, rod)


def _rig(desk: Desk, spread: Spread, rod: Rod) -> str:
    """A rod's rig in few words: what carries it and what swims, with its line and setting as they are."""
    from sternwatch.watch.memory.sample_rows import rig_of  # with the solver, which is there once there is a picture

    shown = desk.rod(rod.key)
    if shown is None:
        return rig_of(spread, rod, None).words
    line = "" if shown.line_out_m is None else f", {desk.length(shown.line_out_m)}"
    return f"{rig_of(spread, rod, shown.setting).words}{line}{f' {shown.setting}' if shown.setting else ''}"


def change_taken(desk: Desk, t_s: float) -> None:
    """Enter on what is to be changed: the pieces for it are next."""
    listing = desk.listing
    assert listing is not None
    desk.listing = None
    found = _rigged(desk, t_s)
    if found is None or found[1].key != listing.of:
        return
    shown, rod, spread = found
    what = str(listing.value)
    title = f"{desk.name(shown)}: {what}"
    if what == "setting":
        labels = tuple(label for label in spread.settings(rod) if label != shown.setting)
        desk.listing = Listing(title, rod.key, labels, t_s, what="piece", values=labels)
        return
    found_offers = _offers(desk, spread, rod, what, t_s)
    if not found_offers:
        desk.say(f"No other {what} for {desk.name(shown)}: the shelf file and the spread name none", t_s)
        return
    options = tuple(offer.words for offer in found_offers)
    desk.listing = Listing(title, rod.key, options, t_s, what="piece", values=tuple(found_offers))


def _offers(desk: Desk, spread: Spread, rod: Rod, what: str, t_s: float) -> list[Offer]:
    shelf = shelf_of(desk, t_s)
    if what == "leader":
        made = offers.leaders(spread, shelf, rod, desk.units)
    elif what == "rig":
        rods = desk.picture.crew.rods if desk.picture is not None and desk.picture.crew is not None else {}
        now = {key: As(mine.line_out_m, mine.setting, mine.lead_m) for key, mine in rods.items()}
        made = offers.rigs(spread, shelf, rod, now, desk.units)
    else:
        made = offers.pieces(spread, shelf, rod, what)
    used = desk.gear_used
    return sorted(made, key=lambda offer: -used.index(offer.name) - 1 if offer.name in used else 0)


def piece_taken(desk: Desk, t_s: float) -> None:
    """Enter on a piece: it is on the rod."""
    listing = desk.listing
    assert listing is not None
    desk.listing = None
    found = _rigged(desk, t_s)
    if found is None:
        return
    spread, shown = found[2], desk.rod(listing.of)
    name, offer = desk.name(shown, listing.of), listing.value
    out = shown is not None and shown.state is not RodState.IN
    after = "; it starts anew in the water" if out else ""
    if not isinstance(offer, Offer):
        action = desk.submit("setting", listing.of, f"{name} set {offer}", t_s, setting=offer)
        desk.expect.put(("setting", listing.of), offer, t_s)
        desk.say(f"{name} set {offer}{after}", t_s, Tone.ENTRY, action)
        return
    try:
        offer.on(spread, listing.of)
    except ChangeError as fault:
        desk.say(f"{name}: {fault}", t_s)
        return
    action = desk.submit("change", listing.of, f"{name} {offer.what} {offer.name}", t_s, **offer.fields)
    desk.gear_used = [*(used for used in desk.gear_used if used != offer.name), offer.name]
    desk.say(f"{name} {offer.what} {offer.words}{after}", t_s, Tone.ENTRY, action)


def move(desk: Desk, t_s: float) -> None:
    """Ask to which station the chosen rod's rig goes."""
    found = _rigged(desk, t_s)
    if found is None:
        return
    shown, rod, spread = found
    desk.typing = None
    can = {other.key: other for other in offers.moves(spread, rod)}
    there = [other for other in desk.across() if other.key in can]
    if not there:
        why = "hangs on another's cable" if rod.clipped_to is not None else "fits no other station"
        desk.say(f"{desk.name(shown)}: its rig {why}", t_s)
        return
    options = tuple(f"{desk.name(o):<10} {_rig(desk, spread, can[o.key])}" for o in there)
    keys = tuple(other.key for other in there)
    beside = min(range(len(keys)), key=lambda n: (abs(_place(desk, keys[n]) - _place(desk, rod.key)), n))
    title = f"{desk.name(shown)}: change places with"
    desk.listing = Listing(title, rod.key, options, t_s, beside, what="move", values=keys)


def _place(desk: Desk, key: str) -> int:
    return [rod.key for rod in desk.across()].index(key)


def move_taken(desk: Desk, t_s: float) -> None:
    """Enter on a station: the rigs change places; the chosen rod stays with its rig."""
    listing = desk.listing
    assert listing is not None
    desk.listing = None
    found = _rigged(desk, t_s)
    if found is None:
        return
    here, to = listing.of, str(listing.value)
    name, other = desk.name(desk.rod(here), here), desk.name(desk.rod(to), to)
    try:
        changes.moved(found[2], here, to)
    except ChangeError as fault:
        desk.say(str(fault), t_s)
        return
    words = f"rigs of {name} and {other} changed places"
    action = desk.submit("move", here, words, t_s, to=to)
    desk.chosen = to
    desk.say(f"Rigs of {name} and {other} have changed places; {other} chosen", t_s, Tone.ENTRY, action)
