"""What ``sternwatch ports --listen`` finds out, over real pty pairs."""

import itertools
import threading
import time

import pytest

from sternwatch.cli.sessions import ports as command
from sternwatch.feed.sources.ports import Port
from sternwatch.feed.sources.survey import Survey, survey


@pytest.fixture
def talking(plug):
    """A port that says the given lines ten times a second."""
    ports = []

    def start(*lines):
        port = plug()
        ports.append(port)

        def run():
            for _ in itertools.count():
                try:
                    port.write(b"".join(line + b"\r\n" for line in lines))
                except (OSError, ValueError):
                    return
                time.sleep(0.1)

        threading.Thread(target=run, daemon=True).start()
        return Port(port.path, "invented instrument")

    return start


def test_rate_sentences_and_checksums(talking, signed):
    port = talking(signed("IIMTW,+14.5,C"), signed("IIMTW,+14.5,C"), signed("IIMWV,1,R,2,N,A"), b"$IIMTW,+14.5,C*00")
    found = survey(port, 2.0, listen_s=0.5)
    assert found.problem == ""
    assert found.baud == 4800
    assert list(found.per_second) == ["MTW", "MWV"]
    assert found.per_second["MTW"] == pytest.approx(2 * found.per_second["MWV"], rel=0.15)
    assert found.right == pytest.approx(3 * found.wrong, abs=4)
    words = command.in_words(found)
    assert words.startswith(f"{port.path}: 4800 baud, checksums 7")
    assert "MTW" in words
    assert "\n" not in words


def test_no_checksums(talking):
    found = survey(talking(b"$IIMTW,+14.5,C"), 1.0, listen_s=0.5)
    assert (found.right, found.wrong) == (0, 0)
    assert found.without > 3
    assert "no checksums" in command.in_words(found)


def test_silent_and_absent(plug):
    quiet = plug()
    assert survey(Port(quiet.path), 0.2, listen_s=0.1).problem == "silent"
    absent = survey(Port("/dev/ttyNONE9"), 0.2)
    assert "not there" in absent.problem
    assert command.as_json(absent)["baud"] is None


def test_one_line_for_a_problem_and_null_for_unknown():
    silent = Survey(Port("/dev/x", "thing"), problem="silent")
    assert command.in_words(silent) == "/dev/x (thing): silent"
    assert command.as_json(silent) == {
        "port": "/dev/x", "description": "thing", "baud": None, "speaks": None, "sentences_per_s": None,
        "checksums": None,
        "problem": "silent",
    }  # fmt: skip


def test_a_port_that_prints_frames_says_so(plug):
    port = plug()
    stop = threading.Event()

    def talk():
        while not stop.is_set():
            port.write(b"10:00:00.000 R 09F50323 00 7B 00 FF FF 00 FF FF\r\n")
            time.sleep(0.02)

    thread = threading.Thread(target=talk)
    thread.start()
    try:
        found = survey(Port(port.path), 1.0, listen_s=0.5)
    finally:
        stop.set()
        thread.join()
    assert (found.problem, found.tongue) == ("", "n2k")
    assert list(found.per_second) == ["PGN 128259"]
    assert "NMEA 2000 frames (n2k:), no checksums: PGN 128259" in command.in_words(found)
    assert command.as_json(found)["speaks"] == "n2k"
