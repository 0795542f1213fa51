"""The import contract: rooms look to the right only, and each outside library has its door."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import ast
import sys

import pytest

from tests.house.tree import NAME, PACKAGE, Imported, Module, imports, modules, nodes, room_of

LEAVES = {"errors", "units", "sources", "words"}
LOCK = {"lock"}
FILES = {"files"}
GROUND = {"model"} | LEAVES
SHARED = {"formulas", "geometry", "standards", "solid"}
STAGES = {"job", "photo", "outline", "parts", "checks", "release"}
MAY_IMPORT: dict[str, set[str]] = (
    {leaf: set() for leaf in LEAVES} | {"sources": {"words"}, "": set(), "__init__": set(), "__main__": {"cli"}}
    | {"lock": {"errors"},
       "files": {"errors"} | LOCK}
    | {"model": GROUND} | {room: {"", room} | GROUND for room in ("geometry", "standards", "solid")}
    | {"formulas": {"formulas", "geometry", "standards"} | GROUND}
    | {stage: {"", stage} | SHARED | GROUND for stage in STAGES}
    | {"job": {"", "job"} | SHARED | GROUND | FILES}
    | {"pipeline": {"", "pipeline"} | STAGES | SHARED | GROUND | LOCK | FILES,
       "cli": {"", "cli", "pipeline", "web"} | STAGES | GROUND}
    | {"web": {"", "web", "pipeline"} | GROUND | FILES})
DOORS: dict[str, set[str]] = {
    "cv2": {"photo"}, "PIL": {"photo"}, "pi_heif": {"photo"}, "OCP": {"solid"}, "lib3mf": {"solid"},
    "manifold3d": {"solid"},
    "ezdxf": {"release"}, "reportlab": {"release"}, "tomlkit": {"job"}, "pydantic": {"job"}, "typer": {"cli"}, "rich": {"cli"},
    "fastapi": {"web"}, "starlette": {"web"}, "uvicorn": {"web"}, "segno": {"web"}, "distributed": {"pipeline"},
    "numpy": {"*"}, "scipy": {"geometry", "photo", "outline", "parts", "checks", "formulas", "release"},
    "shapely": {"geometry", "photo", "outline", "parts", "checks", "release", "solid"}}

ALL = [found for module in modules() for found in imports(module)]
OURS = [found for found in ALL if found.name.split(".")[0] == NAME]
THEIRS = [found for found in ALL if found.name.split(".")[0] not in {NAME, *sys.stdlib_module_names}]


def test_every_room_is_one_of_the_house() -> None:
    assert {module.room for module in modules()} <= set(MAY_IMPORT)


def test_rooms_look_to_the_right_only() -> None:
    wrong = [str(found) for found in OURS if room_of(found.name) not in MAY_IMPORT[found.module.room]]
    assert not wrong, "\n".join(wrong)


def test_every_outside_library_comes_through_its_own_door() -> None:
    def allowed(found: Imported) -> bool:
        doors = DOORS.get(found.name.split(".")[0], set())
        return "*" in doors or found.module.room in doors
    wrong = [str(found) for found in THEIRS if not allowed(found)]
    assert not wrong, "\n".join(wrong)


def test_no_import_inside_a_function_but_the_lazy_doors() -> None:
    """Allowed in solid/ (the kernel), cli/ (a command's own stage) and pipeline/crew.py (the cluster's library), each with a
    comment that says `lazy door`."""
    wrong = []
    for found in ALL:
        if found.inside:
            lines = found.module.text.splitlines()[:found.line]
            while lines and lines[-1].strip().startswith(("from ", "import ")):
                lines.pop()
            commented = bool(lines) and "lazy door" in lines[-1].lower()
            has_door = found.module.room in ("solid", "cli") or found.module.path.name == "crew.py"
            if not has_door or not commented:
                wrong.append(f"{found} in {found.inside}()")
    assert not wrong, "\n".join(wrong)


def test_nothing_is_imported_by_name_at_run_time_or_with_a_star() -> None:
    wrong = [str(found) for found in ALL if found.name.endswith(".*") or found.name.split(".")[0] == "importlib"
             and not found.name.startswith("importlib.resources")]
    wrong += [f"{module}:{node.lineno}" for module in modules() for node in nodes(module.tree)
              if isinstance(node, ast.Name) and node.id == "__import__"]
    assert not wrong, "\n".join(wrong)


def test_no_two_files_import_each_other_in_a_ring() -> None:
    graph: dict[str, set[str]] = {}
    names = {dotted(module): module for module in modules()}
    for found in OURS:
        if not found.inside:
            target = found.name if found.name in names else found.name.rpartition(".")[0]
            if target in names and not target == NAME:
                graph.setdefault(dotted(found.module), set()).add(target)
    done: set[str] = set()

    def walk(name: str, path: tuple[str, ...]) -> None:
        assert name not in path, " -> ".join((*path, name))
        if name not in done:
            for following in sorted(graph.get(name, ())):
                walk(following, (*path, name))
            done.add(name)

    for name in sorted(graph):
        walk(name, ())


def dotted(module: Module) -> str:
    parts = module.path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@pytest.mark.parametrize(("room", "name"), [
    ("photo", "afterpart.outline.settings"), ("geometry", "afterpart.standards.paper"), ("model", "afterpart.photo.load"),
    ("errors", "afterpart.units"), ("parts", "afterpart.pipeline")])
def test_the_contract_would_notice(room: str, name: str) -> None:
    assert room_of(name) not in MAY_IMPORT[room]
