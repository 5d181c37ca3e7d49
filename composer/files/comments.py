"""Comments of two versions of a TOML file brought together, each where it belongs.

A comment belongs to what follows it, or to what stands before it on its line: a table, a key, or a
row of an array known by whose it is and when. What has lost its place goes to the end of the file.
"""

import re
import tomllib
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

Anchor: TypeAlias = tuple[str, ...]
State: TypeAlias = Literal["", '"', "'", '"""', "'''"]
"""Inside which quotes a place of the text is."""


@dataclass(frozen=True, slots=True)
class SourceLine:
    """A line of a file: what it says, and the comment at its end."""

    number: int
    """From 1."""
    content: str
    """Without the comment and the blanks after it."""
    comment: str
    """With its ``#``; empty if there is none."""
    anchors: tuple[Anchor, ...] = ()
    """By what the line is known, the surest first; none for blank lines and lone comments."""

    @property
    def is_comment(self) -> bool:
        return bool(self.comment) and not self.content.strip()


@dataclass(frozen=True, slots=True)
class Comment:
    """A comment and where it belongs."""

    text: str
    line: int
    anchors: tuple[Anchor, ...]
    before: bool
    """Whether it stands on a line of its own, before what it belongs to."""


@dataclass(frozen=True, slots=True)
class Gathered:
    """A text with the comments of both versions; ``homeless`` went to its end."""

    text: str
    homeless: tuple[Comment, ...]


def gather_comments(merged: str, base: str, one: str, other: str, title: str) -> Gathered:
    """The merged text with every comment that either version has since the base.

    Parameters
    ----------
    merged : str
        What both versions come to, written on the file ``one``: it has most of her comments.
    title : str
        Of the lines at the end for comments whose place is gone.
    """
    old, mine, hers = (comments_of(text) for text in (base, one, other))
    taken_out = _texts(old) - _texts(hers)
    wanted = [*_without(mine, taken_out), *_without(hers, _texts(old) | _texts(mine))]
    lines = list(source_lines(merged))
    have = Counter(line.comment for line in lines if line.comment)
    for text, count in (have - _texts(wanted)).items():
        for _ in range(count):
            _take_out(lines, text)
    homeless = []
    for comment in _without(wanted, have & _texts(wanted)):
        if not _put_in(lines, comment):
            homeless.append(comment)
    if homeless:
        written = [title, *(comment.text for comment in homeless)]
        lines += [SourceLine(0, "", text) for text in ("", *written)]
    return Gathered("".join(f"{_written(line)}\n" for line in lines), tuple(homeless))


def _texts(comments: Sequence[Comment]) -> Counter[str]:
    return Counter(comment.text for comment in comments)


def _without(comments: Sequence[Comment], known: Counter[str]) -> list[Comment]:
    """The comments without so many of each text: those in front go first."""
    left, found = Counter(known), []
    for comment in comments:
        if left[comment.text] > 0:
            left[comment.text] -= 1
        else:
            found.append(comment)
    return found


def _written(line: SourceLine) -> str:
    if not line.comment:
        return line.content
    return f"{line.content}  {line.comment}" if line.content.strip() else _own_line(line)


def _own_line(line: SourceLine) -> str:
    return f"{line.content}{line.comment}"


def _take_out(lines: list[SourceLine], text: str) -> None:
    """Remove the last comment of that text."""
    index = max(k for k, line in enumerate(lines) if line.comment == text)
    if lines[index].is_comment:
        del lines[index]
    else:
        lines[index] = replace(lines[index], comment="")


def _put_in(lines: list[SourceLine], comment: Comment) -> bool:
    """Write a comment where it belongs; False if that place is nowhere."""
    for anchor in comment.anchors:
        for index, line in enumerate(lines):
            if anchor in line.anchors:
                if comment.before or line.comment:
                    indent = re.match(r"\s*", line.content)
                    blanks = indent.group() if indent else ""
                    lines.insert(index, SourceLine(0, blanks, comment.text))
                else:
                    lines[index] = replace(line, comment=comment.text)
                return True
    return False


# ------------------------------------------------------------------ reading a text


def comments_of(text: str) -> list[Comment]:
    """Every comment in the order of the file."""
    lines = list(source_lines(text))
    found = []
    for index, line in enumerate(lines):
        if not line.comment:
            continue
        if line.is_comment:
            after = next((later for later in lines[index:] if later.anchors), None)
            anchors = after.anchors if after is not None else (("end",),)
        else:
            anchors = line.anchors
        found.append(Comment(line.comment, line.number, anchors, line.is_comment))
    return found


def source_lines(text: str) -> Iterator[SourceLine]:
    """The lines of a TOML text with what each is known by."""
    state: State = ""
    table, array = "", ""
    names = _table_names(text)
    for number, raw in enumerate(text.splitlines(), 1):
        inside = state
        content, comment, state = _split(raw, state)
        stripped = content.strip()
        if inside or not stripped:
            yield SourceLine(number, content, comment)
            continue
        if not array and stripped.startswith("["):
            table = names.get(number, stripped)
            yield SourceLine(number, content, comment, ((table,),))
        elif array:
            anchors = _row_anchors(table, array, stripped)
            yield SourceLine(number, content, comment, anchors)
            array = "" if stripped == "]" else array
        else:
            key = stripped.partition("=")[0].strip()
            array = key if stripped.endswith("[") else ""
            yield SourceLine(number, content, comment, ((table, key),))


def _table_names(text: str) -> dict[int, str]:
    """For the line of each [[header]]: the header with whose table it is."""
    found: dict[int, str] = {}
    header, at = "", 0
    for number, raw in enumerate(text.splitlines(), 1):
        stripped = raw.strip()
        if stripped.startswith("[["):
            header, at = stripped.partition("#")[0].strip(), number
        elif header and (match := re.match(r'(?:name|performer)\s*=\s*(".*?"|\'.*?\')', stripped)):
            found.setdefault(at, f"{header} {match.group(1)[1:-1]}")
            header = ""
    return found


WHO_AND_WHEN = ("performer", "at", "beat", "hand", "name", "kind")
"""Values that tell a row from its neighbours, also after others of it were changed."""


def _row_anchors(table: str, array: str, row: str) -> tuple[Anchor, ...]:
    try:
        values = tomllib.loads(f"row = {row.rstrip(',')}")["row"]
    except tomllib.TOMLDecodeError:
        values = row
    if not isinstance(values, dict):
        return ((table, array, str(values)),)
    whole = sorted(f"{key} = {value}" for key, value in values.items())
    known = [f"{key} = {values[key]}" for key in WHO_AND_WHEN if key in values]
    return (table, array, *whole), (table, array, "of", *known)


def _split(raw: str, state: State) -> tuple[str, str, State]:
    """Content and comment of a line, and inside which quotes it ends."""
    at = 0
    while at < len(raw):
        here = raw[at:]
        if not state:
            if here.startswith("#"):
                return raw[:at].rstrip() if raw[:at].strip() else raw[:at], here.rstrip(), ""
            opened = next((q for q in ('"""', "'''", '"', "'") if here.startswith(q)), "")
            state = opened  # type: ignore[assignment]
            at += max(1, len(opened))
        elif state.startswith('"') and here.startswith("\\"):
            at += 2
        elif here.startswith(state):
            at += len(state)
            state = ""
        else:
            at += 1
    return raw, "", state if len(state) == 3 else ""
