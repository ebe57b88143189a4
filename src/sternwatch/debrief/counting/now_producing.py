"""For the console: what is producing now, putting a rod back as at its hit, unchecked lines, the box and the limits.

These are pure values with their words. The console shows them and submits the actions that they name.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sternwatch.debrief.counting.factors import OF_RIG, TITLES, Factor, words
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.logbook.crew.facts import box_counts, rods_allowed
from sternwatch.logbook.crew.state import Crew, CrewHit
from sternwatch.logbook.crew.words import rod_words
from sternwatch.logbook.store.samples import HitRow, Sample

if TYPE_CHECKING:
    from sternwatch.debrief.counting.producing import Comparison, Producing

LAST_S = 3600.0
# A value hardly fished and never hit gets no line; it still counts among the questions asked.
LEAST_HOURS = 0.1


@dataclass(frozen=True, slots=True)
class PanelRow:
    """One value: hits and rod-hours today and in the last hour, and its rate with the 90 % interval."""

    title: str  # the factor's words
    name: str
    hits: int
    hours: float
    last_hits: int
    last_hours: float
    rate: float | None  # hits per rod-hour today
    interval: tuple[float, float]
    stands_out: str  # "more", "less" or empty

    @property
    def text(self) -> str:
        """The row in words: "2 P HIGH  5 in 2.3 h · last hour 2". A key shows the interval."""
        return f"{self.name}  {self.hits} in {self.hours:.1f} h · last hour {self.last_hits}"

    @property
    def behind(self) -> str:
        """What the key shows: "2.2 an hour (0.9–4.6)"."""
        if self.rate is None:
            return "no hours"
        return f"{self.rate:.1f} an hour ({self.interval[0]:.1f}–{self.interval[1]:.1f})"


@dataclass(frozen=True, slots=True)
class Panel:
    """What is producing: first sentences, then every value."""

    today: Producing
    last_hour: Producing
    rows: tuple[PanelRow, ...]
    radio: str

    @property
    def lines(self) -> tuple[str, ...]:
        """The sentences to show, those of today first."""
        told = {finding.text for finding in self.today.findings}
        recent = [f for f in self.last_hour.findings if f.better and f.text not in told]
        return (*self.today.lines, *(f"Last hour: {finding.text}" for finding in recent))


def panel(
    samples: Iterable[Sample], hits: Iterable[HitRow], now_s: float, units: DisplaySystem, utc_offset_min: int = 0
) -> Panel:
    """What is producing, today and in the last hour.

    Parameters
    ----------
    samples, hits
        From a picture: ``picture.fishing``, ``picture.hit_rows``. The samples are gone through twice.
    now_s
        Feed time of the picture.
    """
    # Importing the statistics takes a third of a second; putting a rod back must not wait for that.
    from sternwatch.debrief.counting.producing import producing
    from sternwatch.debrief.counting.radio import radio
    from sternwatch.debrief.counting.tally import tally

    hits = list(hits)
    today = producing(tally(samples, hits, utc_offset_min), units)
    since = now_s - LAST_S
    recent = producing(
        tally(
            [s for s in samples if s.boat.at_s > since],
            [h for h in hits if h.at_s is not None and h.at_s > since],
            utc_offset_min,
        ),
        units,
    )
    last = {c.value: c for c in recent.comparisons}
    worth = [c for c in today.comparisons if c.hits or c.hours >= LEAST_HOURS]
    rows = tuple(_row(c, last.get(c.value), units) for c in sorted(worth, key=_order))
    return Panel(today, recent, rows, radio(today, hits, units))


def _order(one: Comparison) -> tuple[bool, int, tuple[int, int, str]]:
    return one.value.factor not in OF_RIG, int(one.value.factor), one.value.key


def _row(one: Comparison, last: Comparison | None, units: DisplaySystem) -> PanelRow:
    factor = one.value.factor
    name = one.value.word if factor in (Factor.ROD, Factor.LURE, Factor.COLOUR) else words(one.value, units)
    return PanelRow(
        TITLES[factor], name, one.hits, one.hours, last.hits if last else 0, last.hours if last else 0.0, one.rate,
        one.rate_interval, ("more" if one.better else "less") if one.found else "",
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class PutBack:
    """A rod at its last hit against its present state. ``fields``: those of the action "put back"."""

    key: str
    hit: str  # id
    then: str
    now: str
    fields: Mapping[str, Any]
    text: str


def put_back(crew: Crew, key: str, units: DisplaySystem, row: HitRow | None = None) -> PutBack | str:
    """What `r` shows for the chosen rod; or a sentence that says why there is nothing to put back.

    ``row``: the hit's moment. Where the hit was moved in time, length and setting come from the hit itself.
    """
    rod = crew.rods.get(key)
    if rod is None:
        return f"There is no rod {key}"
    hit = crew.last_hit(key)
    name = rod_words(key, crew)
    if hit is None:
        return f"{name} has had no hit this trip"
    if rod.rigged_at is not None and rod.rigged_at.time > hit.when.time:
        return f"{name} has another rig since its hit"
    then = _had(hit, row)
    if not then:
        return f"What {name} had at its hit is not known"
    now = {"line_out_m": None if rod.length_lost else rod.line_out_m, "setting": rod.setting, "lead_m": rod.lead_m}
    was, has = _lengths(then, units), _lengths(now, units)
    same = all(now.get(field) == value for field, value in then.items())
    text = f"{name} had {was} at its hit, " + ("the same now" if same else f"now {has}") + "; r again puts it back"
    return PutBack(key, hit.id, was, has, {"of": hit.id, **then}, text)


def _had(hit: CrewHit, row: HitRow | None) -> dict[str, Any]:
    at = row.rod_row if row is not None and row.id == hit.id else None
    length = at.line_out_m if at is not None and at.line_out_m is not None else hit.line_out_m
    setting = at.rig.setting if at is not None and at.rig.setting else hit.setting
    lead = at.lead_m if at is not None and at.lead_m is not None else hit.lead_m
    return {k: v for k, v in (("line_out_m", length), ("setting", setting), ("lead_m", lead)) if v is not None}


def _lengths(fields: Mapping[str, Any], units: DisplaySystem) -> str:
    said = []
    if fields.get("line_out_m") is not None:
        said.append(units.show(fields["line_out_m"], Dimension.LENGTH))
    if fields.get("setting"):
        said.append(str(fields["setting"]))
    if fields.get("lead_m") is not None:
        said.append(f"lead {units.show(fields['lead_m'], Dimension.LENGTH)}")
    return " ".join(said) or "nothing known"


def trip_words(crew: Crew, rods_per_person: int | None = None, people: int | None = None) -> tuple[str, ...]:
    """The trip's facts in lines: people and rods, target, wind and sea, the box against the typed limits."""
    facts = crew.facts
    lines = []
    aboard = facts.people if facts.people is not None else people
    if aboard is not None:
        allowed = rods_allowed(facts, rods_per_person, people)
        out = sum(rod.state != "in" for rod in crew.rods.values())
        rods = f"; rods out: {out}, allowed by your own numbers: {allowed}" if allowed is not None else ""
        lines.append(f"{aboard} aboard{rods}")
    if facts.target:
        lines.append("After " + ", ".join(facts.target))
    lines += [f"{title} {text}" for title, text in (("Wind", facts.wind), ("Sea", facts.sea)) if text]
    box = [count.words for count in box_counts(crew.hits, facts)]
    if box:
        lines.append("Box: " + ", ".join(box))
    return tuple(lines)
