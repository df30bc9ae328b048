"""What the tests share: the command line of the same sources, and the repository's files."""

import json
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


@pytest.fixture(scope="session")
def cases(command):
    """Vehicles with the rulings expected of them: the lines of the file WHEREFORE_CASES, or every worked case."""
    file = os.environ.get("WHEREFORE_CASES")
    text = Path(file).read_text(encoding="utf-8") if file else command("cases", "--all", "worked", "--format", "json")
    lines = [json.loads(line) for line in text.splitlines()]
    assert len(lines) > 400 and len({line["program"] for line in lines}) >= 40
    assert {line["format"] for line in lines} == {"wherefore-conformance/1"}
    return lines
