"""Making an export: a plain function, for a process of its own."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from composer.export.choice import Choice
from composer.export.kinds import Wishes
from composer.score.routine import Routine


def make_export(
    routine: Routine,
    routine_path: Path,
    kind_name: str,
    choice: Choice,
    wishes: Wishes,
    target: Path,
    told: Callable[[float], None],
) -> int:
    """Write an export, whole or not at all; gives its size in bytes.

    Raises
    ------
    ComposerError
        If it cannot be made or written.
    """
    from composer.commands.export import gather
    from composer.commands.writing import write_export
    from composer.export.kinds import kind_named

    kind = kind_named(kind_name, target.name)
    wished = replace(wishes, told=told)
    data = kind.make(gather(routine, routine_path, kind, choice, wished, target))
    write_export(target, data)
    return len(data)
