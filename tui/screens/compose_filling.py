"""The composing screen's proposals for whole stretches: highlights, fillings, settled entries."""

from abc import abstractmethod
from collections.abc import Callable
from fractions import Fraction
from typing import TYPE_CHECKING

from textual.worker import get_current_worker

from composer.errors import ComposerError
from composer.score.routine import Routine
from composer.timing.beats import BeatSpan
from tui.checking import ONE_AT_A_TIME
from tui.screens.asking import Pick
from tui.screens.compose_base import ComposeBase
from tui.views.going import phrase_at

if TYPE_CHECKING:  # proposals are loaded when one is asked for
    from composer.arrange.effect import Effect
    from composer.arrange.highlights import Filling
    from composer.arrange.solve import Freed, Solution

PREVIEW_CELLS = 72
FILLINGS = 6


class Fills(ComposeBase):
    """Looks for proposals beside the screen; each is shown before it is taken, in one step."""

    # ------------------------------------------------------------------ the strongest moments

    def do_highlight(self) -> None:
        """The strongest moments of the music; a move chosen for one is pinned there."""
        from composer.arrange.moments import strong_moments
        from tui.views.filling import moment_row

        desk, grid = self.desk, self.desk.routine.grid
        moments = strong_moments(grid)
        if not moments:
            raise ComposerError("nothing in this music stands out; p pins the move at the cursor")

        rows = [moment_row(one, grid, next(iter(desk.moves_at(one.beat)), None)) for one in moments]

        def go(index: int | None) -> None:
            if index is not None:
                self.go_to(moments[index].beat)
                self.choose(pinned=True)

        question = "Your best move on which moment? It is pinned there (strongest first)"
        self.app.push_screen(Pick(question, rows), go)

    @abstractmethod
    def choose(self, *, pinned: bool = False) -> None:
        """Ask for a move to place at the cursor, and place it, pinned there if so wished."""

    # ------------------------------------------------------------------ filling what is free

    def do_fill_free(self) -> None:
        """Whole fillings for the free stretch around the cursor."""
        from composer.arrange.highlights import MOST_BARS
        from tui.views import filling as told

        desk = self.desk
        routine, performer = desk.routine, desk.performer
        span = desk.free_stretch(MOST_BARS)
        repertoire = self.desk.having.of(performer)
        self.say(f"looking for ways through {told.bars_words(routine.grid, span)}")

        def look() -> None:
            from composer.arrange.highlights import fillings

            with ONE_AT_A_TIME:
                found = fillings(
                    routine, desk.library, performer, span, repertoire=repertoire, count=FILLINGS
                )
            self._offer_later(routine, lambda: self._offer_fillings(routine, span, found))

        self._look(look)

    def _offer_fillings(
        self, routine: Routine, span: BeatSpan, found: "tuple[Filling, ...]"
    ) -> None:
        from tui.views import filling as told

        desk = self.desk
        where = told.bars_words(routine.grid, span)
        if not found:
            self.say(f"no whole filling of {where} was found; place a move in it and try again")
            return
        self.say("")
        rows = [told.filling_row(one) for one in found]
        below = [
            told.filling_preview(one, desk.performer, span, desk.library, PREVIEW_CELLS)
            for one in found
        ]

        def take(index: int | None) -> None:
            if index is None or routine is not desk.routine:
                return
            count = len(found[index].placements)
            words = f"filled {where} with {count} move{'' if count == 1 else 's'}"
            self.change_desk(lambda desk: desk.take_over(words, found[index].routine))
            free = desk.next_free(span.end_beat)
            if free is not None:
                self.go_to(free)
            self.say(words if free is not None else f"{words}; nothing is free after it")

        question = f"To fill {where}, {told.length_words(span)} (the best first)"
        self.app.push_screen(Pick(question, rows, below=below), take)

    # ------------------------------------------------------------------ settling what is placed

    def do_settle(self) -> None:
        """Entries, turns and more chosen anew over a stretch, so that moves flow."""
        from composer.arrange.solve import Freed

        desk, grid = self.desk, self.desk.routine.grid
        phrase = phrase_at(grid, desk.cursor_beat)
        whole = BeatSpan(min(Fraction(0), phrase.start_beat), grid.end_beat)
        inside = [move for move in desk.moves if phrase.contains(move.span.start_beat)]
        if not desk.moves:
            raise ComposerError("no move is placed yet whose entry could be settled")
        asked: list[tuple[str, BeatSpan, Freed]] = []
        if inside:
            asked += [
                ("this phrase: entries and turns", phrase, Freed()),
                ("this phrase: mirror images too", phrase, Freed(mirror=True)),
                ("this phrase: the hands too", phrase, Freed(mirror=True, relation=True)),
            ]
        asked += [
            ("whole part: entries and turns", whole, Freed()),
            ("whole part: mirror images too", whole, Freed(mirror=True)),
        ]
        self._settle(desk.routine, asked)

    def _settle(self, routine: Routine, asked: "list[tuple[str, BeatSpan, Freed]]") -> None:
        desk, performer = self.desk, self.desk.performer
        self.say("looking for the entries and turns that flow best; pinned moves stay")

        def look() -> None:
            from composer.arrange.effect import effect
            from composer.arrange.solve import solve_span

            found: list[tuple[str, Solution, Effect]] = []
            for what, span, freed in asked:
                with ONE_AT_A_TIME:
                    if get_current_worker().is_cancelled:
                        return
                    solved = solve_span(routine, desk.library, performer, span, freed)
                    found.append((what, solved, effect(routine, solved.routine, desk.library)))
            self._offer_later(routine, lambda: self._offer_settled(routine, found))

        self._look(look)

    def _offer_settled(self, routine: Routine, found: "list[tuple[str, Solution, Effect]]") -> None:
        from tui.views import filling as told

        self.say("")
        rows = [told.settled_row(*one) for one in found]
        below = [
            told.settled_preview(solved, gained, routine.grid, PREVIEW_CELLS)
            for _, solved, gained in found
        ]

        def take(index: int | None) -> None:
            if index is None or routine is not self.desk.routine:
                return
            what, solved, _ = found[index]
            count = len(solved.changed)
            if not count:
                self.say("nothing was changed: no other choice costs less")
                return
            words = f"settled {what}; {count} move{'' if count == 1 else 's'} changed"
            self.change_desk(lambda desk: desk.take_over(words, solved.routine))

        self.app.push_screen(
            Pick("Settle, pinned moves staying as they are", rows, below=below), take
        )

    # ------------------------------------------------------------------ beside the screen

    def _look(self, look: Callable[[], None]) -> None:
        def try_to() -> None:
            try:
                look()
            except ComposerError as error:
                self.from_thread(self.say, str(error))

        self.run_worker(try_to, name="propose", group="propose", thread=True, exclusive=True)

    def _offer_later(self, routine: Routine, offer: Callable[[], None]) -> None:
        """Show an answer, unless the routine has become another or another was asked for."""
        if get_current_worker().is_cancelled:
            return

        def if_same() -> None:
            if routine is self.desk.routine and self.is_current:
                offer()

        self.from_thread(if_same)
