"""The hub: one order, one clock, the recorder first; sources come and go beside one another."""

import itertools
import threading
import time

import pytest

from sternwatch.feed.errors import FeedError
from sternwatch.feed.readings import Declared, Line
from sternwatch.feed.recording.feed_clock import FeedClock
from sternwatch.feed.recording.reader import open_recording
from sternwatch.feed.recording.recorder import Recorder
from sternwatch.feed.sources import SourceState, SourceStatus
from sternwatch.feed.sources.hub import Hub


class Spoken:
    """A source that says what it is told, from its own thread."""

    def __init__(self, name, count):
        self.name, self.priority, self.count = name, 0, count

    def start(self, clock, put, tell):
        def run():
            tell(SourceStatus(self.name, SourceState.OPEN, "open"))
            for i in range(self.count):
                t_s, unix_ms = clock.now()
                put(Line(t_s, unix_ms, self.name, b"%d" % i))
            tell(SourceStatus(self.name, SourceState.ENDED, "at its end"))

        self.thread = threading.Thread(target=run)
        self.thread.start()

    def stop(self):
        self.thread.join()


def test_lines_of_many_sources_in_one_order_of_feed_time():
    hub = Hub([Spoken(name, 2000) for name in "abcd"])
    hub.start()
    lines = []
    until = time.monotonic() + 20
    while not hub.ended and time.monotonic() < until:
        lines += hub.get(0.05)
    hub.stop()
    lines += hub.get(0.0)
    assert len(lines) == 8000
    assert all(a.t_s <= b.t_s for a, b in itertools.pairwise(lines))
    for name in "abcd":
        assert [line.data for line in lines if line.source == name] == [b"%d" % i for i in range(2000)]
    assert [status.state for status in hub.statuses()] == [SourceState.ENDED] * 4


def test_a_late_stamp_is_moved_up_not_back():
    hub = Hub([])
    hub.put(Line(2.0, None, "a", b"x"))
    hub.put(Line(1.5, None, "b", b"y"))
    assert [line.t_s for line in hub.get(0.0)] == [2.0, 2.0]


def test_the_recorder_has_a_line_before_anyone_else():
    seen = []

    class Witness:
        def record(self, line):
            seen.append((line.data, hub.get(0.0)))

    hub = Hub([], recorder=Witness())
    hub.put(Line(0.0, None, "a", b"x"))
    assert seen == [(b"x", [])]
    assert len(hub.get(0.0)) == 1


def test_while_nothing_comes_the_recording_is_stamped_and_a_later_run_begins_after_that(tmp_path, monkeypatch):
    """Day 499: the next run's lines lay among what this one had shown without them."""
    path, now_s = tmp_path / "a.nmea", 0.0
    recorder = Recorder(path, [Declared("gps")])
    hub = Hub([], recorder=recorder)
    monkeypatch.setattr(hub.clock, "now", lambda: (now_s, 1_780_000_000_000 + round(now_s * 1000)))
    for tick in range(1, 41):  # ten seconds, with a line each second up to the fifth
        now_s = tick * 0.25
        if now_s == round(now_s) and now_s <= 5.0:
            hub.put(Line(now_s, 1_780_000_000_000, "gps", b"$A"))
        hub.cut()
    recorder.close()
    stamps = [line for line in path.read_bytes().splitlines() if line.endswith(b"\\") and b"t:source" not in line]
    assert [line[: line.rindex(b"*")] for line in stamps] == [
        b"\\c:1780000006500,r:6500", b"\\c:1780000008000,r:8000", b"\\c:1780000009500,r:9500",
    ]  # fmt: skip
    with open_recording(path) as recording:
        assert [line.t_s for line in recording.lines()] == [1.0, 2.0, 3.0, 4.0, 5.0]
        assert recording.span_s == 9.5, "a replay ends where the run did"
        assert [source.name for source in recording.sources] == ["gps"]
    assert (recorder.status.lines, recorder.status.lost_lines) == (5, 0)
    monkeypatch.setattr(time, "time_ns", lambda: 1_779_999_000_000 * 1_000_000)  # set back meanwhile
    assert FeedClock.resume(path).began_s > now_s


def test_nothing_comes_is_an_empty_list_after_the_time_out():
    assert Hub([]).get(0.01) == []


def test_two_sources_of_one_name_are_refused():
    with pytest.raises(FeedError, match="two sources are named a"):
        Hub([Spoken("a", 0), Spoken("a", 0)])


def test_another_feed_begins_at_zero_with_a_recording_of_its_own(tmp_path):
    first, second = tmp_path / "a.nmea", tmp_path / "b.nmea"
    hub = Hub([], recorder=Recorder(first), clock=FeedClock(5000.0))
    hub.put(Line(hub.clock.now()[0], 1, "gps", b"$A"))
    waiting = hub.turn_over(second)
    hub.put(Line(5000.4, 2, "gps", b"$B"))  # stamped just before
    t_s, unix_ms = hub.clock.now()
    hub.put(Line(t_s, unix_ms, "gps", b"$C"))
    hub.recorder.close()
    assert [line.data for line in waiting] == [b"$A"]
    later = hub.get(0.0)
    assert [line.data for line in later] == [b"$B", b"$C"]
    assert all(0.0 <= line.t_s < 5.0 for line in later)
    assert [line.data for line in open_recording(first).lines()] == [b"$A"]
    assert [(line.data, line.t_s) for line in open_recording(second).lines()] == [
        (line.data, line.t_s) for line in later
    ]


def test_an_entry_is_later_than_the_cut_before_it_within_the_same_millisecond(monkeypatch):
    """Simulated day 2011: a replay gave the entry to the step that live had just made without it."""
    hub = Hub([])
    monkeypatch.setattr(hub.clock, "now", lambda: (24.0, 1_780_000_000_000))
    assert hub.moment() == (24.0, 1_780_000_000_000)
    _, cut = hub.cut()
    assert hub.moment() == (cut + 0.001, 1_780_000_000_000)
    monkeypatch.setattr(hub.clock, "now", lambda: (25.0, 1_780_000_001_000))
    assert hub.moment()[0] == 25.0
