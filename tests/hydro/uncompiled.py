"""Kernels as the Python that they are written in, so that nothing is compiled for one test alone."""

from __future__ import annotations

from types import ModuleType
from typing import Any

import pytest


def plain(kernel: Any) -> Any:
    """A kernel's function, which is the kernel itself where nothing is compiled."""
    return getattr(kernel, "py_func", kernel)


def use_plain(monkeypatch: pytest.MonkeyPatch, module: ModuleType, *names: str) -> None:
    """Let a module call these of its kernels as Python, all of them by default."""
    for name in names or [name for name, value in vars(module).items() if hasattr(value, "py_func")]:
        monkeypatch.setattr(module, name, plain(getattr(module, name)))
