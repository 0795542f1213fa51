"""The table about the folder that is given to others.

Keys are named as the fields of their noun in model/release.py.  The licence is the maker's own choice: none is filled in.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from typing import Literal

from afterpart.job.typed import Keys, defaults_of
from afterpart.model.release import ReleaseWish

Page = Literal["A4", "A3", "letter"]
Units = Literal["mm", "inch"]

_wish = defaults_of(ReleaseWish)


class ReleaseKeys(Keys):
    """`[release]`."""

    licence: str = _wish("licence", "under which others may use the folder, in your words, for example CC BY 4.0; left out: the "
                         "folder says that none is chosen", max_length=200)
    author: str = _wish("author", "named on the drawing and in the folder's README; left out: nobody", max_length=100)
    page: Page = _wish("page", "paper of drawing and inspection sheet: A4, A3 or letter")
    reports: str = _wish("reports", "where others send what they found: an address, in words", max_length=200)
    units: Units = _wish("units", "of the lengths on drawing, inspection sheet, parts list and guide: mm or inch; the files "
                         "of the pieces and the DXF stay mm")
    language: str = _wish("language", "of the papers: en, or the name of a folder of word files in words/ beside this file",
                          max_length=20, pattern=r"^[A-Za-z0-9][A-Za-z0-9-]*$")
