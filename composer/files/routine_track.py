"""The track of a routine: where it is now, and whether it is still the same music."""

from dataclasses import dataclass
from pathlib import Path

from composer.errors import TrackError
from composer.files.music_file import check_music_file, content_hash
from composer.score.routine import Routine


@dataclass(frozen=True, slots=True)
class FoundTrack:
    """The routine's music file, and one line for the user when something is not as it was."""

    path: Path | None
    """None when the file is gone or cannot be read."""
    notice: str = ""
    trouble: str = ""
    """What is wrong with the file, where there is no path."""


def find_track(routine: Routine, routine_path: Path) -> FoundTrack:
    """Look for the track beside the routine file. A routine goes on with its stored grid anyway."""
    path = routine_path.parent / routine.track.file
    try:
        check_music_file(path)
        same = not routine.track.sha256 or content_hash(path) == routine.track.sha256
    except TrackError as error:
        going_on = f"{error}; going on with the beats stored in {routine_path}, without sound"
        return FoundTrack(None, going_on, str(error))
    if same:
        return FoundTrack(path)
    return FoundTrack(
        path,
        f"{path} is not the music this routine was made on; going on with the stored beats: "
        f'check that they still fit, or listen again with "petalbar relisten {routine_path}"',
    )
