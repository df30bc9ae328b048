"""Every worked case of every program, through Python: rulings byte-equal with the command line's."""

import json

import wherefore


def test_worked_cases_are_ruled_on_alike(command):
    lines = command("cases", "--all", "worked", "--format", "json").splitlines()
    assert len(lines) > 400
    seen = set()
    for line in lines:
        case = json.loads(line)
        assert case["format"] == "wherefore-conformance/1"
        asked = case["request"]
        ruling = wherefore.judge(
            case["snapshot"],
            case["program"],
            known_on=asked.get("known_on"),
            as_of=asked.get("as_of"),
            take=asked.get("takes"),
        )
        assert ruling.json() == case["ruling"], f"{case['program']}: {case['case']}"
        seen.add(case["program"])
    assert seen <= set(wherefore.programs()) and len(seen) >= 40


def test_the_command_lists_what_the_library_lists(command):
    lines = [json.loads(line) for line in command("cases", "--all", "worked", "--format", "json").splitlines()]
    assert [line for line in lines if line["program"] == "us-il"] == wherefore.cases("us-il")
