"""``sternwatch bottom``: imports public depths, so that the chart has a bottom where nobody has sounded."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from sternwatch.cautions import COMPUTED, NOT_FOR_NAVIGATION
from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.cli.common.options import add_json, add_units, quantity, units_of
from sternwatch.files import remove
from sternwatch.gear.values.units import Dimension, limit_words
from sternwatch.system_words import reason

if TYPE_CHECKING:
    from collections.abc import Callable

    from sternwatch.watch.grids.model import Raw

FORMATS = "ASCII grid (.asc), XYZ (.xyz, .csv, .txt), GeoTIFF (.tif) or NetCDF classic (.nc)"
_MOST_ERROR_M = 50.0
_MOST_LEVEL_M = 20.0  # no lake's level is further from its datum


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "bottom",
        help="import, list, remove grids of depths for the chart",
        description="Grids of depths for the chart. Near your own soundings, yours are used instead.",
        epilog=COMPUTED,
    )
    acts = parser.add_subparsers(title="what to do", dest="act", metavar="ACT", required=True)
    taken = acts.add_parser(
        "import",
        help="take in a file of depths or heights on longitude and latitude",
        description=f"Takes in {FORMATS}, on degrees of longitude and latitude. It asks for what you do not give.",
        epilog=COMPUTED,
    )
    taken.add_argument("file", type=Path, metavar="FILE")
    taken.add_argument("--name", help="its name in the list; else the file's")
    taken.add_argument("--values", choices=("depths", "heights"), help="depths go down, heights up; both in metres")
    taken.add_argument("--datum", help='the level they count from, in words, as "low water datum 183.2 m"')
    taken.add_argument(
        "--datum-at", type=quantity(Dimension.LENGTH), metavar="LENGTH",
        help="the lake's datum on the file's own scale: 0 m if depths count from it; for heights, its height",
    )  # fmt: skip
    taken.add_argument(
        "--level", type=quantity(Dimension.LENGTH), metavar="LENGTH",
        help="how far the lake is above its datum now; if it is below, --level=-0.2m",
    )  # fmt: skip
    taken.add_argument(
        "--error", type=quantity(Dimension.LENGTH), metavar="LENGTH",
        help="how far off its depths may be (95 %%), as its maker states; else 3 ft and 2.3 %% of the depth",
    )  # fmt: skip
    taken.add_argument("--variable", default="", help="of a NetCDF file that has several")
    taken.add_argument("--replace", action="store_true", help="replace the grid of that name")
    add_units(taken)
    taken.set_defaults(run=run_import)
    listed = acts.add_parser("list", help="every grid, with its datum, level and size")
    add_json(listed)
    add_units(listed)
    listed.set_defaults(run=run_list)
    removed = acts.add_parser("remove", help="delete a grid")
    removed.add_argument("name", metavar="NAME")
    removed.set_defaults(run=run_remove)


def run(args: argparse.Namespace) -> int:
    return int(args.run(args))


def _folder() -> Path:
    from sternwatch.places import data_dir

    return data_dir() / "bottom"


def run_import(args: argparse.Namespace) -> int:
    from datetime import UTC, datetime

    from sternwatch.watch.grids.model import About, GridError, LakeGrid, below_datum, level_words
    from sternwatch.watch.grids.store import keep, path_of

    name = args.name or args.file.stem
    try:
        target = path_of(_folder(), name)
        if target.exists() and not args.replace:
            raise InputError(f'there is a grid "{name}" already; accepted: another --name, or --replace')
        raw = _read(args.file, args.variable)
        values, datum, datum_m, level_m = _meant(args)
        depth = below_datum(raw, args.file.name, heights=values == "heights", datum_m=datum_m)
        about = About(
            name, args.file.name, raw.kind, datum, level_m, raw.south_deg, raw.west_deg, raw.north_step_deg,
            raw.east_step_deg, raw.values.shape[0], raw.values.shape[1], f"{datetime.now(UTC):%Y-%m-%d}",
            error_m=_error(args),
        )  # fmt: skip
        grid, size = keep(_folder(), LakeGrid(about, depth))
    except GridError as fault:
        raise InputError(str(fault)) from fault
    except OSError as fault:
        raise InputError(f"{fault.filename or args.file}: {reason(fault)}") from fault
    wider = grid.about.rows != about.rows
    print(f"{name}: {grid.about.rows} by {grid.about.columns} cells, {size / 1e6:.1f} MB" + (
        "; its cells were made wider to fit into 20 MB" if wider else ""
    ))  # fmt: skip
    print(f"{datum}, {level_words(level_m, units_of(args))}. Your own soundings stand before it within their reach.")
    print(NOT_FOR_NAVIGATION)
    return Exit.DONE


def _read(path: Path, variable: str) -> Raw:
    """Read a file by the ending of its name. Raises GridError, InputError, OSError."""
    from sternwatch.watch.grids.ascii_grid import read_ascii_grid
    from sternwatch.watch.grids.geotiff import read_geotiff
    from sternwatch.watch.grids.model import MOST_BYTES
    from sternwatch.watch.grids.netcdf import read_netcdf
    from sternwatch.watch.grids.xyz import read_xyz

    readers: dict[str, Callable[[Path], Raw]] = {
        ".asc": read_ascii_grid, ".grd": read_ascii_grid, ".xyz": read_xyz, ".csv": read_xyz, ".txt": read_xyz,
        ".tif": read_geotiff, ".tiff": read_geotiff, ".nc": lambda file: read_netcdf(file, variable),
    }  # fmt: skip
    reader = readers.get(path.suffix.lower())
    if reader is None:
        raise InputError(f'{path.name}: "{path.suffix}" is no ending of a grid known here; accepted are {FORMATS}')
    size = path.stat().st_size
    if size > MOST_BYTES:
        raise InputError(f"{path.name}: {size / 1e9:.1f} GB; accepted are files up to {MOST_BYTES / 1e9:.0f} GB")
    return reader(path)


def _meant(args: argparse.Namespace) -> tuple[str, str, float, float]:
    """The options, asked for where missing: values, datum, datum on the file's scale [m], lake above it [m]."""
    from sternwatch.watch.grids.model import fine

    values = args.values or _ask("--values", 'Are its numbers "depths" (down) or "heights" (up)?', _values)
    datum = (args.datum or "").strip() or _ask("--datum", "Which level do they count from, in words?", _words)
    datum_m = args.datum_at
    if datum_m is None:
        what = "its height in the file" if values == "heights" else "0 m where depths count from it"
        datum_m = _ask("--datum-at", f"Where does the lake's datum lie ({what})?", quantity(Dimension.LENGTH))
    level_m = args.level
    if level_m is None:
        level_m = _ask("--level", "How far above it is the lake now, as 0.5 ft?", quantity(Dimension.LENGTH))
    if abs(level_m) > _MOST_LEVEL_M:
        units = units_of(args)
        most = limit_words(_MOST_LEVEL_M, units.length)
        raise InputError(f"--level: {fine(level_m, units)}; accepted are up to {most} above or below the datum")
    return str(values), str(datum), float(datum_m), float(level_m)


