"""A debrief as words and numbers, which the page, the terminal and the screen all show.

It has positions only on request, because crews keep their spots secret.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from typing import Any, NamedTuple

from sternwatch.debrief.clocks import clock_of
from sternwatch.debrief.counting.factors import SAMPLE_S, TITLES
from sternwatch.debrief.counting.now_producing import LEAST_HOURS
from sternwatch.debrief.counting.producing import Producing, producing
from sternwatch.debrief.counting.radio import radio
from sternwatch.debrief.counting.tally import tally
from sternwatch.debrief.report.charted import charted
from sternwatch.debrief.report.logged import Overlay, overlays, score_rows
from sternwatch.debrief.report.model import Clock, Report, Table
from sternwatch.debrief.report.practised import believed_and_true, outcome
from sternwatch.debrief.trip.digest import Digest
from sternwatch.debrief.trip.foretold import AFTERWARDS
from sternwatch.debrief.trip.sources import TripData, utc_offset_min
from sternwatch.debrief.trip.trip_events import AlertRow, Separation, answered, foretold
from sternwatch.gear.values.units import Dimension, DisplaySystem, convert
from sternwatch.hydro.separation.verdicts import NAMES
from sternwatch.local_time import BoatTime, offset_words
from sternwatch.logbook.crew.facts import box_counts
from sternwatch.logbook.store.samples import BoatRow, HitRow, RodRow
from sternwatch.watch.forecast.meeting_words import WORDS

SAID = {name: WORDS[verdict] for verdict, name in NAMES.items()}
# A trip whose feed has no date counts as beginning then.
NO_CLOCK = datetime(1970, 1, 1, tzinfo=UTC)


def report(
    data: TripData,
    digest: Digest,
    units: DisplaySystem,
    *,
    positions: bool = False,
    other: Digest | None = None,
    other_name: str = "",
    title: str = "",
) -> Report:
    """Prepare a debrief.

    Parameters
    ----------
    positions
        Whether places may be shown.
    other, other_name
        The same trip with another spread or calibration, to show beside the original.
    title
        Replaces the boat's name.
    """
    digest = _with_foretold(data, digest)
    offset = utc_offset_min(data, digest)
    time = clock_of(data.about, digest.crew.facts.utc_offset_min, utc=units.utc)
    zone = timezone(timedelta(minutes=time.offset_min(data.begun)))
    said = producing(tally(digest.samples, digest.hits, offset or 0), units)
    clock = Clock(digest, zone)
    counted = [hit for hit in digest.hits if hit.counts]
    logged = () if data.beside is None else overlays(data.beside, data.id, digest.samples)
    return Report(
        title=f"{title or (data.spread.boat.name if data.spread_text else 'notebook')}, {_day(data, zone)}",
        summary=tuple(_summary(data, digest, said, time)),
        lines=said.lines,
        radio=radio(said, counted, units),
        hits=_hits(digest.hits, clock, units, positions=positions),
        rates=rates_table(said, units),
        alerts=_alerts(digest.alerts, clock, _of_forecasts(data, NOT_FORETOLD)),
        separations=_separations(digest, clock, units, _of_forecasts(data, NO_FORECASTS), foretold=data.foretold),
        notes=tuple(f"{note.time.astimezone(zone):%H:%M} {note.text}" for note in digest.crew.notes),
        producing=said,
        digest=digest,
        clock=clock,
        zone=zone,
        units=units,
        positions=positions,
        chart=charted(digest, units),
        beside=None if other is None else _beside(digest, other, other_name, clock, units),
        practised=data.practised,
        truth=None if data.practised is None else _truth(data.practised, units),
        logged=logged,
        log_scores=_log_scores(logged, units),
        touches=_touches(digest, clock, units) if digest.touches else None,
    )


def _with_foretold(data: TripData, digest: Digest) -> Digest:
    """The digest with alerts from the trip's forecasts among its own, in order of time."""
    more = [
        answered(alert, digest.crew, digest.hits, digest.utc_offset_s)
        for alert in foretold(data.events, digest.alerts)
    ]
    return replace(digest, alerts=tuple(sorted((*digest.alerts, *more), key=lambda one: one.begun_s)))


def _day(data: TripData, zone: tzinfo) -> str:
    return f"{data.begun.astimezone(zone):%Y-%m-%d}" if data.begun > NO_CLOCK else "no date"


