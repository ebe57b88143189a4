"""One function per sentence: which fields make which reading. Layouts are those of IEC 61162-1 / NMEA 0183."""

from __future__ import annotations

from collections.abc import Callable

from sternwatch.feed.readings import Quantity
from sternwatch.feed.sentences import fields
from sternwatch.feed.sentences.dates import two_digit_year
from sternwatch.feed.sentences.fields import FATHOM_M, FOOT_M, KM_H_M_S, KNOT_M_S
from sternwatch.feed.sentences.hearing import Hearing
from sternwatch.feed.sentences.layouts import Sentence

_KNOTS = (0.0, 120.0)  # 62 m/s
_KM_H = (0.0, 222.0)
_DEPTH_M = (0.0, 11000.0)  # no water is deeper
_MODES = frozenset("ADEFMPRS")  # all but N (no fix) and V; S is a simulator that says so


def _fix(stream: Hearing, s: Sentence, position: bool) -> tuple[float, float] | None:
    """The position, where it may be used. Emits nothing."""
    if not position:
        return None
    try:
        return fields.position(s["lat"], s["lat_dir"], s["lon"], s["lon_dir"])
    except fields.BadFieldError as error:
        stream.bad_field(str(error))
        return None


def _knots(stream: Hearing, text: str) -> float | None:
    value = stream.read(fields.number, text, *_KNOTS)
    return None if value is None else value * KNOT_M_S


def _rmc(stream: Hearing, s: Sentence) -> None:
    mode = s["mode_indicator"]
    valid = s["status"] == "A" and (not mode or mode in _MODES)
    stream.fix(s.talker, valid)
    stream.emit(Quantity.POSITION, _fix(stream, s, valid))
    stream.emit(Quantity.SOG, _knots(stream, s["spd_over_grnd"]) if valid else None)
    stream.emit(Quantity.COG, stream.read(fields.bearing, s["true_course"]) if valid else None)
    if not valid:
        stream.emit(Quantity.CLOCK, None)
        return
    variation = stream.read(fields.number, s["mag_variation"], 0.0, 180.0)
    if variation is not None and s["mag_var_dir"]:
        signed = stream.read(fields.signed_by, variation, s["mag_var_dir"], "E", "W")
        if signed is not None:
            stream.common.heard_variation_deg = signed
    text = s["datestamp"]
    day = None
    if len(text) == 6 and text.isdecimal():
        day = stream.mended_date(int(text[:2]), int(text[2:4]), two_digit_year(int(text[4:])))
    elif text:
        stream.bad_field(f"{text!r} is not a date")
    if day is not None or not text:
        stream.clock(day, stream.read(fields.seconds_of_day, s["timestamp"]))


def _vtg(stream: Hearing, s: Sentence) -> None:
    mode = s["faa_mode"]
    valid = (not mode or mode in _MODES) and not (not mode and stream.is_void(s.talker))
    course = speed = None
    if valid:
        if s["true_track"] and s["true_track_sym"] != "T":
            stream.bad_field(f"unit {s['true_track_sym']!r} where 'T' is expected")
        else:
            course = stream.read(fields.bearing, s["true_track"])
        speed = _speed(
            stream, s["spd_over_grnd_kts"], s["spd_over_grnd_kts_sym"],
            s["spd_over_grnd_kmph"], s["spd_over_grnd_kmph_sym"],
        )  # fmt: skip
    stream.emit(Quantity.SOG, speed)
    stream.emit(Quantity.COG, course)


def _speed(stream: Hearing, knots: str, knots_unit: str, km_h: str, km_h_unit: str) -> float | None:
    value = stream.read(fields.quantity, knots, knots_unit, "N", *_KNOTS)
    if value is not None:
        return value * KNOT_M_S
    value = stream.read(fields.quantity, km_h, km_h_unit, "K", *_KM_H) if not knots else None
    return None if value is None else value * KM_H_M_S


def _gga(stream: Hearing, s: Sentence) -> None:
    quality = s["gps_qual"]
    valid = quality in ("1", "2", "3", "4", "5", "6", "7", "8")
    stream.fix(s.talker, valid)
    stream.emit(Quantity.POSITION, _fix(stream, s, valid))
    if valid:
        stream.clock(None, stream.read(fields.seconds_of_day, s["timestamp"]))


def _gll(stream: Hearing, s: Sentence) -> None:
    status, mode = s["status"], s["faa_mode"]
    # Before version 2.0 of the standard, GLL ended with the longitude, without status and time.
    valid = (status == "A" or not s.has("status")) and (not mode or mode in _MODES)
    stream.fix(s.talker, valid)
    stream.emit(Quantity.POSITION, _fix(stream, s, valid))
    if valid:
        stream.clock(None, stream.read(fields.seconds_of_day, s["timestamp"]))


def _gns(stream: Hearing, s: Sentence) -> None:
    modes = s["mode_indicator"]
    valid = any(mode in _MODES for mode in modes)
    stream.fix(s.talker, valid)
    stream.emit(Quantity.POSITION, _fix(stream, s, valid))
    if valid:
        stream.clock(None, stream.read(fields.seconds_of_day, s["timestamp"]))


def _zda(stream: Hearing, s: Sentence) -> None:
    if stream.is_void(s.talker) or not s["timestamp"]:
        stream.emit(Quantity.CLOCK, None)
        return
    day, month, year = s["day"], s["month"], s["year"]
    if not (day.isdecimal() and month.isdecimal() and year.isdecimal() and len(year) == 4 and len(day + month) <= 4):
        stream.bad_field(f"{day},{month},{year} is not a date")
        return
    mended = stream.mended_date(int(day), int(month), int(year))
    if mended is not None:
        stream.clock(mended, stream.read(fields.seconds_of_day, s["timestamp"]))


