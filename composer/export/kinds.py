"""Everything that can be taken out of a routine, by name: for the command line and the UI alike."""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from composer.check.findings import Finding
from composer.errors import ExportError
from composer.export.choice import WHOLE, Choice, chosen_names, sounding_s
from composer.export.practice import Practice, practice_words
from composer.export.sheet import PAGES, Page, Paper
from composer.moves.library import Library
from composer.score.routine import Routine


@dataclass(frozen=True)
class Sound:
    """The decoded track."""

    samples: NDArray[np.float32]
    """(n, channels), full scale 1."""
    sample_rate_hz: int

    @property
    def duration_s(self) -> float:
        return len(self.samples) / self.sample_rate_hz


@dataclass(frozen=True, slots=True)
class Wishes:
    """How an export is wanted; each kind heeds those that concern it."""

    paper: Paper = "a4"
    pages: tuple[Page, ...] = PAGES
    practice: Practice = field(default_factory=Practice)
    told: Callable[[float], None] | None = None
    """Is told what share of a long job is done."""


@dataclass(frozen=True)
class Material:
    """What exports are made of."""

    routine: Routine
    library: Library
    findings: tuple[Finding, ...] = ()
    sound: Sound | None = None
    no_sound: str = "the music is not there"
    """Why there is no sound, where there is none."""
    choice: Choice = WHOLE
    wishes: Wishes = field(default_factory=Wishes)
    suffix: str = ""
    """Ending of the file's name, with its dot, where one kind can be written in several formats."""

    def the_sound(self) -> Sound:
        """The decoded track.

        Raises
        ------
        ExportError
            If there is none.
        """
        if self.sound is None:
            raise ExportError(f"{self.no_sound}: put it back, as this is made of the sound itself")
        return self.sound


@dataclass(frozen=True, slots=True)
class Kind:
    """One way out."""

    words: str
    suffixes: tuple[str, ...]
    """Endings of file names, the usual one first."""
    make: Callable[[Material], bytes]
    needs_sound: bool = False
    needs_findings: bool = False
    called: str = ""
    """In the usual name, so that it is not taken for the music itself."""


def _midi(material: Material) -> bytes:
    from composer.export.midi import midi_bytes

    return midi_bytes(
        material.routine,
        material.choice,
        clicks=material.wishes.practice.clicks,
        library=material.library,
    )


def _captions(material: Material) -> bytes:
    from composer.export.captions import call_captions

    return call_captions(material.routine, material.choice).encode()


def _chapters(material: Material) -> bytes:
    from composer.export.captions import chapters

    return chapters(material.routine, material.choice).encode()


def _csv(material: Material) -> bytes:
    from composer.export.table import cue_csv

    return cue_csv(material.routine, material.choice).encode()


def _json(material: Material) -> bytes:
    from composer.export.report import report_json

    return report_json(
        material.routine, material.library, material.findings, material.choice
    ).encode()


def _pdf(material: Material) -> bytes:
    from composer.export.sheet import sheet_pdf

    wishes = material.wishes
    return sheet_pdf(
        material.routine,
        material.library,
        material.findings,
        material.choice,
        paper=wishes.paper,
        pages=wishes.pages,
    )


def _floor(material: Material) -> bytes:
    from composer.export.floor_sheet import chosen_times, floor_picture
    from composer.export.picture_png import picture_png
    from composer.export.picture_svg import picture_svg

    routine, choice = material.routine, material.choice
    if not routine.spots:
        raise ExportError("nobody has a spot on the floor yet; petalbar form sets all at once")
    picture = floor_picture(routine, chosen_times(routine, choice), choice.view)
    return picture_png(picture) if material.suffix == ".png" else picture_svg(picture).encode()


def _html(material: Material) -> bytes:
    from composer.export.page import rehearsal_page

    sound = material.the_sound()
    return rehearsal_page(
        material.routine, material.library, sound.samples, sound.sample_rate_hz, material.choice
    ).encode()


