"""What every test shares."""

from __future__ import annotations

import os

from hypothesis import settings

from sternwatch.places import keep_blas_to_one_thread

keep_blas_to_one_thread()

LONGEST_ID = 500

# The ordinary run tries the same examples every time; the long campaigns look for new ones.
settings.register_profile("ordinary", derandomize=True, deadline=None)
settings.register_profile("campaign", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ordinary"))


def pytest_make_parametrize_id(val: object, argname: str) -> str | None:
    """A short name for what is long: on Windows a test's name must fit into a variable of the environment."""
    return f"{argname} of {len(val)}" if isinstance(val, str | bytes) and len(val) > LONGEST_ID else None
