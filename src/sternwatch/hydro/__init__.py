"""The physics of towed chains: numbers in, numbers out.

Axes are right-handed: x forward (or north), y to starboard (or east), z DOWN, the still surface at z = 0.
SI units throughout. Nothing here reads a file or knows a pydantic model.
"""

from sternwatch.places import set_numba_cache

# Before any module of this package imports numba: the cache must be in a folder that the user may write.
set_numba_cache()
