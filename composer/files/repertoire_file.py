"""The repertoire file beside a routine: which moves each performer has, and how firmly.

format = 1

[[performer]]
name = "Wren"
moves = [
    {move = "mirrored diamonds", firmness = "ready for the stage"},
]
transitions = [
    {from = "static spin", to = "mirrored diamonds", firmness = "learning"},
]
"""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationError

from composer.errors import RoutineFileError, UnknownName
from composer.files.atomic import write_atomic
from composer.files.routine_schema import Name, Row
from composer.files.text_file import file_text, toml_rows
from composer.moves.library import Library
from composer.moves.written import first_problem
from composer.score.repertoire import Firmness, Repertoire, firmness_from_text

LARGEST_BYTES = 2_000_000
HEADER = """\
# What each performer has: learning, reliable or ready for the stage.

format = 1
"""


def repertoire_path(routine_path: Path) -> Path:
    """``show.toml`` has its repertoire in ``show.repertoire.toml``."""
    return routine_path.with_suffix(".repertoire.toml")


def _firmness(value: object) -> Firmness:
    if isinstance(value, Firmness):
        return value
    return firmness_from_text(str(value))


Firm = Annotated[Firmness, BeforeValidator(_firmness)]


class MoveHadRow(Row):
    move: Name
    firmness: Firm


class TransitionHadRow(Row):
    from_move: Annotated[Name, Field(alias="from")]
    to: Name
    firmness: Firm


class PerformerRow(Row):
    name: Name
    moves: tuple[MoveHadRow, ...] = ()
    transitions: tuple[TransitionHadRow, ...] = ()


class RepertoireFile(Row):
    """The whole file."""

    format: Literal[1]
    performer: tuple[PerformerRow, ...] = ()


def load_repertoires(path: Path, library: Library) -> Mapping[str, Repertoire]:
    """Every performer's repertoire by her name; none where there is no file.

    Moves may be called by any of their names.

    Raises
    ------
    RoutineFileError
        One line: what is wrong, where in the file, what to do.
    """
    text = _text(path)
    return {} if text is None else repertoires_from_text(text, str(path), library)


def repertoires_from_text(text: str, source: str, library: Library) -> dict[str, Repertoire]:
    """Repertoires from TOML text; ``source`` names it in errors."""
    rows = toml_rows(text, source, RoutineFileError)
    try:
        file = RepertoireFile.model_validate(rows)
    except ValidationError as error:
        raise RoutineFileError(f"{source}, {first_problem(error, rows)}") from None
    found: dict[str, Repertoire] = {}
    for row in file.performer:
        if row.name in found:
            raise RoutineFileError(f"{source}: {row.name} stands there twice; join the two")
        found[row.name] = _repertoire(row, source, library)
    return found


def _repertoire(row: PerformerRow, source: str, library: Library) -> Repertoire:
    def called(name: str) -> str:
        try:
            return library.get(name).name
        except UnknownName as error:
            raise RoutineFileError(f"{source}, {row.name}: {error}") from None

    return Repertoire(
        row.name,
        {called(one.move): one.firmness for one in row.moves},
        {(called(one.from_move), called(one.to)): one.firmness for one in row.transitions},
    )


def _text(path: Path) -> str | None:
    try:
        return file_text(path, "repertoire", LARGEST_BYTES, RoutineFileError)
    except FileNotFoundError:
        return None


# ------------------------------------------------------------------ saving


def save_repertoires(repertoires: Iterable[Repertoire], path: Path) -> None:
    """Write these performers' repertoires, keeping comments and whoever else stands in the file.

    Raises
    ------
    RoutineFileError
        If the file cannot be read or written.
    """
    text = repertoires_to_text(repertoires, _text(path))
    try:
        write_atomic(path, text.encode("utf-8"))
    except OSError as error:
        raise RoutineFileError(
            f"{path} cannot be written: {error.strerror}; choose another place"
        ) from None


def repertoires_to_text(repertoires: Iterable[Repertoire], old_text: str | None = None) -> str:
    """TOML text; rows that say the same as before keep their lines and comments."""
    import tomlkit

    document = tomlkit.parse(HEADER if old_text is None else old_text)
    tables: Any = document.setdefault("performer", tomlkit.aot())
    for repertoire in repertoires:
        table = next((one for one in tables if one["name"] == repertoire.performer), None)
        if table is None:
            table = tomlkit.table()
            table["name"] = repertoire.performer
            tables.append(table)
        _put_rows(table, "moves", _move_rows(repertoire))
        _put_rows(table, "transitions", _transition_rows(repertoire))
    return tomlkit.dumps(document)


def _move_rows(repertoire: Repertoire) -> list[dict[str, str]]:
    return [{"move": name, "firmness": str(told)} for name, told in repertoire.moves.items()]


def _transition_rows(repertoire: Repertoire) -> list[dict[str, str]]:
    return [
        {"from": pair[0], "to": pair[1], "firmness": str(told)}
        for pair, told in repertoire.transitions.items()
    ]


def _put_rows(table: Any, key: str, wanted: list[dict[str, str]]) -> None:
    """Make an array of rows say what is wanted, row by row, leaving alone what it says already."""
    import tomlkit

    if key not in table:
        if not wanted:
            return
        table[key] = tomlkit.array().multiline(True)
    array = table[key]
    left = list(wanted)
    for index in reversed(range(len(array))):
        row = array[index]
        match = next((one for one in left if _subject(one) == _subject(row)), None)
        if match is None:
            del array[index]
            continue
        left.remove(match)
        if row["firmness"] != match["firmness"]:
            row["firmness"] = match["firmness"]
    for one in left:
        fresh = tomlkit.inline_table()
        fresh.update(one)
        array.append(fresh)


def _subject(row: Mapping[str, object]) -> tuple[object, ...]:
    """What a row is about, whatever it says of it."""
    return row.get("move"), row.get("from"), row.get("to")
