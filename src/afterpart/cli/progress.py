"""Where the commands print, and how they say what is being done."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

PLAIN_WIDTH = 130
"""Columns of the printed tables where stdout is no terminal."""


def plain_console() -> Console:
    """Without colour marks or emoji in what is printed; of a fixed width where stdout is no terminal."""
    console = Console(highlight=False, markup=False, emoji=False)
    if not console.is_terminal:
        console.width = PLAIN_WIDTH
    return console


@contextmanager
def progress_lines(console: Console) -> Iterator[Callable[[str], None]]:
    """Say what is being done: a moving line on a terminal, plain lines elsewhere."""
    if not console.is_terminal:
        yield lambda text: console.print(f"- {text}")
        return
    columns = (SpinnerColumn(), TextColumn("{task.description}", markup=False), TimeElapsedColumn())
    with Progress(*columns, console=console) as progress:
        task = None

        def say(text: str) -> None:
            nonlocal task
            if task is not None:
                progress.update(task, total=1, completed=1)
            task = progress.add_task(text, total=None)

        yield say
        if task is not None:
            progress.update(task, total=1, completed=1)
