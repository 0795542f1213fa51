"""The process in which long work is done: tasks come on standard input, progress and results go to standard output.

A message is one line of JSON, between work.py and this process only.
    in    {"id", "what", "folder", "folders"}   one task at a time;   {"go": true}   the answer to a wish to write
    out   {"ready"}  {"id", "said"}  {"id", "writes": true}  {"id", "done": {...}}  {"id", "refused": [...]}
Before files are written this process asks and waits, so that stopping it never leaves half of them.  When standard input ends, so
does this process; the solid kernel's processes end with it, as their own input ends then.  A bug ends it with its traceback on
standard error, which the parent tells.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import os
import queue
import sys
import threading
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any, TextIO

from afterpart import pipeline
from afterpart.errors import AfterpartError
from afterpart.web.wording import refusals

Task = dict[str, Any]
WRITING = "writing"
"""How every step that puts files in place begins."""


class Talk:
    """Both ends of the conversation with the parent."""

    def __init__(self, source: TextIO, answers: TextIO) -> None:
        self.tasks: queue.Queue[Task] = queue.Queue()
        self._goes: queue.Queue[bool] = queue.Queue()
        self._source, self._answers = source, answers
        threading.Thread(target=self._listen, daemon=True).start()

    def send(self, message: dict[str, Any]) -> None:
        """One line to the parent."""
        self._answers.write(json.dumps(message, ensure_ascii=False) + "\n")
        self._answers.flush()

    def say(self, task: str) -> Callable[[str], None]:
        """What tells the parent each step of this task; before files are written it waits for the word."""
        def say(text: str) -> None:
            self.send({"id": task, "said": text})
            if text.startswith(WRITING):
                self.send({"id": task, "writes": True})
                self._goes.get()
        return say

    def _listen(self) -> None:
        for line in self._source:
            message = json.loads(line)
            if message.get("go"):
                self._goes.put(True)
            else:
                self.tasks.put(message)
        os._exit(0)  # the parent is gone: nobody waits for what is being done here


def main() -> None:
    """Work until the parent ends."""
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)  # whatever prints goes to standard error; the answers have a channel of their own
    talk = Talk(sys.stdin, answers)
    talk.send({"ready": True})
    while True:
        task = talk.tasks.get()
        name = task["id"]
        try:
            talk.send({"id": name, "done": WORK[task["what"]](task, talk.say(name))})
        except AfterpartError as error:
            talk.send({"id": name, "refused": [refusal.plain() for refusal in refusals(error)]})


def _measure(task: Task, say: pipeline.Say) -> Task:
    folder = Path(task["folder"])
    result = pipeline.measure(pipeline.job_of_folder(folder, ()), folder, folder, say)
    say("writing the measurement")
    pipeline.write_measurement(result, folder)
    return {"edges_reused": result.edges_reused}


def _settle(task: Task, say: pipeline.Say) -> Task:
    return {"changed": pipeline.settle(Path(task["folder"]), say)}


def _plate(task: Task, say: pipeline.Say) -> Task:
    folder = Path(task["folder"])
    _measure_first(folder, say)
    made = pipeline.make_plate_of(folder, folder / "plate", say)
    say("writing the plate")
    pipeline.write_plate(made, folder / "plate")
    return {"files": sorted(made.files)}


def _build(task: Task, say: pipeline.Say) -> Task:
    folder = Path(task["folder"])
    pipeline.settle(folder, say)
    built = pipeline.build_of(folder, folder / "pieces", say)
    say("writing the pieces")
    pipeline.write_build(built, folder / "pieces")
    return {"pieces": list(built.names)}


def _check(task: Task, say: pipeline.Say) -> Task:
    folder = Path(task["folder"])
    pipeline.settle(folder, say)
    checked = pipeline.check_of(folder, folder / "pieces", say)
    say("writing the report")
    pipeline.write_check(checked, folder, folder / "pieces")
    return {"headline": checked.report.headline}


def _release(task: Task, say: pipeline.Say) -> Task:
    folder = Path(task["folder"])
    pipeline.settle(folder, say)
    since = folder / "release" / task["since"] if task.get("since") else None
    made = pipeline.release_of(folder, folder / "pieces", folder / "release", say, since)
    say("writing the release")
    pipeline.write_release(made, folder, folder / "pieces")
    return {"name": made.folder.name, "files": len(made.files)}


def _compare(task: Task, say: pipeline.Say) -> Task:
    checked = {}
    for name in task["folders"]:
        folder = Path(name)
        say(f"judging {folder.name}")
        pipeline.settle(folder, say)
        one = pipeline.check_of(folder, folder / "pieces", say)
        say("writing the report")
        pipeline.write_check(one, folder, folder / "pieces")
        checked[folder.name] = one
    found = pipeline.compare_of(checked, task.get("weights"))
    return {"lines": list(pipeline.comparison_lines(found)), "comparison": asdict(found)}


def _verify(task: Task, say: pipeline.Say) -> Task:
    say("reading every file")
    found = pipeline.verify_of(Path(task["folder"]) / "release" / task["release"])
    return {"count": found.count, "sha256": found.sha256, "differences": [one.text for one in found.differences]}


def _mate(task: Task, say: pipeline.Say) -> Task:
    folder = Path(task["folder"])
    pipeline.settle(folder, say)
    mated = pipeline.mate_of(folder, folder / "pieces", say)
    say("writing the match")
    pipeline.write_mate(mated, folder)
    return {"files": sorted(mated.files)}


def _measure_first(folder: Path, say: pipeline.Say) -> None:
    if not pipeline.settle(folder, say) and not (folder / "outline.json").exists():
        _measure({"folder": str(folder)}, say)


WORK: dict[str, Callable[[Task, pipeline.Say], Task]] = {
    "measure": _measure, "settle": _settle, "plate": _plate, "build": _build, "check": _check, "release": _release,
    "mate": _mate, "compare": _compare, "verify": _verify}
"""What can be asked for."""


if __name__ == "__main__":
    main()