def _error(args: argparse.Namespace) -> float | None:
    from sternwatch.watch.grids.model import fine

    error: float | None = args.error
    if error is not None and not 0.0 < error <= _MOST_ERROR_M:
        units = units_of(args)
        most = limit_words(_MOST_ERROR_M, units.length)
        raise InputError(f"--error: {fine(error, units)}; accepted are lengths above 0, up to {most}")
    return error


def _values(given: str) -> str:
    if given not in ("depths", "heights"):
        raise argparse.ArgumentTypeError(f'"{given}": accepted are depths and heights')
    return given


def _words(given: str) -> str:
    if not given:
        raise argparse.ArgumentTypeError("accepted are a few words, as low water datum")
    return given[:80]


def _ask(option: str, question: str, read: Callable[[str], object]) -> object:
    """Ask in a terminal until the answer is valid; elsewhere say which option is missing."""
    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        raise InputError(f"{option} is missing: {question}")
    while True:
        print(f"{question} ", end="", file=sys.stderr, flush=True)
        answer = sys.stdin.readline()
        if not answer:
            raise InputError(f"{option} is missing: {question}")
        try:
            return read(answer.strip())
        except argparse.ArgumentTypeError as fault:
            print(f"  {fault}", file=sys.stderr)


def run_list(args: argparse.Namespace) -> int:
    import json
    from dataclasses import asdict

    from sternwatch.watch.grids.model import GridError, fine
    from sternwatch.watch.grids.store import kept, load

    units = units_of(args)
    broken = 0
    for path in kept(_folder()):
        try:
            grid = load(path)
        except GridError as fault:
            print(f"sternwatch: {fault}", file=sys.stderr)
            broken += 1
            continue
        if args.json:
            print(json.dumps({**asdict(grid.about), "bytes": path.stat().st_size}, ensure_ascii=False))
        else:
            a = grid.about
            size = path.stat().st_size / 1e6
            cells = f"{a.rows} by {a.columns} cells, {size:.1f} MB"
            cells += ", error not stated" if a.error_m is None else f", ±{fine(a.error_m, units)} as stated"
            print(f"{grid.label(units)}: {cells}, {a.kind}, from {a.file}, {a.imported}")
    return Exit.WRONG_INPUT if broken else Exit.DONE


def run_remove(args: argparse.Namespace) -> int:
    from sternwatch.watch.grids.model import GridError
    from sternwatch.watch.grids.store import SUFFIX, kept, path_of

    try:
        path = path_of(_folder(), args.name)
    except GridError as fault:
        raise InputError(str(fault)) from fault
    if not path.exists():
        names = ", ".join(found.name.removesuffix(SUFFIX).replace("_", " ") for found in kept(_folder())) or "none"
        raise InputError(f'there is no grid "{args.name}"; there are: {names}')
    try:
        remove(path)
    except OSError as fault:
        raise InputError(f"{path}: {reason(fault)}") from fault
    print(f"{args.name} is removed")
    return Exit.DONE
