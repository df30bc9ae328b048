"""Vehicles of every program through Python and through the command line: rulings byte-equal with those expected."""

import json
from collections import defaultdict

import wherefore


def test_python(cases):
    for case in cases:
        asked = case["request"]
        ruling = wherefore.judge(
            case["snapshot"],
            case["program"],
            known_on=asked.get("known_on"),
            as_of=asked.get("as_of"),
            take=asked.get("takes"),
        )
        assert ruling.json() == case["ruling"], f"{case['program']}: {case['case']}"
    assert {case["program"] for case in cases} <= set(wherefore.programs())


def test_the_command_line(cases, command):
    asked = defaultdict(list)
    for case in cases:
        asked[case["program"], json.dumps(case["request"])].append(case)
    for (program, request), group in asked.items():
        request = json.loads(request)
        options = [f"--{key.replace('_', '-')}={request[key]}" for key in ["as_of", "known_on"] if key in request]
        options += [f"--take={name}={value}" for name, value in request.get("takes", {}).items()]
        assert set(request) <= {"as_of", "known_on", "takes"}, request
        snapshots = "".join(json.dumps(case["snapshot"]) + "\n" for case in group)
        rulings = command("judge", "--program", program, "--format", "json", *options, "-", given=snapshots).splitlines()
        assert len(rulings) == len(group)
        for case, ruling in zip(group, rulings):
            assert ruling == case["ruling"], f"{program}: {case['case']}"


def test_the_command_lists_what_the_library_lists(command):
    lines = [json.loads(line) for line in command("cases", "--all", "worked", "--format", "json").splitlines()]
    assert [line for line in lines if line["program"] == "us-il"] == wherefore.cases("us-il")
    worked, vectors = wherefore.cases("mx"), wherefore.cases("mx", vectors=True)
    assert vectors[: len(worked)] == worked and len(vectors) > len(worked) > 0
