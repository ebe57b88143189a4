"""Writes sentences like instruments (NMEA 0183 / IEC 61162-1): fields in, one line out."""

from __future__ import annotations

from datetime import UTC, datetime

from sternwatch.feed.sentences.framing import checksum

KN_PER_M_S = 3600.0 / 1852.0


def line(body: str) -> bytes:
    """A whole sentence from its body, without a line end."""
    data = body.encode("ascii")
    return b"$%s*%02X" % (data, checksum(data))


def degrees_minutes(value_deg: float, width: int) -> str:
    """An angle as ``ddmm.mmmm``, without its sign."""
    whole = int(abs(value_deg))
    minutes = round((abs(value_deg) - whole) * 60.0, 4)
    if minutes >= 60.0:
        whole, minutes = whole + 1, 0.0
    return f"{whole:0{width}d}{minutes:07.4f}"


def place(latitude_deg: float, longitude_deg: float) -> str:
    """Four fields: latitude, N or S, longitude, E or W."""
    north = "N" if latitude_deg >= 0.0 else "S"
    east = "E" if longitude_deg >= 0.0 else "W"
    return f"{degrees_minutes(latitude_deg, 2)},{north},{degrees_minutes(longitude_deg, 3)},{east}"


def _variation(west_deg: float) -> str:
    return f"{abs(west_deg):.1f},{'W' if west_deg >= 0.0 else 'E'}"


def rmc(unix_s: float, where: str | None, sog_m_s: float, cog_deg: float, west_deg: float) -> bytes:
    """Position, velocity and clock; ``where`` None: no fix."""
    at = datetime.fromtimestamp(unix_s, UTC)
    if where is None:
        return line(f"GPRMC,{at:%H%M%S}.00,V,,,,,,,{at:%d%m%y},,,N")
    sog = f"{sog_m_s * KN_PER_M_S:.2f},{cog_deg % 360.0:.1f}"
    return line(f"GPRMC,{at:%H%M%S}.00,A,{where},{sog},{at:%d%m%y},{_variation(west_deg)},A")


def vtg(sog_m_s: float | None, cog_deg: float, west_deg: float) -> bytes:
    """Velocity over ground; None: no fix."""
    if sog_m_s is None:
        return line("GPVTG,,T,,M,,N,,K,N")
    kn = sog_m_s * KN_PER_M_S
    magnetic = (cog_deg + west_deg) % 360.0
    return line(f"GPVTG,{cog_deg % 360.0:.1f},T,{magnetic:.1f},M,{kn:.2f},N,{kn * 1.852:.2f},K,A")


def gga(unix_s: float, where: str | None, satellites: int) -> bytes:
    """Fix data."""
    at = datetime.fromtimestamp(unix_s, UTC)
    if where is None:
        return line(f"GPGGA,{at:%H%M%S}.00,,,,,0,00,,,M,,M,,")
    return line(f"GPGGA,{at:%H%M%S}.00,{where},1,{satellites:02d},0.9,183.6,M,-36.0,M,,")


def hdg(magnetic_deg: float, west_deg: float) -> bytes:
    """Heading from a fluxgate, with the variation set in it."""
    return line(f"HCHDG,{magnetic_deg % 360.0:.1f},,,{_variation(west_deg)}")


def vhw(magnetic_deg: float, stw_m_s: float) -> bytes:
    """Speed through water of a paddle wheel."""
    kn = stw_m_s * KN_PER_M_S
    return line(f"VWVHW,,T,{magnetic_deg % 360.0:.1f},M,{kn:.2f},N,{kn * 1.852:.2f},K")


def mtw(temperature_c: float) -> bytes:
    """Water temperature."""
    return line(f"YXMTW,{temperature_c:.1f},C")


def dpt(below_transducer_m: float | None, transducer_m: float) -> bytes:
    """Depth below the transducer, and the transducer's depth below the surface; None: the bottom is lost."""
    depth = "" if below_transducer_m is None else f"{below_transducer_m:.1f}"
    return line(f"SDDPT,{depth},{transducer_m:.1f}")
