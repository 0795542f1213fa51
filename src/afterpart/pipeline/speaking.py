"""The language of a job's papers: the folder of its word files, found by the name that the job gives it.

Words: a *language* is a folder with the same files as `release/words`, each with what it has in that language.  It lies beside
the job file in `words/NAME`, or, shipped, in `release/words/NAME`; "en" is the English that stands in the program itself.
Limits: what a job does not make for others (complaints, the command line, the page) is English; a comparison is too.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from afterpart.errors import JobError
from afterpart.model.job import Job
from afterpart.pipeline.folder import Say
from afterpart.release.words import ENGLISH, lacking, shipped
from afterpart.words import speaking


@contextmanager
def in_language(job: Job | None, folder: Path, say: Say) -> Iterator[None]:
    """Make what is made inside in the language of the job in `folder`, and say how much of it is not translated.

    JobError naming release.language: there are no such word files."""
    words = None if job is None else words_of(job, folder)
    if words is not None:
        try:
            count = len(lacking(words))
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
            raise JobError(f"release.language: found a word file in {words} that cannot be read ({error}), expected TOML in "
                           "UTF-8. Correct it there.") from error
        if count:
            say(f"{count} texts of the language {words.name} are missing or have other gaps than the English: they stay English")
    with speaking(words):
        yield


def words_of(job: Job, folder: Path) -> Path | None:
    """The folder of the word files of the job in `folder`; None for English.  JobError naming release.language: none is there."""
    name = job.release.language
    if name == ENGLISH:
        return None
    own = folder / "words" / name
    found = own if own.is_dir() else shipped(name)
    if found is None:
        raise JobError(f"release.language: found {name!r}, expected {ENGLISH!r} or the name of a folder of word files in "
                       f"{folder / 'words'}. Copy the files of release/words there and translate them.")
    return found
