"""Where the next frames come from: playing, held, running up, looping. No samples here."""

from composer.playback.timeline import Entry, Loop, Span


class Transport:
    """A place in the track, moved on by the frames that are taken from it.

    Positions are frames of the rendition in use: the track itself, or a slowed copy.
    """

    def __init__(self, sample_rate: int, total_frames: int) -> None:
        self._sample_rate = sample_rate
        self._total = total_frames
        self._step_s = 1.0 / sample_rate
        self._source = 0
        self._goal = 0
        self._loop: Loop | None = None
        self._entry = Entry.JUMP
        self._out_frame = 0
        self.moving = False
        self.ended = False

    @property
    def out_frame(self) -> int:
        """How many frames were taken so far."""
        return self._out_frame

    @property
    def rate(self) -> float:
        return self._step_s * self._sample_rate

    @property
    def position_s(self) -> float:
        return self._source * self._step_s

    @property
    def loop(self) -> Loop | None:
        return self._loop

    @property
    def sounding(self) -> bool:
        return self.moving and self._source >= self._goal

    def play(self) -> None:
        self.moving = True
        self.ended = False

    def hold(self) -> None:
        self.moving = False

    def seek(self, time_s: float, run_up_s: float = 0.0) -> None:
        """Go to a place, reached after a silent run-up of so much track time."""
        self._goal = self._frame_of(time_s)
        self._source = self._goal - self._frame_of(run_up_s)
        self._entry = Entry.JUMP
        self.ended = False

    def step_back(self, time_s: float, out_frame: int) -> None:
        """Take back frames that were never heard: the same run goes on from here."""
        self._source = self._frame_of(time_s)
        self._out_frame = out_frame

    def set_loop(self, loop: Loop | None) -> None:
        self._loop = loop

    def set_rendition(self, rate: float, total_frames: int) -> None:
        """Change to a copy of the track at another speed, at the same place in the music."""
        source_s, goal_s = self.position_s, self._goal * self._step_s
        self._step_s = rate / self._sample_rate
        self._total = total_frames
        self._source, self._goal = self._frame_of(source_s), self._frame_of(goal_s)

    def take(self, frames: int) -> list[Span]:
        """The next frames of output as spans, and the place moved on past them."""
        spans = []
        left = frames
        while left > 0:
            span = self._next_span(left)
            spans.append(span)
            left -= span.frames
        return spans

    def _frame_of(self, time_s: float) -> int:
        return round(time_s / self._step_s)

    def _next_span(self, most: int) -> Span:
        if self.moving:
            self._turn_at_end()
        if not self.moving:
            return self._span(most, still=True, sounding=False)
        if self._source < self._goal:
            return self._span(min(most, self._goal - self._source), sounding=False)
        return self._span(min(most, self._last_frame() - self._source))

    def _last_frame(self) -> int:
        return self._frame_of(self._loop.end_s) if self._loop else self._total

    def _turn_at_end(self) -> None:
        """Back to the loop's start, or stop, when the end is reached."""
        beyond = max(self._source, self._goal) - self._last_frame()
        if beyond < 0:
            return
        if self._loop is None:
            self.moving, self.ended = False, True
            return
        self._goal = self._frame_of(self._loop.start_s)
        self._source = self._goal - self._frame_of(self._loop.breath_s)
        if self._entry is not Entry.JUMP:  # one frame of rounding when the speed has changed
            self._entry = Entry.WRAP if beyond <= 1 else Entry.JUMP

    def _span(self, frames: int, *, still: bool = False, sounding: bool = True) -> Span:
        span = Span(
            out_frame=self._out_frame,
            frames=frames,
            source_frame=self._source,
            step_s=self._step_s,
            entry=self._entry,
            still=still,
            sounding=sounding,
            goal_s=self._goal * self._step_s,
            loop=self._loop,
        )
        self._entry = Entry.ON
        self._out_frame += frames
        if not still:
            self._source += frames
        return span
