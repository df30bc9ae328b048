"""The stubs against the module (mypy's stubtest), and a program as a user's type checker sees it."""

import subprocess
import sys

import pytest

pytest.importorskip("mypy")

# What Python has beside what is promised: the name that is a word of the language, and a cache.
BESIDE = ["wherefore.__all__", "wherefore.Verdict.class", "wherefore.spark._judging"]
USER = '''
import datetime
from pathlib import Path

import wherefore

car: dict[str, object] = {"visit": {"date": datetime.date(2026, 11, 28)}, "vehicle": {"model_year": 2016}}
program: wherefore.Program = wherefore.programs()["us-il"]
ruling: wherefore.Ruling = program.judge(car, as_of="2020-01-01", take={"reading": "strict"})
names: list[str] = [verdict.name for verdict in ruling.possible]
laws: list[str] = [law for reason in ruling.reasons for law in reason.citations]
state: str = program.next(car, "conditional").state
for question in program.ask(wherefore.Snapshot(car)):
    question.answer(2016 if question.key == "vehicle.model_year" else None)
equal: bool = program.compare(program, on=datetime.date(2026, 1, 1)).equal
for batch in wherefore.batches(Path("mapping.toml"), "us-il").stream(object()):
    print(batch)
try:
    wherefore.judge(car, "us-il", proof=True)
except wherefore.SnapshotError as error:
    print([fault["path"] for fault in error.faults])
'''
WRONG = [
    ("wherefore.judge({}, 'us-il', colour='blue')", "Unexpected keyword argument"),
    ("wherefore.judge(4, 'us-il')", "incompatible type"),
    ("wherefore.program('us-il').next({}, 'win')", "incompatible type"),
    ("wherefore.program('us-il').rule({})", "has no attribute"),
    ("class Own(wherefore.Program): ...", "final class"),
]


def mypy(folder, *asked):
    config = folder / "mypy.ini"
    config.write_text("[mypy]\nignore_missing_imports = True\n")
    asked = [it.replace("CONFIG", str(config)) for it in asked]
    return subprocess.run([sys.executable, "-m", *asked], capture_output=True, text=True, cwd=folder)


def test_the_stubs_are_the_modules(tmp_path):
    beside = tmp_path / "beside"
    beside.write_text("\n".join(BESIDE))
    done = mypy(
        tmp_path, "mypy.stubtest", "--mypy-config-file", "CONFIG", "--allowlist", str(beside), "--ignore-disjoint-bases", "wherefore"
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr


def test_a_users_program_has_its_types(tmp_path):
    (tmp_path / "user.py").write_text(USER)
    done = mypy(tmp_path, "mypy", "--strict", "--config-file", "CONFIG", "user.py")
    assert done.returncode == 0, done.stdout + done.stderr


def test_what_is_wrong_is_told_before_it_runs(tmp_path):
    lines = ["import wherefore", *(line for line, _ in WRONG)]
    (tmp_path / "wrong.py").write_text("\n".join(lines))
    done = mypy(tmp_path, "mypy", "--config-file", "CONFIG", "wrong.py")
    assert done.returncode == 1, done.stdout + done.stderr
    for number, (line, why) in enumerate(WRONG, 2):
        told = [it for it in done.stdout.splitlines() if it.startswith(f"wrong.py:{number}:")]
        assert any(why in it for it in told), f"{line}: {told or done.stdout}"
