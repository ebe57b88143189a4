"""What every test shares."""

from __future__ import annotations

import os

from hypothesis import settings

from sternwatch.places import keep_blas_to_one_thread

keep_blas_to_one_thread()

# The ordinary run tries the same examples every time; the long campaigns look for new ones.
settings.register_profile("ordinary", derandomize=True, deadline=None)
settings.register_profile("campaign", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ordinary"))
