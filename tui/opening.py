"""Opening a routine, or beginning one on a track: everything but the screen."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from composer.errors import ComposerError, RoutineFileError, TrackError
from composer.files.journal import journal_path, recover
from composer.files.keys_file import state_folder
from composer.files.move_library import load_library
from composer.files.routine_file import load_routine
from composer.files.routine_track import find_track
from composer.score.parts import performed_parts
from composer.score.routine import Routine
from composer.timing.grid import MusicGrid
from tui.desk import Desk, open_desk
from tui.work import Work, open_work


@dataclass(frozen=True, slots=True)
class Opened:
    """A routine ready to be worked on, and its music if it is there."""

    desk: Desk
    work: Work
    track: Path | None


def is_routine(path: Path) -> bool:
    """Whether a path is meant as a routine file: by its ending, or because nothing is there."""
    return path.suffix.lower() == ".toml" or not path.exists() or path.is_dir()


def open_routine(path: Path, journals: Path | None = None) -> Opened:
    """Open a routine file for editing.

    Raises
    ------
    ComposerError
        If the file cannot be read, its parts follow each other in a circle, or it is open in
        another editor.
    """
    journals = journals or state_folder() / "journals"
    never_saved = None if path.exists() else recover(journal_path(path, journals))
    routine = never_saved.routine if never_saved else load_routine(path)
    performed_parts(routine)
    library = load_library()
    work = open_work(path, journals)
    found = find_track(routine, path)
    if never_saved:
        work.notice = f"never saved so far, taken from its journal; ctrl+s writes {path}"
    work.notice = work.notice or found.notice
    return Opened(open_desk(routine, library, saved=never_saved is None), work, found.path)


def is_begun(path: Path, journals: Path | None = None) -> bool:
    """Whether a routine stands under a name, be it only in the journal of a killed program."""
    if path.exists():
        return True
    try:
        return recover(journal_path(path, journals or state_folder() / "journals")) is not None
    except RoutineFileError:
        return False


MUSIC_SUFFIXES = (".wav", ".flac", ".ogg", ".mp3", ".m4a", ".opus", ".aac", ".mid", ".midi")
MOST_LISTED = 200
LOOKED_AT_BYTES = 20_000


def openable(folder: Path) -> tuple[Path, ...]:
    """Routines and music in a folder, what was changed last first; none if it cannot be read."""
    found: list[tuple[float, Path]] = []
    try:
        for path in folder.iterdir():
            is_music = path.name.lower().endswith(MUSIC_SUFFIXES)
            if not path.name.startswith(".") and (is_music or _looks_like_routine(path)):
                found.append((path.stat().st_mtime, path))
    except OSError:
        return ()
    found.sort(key=lambda one: (-one[0], one[1].name))
    return tuple(path for _, path in found[:MOST_LISTED])


def _looks_like_routine(path: Path) -> bool:
    """Whether a TOML file is a routine's and not some other program's, by its beginning."""
    if path.suffix.lower() != ".toml":
        return False
    with path.open("rb") as stream:
        return b"[track]" in stream.read(LOOKED_AT_BYTES)


def place_for(track: Path) -> Path:
    """Where the routine of a track is written: beside it, or here if that cannot be."""
    import os

    beside = track.with_suffix(".toml")
    return beside if os.access(track.parent, os.W_OK) else Path(beside.name)


def begin_routine(
    routine: Routine, place: Path, track: Path, journals: Path | None = None
) -> Opened:
    """A new routine that is not in a file yet.

    Raises
    ------
    ComposerError
        If another editor has that file open.
    """
    work = open_work(place, journals or state_folder() / "journals")
    work.notice = work.notice or f"{heard_words(track)}M puts it right; B: your measures"
    return Opened(open_desk(routine, load_library(), saved=False), work, track)


def heard_words(track: Path) -> str:
    """``"heard 126.0 beats a minute; sure of beats and bars, not sure of phrases; "``."""
    from composer.commands.listen import sureness
    from composer.files.analysis_cache import stored_analysis
    from composer.files.music_file import content_hash

    analysis = stored_analysis(content_hash(track))
    if analysis is None:
        return ""
    confidence = analysis.confidence
    told = {
        "beats": sureness(confidence.beats),
        "bars": sureness(confidence.bars),
        "phrases": sureness(confidence.phrases),
    }
    words = [
        f"{how} of {' and '.join(what for what, other in told.items() if other == how)}"
        for how in dict.fromkeys(told.values())
    ]
    return f"heard {analysis.bpm:.1f} beats a minute, {', '.join(words)}; "


def analysed_routine(track: Path, place: Path, told: Callable[[float], None]) -> Routine:
    """An empty routine on the beats of a track; takes seconds, so it runs in another process.

    Raises
    ------
    TrackError
        If the file cannot be read or is not music.
    """
    from composer.commands.new import start_routine

    try:
        heard_grid(track, told)
        return start_routine(track, place, track.stem.replace("_", " "))
    except ComposerError as error:
        raise TrackError(str(error)) from None


def heard_grid(track: Path, told: Callable[[float], None]) -> tuple[MusicGrid, float]:
    """Beats, bars and phrases of a track and its length in seconds, by the present analysis.

    Its answer is kept, sound marks included; a track that is known so is not listened to again.

    Raises
    ------
    TrackError
        If the file cannot be read or is not music.
    """
    from composer.files.analysis_cache import analysis_of

    _, analysis = analysis_of(track, progress=told, samples=False)
    return analysis.grid, analysis.duration_s