def _summary(data: TripData, digest: Digest, said: Producing, time: BoatTime) -> list[tuple[str, str]]:
    facts = digest.crew.facts
    rows = [("trip", data.id), ("time", _clock(data, data.ended or facts.ended, time))]
    if data.practised is not None:
        rows.append(("practice", outcome(data.practised)))
    if digest.span_s:
        rows.append(("feed", f"{digest.span_s / 3600:.1f} h recorded"))
    people = facts.people
    rows += [(name, text) for name, text in (
        ("aboard", str(people) if people is not None else ""), ("target", ", ".join(facts.target)),
        ("wind", facts.wind), ("sea", facts.sea), ("note", facts.note),
    ) if text]  # fmt: skip
    unknown = sum(row.line_out_m is None for sample in digest.samples for row in sample.rods) * SAMPLE_S / 3600.0
    unknown_words = f", {unknown:.1f} of them with an unknown length of line" if unknown >= 0.05 else ""
    rows.append(("rod time", f"{said.hours:.1f} rod-hours{unknown_words}"))
    rows.append(("hits", _hits_and_ends([hit for hit in digest.hits if hit.counts])))
    box = [count.words for count in box_counts(digest.hits, facts)]
    if box:
        rows.append(("box", ", ".join(box)))
    return rows


def _clock(data: TripData, ended: datetime | None, time: BoatTime) -> str:
    """From when to when, and by which clock."""
    if data.begun <= NO_CLOCK:
        return "the feed has no clock"
    until = f" to {time.at(ended):%H:%M}" if ended else ""
    return f"{time.at(data.begun):%H:%M}{until}{time.mark or f' (UTC{offset_words(time.offset_min(data.begun))})'}"


def _hits_and_ends(hits: Sequence[HitRow]) -> str:
    """How many, and what became of them."""
    ends = [f"{n} {end}" for end in ("boxed", "freed", "dropped") if (n := sum(h.outcome == end for h in hits))]
    if open_ends := sum(hit.outcome is None for hit in hits):
        ends.append(f"{open_ends} with no outcome entered")
    return f"{len(hits)}: {', '.join(ends)}" if ends else f"{len(hits)}"


def _hits(hits: Sequence[HitRow], clock: Clock, units: DisplaySystem, *, positions: bool) -> Table:
    length, speed, warm = (units.label(d) for d in (Dimension.LENGTH, Dimension.SPEED, Dimension.TEMPERATURE))
    headings = [
        "time", "rod", "fish", "end", f"line out {length}", "setting", f"depth {length}", "90 % within",
        f"lure {speed}", "moving", "turn", f"at lure {warm}", f"surface {warm}", f"off bottom {length}",
        f"boat {speed}", "remarks",
    ]  # fmt: skip
    if positions:
        headings.insert(-1, "lure's place")
    rows = tuple(_hit(hit, clock, units, positions=positions) for hit in hits)
    return Table("Hits", tuple(headings), rows, frozenset({4, 6, 7, 8, 11, 12, 13, 14}), "No hits were entered.")


def _hit(hit: HitRow, clock: Clock, units: DisplaySystem, *, positions: bool) -> tuple[str, ...]:
    cells = _hit_rod(hit.rod_row, units) if hit.rod_row is not None else _hit_noted(hit.noted, units)
    name = hit.rod_row.rig.name if hit.rod_row is not None else ""
    boat = hit.boat
    warm = boat.water_temperature_c if boat else hit.noted.get("temperature_c")
    place = "–" if hit.lure_deg is None else f"{hit.lure_deg[0]:.5f} {hit.lure_deg[1]:.5f}"
    return (
        clock.at(hit.at_s) if hit.at_s is not None else clock.utc(hit.time_ms / 1000),
        f"{hit.rod} {name}" if name else hit.rod,
        _fish(hit, units),
        hit.outcome or "open",
        *cells.set,
        *cells.depth,
        cells.lure_speed,
        cells.trend,
        _turn(hit.rod_row, boat),
        cells.temperature,
        units.show(warm, Dimension.TEMPERATURE, 0, label=False),
        cells.clearance,
        units.show(boat.speed_m_s if boat else None, Dimension.SPEED, 1, label=False),
        *((place,) if positions else ()),
        _remarks(hit),
    )


class _RodCells(NamedTuple):
    """The cells about the rod in a hit's row."""

    set: tuple[str, str]  # line out, setting
    depth: tuple[str, str]  # of the lure, with its 90 % interval
    lure_speed: str = "–"
    trend: str = "–"
    temperature: str = "–"
    clearance: str = "–"


def _hit_rod(rod: RodRow, units: DisplaySystem) -> _RodCells:
    """The cells of a computed rod."""

    def show(value: float | None, dimension: Dimension, digits: int = 0) -> str:
        return units.show(value, dimension, digits, label=False)

    interval = "–"
    if rod.depth_low_m is not None and rod.depth_high_m is not None:
        interval = f"{show(max(rod.depth_low_m, 0.0), Dimension.LENGTH)}–{show(rod.depth_high_m, Dimension.LENGTH)}"
    return _RodCells(
        (show(rod.line_out_m, Dimension.LENGTH), rod.rig.setting or "–"),
        (show(rod.depth_m, Dimension.LENGTH), interval),
        show(rod.lure_speed_m_s, Dimension.SPEED, 1),
        rod.trend or "–",
        show(rod.temperature_c, Dimension.TEMPERATURE),
        show(rod.clearance_m, Dimension.LENGTH),
    )


