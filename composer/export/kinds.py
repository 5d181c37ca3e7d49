"""Everything that can be taken out of a routine, by name: for the command line and the UI alike."""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from composer.check.findings import Finding
from composer.errors import ExportError
from composer.export.choice import WHOLE, Choice
from composer.moves.library import Library
from composer.score.routine import Routine


@dataclass(frozen=True)
class Sound:
    """The decoded track."""

    samples: NDArray[np.float32]
    """(n, channels), full scale 1."""
    sample_rate_hz: int


@dataclass(frozen=True, slots=True)
class Wishes:
    """How an export is wanted; each kind heeds those that concern it."""

    paper: str = "a4"
    clicks: bool = True


@dataclass(frozen=True)
class Material:
    """What exports are made of."""

    routine: Routine
    library: Library
    findings: tuple[Finding, ...] = ()
    sound: Sound | None = None
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
            raise ExportError(
                f"the music {self.routine.track.file} is not there, and this needs its sound; "
                "put it back beside the routine file"
            )
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


def _midi(material: Material) -> bytes:
    from composer.export.midi import midi_bytes

    return midi_bytes(
        material.routine,
        material.choice,
        clicks=material.wishes.clicks,
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


KINDS: dict[str, Kind] = {
    "midi": Kind("tempo map, markers, calls, clicks and downbeats", (".mid", ".midi"), _midi),
    "webvtt": Kind("the calls as captions", (".vtt",), _captions),
    "chapters": Kind("the phrases as WebVTT chapters", (".chapters.vtt",), _chapters),
    "csv": Kind("the cue list for a spreadsheet", (".csv",), _csv),
    "json": Kind("everything computed, for programs", (".json",), _json, needs_findings=True),
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
        if not file_name.lower().endswith(kind.suffixes) and len(kind.suffixes) > 2:
            endings = ", ".join(kind.suffixes)
            raise ExportError(f"{name} is written as {endings}; {file_name} ends otherwise")
        return kind
    for kind in sorted(KINDS.values(), key=lambda kind: -max(map(len, kind.suffixes))):
        if file_name.lower().endswith(kind.suffixes):
            return kind
    raise ExportError(f"{file_name} does not tell what to export; say --as {', '.join(KINDS)}")
