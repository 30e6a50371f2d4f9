"""Text in the order of its ink: letters that join are joined, words that run to the left run to the left.

On a page the browser does this; in a PDF the letters stand where they are put. Unicode's bidirectional algorithm
(UAX #9) is python-bidi's, the joining of Arabic letters arabic-reshaper's.
"""

import re
from functools import lru_cache

from arabic_reshaper import reshape
from bidi.algorithm import get_display

# Hebrew to Arabic Extended-A, and their presentation forms.
_LEFTWARDS = re.compile("[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufeff]")
_LETTER = re.compile(r"[^\W\d_]")


def runs_leftwards(text: str) -> bool:
    """Whether any letter of it belongs to a script that is written to the left."""
    return not text.isascii() and _LEFTWARDS.search(text) is not None


def joined(text: str) -> str:
    """Arabic letters in the forms that they take beside each other, still in the order of reading."""
    return str(reshape(text)) if runs_leftwards(text) else text


def direction(text: str) -> str:
    """ "R" or "L", by the first letter of a paragraph (UAX #9, P2 and P3)."""
    first = _LETTER.search(text)
    return "R" if first and _LEFTWARDS.match(first[0]) else "L"


def in_ink_order(line: str, base: str = "") -> str:
    """One line of joined text from left to right. base: the direction of its paragraph, its own where not given."""
    return str(get_display(line, base_dir=base or direction(line))) if runs_leftwards(line) else line


@lru_cache(maxsize=4096)
def set_for_ink(text: str) -> str:
    """A text that is not broken into lines, joined and in the order of its ink."""
    return in_ink_order(joined(text)) if runs_leftwards(text) else text
