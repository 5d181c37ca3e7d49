"""What people write into files: words that must not steer what they are printed on, and mistakes
told in plain words with their place.
"""

import re
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pydantic import ValidationError

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


_OWN_WORDS = {
    "extra_forbidden": "this key is not known; check its spelling",
    "missing": "this must be given",
    "string_type": "write it in quotes",
    "list_type": "write a list, in [ ]",
    "tuple_type": "write a list, in [ ]",
    "dict_type": "write a table, in { }",
    "model_type": "write a table, in { }",
    "model_attributes_type": "write a table, in { }",
}


def first_problem(error: "ValidationError", rows: dict[str, Any]) -> str:
    """Where in the rows the first mistake stands, what it is, and how many more there are."""
    problems = error.errors(include_url=False)
    # A misspelt key is also a missing one: the misspelling is what to mend.
    problem = min(problems, key=lambda p: p["type"] != "extra_forbidden")
    more = error.error_count() - 1
    text = _OWN_WORDS.get(problem["type"], _plain_words(problem["msg"]))
    where = _place_words(problem["loc"], rows)
    return f"{where}: {text}" + (f" (and {more} more)" if more else "")


def _plain_words(message: str) -> str:
    """Pydantic's sentence without the words that only programmers know."""
    for theirs, ours in (("Value error, ", ""), (" after validation", "")):
        message = message.replace(theirs, ours)
    return re.sub(r"^(Input|String|List|Value) should", "this should", message)


def _place_words(location: tuple[int | str, ...], rows: object) -> str:
    """``("part", 0, "moves", 3, "beats")`` as ``part 1 (Wren), moves 4, beats``."""
    words: list[str] = []
    for step in location:
        if isinstance(step, int):
            rows = rows[step] if isinstance(rows, list) and step < len(rows) else None
            owner = rows.get("performer") or rows.get("name") if isinstance(rows, dict) else None
            name = CONTROL.sub(" ", owner) if isinstance(owner, str) else ""
            words[-1] += f" {step + 1}" + (f" ({name})" if name else "")
        elif isinstance(rows, dict) and step in rows:
            rows = rows[step]
            words.append(step)
        elif "[" not in step and step not in ("str", "float", "int", "list"):
            words.append(step)
    return ", ".join(words) or "at the top"
