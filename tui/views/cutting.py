"""The music cut to stage length: which phrases are kept, how often, and what that comes to."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from composer.audio.cut import cut_length_s, joined_spans, suggest_cut
from composer.errors import ComposerError
from composer.score.routine import Cut, Routine
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid, clock_text
from tui.views.filling import bars_words
from tui.views.paper import Line, Piece, shortened
from tui.views.sound import LOUDNESS_GLYPHS

MOST_TIMES = 9
MOST_EDGE_S = 60.0


@dataclass(frozen=True, slots=True)
class Stretch:
    """A phrase of the source, or what comes before the first."""

    name: str
    span: BeatSpan
    energy: float


@dataclass(frozen=True)
class CutPlan:
    """How often each stretch of the source is played, in the source's order."""

    grid: MusicGrid
    stretches: tuple[Stretch, ...]
    times: tuple[int, ...]
    lead_in_s: float = 0.0
    fade_out_s: float = 0.0
    wanted_s: float | None = None
    notice: str = ""

    @property
    def spans(self) -> tuple[BeatSpan, ...]:
        """What is played, in order; stretches that follow each other in the source made one."""
        pairs = zip(self.stretches, self.times, strict=True)
        return joined_spans([one.span for one, times in pairs for _ in range(times)])

    @property
    def length_s(self) -> float:
        return cut_length_s(self.grid, self.spans) + self.lead_in_s

    def start_s(self, index: int) -> float:
        """When a stretch first sounds in the cut; one that is dropped, when it would have."""
        before = zip(self.stretches[:index], self.times[:index], strict=True)
        return self.lead_in_s + sum(
            times * cut_length_s(self.grid, [one.span]) for one, times in before
        )

    @property
    def is_whole(self) -> bool:
        """Whether nothing is cut at all."""
        return set(self.times) == {1} and not self.lead_in_s and not self.fade_out_s

    def played(self, index: int, by: int) -> "CutPlan":
        """A stretch played once more, or once less."""
        times = min(max(self.times[index] + by, 0), MOST_TIMES)
        return self._with(index, times)

    def kept_or_dropped(self, index: int) -> "CutPlan":
        return self._with(index, 0 if self.times[index] else 1)

    def _with(self, index: int, times: int) -> "CutPlan":
        return replace(self, times=(*self.times[:index], times, *self.times[index + 1 :]))

    def whole(self) -> "CutPlan":
        return replace(self, times=(1,) * len(self.times), wanted_s=None)

    def suggested(self, wanted_s: float) -> "CutPlan":
        """Whole phrases that come to about a length; the intro, the strongest and the end stay.

        Raises
        ------
        ComposerError
            If no cut can be suggested for it.
        """
        try:
            kept = suggest_cut(self.grid, wanted_s - self.lead_in_s)
        except ValueError as error:
            raise ComposerError(str(error)) from None
        times = tuple(int(any(_holds(span, one.span) for span in kept)) for one in self.stretches)
        return replace(self, times=times, wanted_s=wanted_s)

    def with_edges(self, *, lead_in_s: float, fade_out_s: float) -> "CutPlan":
        """Silence before the first beat, and a fade at the end.

        Raises
        ------
        ComposerError
            If one of them is negative or longer than a minute.
        """
        for seconds in (lead_in_s, fade_out_s):
            if not 0 <= seconds <= MOST_EDGE_S:
                raise ComposerError(f"it lasts 0 to {MOST_EDGE_S:g} s, not {seconds:g}")
        return replace(self, lead_in_s=lead_in_s, fade_out_s=fade_out_s)

    def applied(self, routine: Routine) -> Routine:
        """The routine with this cut.

        Raises
        ------
        ComposerError
            If nothing is kept.
        """
        if not any(self.times):
            raise ComposerError("nothing would be left; keep one phrase at least")
        cut = None if self.is_whole else Cut(self.spans, self.fade_out_s, self.lead_in_s)
        return replace(routine, cut=cut)


def _holds(span: BeatSpan, inner: BeatSpan) -> bool:
    return span.start_beat <= inner.start_beat and inner.end_beat <= span.end_beat


def cut_plan(routine: Routine) -> CutPlan:
    """The cut a routine has, phrase by phrase.

    A cut that was written in another order, or inside phrases, cannot be shown so: then the plan
    begins with the whole music and says it.

    Raises
    ------
    ComposerError
        If the music has no phrases.
    """
    grid = routine.grid
    if not grid.phrases:
        raise ComposerError("the music has no phrases to keep or drop; p begins one at the cursor")
    stretches = _stretches(grid)
    plan = CutPlan(grid, stretches, (1,) * len(stretches))
    if routine.cut is None:
        return plan
    plan = replace(plan, lead_in_s=routine.cut.lead_in_s, fade_out_s=routine.cut.fade_out_s)
    if not routine.cut.keep:
        return plan
    kept = joined_spans(routine.cut.keep)
    times = tuple(sum(_holds(span, one.span) for span in kept) for one in stretches)
    found = replace(plan, times=times)
    if found.spans == kept:
        return found
    return replace(
        plan, notice="the cut in the file is not of whole phrases in order: here it begins anew"
    )


def _stretches(grid: MusicGrid) -> tuple[Stretch, ...]:
    found = [
        Stretch(phrase.name, grid.phrase_span(index), phrase.energy)
        for index, phrase in enumerate(grid.phrases)
    ]
    first = found[0].span.start_beat
    if first > 0:
        found.insert(0, Stretch("before it", BeatSpan(Fraction(0), first), 0.5))
    return tuple(found)


# ------------------------------------------------------------------ as lines


def stretch_row(plan: CutPlan, index: int, moves: int) -> Line:
    """Whether a stretch is played, and how often; its bars, its length, how loud it is."""
    one, times = plan.stretches[index], plan.times[index]
    sign = {0: "– drop", 1: "✓ keep"}.get(times, f"✓ ×{times}")
    length = clock_text(cut_length_s(plan.grid, [one.span]))
    energy = LOUDNESS_GLYPHS[1 + round(7 * min(max(one.energy, 0.0), 1.0))]
    told = f"{moves} move{'' if moves == 1 else 's'}" if moves else ""
    role = "quiet" if not times else ""
    return (
        Piece(f"{sign:<8}", "quiet" if not times else "good"),
        Piece(f"{shortened(one.name, 16):<17}", role or "strong"),
        Piece(f"{bars_words(plan.grid, one.span):<14}{length:>7}  {energy}  {told}", role),
    )


def plan_lines(plan: CutPlan, left_out: int) -> tuple[Line, ...]:
    """What the cut comes to: its length, its joins, what it leaves out."""
    whole = clock_text(cut_length_s(plan.grid, [one.span for one in plan.stretches]))
    wanted = f", wanted {clock_text(plan.wanted_s)}" if plan.wanted_s is not None else ""
    joins = max(0, len(plan.spans) - 1)
    edges = f"silence {plan.lead_in_s:g} s, fade {plan.fade_out_s:g} s"
    lost = f" · ▲ {left_out} moves fall out" if left_out else ""
    second = f" {joins} join{'' if joins == 1 else 's'} · {edges}{lost}"
    return (
        (Piece(f" plays {clock_text(plan.length_s)} of {whole}{wanted}", "strong"),),
        (Piece(second, "warning" if left_out else ""),),
        (Piece(f" {plan.notice}", "note"),),
    )


def moves_in(plan: CutPlan, starts: Sequence[Fraction], index: int) -> int:
    """How many moves begin in a stretch."""
    return sum(plan.stretches[index].span.contains(beat) for beat in starts)
