"""Packages that only some boats need: what is said where they are missing, with the command that installs them."""

from __future__ import annotations

import re
import sys

_NAME = re.compile(r"[\w.-]+")


def packages(extra: str) -> tuple[str, ...]:
    """The names of the packages that an extra of this program brings."""
    from importlib import metadata  # only where one is missing

    asked = (one.partition(";") for one in metadata.requires("sternwatch") or ())
    named = (_NAME.match(what) for what, _, when in asked if re.search(rf"extra == ['\"]{extra}['\"]", when))
    return tuple(name[0] for name in named if name is not None)


def missing(what: str, extra: str) -> str:
    """A sentence: what needs these packages, and the command that brings them into the Python that runs this.

    The name of an extra alone would help nobody: this program is installed from a folder, which may be gone.
    """
    from importlib.util import find_spec

    names = packages(extra)
    one = len(names) == 1
    python = f'"{sys.executable}"' if " " in sys.executable else sys.executable
    pip = f"{python} -m pip install" if find_spec("pip") else f"uv pip install --python {python}"
    return (
        f"{what} needs the package{'' if one else 's'} {' and '.join(names)}, which {'is' if one else 'are'} not "
        f"{'' if one else 'all '}installed here; this installs {'it' if one else 'them'}: {pip} {' '.join(names)}"
    )
