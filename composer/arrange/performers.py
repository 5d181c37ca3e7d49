"""Edits of who performs: a performer's name, body and props; who comes in and who goes."""

from dataclasses import replace

from composer.errors import ComposerError
from composer.score.routine import Performer, Routine

MOST_PERFORMERS = 12
LONGEST_NAME = 40
"""Longer ones leave no room on sheets and screens."""


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


def brought_in(routine: Routine, name: str, like: str) -> Routine:
    """Another performer with the measures and props of one who is there, and an empty part.

    Raises
    ------
    ComposerError
        If the name is no name or taken, or the piece is full.
    """
    if len(routine.performers) >= MOST_PERFORMERS:
        raise ComposerError(f"a piece has at most {MOST_PERFORMERS} performers")
    new = replace(routine.performer(like), name=_new_name(routine, name))
    return replace(routine, performers=(*routine.performers, new))


def taken_out(routine: Routine, name: str) -> Routine:
    """The piece without one performer, her part, her spots and her cues.

    Raises
    ------
    ComposerError
        If she is the only one, or others follow her.
    """
    if len(routine.performers) == 1:
        raise ComposerError(f"{name} is the only performer; a piece needs one")
    followers = [
        part.performer
        for part in routine.parts
        if part.performer != name and any(one.performer == name for one in part.following)
    ]
    if followers:
        raise ComposerError(
            f"{' and '.join(followers)} follow{'s' if len(followers) == 1 else ''} {name}; make "
            "that their own, or let them follow somebody else first"
        )
    return replace(
        routine,
        performers=tuple(one for one in routine.performers if one.name != name),
        parts=tuple(part for part in routine.parts if part.performer != name),
        spots=tuple(spot for spot in routine.spots if spot.performer != name),
        notes=tuple(note for note in routine.notes if note.performer != name),
    )


def _new_name(routine: Routine, name: str) -> str:
    bare = " ".join(name.split())
    if not bare or len(bare) > LONGEST_NAME or not bare.isprintable():
        raise ComposerError(f"a performer has a name of 1 to {LONGEST_NAME} letters")
    if bare in {performer.name for performer in routine.performers}:
        raise ComposerError(f"{bare} is in the piece already")
    return bare
