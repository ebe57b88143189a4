"""Whether the tests notice what is broken on purpose: one operator or constant of a module at a time."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from mutants.mutating import mutants_of

SAMPLE = int(os.environ.get("STERNWATCH_MUTANTS", "24"))
LEAST = 0.9  # of a module's mutants that its room's tests must notice
RUNNING = Path(__file__).with_name("running.py")
TOP = Path(__file__).parents[2]

FEED, LOGBOOK = "tests/feed/sentences", "tests/logbook"
ROOMS = {
    "sternwatch.feed.sentences.framing": (f"{FEED}/test_framing.py",),
    "sternwatch.feed.sentences.gates": (f"{FEED}/test_gates.py",),
    "sternwatch.feed.sentences.fields": (f"{FEED}/test_fields.py", f"{FEED}/test_decoding.py"),
    "sternwatch.feed.sentences.dates": (f"{FEED}/test_dates.py",),
    "sternwatch.feed.sentences.handlers": (f"{FEED}/test_decoding.py",),
    "sternwatch.feed.sensors.board": ("tests/feed/sensors",),
    "sternwatch.feed.sensors.candidates": ("tests/feed/sensors",),
    "sternwatch.feed.recording.tag_block": ("tests/feed/recording/test_tag_block.py",),
    "sternwatch.logbook.crew.facts": (f"{LOGBOOK}/crew",),
    "sternwatch.logbook.crew.fold": (f"{LOGBOOK}/crew", f"{LOGBOOK}/test_evening.py"),
    "sternwatch.watch.alerts.rules": ("tests/watch/alerts/test_rules.py",),
    "sternwatch.watch.alerts.ringing": ("tests/watch/alerts/test_ringing.py",),
    "sternwatch.hydro.chain.coefficients": ("tests/hydro/chain/test_coefficients.py",),
}
# Changes that change nothing that can be seen: a part of the line changed, the change, and why it is none.
EQUIVALENT = {
    ("self._new, self._new_count, self._new_since = value, 1, t_s", "1 -> 2"): "only whether it is any is asked",
    ("+ 540.0) % 360.0 - 180.0", "+ -> -"): "540 and -540 are one angle",
    ("at = at if at > 0 else longest", "> -> >="): "a start is looked for from the second byte on",
    ('if data.rfind(b"$") <= 0 and data.rfind(b"!") <= 0:', "<= -> <"): "a short cut: the loop gives the same",
    ("Quantity.COG: Limits(", "4 -> 5"): "any course is near any other after three seconds: it never has to persist",
    ("Quantity.COG: Limits(", "3.0 -> 6.0"): "the same",
    ("Quantity.POSITION: Limits(", "0.0 -> 1.0"): "share and range are of numbers; a position is none",
    ("Quantity.POSITION: Limits(", "180.0 -> 360.0"): "the same",
    ("self.unconfirmed = False", "False -> True"): "said anew with every value",
    ("self._count = 0", "0 -> 1"): "only the order of the counts is asked",
    ("self._last_t = 0.0", "0.0 -> 1.0"): "not looked at before a first value is there",
    ("self._new: Value = 0.0", "0.0 -> 1.0"): "not looked at while the count is none",
    ("self._new_since = 0.0", "0.0 -> 1.0"): "the same",
}


def test_every_operator_and_constant_is_changed_once_and_nothing_idle() -> None:
    source = '''
"""Words of 3 letters."""
LIMIT: Literal[7] = 2.0

def f(x: Annotated[int, 5]) -> bool:
    """Of 9."""
    while x < LIMIT and not x % 4:
        x += 1
        if x is None:
            break
    return "a" + str(x) != "b"
'''
    made = mutants_of(source)
    assert sorted(one.what for one in made) == sorted([
        "2.0 -> 4.0", "and -> or", "!= -> ==", "< -> <=", "not dropped", "+ -> - in place", "is -> is not",
        "break -> pass", "% -> //", "1 -> 2", "4 -> 5",
    ])  # fmt: skip
    assert len({one.source for one in made}) == len(made)
    for one in made:
        compile(one.source, "mutant", "exec")


def test_the_unharmed_source_is_left_as_it_is() -> None:
    source = "x = 1 + 2\n"
    mutants_of(source)
    assert [one.source for one in mutants_of(source)] == ["x = 1 - 2", "x = 2 + 2", "x = 1 + 3"]


@pytest.mark.campaign
@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork: Linux or macOS")
@pytest.mark.parametrize("module", ROOMS)
def test_the_rooms_tests_notice(module: str) -> None:
    command = [sys.executable, str(RUNNING), module, *ROOMS[module], "--sample", str(SAMPLE)]
    # A compiled kernel would not see its mutant.
    plain = {**os.environ, "NUMBA_DISABLE_JIT": "1"} if module.startswith("sternwatch.hydro.") else None
    said = subprocess.run(command, cwd=TOP, capture_output=True, text=True, check=False, env=plain)
    assert said.returncode == 0, said.stderr
    told = [json.loads(line) for line in said.stdout.splitlines()]
    left = [one for one in told if not one["killed"]]
    survivors = [
        one for one in left if not any(code in one["code"] and what == one["what"] for code, what in EQUIVALENT)
    ]
    counted = len(told) - len(left) + len(survivors)
    print(f"\n{module}: {counted - len(survivors)} of {counted} noticed, {len(left) - len(survivors)} equivalent")
    for one in survivors:
        print(f"  line {one['line']}: {one['what']}  in  {one['code']}")
    assert len(survivors) <= (1.0 - LEAST) * counted
