"""One vehicle: rulings, plans, questions, comparisons, refusals. Expected texts are the command line's."""

import datetime
import importlib.resources
import json
import re

import pytest
import wherefore

# 2016 passenger car, Illinois, two monitors incomplete: the car of examples/embed.rs.
CAR = {
    "format": "wherefore-snapshot/1",
    "visit": {"date": "2026-11-28"},
    "vehicle": {"model_year": 2016, "fuel": "gasoline", "class": "light-duty", "gross_weight_lb": 4400},
    "connector": "intact",
    "lamp": {"commanded": False, "lit_key_on_engine_off": True},
    "monitors": {
        "misfire": "complete", "fuel-system": "complete", "components": "complete", "evaporative": "complete",
        "catalyst": "incomplete", "oxygen-sensor": "incomplete",
    },
}


def snapshot_file(tmp_path, document):
    path = tmp_path / "car.json"
    path.write_text(json.dumps(document))
    return str(path)


def test_a_ruling_is_the_command_lines(command, tmp_path):
    path = snapshot_file(tmp_path, CAR)
    ruling = wherefore.program("us-il").judge(CAR)
    assert ruling.json() + "\n" == command("judge", "--program", "us-il", "--format", "json", path)
    assert str(ruling) == command("judge", "--program", "us-il", path)
    assert ruling.html() == command("judge", "--program", "us-il", "--format", "html", path)
    assert ruling.to_dict()["verdict"] == ruling.verdict.name
    assert {verdict.name for verdict in ruling.possible} == set(ruling.to_dict()["possible"])


@pytest.mark.parametrize("form", ["dict", "text", "bytes", "snapshot"])
def test_a_vehicle_may_be_given_in_any_form(form):
    text = json.dumps(CAR)
    given = {"dict": CAR, "text": text, "bytes": text.encode(), "snapshot": wherefore.Snapshot(CAR)}[form]
    assert wherefore.judge(given, "us-il") == wherefore.judge(CAR, "us-il")


def test_dates_may_be_dates():
    car = json.loads(json.dumps(CAR))
    car["visit"]["date"] = datetime.date(2026, 11, 28)
    assert wherefore.judge(car, "us-il") == wherefore.judge(CAR, "us-il")
    there = wherefore.judge(CAR, "us-il", as_of=datetime.date(2020, 3, 1))
    assert there.to_dict()["as_of"] == "2020-03-01"


def test_a_notebook_shows_the_page():
    ruling = wherefore.judge(CAR, "us-il")
    shown = ruling._repr_html_()
    assert shown.startswith("<iframe") and "srcdoc=" in shown and "us-il" in shown
    assert "<script" not in shown


def test_reasons_name_clause_and_law():
    lit = json.loads(json.dumps(CAR))
    lit["lamp"]["commanded"] = True
    lit["codes"] = {"stored": ["P0420"]}
    reasons = wherefore.judge(lit, "us-il").reasons
    assert reasons and all(reason.clause and reason.message for reason in reasons)
    assert any(reason.citations for reason in reasons)


def test_what_is_not_given_is_not_known():
    ruling = wherefore.judge({"visit": {"date": "2026-11-28"}}, "us-ca")
    assert ruling.verdict.name == "undecided" and len(ruling.possible) > 1


def test_a_plan_is_the_command_lines(command, tmp_path):
    path = snapshot_file(tmp_path, CAR)
    plan = wherefore.program("us-il").next(CAR)
    assert plan.json() + "\n" == command("next", "--program", "us-il", "--format", "json", path)
    assert str(plan) == command("next", "--program", "us-il", path)


def test_a_plan_goes_backwards_from_a_visit(command, tmp_path):
    path = snapshot_file(tmp_path, CAR)
    plan = wherefore.program("us-il").next(CAR, by=datetime.date(2026, 12, 19))
    assert plan.json() + "\n" == command("next", "--program", "us-il", "--by", "2026-12-19", "--format", "json", path)
    assert "schedule" in json.loads(plan.json())
    with pytest.raises(ValueError):
        wherefore.program("us-il").next(CAR, by="soon")