def _stage_audio(material: Material) -> bytes:
    from composer.export.encode import encoded

    sound = material.the_sound()
    start_s, end_s = sounding_s(material.routine, material.choice, sound.duration_s)
    first, last = (round(time_s * sound.sample_rate_hz) for time_s in (start_s, end_s))
    tags = _tags(material, "music for the stage")
    return encoded(sound.samples[first:last], sound.sample_rate_hz, material.suffix, tags=tags)


def _practice_audio(material: Material) -> bytes:
    from composer.export.encode import encoded
    from composer.export.practice import practice_sound

    sound, practice = material.the_sound(), material.wishes.practice
    samples = practice_sound(
        material.routine, sound.samples, sound.sample_rate_hz, material.choice, practice
    )
    tags = _tags(material, practice_words(practice))
    return encoded(samples, sound.sample_rate_hz, material.suffix, tags=tags)


def _animation(material: Material) -> bytes:
    from composer.export.animation import gif_bytes, mp4_bytes

    if material.suffix == ".gif":
        return gif_bytes(material.routine, material.library, material.choice)
    sound = material.the_sound()
    return mp4_bytes(
        material.routine,
        material.library,
        sound.samples,
        sound.sample_rate_hz,
        material.choice,
        told=material.wishes.told,
    )


def _tags(material: Material, comment: str) -> dict[str, str]:
    routine = material.routine
    tags = {
        "title": routine.title,
        "artist": ", ".join(chosen_names(routine, material.choice)),
        "comment": comment,
    }
    if routine.performance_date is not None:
        tags["date"] = routine.performance_date.isoformat()
    return tags


KINDS: dict[str, Kind] = {
    "midi": Kind("tempo map, markers, calls, clicks and downbeats", (".mid", ".midi"), _midi),
    "webvtt": Kind("the calls as captions", (".vtt",), _captions),
    "chapters": Kind("the phrases as WebVTT chapters", (".chapters.vtt",), _chapters),
    "csv": Kind("the cue list for a spreadsheet", (".csv",), _csv),
    "json": Kind("everything computed, for programs", (".json",), _json, needs_findings=True),
    "pdf": Kind("overview, floor plans, count sheets, cues", (".pdf",), _pdf, needs_findings=True),
    "html": Kind("a page to rehearse with on a phone", (".html",), _html, needs_sound=True),
    "floor": Kind("floor plans: spots, ways, reach circles", (".svg", ".png"), _floor),
    "stage-audio": Kind(
        "the music as it is played on stage, at full quality",
        (".wav", ".flac", ".ogg", ".m4a", ".mp3"),
        _stage_audio,
        needs_sound=True,
        called="stage",
    ),
    "practice-audio": Kind(
        "the music to practise to, with clicks and calls",
        (".flac", ".wav", ".ogg", ".m4a", ".mp3"),
        _practice_audio,
        needs_sound=True,
        called="practice",
    ),
    "animation": Kind(
        "stick performers in motion, with the music", (".mp4", ".gif"), _animation, needs_sound=True
    ),
}


def kind_named(name: str, file_name: str) -> Kind:
    """The kind of that name; with no name, the one whose files end so.

    Raises
    ------
    ExportError
        If there is no such kind, or the ending is not one that it is written in.
    """
    if name:
        kind = KINDS[name]
        endings = [ending[ending.rindex(".") :] for ending in kind.suffixes]
        if not file_name.lower().endswith(tuple(endings)):
            known = ", ".join(endings)
            raise ExportError(f"{name} is written as {known}; {file_name} ends otherwise")
        return kind
    fitting = {
        ending: [n for n, kind in KINDS.items() if ending in kind.suffixes]
        for kind in KINDS.values()
        for ending in kind.suffixes
        if file_name.lower().endswith(ending)
    }
    if not fitting:
        known = ", ".join(KINDS)
        raise ExportError(f"{file_name} does not tell what to export; say --as {known}")
    names = fitting[max(fitting, key=len)]
    if len(names) > 1:
        raise ExportError(f"{file_name} could be {' or '.join(names)}; say which with --as")
    return KINDS[names[0]]
