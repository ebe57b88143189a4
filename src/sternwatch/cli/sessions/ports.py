"""``sternwatch ports``: the serial ports of this machine, and what each of them receives."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from sternwatch.cli.common.exits import Exit
from sternwatch.cli.common.options import add_json

if TYPE_CHECKING:
    from sternwatch.feed.sources.ports import Port
    from sternwatch.feed.sources.survey import Survey

_MOST_S = 600.0


def _seconds(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not 0.5 <= value <= _MOST_S:
        raise argparse.ArgumentTypeError(f"{text!r}: a number of seconds from 0.5 to {_MOST_S:g} is expected")
    return value


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "ports",
        help="list serial ports and what each says",
        description="List the serial ports of this machine under the names that survive replugging.",
    )
    parser.add_argument(
        "--listen",
        action="store_true",
        help="open each port, find its rate, and say what comes: sentences a second, share of right checksums",
    )
    parser.add_argument(
        "--seconds", type=_seconds, default=4.0, metavar="N", help="how long to listen to each port (4)"
    )
    add_json(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from sternwatch.feed.sources.ports import PortFinder

    ports = PortFinder().ports()
    if not args.listen:
        if args.json:
            _print_json([{"port": port.path, "description": port.description or None} for port in ports])
        else:
            print("\n".join(_plain(port) for port in ports) if ports else "no serial port is there")
        return Exit.DONE
    surveys = listen_to(ports, args.seconds)
    if args.json:
        _print_json([as_json(survey) for survey in surveys])
    else:
        print("\n".join(in_words(survey) for survey in surveys) if surveys else "no serial port is there")
    return Exit.DONE


def listen_to(ports: list[Port], seconds: float) -> list[Survey]:
    """Survey all ports at once; results are in the order of the ports."""
    import threading
    from concurrent.futures import ThreadPoolExecutor

    from sternwatch.feed.sources.ports import RateMemory
    from sternwatch.feed.sources.survey import survey

    memory = RateMemory()
    if not ports:
        return []
    stop = threading.Event()
    with ThreadPoolExecutor(len(ports)) as pool:
        try:
            return list(pool.map(lambda port: survey(port, seconds, memory=memory, stopping=stop.is_set), ports))
        finally:
            stop.set()  # an interrupt also ends the listening


def in_words(survey: Survey) -> str:
    """One line about one port."""
    if survey.problem:
        return f"{_plain(survey.port)}: {survey.problem}"
    rates = " ".join(f"{name} {rate:.1f}/s" for name, rate in (survey.per_second or {}).items())
    signed = survey.right + survey.wrong
    checksums = f"checksums {100 * survey.right / signed:.0f} % right" if signed else "no checksums"
    if survey.tongue == "n2k":
        checksums = f"NMEA 2000 frames (n2k:), {checksums}"
    return f"{survey.port.path}: {survey.baud} baud, {checksums}: {rates or 'nothing'}"


def as_json(survey: Survey) -> dict[str, Any]:
    """One port for machines; null where unknown."""
    return {
        "port": survey.port.path,
        "description": survey.port.description or None,
        "baud": survey.baud,
        "speaks": str(survey.tongue) if survey.baud is not None else None,
        "sentences_per_s": {k: round(v, 3) for k, v in survey.per_second.items()} if survey.per_second else None,
        "checksums": {"right": survey.right, "wrong": survey.wrong, "missing": survey.without}
        if survey.baud is not None
        else None,
        "problem": survey.problem or None,
    }


def _plain(port: Port) -> str:
    return f"{port.path} ({port.description})" if port.description else port.path


def _print_json(ports: list[dict[str, Any]]) -> None:
    import json

    print(json.dumps({"ports": ports}))
