"""What every test shares."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest
from hypothesis import settings

from sternwatch.places import collect_seldom, keep_blas_to_one_thread

keep_blas_to_one_thread()
collect_seldom()

LONGEST_ID = 500

# The ordinary run tries the same examples every time; the long campaigns look for new ones.
settings.register_profile("ordinary", derandomize=True, deadline=None)
settings.register_profile("campaign", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ordinary"))


def pytest_make_parametrize_id(val: object, argname: str) -> str | None:
    """A short name for what is long: on Windows a test's name must fit into a variable of the environment."""
    return f"{argname} of {len(val)}" if isinstance(val, str | bytes) and len(val) > LONGEST_ID else None


@pytest.fixture(scope="module")
def few_members() -> Iterator[None]:
    """Sessions of commands carry as many members as an outlook runs, a ninth: for what any number of them tells."""
    from sternwatch.answers.belief.priors import CARRIED, MEMBERS
    from sternwatch.watch.core.setup import Setup

    usual = Setup.__init__.__defaults__ or ()
    assert usual.count(CARRIED) == 1
    Setup.__init__.__defaults__ = tuple(MEMBERS if value == CARRIED else value for value in usual)  # type: ignore[misc]
    yield
    Setup.__init__.__defaults__ = usual  # type: ignore[misc]
