"""What was played when: stretches of output frames and the track time that sounds in them."""

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import Enum

SHORTEST_LOOP_S = 0.1


class Entry(Enum):
    """How a stretch follows the one before it."""

    ON = "carries on"
    JUMP = "begins anew elsewhere"
    WRAP = "comes back to the start of the loop"


@dataclass(frozen=True, slots=True)
class Loop:
    """A stretch of the track played over and over, with a silent breath before each return."""

    start_s: float
    end_s: float
    breath_s: float = 0.0
    """In track time, so that it keeps the beat at any speed."""

    def __post_init__(self) -> None:
        if not self.end_s - self.start_s >= SHORTEST_LOOP_S:
            raise ValueError(
                f"a loop lasts {SHORTEST_LOOP_S} s or more, got {self.start_s} to {self.end_s} s"
            )
        if self.breath_s < 0:
            raise ValueError(f"a breath cannot be negative, got {self.breath_s} s")


@dataclass(frozen=True, slots=True)
class Span:
    """Output frames in a row that come from one place.

    ``source_frame`` counts frames of the rendition in use; times ``step_s`` it is track time.
    """

    out_frame: int
    frames: int
    source_frame: int
    step_s: float
    """Track seconds for each frame."""
    entry: Entry
    still: bool = False
    """Paused: the track time stays."""
    sounding: bool = True
    """False in a count-in or breath, where the track time runs up to ``goal_s`` in silence."""
    goal_s: float = 0.0
    """Where the music of this run begins."""
    loop: Loop | None = None

    @property
    def out_end(self) -> int:
        return self.out_frame + self.frames

    def track_s(self, out_frame: float) -> float:
        """Track time at an output frame, which may be a fraction."""
        moved = 0.0 if self.still else out_frame - self.out_frame
        return (self.source_frame + moved) * self.step_s

    def carried_on_by(self, later: "Span") -> bool:
        """Whether the two are one stretch that was delivered in two lumps."""
        source = self.source_frame + (0 if self.still else self.frames)
        return later.entry is Entry.ON and later == replace(
            self, out_frame=self.out_end, frames=later.frames, source_frame=source, entry=Entry.ON
        )


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of a span between two looks at the timeline: [from_s, to_s) of track time."""

    span: Span
    out_frame: float
    from_s: float
    to_s: float
    entry: Entry

    def out_frame_at(self, track_s: float) -> float:
        return self.out_frame + (track_s - self.from_s) / self.span.step_s


class Timeline:
    """The spans of the last while, in output order without gaps."""

    def __init__(self, keep_frames: int) -> None:
        self._spans: deque[Span] = deque()
        self._keep_frames = keep_frames

    def __len__(self) -> int:
        return len(self._spans)

    def append(self, span: Span) -> None:
        if self._spans and self._spans[-1].carried_on_by(span):
            last = self._spans.pop()
            self._spans.append(replace(last, frames=last.frames + span.frames))
        else:
            self._spans.append(span)
        while self._spans[0].out_end < span.out_end - self._keep_frames:
            self._spans.popleft()

    def cut(self, out_frame: int) -> None:
        """Forget everything from an output frame on: it was delivered but never heard."""
        while self._spans and self._spans[-1].out_frame >= out_frame:
            self._spans.pop()
        if self._spans and self._spans[-1].out_end > out_frame:
            last = self._spans.pop()
            self._spans.append(replace(last, frames=out_frame - last.out_frame))

    def span_at(self, out_frame: float) -> Span | None:
        """The span that holds a frame, or else the nearest one; None while there is none."""
        for span in reversed(self._spans):
            if span.out_frame <= out_frame:
                return span
        return self._spans[0] if self._spans else None

    def track_s(self, out_frame: float) -> float | None:
        """Track time heard at an output frame; None while nothing was delivered."""
        span = self.span_at(out_frame)
        if span is None:
            return None
        return span.track_s(min(max(out_frame, span.out_frame), span.out_end))

    def between(self, from_frame: float, to_frame: float) -> Iterator[Span]:
        """Spans that share frames with [from_frame, to_frame)."""
        for span in self._spans:
            if span.out_frame < to_frame and span.out_end > from_frame:
                yield span


class Follower:
    """Reads a timeline piece by piece, each moment once, however seldom it is asked."""

    def __init__(self, timeline: Timeline, from_frame: float = 0.0) -> None:
        self._timeline = timeline
        self._frame = from_frame
        self._reached_s: float | None = None

    def pieces(self, to_frame: float) -> list[Piece]:
        """What lies between the last look and ``to_frame``, in order."""
        found = []
        for span in self._timeline.between(self._frame, to_frame):
            start = max(self._frame, float(span.out_frame))
            end = min(to_frame, float(span.out_end))
            entry = span.entry if start == span.out_frame else Entry.ON
            from_s, to_s = span.track_s(start), span.track_s(end)
            if entry is Entry.ON and self._reached_s is not None:
                from_s = self._reached_s
                to_s = max(to_s, from_s)
            found.append(Piece(span, start, from_s, to_s, entry))
            self._reached_s = to_s
        self._frame = max(self._frame, to_frame)
        return found
