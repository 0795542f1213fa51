"""How every file is written: header, licence line, docstrings, names, line length, handlers."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import ast
from collections.abc import Iterator

from tests.house.tree import PACKAGE, ROOT, Module, modules, nodes, read

LICENCE_LINE = "# SPDX-License-Identifier: Apache-2.0"
LONGEST_LINE = 130
DRAWERS = {"util", "utils", "helper", "helpers", "manager", "misc", "common", "data", "process", "handle"}
CLOCKS = {"time.time", "datetime.now", "datetime.datetime.now", "datetime.today", "date.today", "datetime.date.today",
          "datetime.utcnow"}
TESTS = tuple(read(path) for folder in ("tests", "benchmarks", "docs") for path in sorted((ROOT / folder).rglob("*.py")))


def functions(module: Module) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    """Functions of the file and methods of its public classes (properties and overrides of a library's class aside)."""
    for node in module.tree.body:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node
        elif isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield from (item for item in node.body if isinstance(item, ast.FunctionDef) and not item.decorator_list)


def test_every_file_opens_with_its_purpose_and_the_licence_line() -> None:
    wrong = [str(module) for module in (*modules(), *TESTS)
             if module.text.strip() and not (ast.get_docstring(module.tree) and LICENCE_LINE in module.text.splitlines())]
    assert not wrong, "\n".join(wrong)


def test_every_public_function_says_what_it_does() -> None:
    wrong = [f"{module}:{node.lineno} {node.name}" for module in modules() for node in functions(module)
             if not node.name.startswith("_") and not ast.get_docstring(node)]
    assert not wrong, "\n".join(wrong)


def test_every_function_is_typed() -> None:
    wrong = []
    for module in modules():
        for node in nodes(module.tree):
            if isinstance(node, ast.FunctionDef):
                given = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
                bare = [a.arg for a in given if a.annotation is None and a.arg not in ("self", "cls")]
                if bare or (node.returns is None):
                    wrong.append(f"{module}:{node.lineno} {node.name} {bare}")
    assert not wrong, "\n".join(wrong)


def test_no_drawers_and_no_long_lines() -> None:
    wrong = [str(module) for module in modules() if module.path.stem in DRAWERS]
    wrong += [f"{module}:{number}: {len(line)} characters" for module in (*modules(), *TESTS)
              for number, line in enumerate(module.text.splitlines(), 1) if len(line) > LONGEST_LINE]
    assert not wrong, "\n".join(wrong)


def test_one_broad_handler_and_it_stands_in_the_command_line() -> None:
    def is_broad(node: ast.ExceptHandler) -> bool:
        kinds = node.type.elts if isinstance(node.type, ast.Tuple) else [node.type]
        return any(kind is None or (isinstance(kind, ast.Name) and kind.id in ("Exception", "BaseException")) for kind in kinds)
    broad = [module.path.relative_to(PACKAGE).as_posix() for module in modules() for node in nodes(module.tree)
             if isinstance(node, ast.ExceptHandler) and is_broad(node)]
    # the kernel's child process catches a bug only to hand it to its parent, which raises it there
    assert [place for place in broad if place != "solid/child.py"] == ["cli/__init__.py"], broad


def test_nothing_prints_but_the_command_line() -> None:
    wrong = [f"{module}:{node.lineno}" for module in modules() for node in nodes(module.tree)
             if isinstance(node, ast.Call) and ast.unparse(node.func) == "print" and module.room != "cli"]
    assert not wrong, "\n".join(wrong)


def test_nothing_asks_the_clock_or_rolls_dice_unseen() -> None:
    """time.monotonic is a stopwatch, not a clock; a random generator must be made from a seed."""
    wrong = []
    for module in modules():
        for node in nodes(module.tree):
            if isinstance(node, ast.Attribute):
                name = ast.unparse(node)
                hidden_dice = name.startswith("np.random.") and name not in ("np.random.default_rng", "np.random.Generator")
                if hidden_dice or name in CLOCKS:
                    wrong.append(f"{module}:{node.lineno} {name}")
            if isinstance(node, ast.Call) and ast.unparse(node.func).endswith("default_rng") and not node.args:
                wrong.append(f"{module}:{node.lineno} default_rng without a seed")
    assert not wrong, "\n".join(wrong)
