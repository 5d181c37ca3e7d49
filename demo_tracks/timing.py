"""Where every beat, phrase and accent of a demo track lies: the one source for sound and truth.

The sounds are placed with :meth:`Clock.seconds` and the truth files are written with it, so the
two cannot disagree. Nothing here comes from the product: its tests compare against these files.
"""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Slowing:
    """A smooth ritardando: the time between beats grows with the square of the way through it."""

    start_beat: float
    length_beats: float
    final_tempo_share: float
    """Tempo at its end against the tempo before it; the new tempo then stays."""


@dataclass(frozen=True, slots=True)
class Clock:
    """Beats to seconds, in closed form. Beat 0 is the first downbeat."""

    bpm: float
    first_downbeat_s: float
    slowing: Slowing | None = None

    def seconds(self, beat: float) -> float:
        """Time of a beat in the file.

        Within the slowing a beat lasts ``60 / bpm * (1 + r * x**2)`` seconds, x running from 0 to 1
        and ``r = 1 / final_tempo_share - 1``; its integral is written out below.
        """
        extra_beats = 0.0
        if self.slowing is not None and beat > self.slowing.start_beat:
            growth = 1 / self.slowing.final_tempo_share - 1
            passed = beat - self.slowing.start_beat
            x = min(passed / self.slowing.length_beats, 1.0)
            after = max(passed - self.slowing.length_beats, 0.0)
            extra_beats = growth * (self.slowing.length_beats * x**3 / 3 + after)
        return self.first_downbeat_s + 60 / self.bpm * (beat + extra_beats)

    def span_s(self, start_beat: float, length_beats: float) -> float:
        """How long a stretch of beats lasts."""
        return self.seconds(start_beat + length_beats) - self.seconds(start_beat)


@dataclass(frozen=True, slots=True)
class Section:
    """A phrase of the track: its label and how many bars it lasts."""

    label: str
    bars: int


@dataclass(frozen=True, slots=True)
class Accent:
    """A moment that stands out: ``"drop"``, ``"hit"`` or ``"stop"`` (sound ends there)."""

    beat: float
    kind: str


@dataclass(frozen=True, slots=True)
class Plan:
    """The time plan of one track."""

    name: str
    clock: Clock
    beats_per_bar: int
    sections: tuple[Section, ...]
    last_struck_beat: int
    """The final chord: the last beat that can be heard, and the last in the beats file."""
    accents: tuple[Accent, ...] = ()

    def section_start_beat(self, label: str) -> int:
        """Where the section with this label begins.

        Raises
        ------
        ValueError
            If no section has the label.
        """
        bars = 0
        for section in self.sections:
            if section.label == label:
                return bars * self.beats_per_bar
            bars += section.bars
        raise ValueError(f"{self.name} has no section {label!r}")

    @property
    def end_beat(self) -> int:
        return self.beats_per_bar * sum(section.bars for section in self.sections)


def beats_text(plan: Plan) -> str:
    """One line a beat: seconds, tab, count in the bar from 1."""
    counts = range(plan.last_struck_beat + 1)
    rows = [(plan.clock.seconds(beat), beat % plan.beats_per_bar + 1) for beat in counts]
    return _lines([f"{time_s:.6f}\t{count}" for time_s, count in rows])


def phrases_text(plan: Plan) -> str:
    """One line a phrase: start in seconds, tab, end in seconds, tab, label."""
    rows = []
    for section in plan.sections:
        start_beat = plan.section_start_beat(section.label)
        end_beat = start_beat + section.bars * plan.beats_per_bar
        start_s, end_s = plan.clock.seconds(start_beat), plan.clock.seconds(end_beat)
        rows.append(f"{start_s:.6f}\t{end_s:.6f}\t{section.label}")
    return _lines(rows)


def accents_text(plan: Plan) -> str:
    """One line an accent: seconds, tab, kind."""
    return _lines([f"{plan.clock.seconds(a.beat):.6f}\t{a.kind}" for a in plan.accents])


def _lines(rows: Sequence[str]) -> str:
    return "".join(row + "\n" for row in rows)
