"""The code on the page about Python, run from its beginning to its end."""

import json
import re


def test_the_page_runs(root):
    text = (root / "docs/hosts-python.md").read_text(encoding="utf-8")
    blocks = re.findall(r"^```python\n(.*?)^```", text, re.S | re.M)
    assert len(blocks) >= 6
    names = {}
    for number, block in enumerate(blocks, 1):
        exec(compile(block, f"docs/hosts-python.md, block {number}", "exec"), names)
    assert names["judged"].num_rows == 1000


def test_the_lines_of_the_readme_run(root, command, capsys, tmp_path):
    text = (root / "README.md").read_text(encoding="utf-8")
    (block,) = re.findall(r"^```python\n(.*?)^```", text, re.S | re.M)
    names = {}
    exec(compile(block, "README.md", "exec"), names)
    car = tmp_path / "car.json"
    car.write_text(json.dumps(names["car"] | {"format": "wherefore-snapshot/1"}))
    assert capsys.readouterr().out.rstrip() == command("judge", "--program", "us-il", str(car)).rstrip()


def test_stubs_name_what_there_is(root):
    import ast

    import wherefore

    stubs = ast.parse((root / "bindings/python/python/wherefore/__init__.pyi").read_text())
    for node in stubs.body:
        if isinstance(node, ast.FunctionDef):
            assert callable(getattr(wherefore, node.name)), node.name
        if isinstance(node, ast.ClassDef):
            known = getattr(wherefore, node.name)
            for member in node.body:
                if isinstance(member, ast.FunctionDef) and not member.name.startswith("__"):
                    assert hasattr(known, member.name), f"{node.name}.{member.name}"
                    assert getattr(known, member.name).__doc__ or member.name == "_repr_html_", f"{node.name}.{member.name}"
    stubbed = {node.name for node in stubs.body if isinstance(node, (ast.FunctionDef, ast.ClassDef))}
    assert set(wherefore.__all__) <= stubbed
