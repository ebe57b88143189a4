"""The kernels as plain Python (``NUMBA_DISABLE_JIT=1``) give what the compiled ones give."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest


def said(**environment: str) -> list[float]:
    code = (
        "import json\n"
        "from sternwatch.gear.spread_file.load import load_spread\n"
        "from sternwatch.answers.depths.depth import depth_answer\n"
        "from sternwatch.places import shipped\n"
        "spread = load_spread(shipped('demo_logs') / 'evening.toml')\n"
        "spread = spread.model_copy(update={'rod': spread.rod[2:3]})\n"
        "made = depth_answer(spread, 1.0)\n"
        "print(json.dumps([made.rods[0].depth_m, made.rods[0].astern_m]))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False, env={**os.environ, **environment}
    )
    assert done.returncode == 0, done.stderr[-800:]
    found = json.loads(done.stdout)
    assert all(isinstance(value, float) for value in found)
    return [float(value) for value in found]


def test_a_depth_without_the_compiler() -> None:
    assert said(NUMBA_DISABLE_JIT="1") == pytest.approx(said(), rel=1e-9)