def test_what_a_station_recorded_is_held_against_the_ruling(command, tmp_path):
    path = snapshot_file(tmp_path, CAR)
    ruling = wherefore.judge(CAR, "us-il", recorded="fail")
    assert ruling.to_dict()["recorded"]["class"] == "fail"
    assert ruling.json() + "\n" == command("judge", "--program", "us-il", "--recorded", "fail", "--format", "json", path)
    with pytest.raises(wherefore.RulingError, match="none of"):
        wherefore.judge(CAR, "us-il", recorded="red")


def test_licence_texts_of_what_is_compiled_in_come_with_it():
    told = importlib.resources.files("wherefore").joinpath("THIRD-PARTY.txt").read_text()
    for crate in ["pest", "serde", "pyo3", "arrow-array"]:
        assert re.search(rf"(^|, ){crate} [0-9]", told, re.MULTILINE), crate


def test_questions_end_with_a_decided_vehicle():
    program = wherefore.program("us-model")
    questions = program.ask({"visit": {"date": "2026-11-28"}})
    first = next(questions)
    assert first.text and first.answers and first.at_most > 0
    with pytest.raises(wherefore.RulingError):
        first.answer("no such word at all")
    asked = [first.key]
    # Whatever is offered first is answered; what the list does not begin with a word for, nobody knows.
    answer(first)
    for question in questions:
        asked.append(question.key)
        answer(question)
        assert len(asked) < 80
    assert len(asked) == len(set(asked)), "no question twice"
    known = questions.snapshot.to_dict()
    assert known["visit"]["date"] == "2026-11-28"
    with pytest.raises(wherefore.RulingError):
        first.answer("yes")


def answer(question):
    word = question.answers.split()[0].strip(",;")
    try:
        question.answer(word)
    except wherefore.RulingError:
        question.answer(None)


def test_a_question_passed_over_is_one_nobody_can_answer():
    questions = wherefore.program("us-il").ask({"visit": {"date": "2026-11-28"}})
    keys = [question.key for question in questions]
    assert keys and len(keys) == len(set(keys))
    assert questions.snapshot == wherefore.Snapshot({"visit": {"date": "2026-11-28"}})


def test_comparison(command):
    strict, model = wherefore.program("us-model-strict"), wherefore.program("us-model")
    same = model.compare(model, on="2026-11-28")
    assert same.equal and same.to_dict()["equal"] is True
    other = model.compare(strict, on="2026-11-28")
    wanted = json.loads(
        command("compare", "us-model", "us-model-strict", "--as-of", "2026-11-28", "--format", "json")
    )
    assert other.to_dict() == wanted and not other.equal


def test_refusals_carry_every_fault():
    with pytest.raises(wherefore.NoSuchProgramError, match="us-tx"):
        wherefore.program("tx")
    with pytest.raises(wherefore.SnapshotError) as raised:
        wherefore.Snapshot({"vehicle": {"model_year": "old", "wheels": 4}})
    assert {fault["path"] for fault in raised.value.faults} == {"vehicle.model_year", "vehicle"}
    with pytest.raises(wherefore.ProgramTextError) as raised:
        wherefore.Program.from_text('program my-place "x"\ncovers where nothing known\noutcomes pass,, fail\n')
    assert raised.value.faults and all(fault["places"] for fault in raised.value.faults)
    with pytest.raises(wherefore.RulingError, match="date"):
        wherefore.judge({}, "us-il")
    with pytest.raises(wherefore.MessagesError):
        wherefore.Snapshot.from_messages("")
    assert issubclass(wherefore.SnapshotError, ValueError)


def test_messages(command, root):
    capture = root / "tests/decode/obdb/capture.log"
    made = wherefore.Snapshot.from_messages(capture.read_bytes(), model_year=2018, fuel="gasoline")
    wanted = command("decode", str(capture), "--model-year", "2018", "--fuel", "gasoline")
    assert made == wherefore.Snapshot(wanted)


def test_programs_are_a_mapping(command):
    programs = wherefore.programs()
    assert len(programs) == len(list(programs)) >= 40
    assert "us-ca" in programs and "nowhere" not in programs
    assert programs["us-ca"].id == "us-ca" and programs["us-ca"].title
    assert wherefore.__version__
