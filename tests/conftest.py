"""What every test may ask for: the checkout, the shared photographs beside it, the example."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from afterpart.solid.worker import Workshop
from tests import kernels
from tests.once import THINGS, SharedWorkshop, run_folder

ROOT = Path(__file__).resolve().parents[1]

# No test is a timed test: a busy machine is no fault of the program.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")


LONG_FIRST = ("journey", "truth", "pipeline", "web", "published", "files", "photo", "hostile", "checks", "faults", "real",
              "solid", "outline", "parts", "house", "fuzz", "geometry")
"""Folders whose files take longest, so that none of them is begun last, when the other processes have nothing left to do."""


def pytest_configure(config: pytest.Config) -> None:
    """A folder for what the processes of the run compute once, and the process that forks their kernels."""
    if THINGS not in os.environ:
        folder = tempfile.mkdtemp(prefix="afterpart-tests-")
        os.environ[THINGS] = folder
        config.add_cleanup(lambda: shutil.rmtree(folder, ignore_errors=True))
        config.add_cleanup(kernels.begin(Path(folder)))
        config.add_cleanup(lambda: os.environ.pop(THINGS, None))


BEYOND_SAMPLES = tuple(line for line in (ROOT / "tests" / "beyond_samples.txt").read_text().splitlines()
                       if line and not line.startswith("#"))
"""Beginnings of the names of the cases that `make test` leaves out: more of what other cases show."""


def pytest_addoption(parser: pytest.Parser) -> None:
    """--whole: what the samples leave out is run too."""
    parser.addoption("--whole", action="store_true", help="every case, not the samples alone (tests/beyond_samples.txt)")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Samples alone unless --whole is said; long files first, within a folder in the order they came (make test asks for files in
    this order)."""
    if not config.getoption("--whole"):
        beyond = [item for item in items if item.nodeid.startswith(BEYOND_SAMPLES)]
        items[:] = [item for item in items if item not in beyond]
        config.hook.pytest_deselected(items=beyond)
    place = {name: k for k, name in enumerate(LONG_FIRST)}
    items.sort(key=lambda item: place.get(item.path.relative_to(ROOT / "tests").parts[0], len(place))
               if item.path.is_relative_to(ROOT / "tests") else len(place))


@pytest.fixture(scope="session")
def root() -> Path:
    """The checkout."""
    return ROOT


@pytest.fixture(scope="session")
def shared() -> Path:
    """The folder of shared photographs and tables beside the checkout; the test is skipped where it is absent."""
    folder = ROOT.parent / "shared"
    if not folder.is_dir():
        pytest.skip("the shared photographs are not beside this checkout")
    return folder


@pytest.fixture(scope="session")
def cover() -> Path:
    """The example of the compressor's inlet cover."""
    return ROOT / "examples" / "compressor_cover"


@pytest.fixture(scope="module", autouse=True)
def kernels_for_this_module(request: pytest.FixtureRequest) -> Iterator[None]:
    """Kernels forked from one that is loaded, but for modules that say FRESH_KERNELS = True."""
    with kernels.fresh() if getattr(request.module, "FRESH_KERNELS", False) else kernels.warm():
        yield


@pytest.fixture(scope="session")
def built_pieces(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Workshop]:
    """A workshop whose bodies are built once a run, for tests that ask what is made of them."""
    with SharedWorkshop(run_folder(tmp_path_factory)) as running:
        yield running
