"""What a feed's sensors and sources look like when all is well, and when it is not."""

from __future__ import annotations

from dataclasses import replace

import fake_picture

from sternwatch.feed.readings import Quantity, SensorState, Value
from sternwatch.feed.sensors.board import SensorEntry
from sternwatch.feed.sentences.accounts import Cause, ChecksumRule, SourceReport
from sternwatch.feed.sources.base import SourceState, SourceStatus
from sternwatch.watch.sessions.runner import Senses

T_0 = fake_picture.T_0


def entry(quantity: Quantity, value: Value | None, sentence: str, **changed: object) -> SensorEntry:
    """A fresh one in use, unless changed."""
    made = SensorEntry(
        "sounder", "II", sentence, quantity, SensorState.FRESH, value, 0.6, 1.0, 4.0, 900, "", "", True
    )
    return replace(made, **changed)  # type: ignore[arg-type]


def report(**changed: object) -> SourceReport:
    """A source that is well understood, but for a line now and then."""
    made = SourceReport(
        "sounder", 5210, {"VHW": 1040, "RMC": 1041, "DPT": 1040, "MTW": 1039}, {"GSV": 1041},
        {Cause.BAD_CHECKSUM: 7, Cause.CUT_OFF: 2},
        {Cause.BAD_CHECKSUM: b"$IIMTW,17.8,C*1G", Cause.CUT_OFF: b"$IIDPT,34.1\x00\xff,"},
        3, "MTW: temperature '--.-' is not a number", ChecksumRule.REQUIRED, 0.001, "",
    )  # fmt: skip
    return replace(made, **changed)  # type: ignore[arg-type]


def status(**changed: object) -> SourceStatus:
    """An open port."""
    made = SourceStatus(
        "sounder", SourceState.OPEN, "/dev/ttyUSB0: data is arriving", "/dev/ttyUSB0", 4800, T_0 - 900.0
    )
    return replace(made, **changed)  # type: ignore[arg-type]


WELL = (
    entry(Quantity.STW, 1.03, "VHW"),
    entry(Quantity.SOG, 1.12, "VTG", in_use=False, source="gps", talker="GP"),
    entry(Quantity.SOG, 1.12, "RMC", source="gps", talker="GP"),
    entry(Quantity.COG, 274.0, "RMC", source="gps", talker="GP"),
    entry(Quantity.HEADING, 271.0, "HDG", reference="magnetic"),
    entry(Quantity.BOTTOM, 34.1, "DPT", suspect="12.0 m in 1 s", in_use=True),
    entry(Quantity.WATER_TEMPERATURE, 17.8, "MTW", rate_hz=0.25, timeout_s=16.0),
    entry(Quantity.POSITION, (47.31, -91.02), "RMC", source="gps", talker="GP"),
    entry(Quantity.CLOCK, fake_picture.UTC_0, "RMC", source="gps", talker="GP"),
)


def well() -> Senses:
    """Everything comes; a line now and then is refused."""
    gps = report(source="gps", accepted={"RMC": 900, "VTG": 900}, unused={}, rejected={}, last_rejected={},
                 bad_fields=0, last_bad_field="")  # fmt: skip
    return Senses(
        T_0, WELL, (report(), gps), (status(), status(source="gps", text="127.0.0.1:2947: data is arriving"))
    )


def silent() -> Senses:
    """The speeds fell silent; the port is gone."""
    lost = status(
        state=SourceState.LOST, text="/dev/ttyUSB0: No such file or directory", baud=None, since_t_s=T_0 - 40
    )
    entries = tuple(replace(e, state=SensorState.SILENT, age_s=41.0, in_use=False) for e in WELL[:3])
    return Senses(T_0, entries, (report(),), (lost,))


def wrong_rate() -> Senses:
    """A port at the wrong baud rate: bytes come, no sentence."""
    rubbish = report(
        lines=240, accepted={}, unused={}, rejected={Cause.NO_SENTENCE: 240},
        last_rejected={Cause.NO_SENTENCE: bytes(range(120, 240))}, bad_fields=0, last_bad_field="",
        checksums=ChecksumRule.NONE_SENT, checksum_failures=None,
        complaint="sounder: nothing that arrives is a sentence (wrong baud rate?)",
    )  # fmt: skip
    return Senses(T_0, (), (rubbish,), (status(baud=38400),))


def no_speed_told() -> Senses:
    """A sounder that tells depth and temperature only."""
    entries = tuple(e for e in WELL if e.quantity in (Quantity.BOTTOM, Quantity.WATER_TEMPERATURE))
    deaf = report(accepted={"DPT": 300, "MTW": 300}, unused={"GSV": 20}, rejected={}, last_rejected={}, bad_fields=0)
    return Senses(T_0, entries, (deaf,), (status(),))


CASES = {"well": well, "silent": silent, "wrong rate": wrong_rate, "no speed told": no_speed_told}
