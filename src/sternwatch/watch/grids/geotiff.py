"""GeoTIFF on latitude and longitude, by the tags of OGC GeoTIFF 1.1 (OGC 19-008r4)."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from sternwatch.extras import missing
from sternwatch.watch.grids.model import MOST_CELLS, GridError, Raw

_SCALE, _TIE, _KEYS, _NODATA = 33550, 33922, 34735, 42113  # the last: common practice (memory)
_MODEL, _RASTER = 1024, 1025  # GTModelTypeGeoKey, GTRasterTypeGeoKey
_GEOGRAPHIC, _POINT = 2, 2


def read_geotiff(path: Path) -> Raw:
    """Read the first image. Raises GridError, OSError."""
    try:
        import tifffile
    except ImportError as fault:
        raise GridError(f"{path.name}: {missing('a GeoTIFF', 'geotiff')}") from fault
    try:
        with tifffile.TiffFile(path) as file:
            page: Any = file.pages[0]
            tags = {code: page.tags[code].value for code in (_SCALE, _TIE, _KEYS, _NODATA) if code in page.tags}
            shape = page.shape
            if len(shape) != 2:
                raise GridError(f"{path.name}: its first image has {len(shape)} dimensions; accepted is one band")
            if shape[0] * shape[1] > MOST_CELLS:
                raise GridError(f"{path.name}: {shape[0]} by {shape[1]} cells; accepted are at most {MOST_CELLS:,}")
            scale, tie, keys = _placed(path, tags)
            values = np.asarray(page.asarray(), dtype=np.float32)
    except (tifffile.TiffFileError, ValueError, KeyError, IndexError, TypeError) as fault:
        if isinstance(fault, GridError):
            raise
        raise GridError(f"{path.name}: it cannot be read ({fault}); accepted is GeoTIFF of one band") from fault
    none = str(tags.get(_NODATA, "")).strip("\x00 ")
    if none:
        try:
            values[values == np.float32(float(none))] = np.nan
        except ValueError:
            raise GridError(f'{path.name}: its value for no data is "{none}"; accepted is a number') from None
    rows = values.shape[0]
    half = 0.0 if keys.get(_RASTER, 1) == _POINT else 0.5  # a pixel is an area: the tie point is its corner
    west = tie[3] + (half - tie[0]) * scale[0]
    north = tie[4] - (half - tie[1]) * scale[1]
    return Raw(
        north - (rows - 1) * scale[1], west, scale[1], scale[0], values[::-1].copy(), "GeoTIFF"
    ).checked(path.name)  # fmt: skip


def _placed(path: Path, tags: dict[int, object]) -> tuple[list[float], list[float], dict[int, int]]:
    """Scale, tie point and keys. Raises GridError for an image not on latitude and longitude."""
    scale, tie = _numbers(tags.get(_SCALE)), _numbers(tags.get(_TIE))
    if len(scale) < 2 or len(tie) < 6:
        raise GridError(
            f"{path.name}: it has no ModelPixelScale and ModelTiepoint; accepted is a GeoTIFF that lies north up"
        )
    flat = [int(value) for value in _numbers(tags.get(_KEYS))]
    keys = {flat[k]: flat[k + 3] for k in range(4, len(flat) - 3, 4) if flat[k + 1] == 0}
    if keys.get(_MODEL) != _GEOGRAPHIC:
        raise GridError(
            f"{path.name}: GTModelType is {keys.get(_MODEL, 'not given')}, a projection or unknown; accepted is 2: "
            "degrees of longitude and latitude"
        )
    return scale, tie, keys


def _numbers(value: object) -> list[float]:
    return [float(one) for one in value] if isinstance(value, tuple | list) else []
