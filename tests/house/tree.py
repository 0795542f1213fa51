"""The package as syntax trees, for the tests of the house."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "afterpart"
NAME = "afterpart"


@dataclass(frozen=True)
class Module:
    """One file.  room: its first folder or its own stem ("pipeline"); lines: its text."""

    path: Path
    room: str
    text: str
    tree: ast.Module

    def __str__(self) -> str:
        return str(self.path.relative_to(ROOT))


@dataclass(frozen=True)
class Imported:
    """One import.  name: dotted, absolute; inside: name of the function it stands in, or ""; line: its number."""

    module: Module
    name: str
    inside: str
    line: int

    def __str__(self) -> str:
        return f"{self.module}:{self.line} imports {self.name}"


@cache
def modules() -> tuple[Module, ...]:
    """Every file of the package."""
    return tuple(read(path) for path in sorted(PACKAGE.rglob("*.py")))


def read(path: Path) -> Module:
    text = path.read_text()
    within = path.relative_to(PACKAGE) if path.is_relative_to(PACKAGE) else path.relative_to(ROOT)
    return Module(path, within.parts[0].removesuffix(".py"), text, ast.parse(text))


@cache
def nodes(tree: ast.Module) -> tuple[ast.AST, ...]:
    """Every node of a file: walked through once, for all tests that look at them."""
    return tuple(ast.walk(tree))


def imports(module: Module) -> Iterator[Imported]:
    """Every import of the file, wherever it stands."""
    yield from _imports(module, module.tree, "")


def _imports(module: Module, node: ast.AST, inside: str) -> Iterator[Imported]:
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.Import):
            for alias in child.names:
                yield Imported(module, alias.name, inside, child.lineno)
        elif isinstance(child, ast.ImportFrom):
            for alias in child.names:
                yield Imported(module, f"{_absolute(module, child)}.{alias.name}", inside, child.lineno)
        else:
            is_function = isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
            yield from _imports(module, child, getattr(child, "name", "lambda") if is_function else inside)


def _absolute(module: Module, node: ast.ImportFrom) -> str:
    if not node.level:
        return node.module or ""
    parts = [NAME, *module.path.relative_to(PACKAGE).parts[:-1]]
    parts = parts[:len(parts) - node.level + 1]
    return ".".join([*parts, *([node.module] if node.module else [])])


def room_of(name: str) -> str:
    """The room an absolute name of ours lies in: "afterpart.model.edges.Rim" -> "model"; the package itself -> ""."""
    parts = name.split(".")
    return parts[1] if len(parts) > 1 and ((PACKAGE / parts[1]).is_dir() or (PACKAGE / f"{parts[1]}.py").exists()) else ""
