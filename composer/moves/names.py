"""Words that people write into files: printed on terminals, sheets and desks, they must not steer
them.
"""

import re

CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029]")
"""Control characters of Unicode (category Cc) and its two separators of lines."""


def one_line(text: str) -> str:
    """The text itself.

    Raises
    ------
    ValueError
        If it breaks a line or holds a control character.
    """
    if CONTROL.search(text):
        raise ValueError("write it in one line, without control characters")
    return text


def lines(text: str) -> str:
    """The text itself, of several lines if need be.

    Raises
    ------
    ValueError
        If it holds a control character other than a tab or the end of a line.
    """
    one_line(re.sub("[\t\n\r]", "", text))
    return text
