"""Edits of who performs: a performer's name, body and props."""

from dataclasses import replace

from composer.errors import ComposerError
from composer.score.routine import Performer, Routine


def change_performer(routine: Routine, name: str, new: Performer) -> Routine:
    """Another name, body or props for a performer; everything that names her follows.

    Raises
    ------
    UnknownName
        If there is no performer of that name.
    ComposerError
        If another performer has the new name.
    """
    routine.performer(name)
    if new.name != name and new.name in {one.name for one in routine.performers}:
        raise ComposerError(f'there is a performer called "{new.name}" already; choose another')

    def called(old: str) -> str:
        return new.name if old == name else old

    parts = tuple(
        replace(
            part,
            performer=called(part.performer),
            following=tuple(
                replace(one, performer=called(one.performer)) for one in part.following
            ),
        )
        for part in routine.parts
    )
    return replace(
        routine,
        performers=tuple(new if one.name == name else one for one in routine.performers),
        parts=parts,
        spots=tuple(replace(one, performer=called(one.performer)) for one in routine.spots),
        notes=tuple(replace(one, performer=called(one.performer)) for one in routine.notes),
    )
