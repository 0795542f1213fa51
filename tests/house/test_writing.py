"""One room alone writes: nobody else opens a file for writing, renames, makes or takes away a file or folder.

Limits: a library that is handed a path could still write; none of ours is (they write into memory).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import ast
from collections.abc import Iterator

import pytest

from tests.house.tree import PACKAGE, Module, modules, nodes

WRITERS = {"files"}
OS_CALLS = {"open", "write", "replace", "rename", "renames", "remove", "unlink", "mkdir", "makedirs", "rmdir", "removedirs",
            "link", "symlink", "truncate", "ftruncate", "chmod", "utime", "fsync"}
PATH_CALLS = {"write_text", "write_bytes", "mkdir", "rmdir", "unlink", "touch", "symlink_to", "hardlink_to", "chmod", "rename"}
"""Of a path whatever it is called; `replace` is a text's too, so that it is told by what it is given."""
MODULES = {"tempfile", "shutil"}
FOR_WRITING = set("wax+")


def faults(module: Module) -> Iterator[str]:
    for node in nodes(module.tree):
        if isinstance(node, ast.Import | ast.ImportFrom):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else [node.module or ""]
            yield from (f"{module}:{node.lineno} imports {name}" for name in names if name.split(".")[0] in MODULES)
        if not isinstance(node, ast.Call):
            continue
        name = ast.unparse(node.func)
        room, _, last = name.rpartition(".")
        if room == "os" and last in OS_CALLS or isinstance(node.func, ast.Attribute) and room != "os" and last in PATH_CALLS:
            yield f"{module}:{node.lineno} {name}"
        if last == "replace" and room not in ("", "os", "dataclasses") and len(node.args) == 1 and not node.keywords:
            yield f"{module}:{node.lineno} {name}"
        if last == "open" and any(isinstance(given, ast.Constant) and isinstance(given.value, str)
                                  and FOR_WRITING & set(given.value) and set(given.value) <= set("rbtwax+")
                                  for given in (*node.args, *(k.value for k in node.keywords if k.arg == "mode"))):
            yield f"{module}:{node.lineno} {name}"


def written(text: str) -> Module:
    return Module(PACKAGE / "written.py", "", text, ast.parse(text))


def test_nobody_else_writes() -> None:
    wrong = [fault for module in modules() if module.room not in WRITERS for fault in faults(module)]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("text", [
    "open(p, 'w')", "open(p, mode='ab')", "p.open('x')", "p.write_bytes(b)", "p.write_text(t, encoding='utf-8')", "p.unlink()",
    "os.replace(a, b)", "os.open(p, os.O_RDWR)", "p.mkdir()", "import shutil", "from tempfile import mkdtemp", "p.rename(q)",
    "p.replace(q)", "(a / b).touch()"])
def test_it_would_notice(text: str) -> None:
    assert list(faults(written(text)))


@pytest.mark.parametrize("text", ["open(p, 'rb')", "p.read_bytes()", "text.replace(a, b)", "replace(job, name='x')",
                                  "Image.open(stream)", "os.access(p, os.W_OK)", "stream.write(b)", "self.open(folder)"])
def test_it_lets_pass_what_does_not_write(text: str) -> None:
    assert not list(faults(written(text)))
