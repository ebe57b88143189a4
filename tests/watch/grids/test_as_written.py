"""Files of grids as people write them: empty lines, unequal steps, one row, too much; and the demo's own bottom."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from sternwatch.watch.grids.ascii_grid import read_ascii_grid
from sternwatch.watch.grids.geotiff import read_geotiff
from sternwatch.watch.grids.made import demo_bottom
from sternwatch.watch.grids.model import About, GridError, LakeGrid, Raw
from sternwatch.watch.grids.netcdf import read_netcdf
from sternwatch.watch.grids.xyz import read_xyz

HEAD = "ncols 3\nnrows 2\nxllcenter -89.0\nyllcenter 47.0\n"
ROWS = "4 5 6\n1 2 3\n"
DEPTHS = [[1.0, 2.0, 3.0], [4.0, 5.0, 6.0]]  # the southernmost row first


def grid(tmp_path: Path, text: str) -> Any:
    file = tmp_path / "lake.asc"
    file.write_text(text)
    return read_ascii_grid(file)


def test_a_text_grid_may_have_two_steps(tmp_path: Path) -> None:
    raw = grid(tmp_path, HEAD + "dx 0.1\ndy 0.2\n" + ROWS)
    assert (raw.east_step_deg, raw.north_step_deg) == (0.1, 0.2)
    assert raw.values.tolist() == DEPTHS
    cornered = HEAD.replace("center", "corner")
    raw = grid(tmp_path, cornered + "dx 0.1\ndy 0.2\n" + ROWS)
    assert (raw.west_deg, raw.south_deg) == (pytest.approx(-88.95), pytest.approx(47.1))
    for one in ("dx 0.1\n", "dy 0.2\n"):
        with pytest.raises(GridError, match='its header has no "cellsize"'):
            grid(tmp_path, HEAD + one + ROWS)


def test_empty_lines_in_the_header_are_nothing(tmp_path: Path) -> None:
    assert grid(tmp_path, "\n" + HEAD.replace("\n", "\n\n") + "cellsize 0.1\n" + ROWS).values.tolist() == DEPTHS


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("1 2 3", "1 2 three", "lake.asc, line 7: not all of it are numbers"),
        ("4 5 6", "4 5", "lake.asc, line 6: 2 numbers; accepted are ncols, 3"),
        ("1 2 3\n", "1 2 3\n7 8 9\n", "lake.asc, line 8: more rows than the 2"),
        ("nrows 2", "nrows 0", 'no "nrows" that counts'),
        ("nrows 2", "nrows 1.5", 'no "nrows" that counts'),
        ("nrows 2\n", "nrows 1\n", "line 7: more rows than the 1"),
        ("ncols 3", "ncols inf", '"inf" is not a number'),
    ],
)
def test_what_is_wrong_in_a_text_grid_is_said_with_its_line(tmp_path: Path, old: str, new: str, said: str) -> None:
    text = HEAD + "cellsize 0.1\n" + ROWS
    assert old in text
    with pytest.raises(GridError) as fault:
        grid(tmp_path, text.replace(old, new))
    assert said in str(fault.value)


def test_one_row_is_read_and_then_refused_as_one(tmp_path: Path) -> None:
    with pytest.raises(GridError, match="it has 1 rows and 3 columns"):
        grid(tmp_path, HEAD.replace("nrows 2", "nrows 1") + "cellsize 0.1\n4 5 6\n")


def geotiff(tmp_path: Path, *, nodata: str = "-9999\0", keys: tuple[int, ...] = (1, 1, 0, 1, 1024, 0, 1, 2)) -> Path:
    """Cells 0.1 wide and 0.2 high; the north-west corner of the first is at 47.4 north, 89.05 west."""
    tifffile = pytest.importorskip("tifffile", reason="the extra geotiff is not installed")
    tags = [
        (33550, 12, 3, (0.1, 0.2, 0.0), False), (33922, 12, 6, (0.0, 0.0, 0.0, -89.05, 47.4, 0.0), False),
        (34735, 3, len(keys), keys, False), (42113, 2, len(nodata), nodata, False),
    ]  # fmt: skip
    file = tmp_path / "lake.tif"
    tifffile.imwrite(file, np.array(DEPTHS[::-1], np.float32), extratags=tags)
    return file


def test_a_geotiff_may_have_two_steps(tmp_path: Path) -> None:
    raw = read_geotiff(geotiff(tmp_path))
    assert (raw.east_step_deg, raw.north_step_deg) == (0.1, 0.2)
    assert (raw.west_deg, raw.south_deg) == (pytest.approx(-89.0), pytest.approx(47.1))
    assert raw.values.tolist() == DEPTHS


def test_a_geotiff_of_too_many_cells_is_refused_before_it_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = geotiff(tmp_path)
    monkeypatch.setattr("sternwatch.watch.grids.geotiff.MOST_CELLS", 6)
    assert read_geotiff(file).values.size == 6
    monkeypatch.setattr("sternwatch.watch.grids.geotiff.MOST_CELLS", 5)
    with pytest.raises(GridError, match=r"^lake\.tif: 2 by 3 cells; accepted are at most 5$"):
        read_geotiff(file)


def test_a_geotiffs_value_for_no_data_is_a_number(tmp_path: Path) -> None:
    values = read_geotiff(geotiff(tmp_path, nodata=" 5 \0")).values
    assert np.isnan(values[1, 1])
    assert np.isfinite(values).sum() == 5
    with pytest.raises(GridError, match='its value for no data is "none"'):
        read_geotiff(geotiff(tmp_path, nodata="none\0"))


def test_keys_that_lie_elsewhere_in_a_geotiff_are_not_looked_at(tmp_path: Path) -> None:
    """The second number of a key says in which tag its value lies; 0: in the key."""
    with pytest.raises(GridError, match="GTModelType is not given"):
        read_geotiff(geotiff(tmp_path, keys=(1, 1, 0, 1, 1024, 34736, 1, 2)))
    with pytest.raises(GridError, match="GTModelType is 1, a projection"):
        read_geotiff(geotiff(tmp_path, keys=(1, 1, 0, 1, 1024, 0, 1, 1)))
    with pytest.raises(GridError, match="GTModelType is not given"):
        read_geotiff(geotiff(tmp_path, keys=(1, 1, 0, 1, 1024, 0, 1)))


def netcdf(tmp_path: Path, *names: str, lat: str = "lat", lon: str = "lon", **attributes: Any) -> Path:
    from scipy.io import netcdf_file

    with netcdf_file(str(tmp_path / "lake.nc"), "w") as file:
        for name, values in ((lat, [47.0, 47.2]), (lon, [-89.0, -88.9, -88.8])):
            file.createDimension(name, len(values))
            file.createVariable(name, "d", (name,))[:] = values
        for name in names:
            variable = file.createVariable(name, "d", (lat, lon))
            variable[:] = DEPTHS
            for key, value in attributes.items():
                setattr(variable, key, value)
    return tmp_path / "lake.nc"


@pytest.mark.parametrize(("lat", "lon"), [("Latitude", "LONGITUDE"), ("y", "x")])
def test_axes_of_netcdf_by_their_usual_names(tmp_path: Path, lat: str, lon: str) -> None:
    raw = read_netcdf(netcdf(tmp_path, "depth", lat=lat, lon=lon))
    assert (raw.west_deg, raw.south_deg) == (-89.0, 47.0)
    assert (raw.east_step_deg, raw.north_step_deg) == (pytest.approx(0.1), pytest.approx(0.2))
    assert raw.values.tolist() == DEPTHS
    assert raw.kind == "NetCDF, depth"
    with pytest.raises(GridError, match=r"no variable lat or latitude or y of one dimension"):
        read_netcdf(netcdf(tmp_path, "depth", lat="north"))
    with pytest.raises(GridError, match=r"no variable lon or longitude or x of one dimension"):
        read_netcdf(netcdf(tmp_path, "depth", lon="east"))


def test_of_two_variables_in_netcdf_one_must_be_named(tmp_path: Path) -> None:
    file = netcdf(tmp_path, "depth", "error")
    with pytest.raises(GridError, match="depth, error lie on latitude and longitude; name one with --variable"):
        read_netcdf(file)
    assert read_netcdf(file, "error").kind == "NetCDF, error"
    with pytest.raises(GridError, match='no variable "lat" on latitude and longitude; accepted: depth, error'):
        read_netcdf(file, "lat")


def test_packed_numbers_of_netcdf_are_scaled_and_moved(tmp_path: Path) -> None:
    raw = read_netcdf(netcdf(tmp_path, "depth", scale_factor=2.0, add_offset=100.0, missing_value=5.0))
    assert raw.values[0].tolist() == [102.0, 104.0, 106.0]
    assert raw.values[1, ::2].tolist() == [108.0, 112.0]
    assert np.isnan(raw.values[1, 1])


@pytest.mark.parametrize(
    "head", ["lon lat depth\n", "# made by hand\n\n", "% x y z\n", "\ufeffLongitude;Latitude;z\n"]
)
def test_points_may_have_a_head_and_more_columns(tmp_path: Path, head: str) -> None:
    lines = [f"{-89.0 + 0.1 * c:.1f};{47.0 + 0.2 * r:.1f};{DEPTHS[r][c]};9" for r in range(2) for c in range(3)]
    lines.insert(3, "")
    lines.append("-88.8;47.2;nan")
    (tmp_path / "lake.xyz").write_text(head + "\n".join(lines), encoding="utf-8")
    raw = read_xyz(tmp_path / "lake.xyz")
    assert raw.values.tolist() == DEPTHS
    assert (raw.east_step_deg, raw.north_step_deg) == (pytest.approx(0.1), pytest.approx(0.2))
    assert (raw.west_deg, raw.south_deg) == (-89.0, 47.0)


def test_a_head_after_points_is_an_error(tmp_path: Path) -> None:
    (tmp_path / "lake.xyz").write_text("-89 47 1\nlon lat depth\n")
    with pytest.raises(GridError, match=r"^lake\.xyz, line 2: accepted are longitude, latitude and a value"):
        read_xyz(tmp_path / "lake.xyz")


def test_the_demos_bottom_reaches_all_around_its_evening() -> None:
    """From 1,200 m south and west of the first fix to 1,760 m north and 2,960 m east; its reef is 6 m deep."""
    bottom = demo_bottom()

    def known(north_m: float, east_m: float) -> bool:
        found = bottom.depths_m((47.0210, -89.5630), np.array([north_m]), np.array([east_m]))
        return bool(np.isfinite(found[0, 0]))

    assert all(known(*at) for at in ((-1199.0, -1199.0), (1759.0, 0.0), (0.0, 2959.0)))
    assert not any(known(*at) for at in ((-1201.0, 0.0), (0.0, -1201.0), (1761.0, 0.0), (0.0, 2961.0)))
    north, east = np.arange(-500.0, 0.0, 20.0), np.arange(800.0, 1300.0, 20.0)
    depths = bottom.depths_m((47.0210, -89.5630), north, east)
    assert depths.min() == pytest.approx(6.0, abs=1e-4)
    shoalest = np.argwhere(depths < 6.5).mean(axis=0)
    assert (north[0] + 20.0 * shoalest[0], east[0] + 20.0 * shoalest[1]) == pytest.approx((-242.0, 1035.0), abs=15.0)


@pytest.mark.parametrize("falling", [(False, True), (True, False), (True, True)])
def test_axes_of_netcdf_may_fall(tmp_path: Path, falling: tuple[bool, bool]) -> None:
    from scipy.io import netcdf_file

    lats, lons, depths = np.array([47.0, 47.2]), np.array([-89.0, -88.9, -88.8]), np.array(DEPTHS)
    if falling[0]:
        lats, depths = lats[::-1], depths[::-1]
    if falling[1]:
        lons, depths = lons[::-1], depths[:, ::-1]
    with netcdf_file(str(tmp_path / "lake.nc"), "w") as file:
        for name, values in (("lat", lats), ("lon", lons)):
            file.createDimension(name, len(values))
            file.createVariable(name, "d", (name,))[:] = values
        file.createVariable("depth", "d", ("lat", "lon"))[:] = depths
    raw = read_netcdf(tmp_path / "lake.nc")
    assert raw.values.tolist() == DEPTHS
    assert (raw.west_deg, raw.south_deg) == (-89.0, 47.0)


def test_small_steps_must_be_as_even_as_wide_ones(tmp_path: Path) -> None:
    from sternwatch.watch.grids.netcdf import _upward

    values = np.ones((3, 2), np.float32)
    with pytest.raises(GridError, match="the steps of latitude are not even"):
        _upward(tmp_path / "a.nc", values, np.array([47.0, 47.001, 47.0023]), "latitude", 0)


def test_a_grid_of_four_nodes_is_one_and_a_step_of_nothing_is_none() -> None:
    raw = Raw(47.0, -89.0, 0.1, 0.1, np.ones((2, 2), np.float32), "made")
    assert raw.checked("a") is raw
    for name in ("north_step_deg", "east_step_deg"):
        with pytest.raises(GridError, match="the step of its cells is not positive"):
            replace(raw, **{name: 0.0}).checked("a")


CORNERS = np.array([[3.0, 50.0, 7.0, 90.0], [40.0, 1.0, 80.0, 2.0], [6.0, 70.0, 4.0, 60.0]], np.float32)
LAKE = About("a", "a.asc", "ASCII grid", "its own", 0.0, 47.0, -89.0, 0.1, 0.2, 3, 4, "")


@pytest.mark.parametrize(
    ("row", "column", "depth_m"),
    [(0.5, 0.5, (3.0 + 50.0 + 40.0 + 1.0) / 4.0), (1.5, 2.5, (80.0 + 2.0 + 4.0 + 60.0) / 4.0),
     (0.25, 2.5, 0.75 * 48.5 + 0.25 * 41.0), (1.5, 0.25, 0.75 * 23.0 + 0.25 * 35.5)],
)  # fmt: skip
def test_in_the_outermost_cells_too_a_depth_lies_between_those_of_its_corners(
    row: float, column: float, depth_m: float
) -> None:
    place = 47.0 + 0.1 * row, -89.0 + 0.2 * column
    found = LakeGrid(LAKE, CORNERS).depths_m(place, np.zeros(1), np.zeros(1))
    assert found[0, 0] == pytest.approx(depth_m, rel=1e-5)


@pytest.mark.parametrize(("level_m", "depth_m"), [(0.0, 0.5), (0.5, 1.0), (-0.49, 0.01), (-0.5, None), (-1.0, None)])
def test_where_a_low_lake_leaves_no_water_there_is_no_depth(level_m: float, depth_m: float | None) -> None:
    grid = LakeGrid(replace(LAKE, level_m=level_m), np.full((3, 4), 0.5, np.float32))
    found = grid.depths_m((47.05, -88.9), np.zeros(1), np.zeros(1))[0, 0]
    assert found == pytest.approx(math.nan if depth_m is None else depth_m, abs=1e-6, nan_ok=True)


def kind_of(tmp_path: Path, at: list[tuple[float, float]]) -> str:
    rows = [f"{9.0 + 0.125 * east:.9f} {47.0 + 0.125 * north:.9f} 20" for east, north in at]
    (tmp_path / "a.xyz").write_text("\n".join(rows))
    return str(read_xyz(tmp_path / "a.xyz").kind)


def test_points_are_on_a_lattice_where_they_fill_a_twentieth_of_it(tmp_path: Path) -> None:
    """A diagonal with one corner more: 21 of 400 cells, 22 of 441."""
    for wide, lattice in ((20, True), (21, False)):
        at = [(float(k), float(k)) for k in range(wide)] + [(0.0, wide - 1.0)]
        assert (kind_of(tmp_path, at) == "XYZ, on a lattice") is lattice
    assert kind_of(tmp_path, [(e, n) for e in (0.0, 1.0) for n in (0.0, 1.0)]) == "XYZ, on a lattice"


@pytest.mark.parametrize(("off", "lattice"), [(0.015, True), (0.03, False)])
def test_points_are_on_a_lattice_within_a_fiftieth_of_a_step(tmp_path: Path, off: float, lattice: bool) -> None:
    at = [(e, n) for e in (0.0, 1.0, 2.0, 3.0 + off) for n in (0.0, 1.0, 2.0)]
    assert (kind_of(tmp_path, at) == "XYZ, on a lattice") is lattice