def _hit_noted(noted: Mapping[str, Any], units: DisplaySystem) -> _RodCells:
    """The cells of a rod that was not computed, from the notebook."""

    def length(name: str) -> str:
        return units.show(noted.get(name), Dimension.LENGTH, 0, label=False)

    depth = length("depth_m") + (" noted" if noted.get("depth_m") is not None else "")
    return _RodCells((length("line_out_m"), str(noted.get("setting") or "") or "–"), (depth, "–"))


def _turn(rod: RodRow | None, boat: BoatRow | None) -> str:
    """The side of a turn, and whether the boat slowed or quickened."""
    turn = rod.turn if rod is not None else None
    pace = boat.pace if boat is not None and boat.pace != "steady" else None
    if turn == "straight" and pace is not None:
        return pace
    return ", ".join(word for word in (turn, pace) if word) or "–"


def _fish(hit: HitRow, units: DisplaySystem) -> str:
    said = [hit.species] if hit.species else []
    if hit.length_m is not None:
        inches = units.symbol(Dimension.LENGTH) == "ft"
        said.append(f"{hit.length_m / 0.0254:.0f} in" if inches else f"{hit.length_m * 100:.0f} cm")
    if hit.mass_kg is not None:
        said.append(units.show(hit.mass_kg, Dimension.MASS, 1))
    if hit.undersized:
        said.append("undersized")
    return " ".join(said) or "–"


def _remarks(hit: HitRow) -> str:
    said = []
    if hit.from_memory:
        said.append("time from memory")
    if not hit.counts and hit.outcome != "no fish":
        said.append("not counted")
    if hit.counts and not hit.in_hours:
        said.append("outside recorded fishing time")
    said += [text for text in (hit.flag, hit.speed_by, hit.note) if text]
    return "; ".join(said)


def rates_table(said: Producing, units: DisplaySystem) -> Table:
    """A table of every value with its hits, hours, rate and interval, and whether it stands out."""
    from sternwatch.debrief.counting.factors import words

    rows = []
    for one in sorted(said.comparisons, key=lambda c: (int(c.value.factor) < 20, c.value.key)):
        if one.hits == 0 and one.hours < LEAST_HOURS:
            continue
        rate = "–" if one.rate is None else f"{one.rate:.2f}"
        low, high = one.rate_interval
        ratio = one.rates.ratio if one.rates is not None else None
        times = "–" if ratio is None else "rest: none" if ratio == float("inf") else f"{ratio:.1f}"
        chance = "–" if one.rates is None else _p(one.rates.p)
        kind = TITLES[one.value.factor]
        name = words(one.value, units).removeprefix(f"{kind} ")
        rows.append((
            kind, name, str(one.hits), f"{one.hours:.1f}", rate,
            "–" if one.hours <= 0 else f"{low:.2f}–{high:.2f}", times, chance, "stands out" if one.found else "",
        ))  # fmt: skip
    headings = ("by", "", "hits", "rod-hours", "hits an hour", "90 % within", "times the rest", "by luck", "")
    return Table(
        "Rates", headings, tuple(rows), frozenset({2, 3, 4, 5, 6, 7}), "No fishing time was recorded.", BY_LUCK
    )


BY_LUCK = (
    "By luck: how often luck alone makes a difference this large when all catch alike. 0.02 is once in fifty "
    "trips. Something is said to stand out only with all comparisons taken together."
)


def _p(p: float) -> str:
    return "< 0.001" if p < 0.001 else f"{p:.3f}" if p < 0.1 else f"{p:.2f}"


def _of_forecasts(data: TripData, missing: str) -> str:
    """A note on what is known of the trip's forecasts; ``missing`` where nothing is, empty where she had them."""
    if not data.foretold:
        return missing
    return FORETOLD_AFTERWARDS if data.about.get("foretold") == AFTERWARDS else ""


def _alerts(alerts: Sequence[AlertRow], clock: Clock, note: str) -> Table:
    rows = []
    for alert in alerts:
        stood = "to the end" if alert.ended_s is None else f"{alert.ended_s - alert.begun_s:.0f} s"
        followed = [f"{what} after {after:.0f} s" for after, what in alert.answered]
        if alert.hits_after:
            followed.append(f"{alert.hits_after} hit{'s' * (alert.hits_after != 1)} in the next 10 min")
        rows.append((clock.at(alert.begun_s), alert.priority, alert.text, stood, ", ".join(followed) or "nothing"))
    headings = ("time", "priority", "alert", "stood", "what followed")
    return Table("Alerts and what followed", headings, tuple(rows), empty=NO_ALERTS, note=note)


