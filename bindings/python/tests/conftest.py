"""What the tests share: the command line of the same sources, and the repository's files."""

import os
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture(scope="session")
def root():
    return ROOT


@pytest.fixture(scope="session")
def command():
    """Runs the command line; its standard output."""
    binary = os.environ.get("WHEREFORE_BINARY", str(ROOT / "target/debug/wherefore"))
    if not Path(binary).exists():
        pytest.fail(f"{binary} is missing: build it with cargo build, or give WHEREFORE_BINARY")

    def run(*arguments, given=None):
        done = subprocess.run([binary, *arguments], input=given, capture_output=True, text=True, cwd=ROOT)
        assert done.returncode != 2, done.stderr
        return done.stdout

    return run
