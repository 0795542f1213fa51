"""Text that others typed, made safe to stand in Markdown: none of its signs is read as markup or as HTML."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re


def plain(text: str) -> str:
    """The text on one line, with a backslash before each sign that Markdown would read (CommonMark 0.31, backslash escapes)."""
    return re.sub(r"([\\`*_{}\[\]<>#|~&!])", r"\\\1", " ".join(text.split()))