FORETOLD_AFTERWARDS = (
    "Forecasts were made afterwards, from the recording: they say what a console would have warned of. Nobody on the "
    "boat was told of it."
)
LATER = "It is worked out while the recording is open on the screen, and kept."
NOT_FORETOLD = f"Only alerts that need no forecast: what was forecast on this trip is not known here. {LATER}"
NO_ALERTS = "No alerts were raised. Closest lines shows how near lines came all the same."


def _touches(digest: Digest, clock: Clock, units: DisplaySystem) -> Table:
    decimals = 0 if units.symbol(Dimension.LENGTH) == "ft" else 1

    def length(value_m: float) -> str:
        return units.show(value_m, Dimension.LENGTH, decimals, label=False)

    rows = tuple(
        (
            clock.at(one.begun_s), one.key, f"{one.ended_s - one.begun_s:.0f} s", length(one.bottom_m),
            length(one.under_m),
        )
        for one in digest.touches
    )  # fmt: skip
    label = units.label(Dimension.LENGTH)
    headings = ("time", "rod", "for", f"bottom {label}", f"at most under it {label}")
    return Table("Touches of rods fished on the bottom", headings, rows, frozenset({3, 4}))


def _separations(digest: Digest, clock: Clock, units: DisplaySystem, note: str, *, foretold: bool) -> Table:
    """The pairs that came closest, and whether an alert had told of each: one story with the alerts."""
    near = units.label(Dimension.LENGTH)
    digits = 1 if units.symbol(Dimension.LENGTH) == "ft" else 2

    def far(value_m: float) -> str:
        return f"{convert(value_m, units.symbol(Dimension.LENGTH)):.{digits}f}"

    rows = tuple(
        (
            " and ".join(one.keys),
            "–" if one.verdict is None else SAID[one.verdict],
            far(one.distance_m),
            "–" if one.required_m is None else far(one.required_m),
            clock.at(one.at_s),
            _warned(one, digest.alerts, clock, foretold=foretold),
        )
        for one in digest.separations
    )
    headings = ("rods", "came to", f"closest {near}", f"wanted {near}", "time", "alert")
    return Table(
        "Closest lines",
        headings,
        rows,
        frozenset({2, 3}),
        "No two lines are known to have come near.",
        f"{APART} {note}".strip(),
    )


APART = (
    "Worked out afterwards from what the boat did, of the lines as they most likely ran: 0 means that they met. An "
    "alert is raised beforehand, and only where a crossing was likely then; none means that it was not foreseen."
)
NO_FORECASTS = "Not known: the forecasts of this trip are not kept here, so what was warned of is not known."
ALERTED_S = 180.0  # an alert tells of what comes within the outlook's reach


def _warned(one: Separation, alerts: Sequence[AlertRow], clock: Clock, *, foretold: bool) -> str:
    """When the pair was warned of; where it came nearer than is wanted and was not, that, if it is known."""
    told = [
        a for a in alerts if set(one.keys) <= set(a.keys) and a.begun_s - 5.0 <= one.at_s <= _until(a) + ALERTED_S
    ]
    if told:
        return f"raised {clock.at(told[-1].begun_s)}"
    close = one.required_m is not None and one.distance_m < one.required_m
    if not close:
        return ""
    return "none" if foretold else "not known"


def _until(alert: AlertRow) -> float:
    return math.inf if alert.ended_s is None else alert.ended_s


def _beside(digest: Digest, other: Digest, name: str, clock: Clock, units: DisplaySystem) -> Table:
    """A table of the hits' depths by the first and by the other computation."""
    again = {hit.id: hit for hit in other.hits}
    rows = []
    for hit in digest.hits:
        then = hit.rod_row.depth_m if hit.rod_row else None
        twin = again.get(hit.id)
        now = twin.rod_row.depth_m if twin is not None and twin.rod_row is not None else None
        change = None if then is None or now is None else now - then
        depths = (units.show(value, Dimension.LENGTH, 1, label=False) for value in (then, now, change))
        rows.append((clock.at(hit.at_s), hit.rod, *depths))
    length = units.label(Dimension.LENGTH)
    headings = ("time", "rod", f"depth then {length}", f"with {name} {length}", f"change {length}")
    return Table(f"The same trip with {name}", headings, tuple(rows), frozenset({2, 3, 4}), "No hits to compare.")


def _log_scores(logged: Sequence[Overlay], units: DisplaySystem) -> Table | None:
    headings, rows = score_rows(logged, units)
    return Table("Computed against loggers", headings, rows, frozenset(range(2, 6))) if rows else None


def _truth(result: Mapping[str, Any], units: DisplaySystem) -> Table:
    headings, rows = believed_and_true(result, units)
    return Table("Believed against true depth", headings, rows, frozenset(range(1, 6)), "No rod took part.")
