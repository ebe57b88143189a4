"""Places are left out of what is handed on, unless they are asked for."""

from __future__ import annotations

import json

from sternwatch.debrief.trip.exports import actions_jsonl
from sternwatch.logbook.actions.kinds import parse


def test_marks_and_fish_seen_are_exported_without_their_places() -> None:
    where = {"latitude_deg": 47.31, "longitude_deg": -91.02}
    done = [
        parse({"id": "m", "time": "2026-07-18T23:42:10Z", "kind": "mark", "what": "net"} | where),
        parse({"id": "s", "time": "2026-07-18T23:43:10Z", "kind": "fish seen", "depth_m": 19.0} | where),
    ]
    told = [json.loads(line) for line in actions_jsonl(done).splitlines()]
    assert [one["kind"] for one in told] == ["mark", "fish seen"]
    assert all(not where.keys() & one.keys() for one in told)
    asked = [json.loads(line) for line in actions_jsonl(done, positions=True).splitlines()]
    assert all(one["latitude_deg"] == 47.31 for one in asked)
