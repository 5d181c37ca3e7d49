"""Routine files: TOML text in, Routine out, and back with the user's comments kept."""

from pathlib import Path
from typing import Any

from pydantic import ValidationError

from composer.errors import RoutineFileError
from composer.files.atomic import write_atomic
from composer.files.routine_rows import routine_of, rows_of
from composer.files.routine_schema import FORMAT, RoutineFile
from composer.files.text_file import file_text, toml_rows
from composer.moves.written import first_problem
from composer.score.routine import Routine
from composer.timing.beats import exact_beats

HEADER = """\
# A petalbar routine: moves placed on the beats of a track.
# Beats count from 0, the first downbeat, and are exact: "7/2" is three and a half.
# Comments and order are kept when petalbar saves.

"""
LARGEST_BYTES = 20_000_000


def load_routine(path: Path) -> Routine:
    """Read a routine file.

    Raises
    ------
    RoutineFileError
        One line: what is wrong, where in the file, what to do.
    """
    return routine_from_text(read_text(path), str(path))


def read_text(path: Path) -> str:
    """The text of a routine file, with one clear error for whatever stands in the way."""
    try:
        return file_text(path, "routine file", LARGEST_BYTES, RoutineFileError)
    except FileNotFoundError:
        raise RoutineFileError(
            f'{path} is not there; check the name, or make one with "petalbar new TRACK"'
        ) from None


def routine_from_text(text: str, source: str) -> Routine:
    """A routine from TOML text; ``source`` names it in errors."""
    return routine_of(_validated(toml_rows(text, source, RoutineFileError), source), source)


def routine_to_text(routine: Routine, old_text: str | None = None) -> str:
    """TOML text of a routine; with the old text given, its comments and order are kept."""
    import tomlkit

    wanted = rows_of(routine)
    if old_text is None:
        document = tomlkit.parse(HEADER)
        _merge_table(document, wanted, {})
    else:
        document = tomlkit.parse(old_text)
        _merge_table(document, wanted, rows_of(routine_from_text(old_text, "the old file")))
    return tomlkit.dumps(document)


def save_routine(routine: Routine, path: Path, *, overwrite: bool = True) -> None:
    """Write a routine file atomically, keeping the comments of the file that stands there.

    Raises
    ------
    RoutineFileError
        If the file exists and may not be overwritten, cannot be written, or could not be read
        again, as with a name of over 200 letters.
    """
    old_text = None
    if path.exists():
        if not overwrite:
            raise RoutineFileError(f"{path} exists already; choose another name")
        old_text = read_text(path)
    text = routine_to_text(routine, old_text)
    routine_from_text(text, str(path))  # nothing is saved that could not be opened again
    try:
        write_atomic(path, text.encode("utf-8"))
    except OSError as error:
        raise RoutineFileError(
            f"{path} cannot be written: {error.strerror}; choose another place"
        ) from None


def _validated(rows: dict[str, Any], source: str) -> RoutineFile:
    version = rows.get("format")
    if version is None:
        raise RoutineFileError(f'{source} has no "format = {FORMAT}" line; is it a routine file?')
    if version != FORMAT:
        raise RoutineFileError(
            f"{source} is of format {version!r}, this petalbar reads {FORMAT}; update petalbar"
        )
    try:
        return RoutineFile.model_validate(rows)
    except ValidationError as error:
        raise RoutineFileError(f"{source}, {first_problem(error, rows)}") from None


# ------------------------------------------------------------------ keeping comments


def _merge_table(table: Any, wanted: dict[str, Any], old: dict[str, Any] | None) -> None:
    """Make a TOML table say what is wanted, touching only what differs from the old values.

    ``old`` holds the values the table stood for; a key that is not among them was written out
    by the user though it is usual, and stays.
    """
    import tomlkit

    meant = _bare(table) if old is None else old
    for key in [key for key in table if key not in wanted and key in meant]:
        del table[key]
    for key, value in wanted.items():
        if key not in table:
            table[key] = _new_item(key, value)
        elif key in meant and meant[key] == value:
            continue
        elif isinstance(value, dict) and isinstance(table[key], dict):
            _merge_table(table[key], value, None if old is None else old.get(key, {}))
        elif isinstance(value, list) and isinstance(table[key], list):
            _merge_rows(key, table[key], value, None if old is None else old.get(key))
        else:
            table[key] = tomlkit.item(value)


def _merge_rows(key: str, array: Any, wanted: list[Any], old: list[Any] | None) -> None:
    """Make an array hold the wanted rows; unchanged rows keep their lines and comments."""
    meant = old if old is not None and _same_order(array, old) else [_bare(row) for row in array]
    from difflib import SequenceMatcher

    matcher = SequenceMatcher(a=[repr(row) for row in meant], b=[repr(row) for row in wanted])
    for action, a0, a1, b0, b1 in reversed(matcher.get_opcodes()):
        if action == "equal":
            continue
        shared = min(a1 - a0, b1 - b0)
        for index in reversed(range(a0 + shared, a1)):
            del array[index]
        for index in range(b0 + shared, b1):
            array.insert(a0 + index - b0, _new_row(key, wanted[index]))
        for step in range(shared):
            row, value = array[a0 + step], wanted[b0 + step]
            if isinstance(value, dict) and isinstance(row, dict):
                _merge_table(row, value, meant[a0 + step])
            else:
                array[a0 + step] = value


def _same_order(array: Any, old: list[Any]) -> bool:
    """Whether the rows in the file stand in the order of the values they became."""
    return len(array) == len(old) and all(
        not isinstance(row, dict) or exact_beats(row["at"]) == exact_beats(value["at"])
        for row, value in zip(array, old, strict=True)
        if isinstance(value, dict) and "at" in value
    )


def _bare(item: Any) -> Any:
    """A tomlkit item as plain Python values."""
    return item.unwrap() if hasattr(item, "unwrap") else item


TABLE_LISTS = ("performer", "part")
"""Lists written as [[tables]]; every other list of rows is written inline, a row a line."""
INLINE_TABLES = ("right_prop", "left_prop", "limits", "comfort", "cut")


def _new_item(key: str, value: Any) -> Any:
    import tomlkit

    if isinstance(value, dict):
        table: Any = tomlkit.inline_table() if key in INLINE_TABLES else tomlkit.table()
        _merge_table(table, value, {})
        return table
    if isinstance(value, list) and value and isinstance(value[0], dict):
        rows: Any = tomlkit.aot() if key in TABLE_LISTS else tomlkit.array()
        for row in value:
            rows.append(_new_row(key, row))
        return rows if key in TABLE_LISTS else rows.multiline(True)
    return tomlkit.item(value)


def _new_row(key: str, row: Any) -> Any:
    import tomlkit

    if not isinstance(row, dict):
        return row
    table: Any = tomlkit.table() if key in TABLE_LISTS else tomlkit.inline_table()
    _merge_table(table, row, {})
    return table