def _hdg(stream: Hearing, s: Sentence) -> None:
    heading = stream.read(fields.bearing, s["heading"])
    deviation = _signed(stream, s["deviation"], s["dev_dir"])
    if heading is not None and deviation is not None:
        heading = (heading + deviation) % 360.0
    stream.heading(heading, _signed(stream, s["variation"], s["var_dir"]))


def _signed(stream: Hearing, text: str, letter: str) -> float | None:
    value = stream.read(fields.number, text, 0.0, 180.0)
    return None if value is None else stream.read(fields.signed_by, value, letter, "E", "W")


def _hdt(stream: Hearing, s: Sentence) -> None:
    value = stream.read(fields.bearing, s["heading"])
    if value is not None and s["hdg_true"] not in ("T", ""):
        stream.bad_field(f"unit {s['hdg_true']!r} where 'T' is expected")
        value = None
    stream.emit(Quantity.HEADING, value, "true")


def _hdm(stream: Hearing, s: Sentence) -> None:
    value = stream.read(fields.bearing, s["heading"])
    if value is not None and s["magnetic"] not in ("M", ""):
        stream.bad_field(f"unit {s['magnetic']!r} where 'M' is expected")
        value = None
    stream.heading(value)


def _vhw(stream: Hearing, s: Sentence) -> None:
    speed = _speed(stream, s["water_speed_knots"], s["knots"], s["water_speed_km"], s["kilometers"])
    if stream.is_probe:
        stream.emit(Quantity.PROBE_SPEED, speed)
        return
    stream.emit(Quantity.STW, speed)
    # Most logs leave the heading empty; that is not a compass without a value.
    if s["heading_true"]:
        true = stream.read(fields.bearing, s["heading_true"]) if s["true"] == "T" else None
        stream.emit(Quantity.HEADING, true, "true")
    elif s["heading_magnetic"]:
        magnetic = stream.read(fields.bearing, s["heading_magnetic"]) if s["magnetic"] == "M" else None
        stream.heading(magnetic)


def _mtw(stream: Hearing, s: Sentence) -> None:
    value = stream.read(fields.quantity, s["temperature"], s["units"], "C", -5.0, 50.0)
    stream.emit(Quantity.PROBE_TEMPERATURE if stream.is_probe else Quantity.WATER_TEMPERATURE, value)


def _dpt(stream: Hearing, s: Sentence) -> None:
    depth = stream.read(fields.number, s["depth"], *_DEPTH_M)
    offset = stream.read(fields.number, s["offset"], -100.0, 100.0)
    stream.bottom(depth, offset)


def _three_units(stream: Hearing, values: list[str]) -> float | None:
    """Depth from DBT, DBS or DBK: feet, metres, fathoms, each with its letter. Metres have precedence."""
    padded = values + [""] * 6
    for i, letter, metre in ((2, "M", 1.0), (0, "f", FOOT_M), (4, "F", FATHOM_M)):
        if padded[i]:
            value = stream.read(fields.quantity, padded[i], padded[i + 1], letter, 0.0, _DEPTH_M[1] / metre)
            if value is not None:
                return value * metre
    return None


def _dbt(stream: Hearing, s: Sentence) -> None:
    stream.bottom_below(_three_units(stream, s.values), "transducer")


def _dbs(stream: Hearing, s: Sentence) -> None:
    stream.bottom_below(_three_units(stream, s.values), "surface")


def _dbk(stream: Hearing, s: Sentence) -> None:
    stream.bottom_below(_three_units(stream, s.values), "keel")


def _rot(stream: Hearing, s: Sentence) -> None:
    per_minute = stream.read(fields.number, s["rate_of_turn"], -720.0, 720.0) if s["status"] == "A" else None
    stream.emit(Quantity.RATE_OF_TURN, None if per_minute is None else per_minute / 60.0)


def _xdr(stream: Hearing, s: Sentence) -> None:
    """Transducer values in groups of type, value, unit, name. No type means speed; the units N and K do."""
    values = s.values
    for i in range(0, len(values) - 3, 4):
        kind, text, unit, name = values[i : i + 4]
        given = stream.common.transducers.get(name.upper())
        if given is None and not name.upper().startswith("PROBE"):
            continue
        if kind == "C" and given in (None, Quantity.PROBE_TEMPERATURE):
            if unit == "F":
                fahrenheit = stream.read(fields.number, text, 23.0, 122.0)
                stream.emit(Quantity.PROBE_TEMPERATURE, None if fahrenheit is None else (fahrenheit - 32) / 1.8)
            else:
                stream.emit(Quantity.PROBE_TEMPERATURE, stream.read(fields.quantity, text, unit, "C", -5.0, 50.0))
        elif kind == "D" and given in (None, Quantity.PROBE_DEPTH):
            stream.emit(Quantity.PROBE_DEPTH, stream.read(fields.quantity, text, unit, "M", *_DEPTH_M))
        elif unit in ("N", "K") and given in (None, Quantity.PROBE_SPEED):
            high, factor = (120.0, KNOT_M_S) if unit == "N" else (222.0, KM_H_M_S)
            speed = stream.read(fields.number, text, 0.0, high)
            stream.emit(Quantity.PROBE_SPEED, None if speed is None else speed * factor)


HANDLERS: dict[str, Callable[[Hearing, Sentence], None]] = {
    "RMC": _rmc, "VTG": _vtg, "GGA": _gga, "GLL": _gll, "GNS": _gns, "ZDA": _zda,
    "HDG": _hdg, "HDT": _hdt, "HDM": _hdm, "VHW": _vhw, "MTW": _mtw,
    "DPT": _dpt, "DBT": _dbt, "DBS": _dbs, "DBK": _dbk, "ROT": _rot, "XDR": _xdr,
}  # fmt: skip
