"""Whatever one word a rod may have beside it is explained."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import product

import fake_picture

from sternwatch.console.words import rods as words
from sternwatch.console.words.glossary import SECTIONS
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.alerts.rules import RULES
from sternwatch.watch.picture.alert import Alert, AlertState, Priority
from sternwatch.watch.picture.model import RodState, SolverState

US, SIGNS = SYSTEMS["us"], words.SIGNS["plain"]
EXPLAINED = {part.strip() for _, entries in SECTIONS for word, _ in entries for part in word.split(",")}
NOT_OF_A_ROD = {  # of the laptop, the feed and the boat
    "cannot save", "boat file", "power", "may sleep", "no feed", "feed silent", "no speed", "no course",
    "speeds differ", "sensors differ", "no bottom", "running", "checksums",
}  # fmt: skip


def bare(form: str) -> str:
    """The word alone: without an arrow and a length, or a time."""
    return re.sub(rf"{SIGNS.to}.*| \d+\w*$", "", form).strip().lower()


def alert(kind: str) -> Alert:
    return Alert("1", kind, Priority.CAUTION, AlertState.ACTIVE, ("1",), "")


def test_every_word_at_a_rod_stands_in_the_glossary() -> None:
    rod = fake_picture.straight().rods[0]
    said = [
        words.one_word(replace(rod, state=state, solver=solver, line_out_m=out), None, US, SIGNS)
        for state, solver, out in product(RodState, SolverState, (None, 30.0))
    ]
    said += [words.wants_looking_at(replace(rod, **care)) for care in ({"unchecked": True}, {"left_zone_s": 70.0})]
    told = {bare(form) for one in said if one is not None for form in one.forms}
    assert {"fight", "depth ?", "line unknown", "settles", "reel", "check", "left zone"} <= told
    assert told - EXPLAINED == set()


def test_every_kind_of_alert_at_a_rod_stands_in_the_glossary() -> None:
    kinds = set(RULES) - NOT_OF_A_ROD
    told = {form.lower() for kind in kinds for form in words.alert_words(alert(kind))}
    assert {"crossing", "prop", "net"} <= told
    assert told - EXPLAINED == set()
