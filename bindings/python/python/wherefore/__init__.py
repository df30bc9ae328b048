"""Vehicle emissions inspection programs (their on-board-diagnostic part) as data: rulings with reasons and law.

>>> import wherefore
>>> program = wherefore.program("us-il")
>>> ruling = program.judge({"visit": {"date": "2026-11-28"}, "vehicle": {"model_year": 2016}})
>>> ruling.verdict.name
'undecided'

What is not given is not known, never false or zero. A ruling is advice; the official inspection decides.
"""

from __future__ import annotations

from . import _wherefore
from ._wherefore import (
    Batches,
    Comparison,
    MappingError,
    MessagesError,
    NoSuchProgramError,
    Plan,
    Program,
    Programs,
    ProgramTextError,
    Question,
    Questions,
    Reason,
    Ruling,
    RulingError,
    Snapshot,
    SnapshotError,
    Verdict,
    WhereforeError,
)

__version__ = _wherefore.__version__

__all__ = [
    "Batches",
    "Comparison",
    "MappingError",
    "MessagesError",
    "NoSuchProgramError",
    "Plan",
    "Program",
    "ProgramTextError",
    "Programs",
    "Question",
    "Questions",
    "Reason",
    "Ruling",
    "RulingError",
    "Snapshot",
    "SnapshotError",
    "Verdict",
    "WhereforeError",
    "batches",
    "cases",
    "judge",
    "program",
    "programs",
]

_BUILT_IN = Programs()


def programs() -> Programs:
    """The built-in programs: a mapping from id to program."""
    return _BUILT_IN


def program(id: str) -> Program:
    """The built-in program of an id."""
    return _BUILT_IN.get(id)


def judge(vehicle, program: str, *, as_of=None, known_on=None, take=None, proof: bool = False, recorded=None) -> Ruling:
    """Rules on a vehicle under a built-in program; see ``Program.judge``."""
    asked = {"as_of": as_of, "known_on": known_on, "take": take, "proof": proof, "recorded": recorded}
    return _BUILT_IN.get(program).judge(vehicle, **asked)


def cases(program: str, *, vectors: bool = False) -> list[dict]:
    """Vehicles of a built-in program with the rulings expected of them; see ``Programs.cases``."""
    return _BUILT_IN.cases(program, vectors=vectors)


def batches(mapping, program: str | None = None, *, known_on=None, take=None) -> Batches:
    """What a mapping and a built-in program make of record batches; see ``Batches``."""
    return _BUILT_IN.batches(mapping, program, known_on=known_on, take=take)
