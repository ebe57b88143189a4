"""Grids of depths: read to the number that other code wrote, refused in a sentence, kept small, asked right."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator
from scipy.io import netcdf_file

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.bottom.soundings import local_metres
from sternwatch.watch.grids import store
from sternwatch.watch.grids.ascii_grid import read_ascii_grid
from sternwatch.watch.grids.geotiff import read_geotiff
from sternwatch.watch.grids.made import demo_bottom
from sternwatch.watch.grids.model import About, GridError, LakeGrid, Raw, below_datum, level_words
from sternwatch.watch.grids.netcdf import read_netcdf
from sternwatch.watch.grids.xyz import read_xyz
from sternwatch.watch.picture.model import Session

SOUTH, WEST, STEP = 47.0, -89.6, 0.001
ROWS, COLUMNS = 30, 40


def made():
    """An invented bottom, with land (none) in one corner."""
    lat, lon = np.meshgrid(SOUTH + STEP * np.arange(ROWS), WEST + STEP * np.arange(COLUMNS), indexing="ij")
    depth = 40.0 + 15.0 * np.sin((lat - SOUTH) * 200.0) + 900.0 * (lon - WEST)
    depth[:4, :5] = np.nan
    return depth.astype(np.float32)


def about(**fields):
    usual = About("made", "made.asc", "ASCII grid", "low water datum", 0.0, SOUTH, WEST, STEP, STEP, ROWS, COLUMNS,
                  "2026-08-20", invented=True)  # fmt: skip
    return replace(usual, **fields)


def same(raw, tolerance=0.01):
    assert (raw.south_deg, raw.west_deg) == pytest.approx((SOUTH, WEST), abs=1e-7)
    assert (raw.north_step_deg, raw.east_step_deg) == pytest.approx((STEP, STEP), rel=1e-4)
    assert raw.values.shape == (ROWS, COLUMNS)
    np.testing.assert_allclose(raw.values, made(), atol=tolerance)


def ascii_text(corner=True):
    kind, at = ("corner", -STEP / 2) if corner else ("center", 0.0)
    head = f"ncols {COLUMNS}\nnrows {ROWS}\nxll{kind} {WEST + at:.6f}\nyll{kind} {SOUTH + at:.6f}\n"
    head += f"cellsize {STEP}\nNODATA_value -9999\n"
    rows = np.where(np.isfinite(made()), made(), -9999.0)[::-1]
    return head + "\n".join(" ".join(f"{v:.3f}" for v in row) for row in rows) + "\n"


@pytest.mark.parametrize("corner", [True, False])
def test_an_ascii_grid_lies_by_its_corner_or_its_centre_and_from_north_to_south(tmp_path, corner):
    file = tmp_path / "lake.asc"
    file.write_text(ascii_text(corner))
    same(read_ascii_grid(file))


def test_empty_lines_between_the_rows_of_an_ascii_grid_are_no_rows(tmp_path):
    file = tmp_path / "lake.asc"
    head, *rows = ascii_text().splitlines()
    file.write_text("\n".join([head, *rows[:8], "", "   ", *rows[8:]]) + "\n\n  \n")
    same(read_ascii_grid(file))


def test_an_ascii_grid_has_so_many_cells_at_most(tmp_path, monkeypatch):
    file = tmp_path / "lake.asc"
    file.write_text(ascii_text())
    monkeypatch.setattr("sternwatch.watch.grids.ascii_grid.MOST_CELLS", ROWS * COLUMNS)
    same(read_ascii_grid(file))
    monkeypatch.setattr("sternwatch.watch.grids.ascii_grid.MOST_CELLS", ROWS * COLUMNS - 1)
    with pytest.raises(GridError, match="accepted are at most"):
        read_ascii_grid(file)


def xyz_text(order=None):
    lat, lon = np.meshgrid(SOUTH + STEP * np.arange(ROWS), WEST + STEP * np.arange(COLUMNS), indexing="ij")
    rows = np.column_stack([lon.ravel(), lat.ravel(), made().ravel()])
    rows = rows[np.isfinite(rows[:, 2])]
    if order is not None:
        rows = order.permutation(rows)
    return "lon,lat,depth\n" + "\n".join(f"{a:.6f},{b:.6f},{c:.3f}" for a, b, c in rows) + "\n"


def test_points_on_a_lattice_are_that_lattice_in_whatever_order(tmp_path):
    file = tmp_path / "lake.xyz"
    file.write_text(xyz_text(np.random.default_rng(3)))
    raw = read_xyz(file)
    assert raw.kind == "XYZ, on a lattice"
    same(raw)


def test_scattered_points_become_a_grid_that_tells_the_same_bottom(tmp_path):
    random = np.random.default_rng(5)
    lon, lat = WEST + 0.03 * random.random(3000), SOUTH + 0.02 * random.random(3000)
    depth = 30.0 + 400.0 * (lon - WEST) + 300.0 * (lat - SOUTH)
    file = tmp_path / "lake.csv"
    file.write_text("\n".join(f"{a:.7f} {b:.7f} {c:.3f}" for a, b, c in zip(lon, lat, depth, strict=True)))
    raw = read_xyz(file)
    norths = raw.south_deg + raw.north_step_deg * np.arange(raw.values.shape[0])
    easts = raw.west_deg + raw.east_step_deg * np.arange(raw.values.shape[1])
    truth = 30.0 + 400.0 * (easts[None, :] - WEST) + 300.0 * (norths[:, None] - SOUTH)
    known = np.isfinite(raw.values)
    assert known.mean() > 0.9
    assert raw.values.size == pytest.approx(3000 / 2, rel=0.1), "two points a cell"
    assert np.abs(raw.values - truth)[known].max() < 0.6  # half a cell of slope: 0.26 m, and its edges


def netcdf(path, *, turned=False, falling=False):
    with netcdf_file(str(path), "w") as file:
        file.createDimension("lat", ROWS)
        file.createDimension("lon", COLUMNS)
        lat = file.createVariable("lat", "d", ("lat",))
        lon = file.createVariable("lon", "d", ("lon",))
        values = file.createVariable("depth", "h", ("lon", "lat") if turned else ("lat", "lon"))
        values._FillValue = np.int16(-999)
        values.scale_factor = 0.01
        lats = SOUTH + STEP * np.arange(ROWS)
        whole = np.where(np.isfinite(made()), np.rint(made() * 100), -999).astype(np.int16)
        lat[:] = lats[::-1] if falling else lats
        lon[:] = WEST + STEP * np.arange(COLUMNS)
        whole = whole[::-1] if falling else whole
        values[:] = whole.T if turned else whole
    return path


@pytest.mark.parametrize("turned", [True, False])
@pytest.mark.parametrize("falling", [True, False])
def test_netcdf_as_scipy_writes_it_whichever_way_its_axes_go(tmp_path, turned, falling):
    same(read_netcdf(netcdf(tmp_path / "lake.nc", turned=turned, falling=falling)))


def tiff(path, model=2, **fields):
    tifffile = pytest.importorskip("tifffile", reason="the extra geotiff is not installed")
    keys = (1, 1, 0, 2, 1024, 0, 1, model, 1025, 0, 1, 1)
    tags = [
        (33550, 12, 3, (STEP, STEP, 0.0), False),
        (33922, 12, 6, (0.0, 0.0, 0.0, WEST - STEP / 2, SOUTH + STEP * (ROWS - 0.5), 0.0), False),
        (34735, 3, len(keys), keys, False),
        (42113, 2, 6, "-9999\0", False),
    ]
    values = np.where(np.isfinite(made()), made(), -9999.0)[::-1].astype(np.float32)
    tifffile.imwrite(path, fields.get("values", values), extratags=fields.get("tags", tags))
    return path


def test_a_geotiff_lies_by_its_tie_point(tmp_path):
    same(read_geotiff(tiff(tmp_path / "lake.tif")))


@pytest.mark.parametrize(
    ("scale", "tie", "lies"), [(2, 6, True), (1, 6, False), (3, 5, False), (3, 12, True)]
)  # fmt: skip
def test_a_geotiff_lies_by_two_steps_and_six_numbers_of_a_tie_point(tmp_path, scale, tie, lies):
    keys = (1, 1, 0, 1, 1024, 0, 1, 2)
    tags = [
        (33550, 12, scale, (STEP, STEP, 0.0)[:scale], False),
        (33922, 12, tie, ((0.0, 0.0, 0.0, WEST - STEP / 2, SOUTH + STEP * (ROWS - 0.5), 0.0) * 2)[:tie], False),
        (34735, 3, len(keys), keys, False),
        (42113, 2, 6, "-9999\0", False),
    ]
    file = tiff(tmp_path / "lake.tif", tags=tags)
    if lies:
        same(read_geotiff(file))
    else:
        with pytest.raises(GridError, match="no ModelPixelScale and ModelTiepoint"):
            read_geotiff(file)


def test_a_geotiff_of_a_projection_or_of_none_is_refused(tmp_path):
    with pytest.raises(GridError, match=r"lake\.tif: GTModelType is 1, .*accepted is 2: degrees"):
        read_geotiff(tiff(tmp_path / "lake.tif", model=1))
    with pytest.raises(GridError, match="no ModelPixelScale and ModelTiepoint"):
        read_geotiff(tiff(tmp_path / "lake.tif", tags=[]))
    with pytest.raises(GridError, match="accepted is one band"):
        read_geotiff(tiff(tmp_path / "lake.tif", values=np.zeros((4, 5, 3), np.uint8)))
    (tmp_path / "lake.tif").write_bytes(b"II*\0 no image")
    with pytest.raises(GridError, match=r"lake\.tif: "):
        read_geotiff(tmp_path / "lake.tif")


WRONG_ASCII = [
    ("ncols 40", "ncols many", r'line 1: "many" is not a number'),
    ("ncols 40", "ncols 40 41", r'line 1: "ncols" takes one number'),
    ("ncols 40", "ncols 39", "40 numbers; accepted are ncols, 39"),
    ("nrows 30", "nrows 31", "ends after 30 of the 31 rows"),
    ("nrows 30", "nrows 29", "more rows than the 29"),
    ("nrows 30", "nrows 99999999", "accepted are at most 60,000,000"),
    ("nrows 30\n", "", 'no "nrows"'),
    ("cellsize 0.001\n", "", 'no "cellsize"'),
    ("cellsize 0.001", "cellsize -1", "the step of its cells is not positive"),
    ("xllcorner -89.600500\n", "", 'no "xllcorner"'),
    ("yllcorner 46.999500", "yllcorner 5211432.5", "no metres of a projection"),
]


@pytest.mark.parametrize(("old", "new", "said"), WRONG_ASCII)
def test_a_wrong_ascii_grid_is_refused_with_its_field_and_what_is_accepted(tmp_path, old, new, said):
    text = ascii_text()
    assert old in text
    file = tmp_path / "lake.asc"
    file.write_text(text.replace(old, new))
    with pytest.raises(GridError, match=re.escape("lake.asc")) as fault:
        read_ascii_grid(file)
    assert re.search(said, str(fault.value))
    assert "\n" not in str(fault.value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("-89.5 47.1 42.0\n-89.5 here 41.0\n", "line 2: accepted are longitude, latitude and a value"),
        ("402345.0 5211432.0 42.0\n", "is no place; accepted are degrees"),
        ("-180.01 47.1 42.0\n", "line 1: -180.01 47.1 is no place"),
        ("360.0 90.0 42.0\n-180.0 -90.0 42.0\n360.01 0.0 1.0\n", "line 3: 360.01 0 is no place"),
        ("0.0 90.01 42.0\n", "is no place"),
        ("0.0 -90.01 42.0\n", "is no place"),
        ("-89.5 47.1 42.0\n", "1 points with a value; accepted are four or more"),
        ("".join(f"-89.5 47.{k} 42.0\n" for k in range(1, 9)), "all points lie on one line"),
        ("", "0 points"),
    ],
)
def test_wrong_points_are_refused_with_their_line(tmp_path, text, said):
    file = tmp_path / "lake.xyz"
    file.write_text(text)
    with pytest.raises(GridError, match=said):
        read_xyz(file)


def test_netcdf_without_an_axis_or_without_depths_is_refused_by_what_it_lacks(tmp_path):
    with netcdf_file(str(tmp_path / "lake.nc"), "w") as file:
        for name in ("lat", "lon"):
            file.createDimension(name, 3)
            file.createVariable(name, "d", (name,))[:] = [1.0, 2.0, 3.0]
        file.createVariable("time", "d", ("lat",))[:] = 0.0
    with pytest.raises(GridError, match=r"^lake\.nc: no variable lies on lat and lon; accepted is one that does$"):
        read_netcdf(tmp_path / "lake.nc")


def test_netcdf_that_is_none_or_is_not_classic_is_refused(tmp_path):
    file = tmp_path / "lake.nc"
    file.write_bytes(b"\x89HDF\r\n\x1a\n" + bytes(64))
    with pytest.raises(GridError, match=r"NetCDF-4.*accepted is NetCDF classic"):
        read_netcdf(file)
    file.write_bytes(b"not at all")
    with pytest.raises(GridError, match="accepted is NetCDF classic"):
        read_netcdf(file)
    with pytest.raises(GridError, match=r'no variable "height".*accepted: depth'):
        read_netcdf(netcdf(file), "height")


def test_heights_and_depths_come_to_the_same_below_the_datum():
    raw = Raw(SOUTH, WEST, STEP, STEP, made(), "made")
    depths = below_datum(raw, "f", heights=False, datum_m=0.0)
    heights = replace(raw, values=np.float32(183.2) - made())
    np.testing.assert_allclose(below_datum(heights, "f", heights=True, datum_m=183.2), depths, atol=1e-4)
    with pytest.raises(GridError, match="perhaps they are depths"):
        below_datum(raw, "f", heights=True, datum_m=0.0)
    with pytest.raises(GridError, match="accepted are metres"):
        below_datum(replace(raw, values=made() * 100), "f", heights=False, datum_m=0.0)
    other = below_datum(raw, "f", heights=False, datum_m=2.0)
    np.testing.assert_allclose(other[depths > 2.0], depths[depths > 2.0] - 2.0, atol=1e-4)
    shoal = below_datum(replace(raw, values=np.full((2, 2), 0.5, np.float32)), "f", heights=False, datum_m=0.0)
    assert shoal.tolist() == [[0.5, 0.5]] * 2
    deep = np.full((ROWS, COLUMNS), 2000.0, np.float32)
    assert below_datum(replace(raw, values=deep), "f", heights=False, datum_m=0.0).max() == 2000.0
    with pytest.raises(GridError, match="its deepest cell is 2001; accepted are metres, to 2000"):
        below_datum(replace(raw, values=deep + 1.0), "f", heights=False, datum_m=0.0)


def test_depths_between_nodes_are_those_of_scipy_and_follow_the_level():
    grid = LakeGrid(about(level_m=0.4), made())
    origin = (SOUTH + 0.012, WEST + 0.02)
    north, east = np.linspace(-900.0, 1400.0, 23), np.linspace(-1300.0, 1300.0, 31)
    found = grid.depths_m(origin, north, east)
    axes = (SOUTH + STEP * np.arange(ROWS), WEST + STEP * np.arange(COLUMNS))
    theirs = RegularGridInterpolator(axes, made().astype(float), bounds_error=False)
    for i, n in enumerate(north):
        for j, e in enumerate(east):
            lat = origin[0] + np.degrees(n / 6_371_008.8)
            lon = origin[1] + np.degrees(e / (6_371_008.8 * np.cos(np.radians(origin[0]))))
            wanted = theirs((lat, lon)) + 0.4
            assert found[i, j] == pytest.approx(float(wanted), abs=0.01, nan_ok=True)
    assert np.isnan(found).any()
    assert local_metres(origin, (SOUTH, WEST))[0] < -900.0


def test_what_is_kept_comes_back_to_a_few_centimetres_with_its_datum(tmp_path):
    kept, size = store.keep(tmp_path, LakeGrid(about(level_m=-0.25), made()))
    back = store.load(store.path_of(tmp_path, "made"))
    assert back.about == kept.about == about(level_m=-0.25)
    np.testing.assert_allclose(back.below_datum_m, made(), atol=0.026)
    assert back.label(SYSTEMS["metric"]) == "INVENTED made, low water datum, lake -0.25 m"
    assert back.label(SYSTEMS["us"]) == "INVENTED made, low water datum, lake -0.8 ft"
    assert size == (tmp_path / "made.bottom.npz").stat().st_size


def test_a_grid_too_large_is_kept_with_wider_cells_and_the_same_bottom(tmp_path, monkeypatch):
    most = len(store._packed(LakeGrid(about(), made()))) - 1
    monkeypatch.setattr(store, "MOST_KEPT_BYTES", most)
    kept, size = store.keep(tmp_path, LakeGrid(about(), made()))
    assert size <= most
    assert kept.about.rows < ROWS
    origin, at = (SOUTH + 0.012, WEST + 0.02), np.linspace(-300.0, 300.0, 7)
    before = LakeGrid(about(), made()).depths_m(origin, at, at)
    np.testing.assert_allclose(kept.depths_m(origin, at, at), before, atol=0.6)


def test_wider_cells_are_means_of_four_about_their_middle():
    """Of four values two are enough; an odd row and an odd column are left out."""
    none = np.nan
    depth = np.array([[1.0, 3.0, 9.0, 9.0, 5.0], [5.0, 7.0, none, none, 5.0], [none, 2.0, none, none, 5.0],
                      [none, none, 8.0, 4.0, 5.0], [6.0] * 5], np.float32)  # fmt: skip
    wider = store._coarser(LakeGrid(about(south_deg=47.0, west_deg=-89.0, north_step_deg=0.1, east_step_deg=0.2,
                                          rows=5, columns=5), depth))  # fmt: skip
    np.testing.assert_array_equal(wider.below_datum_m, [[4.0, 9.0], [none, 6.0]])
    new = wider.about
    assert (new.rows, new.columns) == (2, 2)
    assert (new.south_deg, new.west_deg) == pytest.approx((47.05, -88.9))
    assert (new.north_step_deg, new.east_step_deg) == pytest.approx((0.2, 0.4))


def test_a_whole_lake_fits_into_twenty_megabytes():
    """A rough bottom of a third of a lake's cells: its bytes a cell tell of the whole. Rougher than a survey's."""
    lat, lon = np.meshgrid(np.arange(500), np.arange(800), indexing="ij")
    rough = np.random.default_rng(1).normal(0.0, 0.1, (500, 800))
    depth = (120.0 + 80.0 * np.sin(lat / 90.0) * np.cos(lon / 130.0) + rough).astype(np.float32)
    data = store._packed(LakeGrid(about(rows=500, columns=800), depth))
    assert len(data) / depth.size < 1.4  # bytes a cell: 14 million cells of water in 20 MB


def test_a_kept_file_that_is_damaged_is_said_and_the_others_are_there(tmp_path):
    store.keep(tmp_path, LakeGrid(about(), made()))
    store.path_of(tmp_path, "broken").write_bytes(b"PK\x03\x04 half a file")
    with pytest.raises(GridError, match=r"broken\.bottom\.npz: .*import it again"):
        store.load(store.path_of(tmp_path, "broken"))
    assert [grid.about.name for grid in store.charts(tmp_path)] == ["made"]


@pytest.mark.parametrize("name", ["", "../lake", "a/b", " lake", "x" * 41, ".hidden"])
def test_a_name_that_is_no_file_name_is_refused(tmp_path, name):
    with pytest.raises(GridError, match="is no name for a grid"):
        store.path_of(tmp_path, name)


def test_the_demo_has_an_invented_bottom_a_practice_lake_none_and_others_what_was_imported(tmp_path, monkeypatch):
    monkeypatch.setenv("STERNWATCH_DATA_DIR", str(tmp_path))
    store.keep(tmp_path / "bottom", LakeGrid(about(), made()))
    (demo,) = store.charts_for(Session.DEMO)
    assert demo.label(SYSTEMS["us"]).startswith("INVENTED demo bottom")
    assert store.charts_for(Session.PRACTICE) == []
    assert [grid.about.name for grid in store.charts_for(Session.LIVE)] == ["made"]


def test_the_demos_bottom_is_about_what_its_sounder_says():
    """Place and depth of three soundings of the shipped recording."""
    grid = demo_bottom()
    assert (grid.about.level_m, grid.about.invented) == (0.0, True)
    for place, depth in (((47.0210, -89.5630), 43.06), ((47.02318, -89.55130), 46.0), ((47.02146, -89.55045), 31.0)):
        found = grid.depths_m(place, np.array([0.0]), np.array([0.0]))[0, 0]
        assert found == pytest.approx(depth, abs=3.0)
    metres, none = np.array([-500.0, 500.0]), np.zeros(1)
    away, off = (
        grid.depths_m((47.0210, -89.5630), metres, none)[:, 0],
        grid.depths_m((47.0210, -89.5630), none, metres)[0],
    )
    assert away[1] - away[0] == pytest.approx(4.2, abs=0.1), "it falls away to the north"
    assert off[1] - off[0] == pytest.approx(0.9, abs=0.1), "and a little to the east"


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"values": np.ones((1, 3), np.float32)}, "it has 1 rows and 3 columns; accepted are two or more of each"),
        ({"values": np.ones((3, 1), np.float32)}, "it has 3 rows and 1 columns"),
        ({"north_step_deg": 0.0}, "the step of its cells is not positive"),
        ({"east_step_deg": -0.1}, "the step of its cells is not positive"),
        ({"south_deg": -90.1}, "accepted are degrees of longitude and latitude"),
        ({"south_deg": 89.9}, "accepted are degrees of longitude and latitude"),
        ({"west_deg": -181.1}, "accepted are degrees of longitude and latitude"),
        ({"west_deg": 360.9}, "accepted are degrees of longitude and latitude"),
        ({"values": np.full((3, 3), np.nan, np.float32)}, "no cell has a value"),
    ],
)
def test_a_grid_that_is_nowhere_on_the_earth_is_refused(fields, said):
    usual = {"south_deg": 47.0, "west_deg": -89.0, "north_step_deg": 0.1, "east_step_deg": 0.1,
             "values": np.ones((3, 3), np.float32), "kind": "made"}  # fmt: skip
    assert Raw(**usual).checked("a").kind == "made"
    assert Raw(**{**usual, "south_deg": 89.8}).checked("a").south_deg == 89.8
    assert Raw(**{**usual, "west_deg": 360.8, "south_deg": -90.0}).checked("a").west_deg == 360.8
    whole = {"south_deg": -90.0, "west_deg": -181.0, "north_step_deg": 90.0, "east_step_deg": 271.0}
    assert Raw(**{**usual, **whole}).checked("a").west_deg == -181.0, "to 90 north and 361 east"
    with pytest.raises(GridError, match=re.escape(said)):
        Raw(**{**usual, **fields}).checked("a")


def test_a_name_with_its_datum_and_level_and_how_far_off_its_depths_may_be():
    units = SYSTEMS["metric"]
    plain = LakeGrid(about(invented=False), made())
    assert plain.label(units) == "made, low water datum"
    imported = About(
        "lake", "lake.asc", "ASCII grid", "low water datum", 0.0, SOUTH, WEST, STEP, STEP, ROWS, COLUMNS, ""
    )
    assert LakeGrid(imported, made()).label(units) == "lake, low water datum", "invented is only what says so"
    assert LakeGrid(about(level_m=-0.214), made()).label(units) == "INVENTED made, low water datum, lake -0.21 m"
    assert LakeGrid(about(level_m=0.3), made()).label(units).endswith("lake +0.30 m")
    assert level_words(0.0, units) == "lake +0.00 m"
    assert plain.error_m(0.0) == 1.0
    assert plain.error_m(100.0) == pytest.approx((1.0 + 2.3**2) ** 0.5)
    assert LakeGrid(about(error_m=0.4), made()).error_m(100.0) == 0.4


def test_numbers_with_no_water_or_too_deep_for_metres_are_refused():
    def raw(*values):
        return Raw(47.0, -89.0, 0.1, 0.1, np.array([values, values], np.float32), "made")

    assert below_datum(raw(180.0, 183.2), "a", heights=True, datum_m=183.2)[0].tolist()[0] == pytest.approx(
        3.2, abs=1e-4
    )
    assert np.isnan(below_datum(raw(180.0, 183.3), "a", heights=True, datum_m=183.2)[0, 1])
    with pytest.raises(GridError, match=r"values as heights; .* perhaps they are depths"):
        below_datum(raw(190.0, 200.0), "a", heights=True, datum_m=183.2)
    with pytest.raises(GridError, match=r"values as depths; .* perhaps they are heights"):
        below_datum(raw(-5.0, 0.0), "a", heights=False, datum_m=0.0)
    with pytest.raises(GridError, match="accepted are metres, to"):
        below_datum(raw(5.0, 99999.0), "a", heights=False, datum_m=0.0)


def test_depths_end_at_the_outermost_nodes():
    """A node on the south or west side is told; the last row and column have no cell beyond them."""
    grid = LakeGrid(about(), np.full((ROWS, COLUMNS), 30.0, np.float32))

    def told(rows, columns):
        north, east = local_metres((SOUTH, WEST), (SOUTH + STEP * rows, WEST + STEP * columns))
        return bool(np.isfinite(grid.depths_m((SOUTH, WEST), np.array([north]), np.array([east])))[0, 0])

    assert told(0.001, 0.001)
    assert told(ROWS - 1.001, COLUMNS - 1.001)
    assert not told(-0.001, 5.0)
    assert not told(5.0, -0.001)
    assert not told(ROWS - 0.999, 5.0)
    assert not told(5.0, COLUMNS - 0.999)


def test_netcdf_of_too_many_cells_is_refused_by_its_name(tmp_path, monkeypatch):
    monkeypatch.setattr("sternwatch.watch.grids.netcdf.MOST_CELLS", ROWS * COLUMNS)
    same(read_netcdf(netcdf(tmp_path / "lake.nc", turned=False, falling=False)))
    monkeypatch.setattr("sternwatch.watch.grids.netcdf.MOST_CELLS", ROWS * COLUMNS - 1)
    with pytest.raises(GridError, match=r"^lake\.nc: 30 by 40 cells; accepted are at most 1,199$"):
        read_netcdf(netcdf(tmp_path / "lake.nc", turned=False, falling=False))


def test_a_geotiff_may_be_tied_at_any_of_its_pixels_and_by_their_middles(tmp_path):
    """The same grid: tied at column 3 of row 2, by a corner, and by a middle where pixels are points."""
    for point, half in ((1, 0.5), (2, 0.0)):
        keys = (1, 1, 0, 3, 1024, 0, 1, 2, 1025, 0, 1, point, 2048, 0, 1, 4326)
        north = SOUTH + STEP * (ROWS - 1 + half - 2.0)
        tags = [
            (33550, 12, 3, (STEP, STEP, 0.0), False),
            (33922, 12, 6, (3.0, 2.0, 0.0, WEST + STEP * (3.0 - half), north, 0.0), False),
            (34735, 3, len(keys), keys, False),
            (42113, 2, 6, "-9999\0", False),
        ]
        same(read_geotiff(tiff(tmp_path / f"lake{point}.tif", tags=tags)))


def test_a_grid_may_lie_across_the_date_line():
    depths = np.array([[10.0, 20.0, 30.0], [11.0, 21.0, 31.0]], dtype=np.float32)
    about = About("A", "a.asc", "ASCII", "a datum", 0.0, 0.0, 179.9, 0.1, 0.1, 2, 3, "2026-07-18")
    grid = LakeGrid(about, depths)
    east = 0.1 * 111_194.93  # metres of a tenth of a degree on the equator
    some = np.array([10.0])
    found = grid.depths_m((0.0, 179.9), some, np.array([0.1 * east, 0.5 * east, 1.5 * east, -0.1 * east]))
    assert found[0] == pytest.approx([11.0, 15.0, 25.0, np.nan], abs=0.01, nan_ok=True)
    beyond = grid.depths_m((0.0, -179.9), some, np.array([-0.5 * east, -1.5 * east, 0.1 * east]))
    assert beyond[0] == pytest.approx([25.0, 15.0, np.nan], abs=0.01, nan_ok=True)


def points(tmp_path, rows):
    file = tmp_path / "points.xyz"
    file.write_text("\n".join(" ".join(f"{v:.6f}" for v in row) for row in rows))
    return file


@pytest.mark.parametrize(("hole", "lattice"), [(50, True), (51, False)])
def test_a_lattice_may_have_a_hole_of_fifty_steps(tmp_path, hole, lattice):
    easts = [0.25 * step for step in (0, 1, 2, 2 + hole, 3 + hole)]
    rows = [(-89.0 + east, 47.0 + 0.25 * k, 20.0 + k) for east in easts for k in range(5)]
    assert (read_xyz(points(tmp_path, rows)).kind == "XYZ, on a lattice") is lattice


def test_so_many_points_are_read_and_no_more(tmp_path, monkeypatch):
    from sternwatch.watch.grids import xyz

    monkeypatch.setattr(xyz, "MOST_POINTS", 6)
    rows = [(-89.0 + 0.001 * (k % 3), 47.0 + 0.001 * (k // 3), 20.0) for k in range(7)]
    assert read_xyz(points(tmp_path, rows[:6])).values.shape == (2, 3)
    with pytest.raises(GridError, match="at most 6 points"):
        read_xyz(points(tmp_path, rows))
    with pytest.raises(GridError, match="3 points with a value"):
        read_xyz(points(tmp_path, rows[:3]))


@pytest.mark.parametrize(
    ("axis", "begin", "step", "rows"),
    [([47.0, 47.5], 47.0, 0.5, [1.0, 2.0]), ([47.5, 47.0], 47.0, 0.5, [2.0, 1.0]),
     ([47.0, 47.5, 48.004], 47.0, 0.502, [1.0, 2.0, 3.0]), ([47.0], None, None, None), ([], None, None, None),
     ([47.0, 47.0], None, None, None), ([47.0, 47.5, 48.2], None, None, None),
     ([47.0, np.nan, 48.0], None, None, None)],
)  # fmt: skip
def test_an_axis_is_two_even_steps_or_more_upward(tmp_path, axis, begin, step, rows):
    from sternwatch.watch.grids.netcdf import _upward

    values = np.arange(1.0, len(axis) + 1.0, dtype=np.float32)[:, None] * np.ones((1, 3), dtype=np.float32)
    if begin is None:
        with pytest.raises(GridError):
            _upward(tmp_path / "a.nc", values, np.array(axis), "lat", 0)
        return
    found, south, apart = _upward(tmp_path / "a.nc", values, np.array(axis), "lat", 0)
    assert found[:, 0].tolist() == rows
    assert (south, apart) == (begin, pytest.approx(step))


@pytest.mark.parametrize(("east", "north"), [(0.0, 0.7), (0.7, 0.0), (0.7, 0.7), (0.7, -0.7)])
def test_one_pass_in_a_straight_line_makes_no_grid(tmp_path, east, north):
    """However it runs: to the north, to the east, or slantwise, where its cells touch in corners."""
    along = np.random.default_rng(1).random(200)
    (tmp_path / "pass.xyz").write_text("\n".join(f"{9.0 + east * s:.9f} {north * s:.9f} 20" for s in along))
    with pytest.raises(GridError, match=r"pass.xyz: all points lie on one line; accepted are points over an area"):
        read_xyz(tmp_path / "pass.xyz")


def test_four_soundings_are_enough_for_a_grid_with_its_holes_filled(tmp_path):
    (tmp_path / "few.xyz").write_text("-89 47 10\n-88.93 47.011 11\n-89.01 47.1 12\n-88.9 47.093 13\n")
    raw = read_xyz(tmp_path / "few.xyz")
    assert raw.values[:, :2].tolist() == [[10.0, 11.0], [11.0, 12.0], [12.0, 13.0]]
    assert np.isnan(raw.values[:, 2]).all()


@pytest.mark.parametrize(("north", "shrink"), [(60.0, 0.5), (88.0, 0.05)])
def test_cells_are_square_on_the_water_but_next_to_a_pole(tmp_path, north, shrink):
    rng = np.random.default_rng(2)
    points = rng.random((300, 2)) * [0.8, 0.4] + [10.0, north - 0.2]
    (tmp_path / "far.xyz").write_text("\n".join(f"{lon:.6f} {lat:.6f} 20" for lon, lat in points))
    raw = read_xyz(tmp_path / "far.xyz")
    assert raw.north_step_deg / raw.east_step_deg == pytest.approx(shrink, rel=0.01)


def test_a_kept_file_is_never_run(tmp_path):
    """Numbers that would be made by code in the file are refused, and the code does not run."""

    class Code:
        def __reduce__(self):
            return (open, (str(tmp_path / "ran"), "w"))

    whole = np.load(io.BytesIO(store._packed(LakeGrid(about(), made()))))
    steps = np.empty((ROWS, COLUMNS), dtype=object)
    steps[:] = Code()
    np.savez(store.path_of(tmp_path, "code"), about=whole["about"], steps=steps)
    with pytest.raises(GridError, match="it is not a grid as it was kept"):
        store.load(store.path_of(tmp_path, "code"))
    assert not (tmp_path / "ran").exists()


@pytest.mark.parametrize("change", [lambda steps: steps[:-1], lambda steps: steps.astype(np.int32)])
def test_a_kept_files_numbers_are_those_of_its_header(tmp_path, change):
    whole = np.load(io.BytesIO(store._packed(LakeGrid(about(), made()))))
    np.savez(store.path_of(tmp_path, "other"), about=whole["about"], steps=change(whole["steps"]))
    with pytest.raises(GridError, match="its numbers are not those of its header"):
        store.load(store.path_of(tmp_path, "other"))


def test_water_is_all_below_the_datum_and_no_deeper_than_any_lake():
    def below(*values, datum_m=0.0):
        raw = Raw(47.0, -89.0, 0.1, 0.1, np.array([values, values], np.float32), "made")
        return below_datum(raw, "a", heights=False, datum_m=datum_m)[0].tolist()

    assert below(0.5, 12.0) == [0.5, 12.0]
    assert below(10.0, 12.0, datum_m=2.0) == [8.0, 10.0]
    assert below(5.0, 2000.0) == [5.0, 2000.0]
    with pytest.raises(GridError, match="its deepest cell is 2001; accepted are metres, to 2000"):
        below(5.0, 2001.0)
