"""The composing screen's choosing of moves: what can follow, and how firmly she has each."""

from textual import on

from composer.errors import ComposerError
from composer.score.parts import PlacedMove, move_before
from composer.score.repertoire import Firmness
from tui.having import What
from tui.screens.compose_panes import ShowsPanes
from tui.views.follow import FIRMNESS_GLYPHS, FollowRow, follow_rows
from tui.widgets.count_sheet import CountSheet
from tui.widgets.pick_list import PickList


class Chooses(ShowsPanes):
    """Places what is picked: in the dialog, in the pane, or by its number there."""

    _only_had = False
    """Whether the dialog last showed only what she has."""

    def do_choose(self) -> None:
        self.choose()

    def choose(self, *, pinned: bool = False) -> None:
        """Ask for a move to place at the cursor, and place it, pinned there if so wished."""
        from tui.screens.choose_move import ChooseMove
        from tui.views.trying import tried_at

        desk, rows = self.desk, self.follow_if_known()
        routine, performer, beat, hands = desk.routine, desk.performer, desk.cursor_beat, desk.hands
        repertoire = self.desk.having.of(performer)
        dialog = ChooseMove(
            routine.grid.place_text(beat),
            rows,
            desk.library,
            rank=lambda keeps: follow_rows(
                routine, desk.library, performer, beat, hands, keeps=keeps, repertoire=repertoire
            ),
            attempt=lambda row: tried_at(
                routine,
                desk.library,
                desk.moves,
                PlacedMove(row.placement, performer, performer, -1),
            ),
            firmness=lambda name: self.desk.having.firmness(performer, name),
            firmer=self.mark_firmer,
            only_had=self._only_had and repertoire is not None,
        )

        def place(row: FollowRow | None) -> None:
            self._only_had = dialog.only_had
            if row is not None:
                self._place_row(row, pinned=pinned)

        self.app.push_screen(dialog, place)

    def _place_row(self, row: FollowRow, *, pinned: bool = False) -> None:
        try:
            self.change_desk(lambda desk: desk.place(row.placement, pinned=pinned))
        except ComposerError as error:
            self.say(str(error))

    def place_number(self, number: int) -> None:
        rows = self.follow_now()
        if number > len(rows):
            raise ComposerError(f"there is no number {number} among what can follow")
        self._place_row(rows[number - 1])

    @on(PickList.Picked, "#follow")
    def place_followed(self, message: PickList.Picked) -> None:
        self._place_row(self.follow[message.index])
        self.query_one(CountSheet).focus()

    # ------------------------------------------------------------------ the repertoire

    def do_firmness(self) -> None:
        """The next step of how firmly she has the move in the list, or the one at the cursor."""
        follow = self.query_one("#follow", PickList)
        here = self.desk.move_here()
        if follow.has_focus and self.follow:
            self.mark_firmer(self.follow[follow.chosen].name)
        elif here is not None:
            self.mark_firmer(here.placement.move)
        else:
            raise ComposerError("no move is under the cursor to tell how firmly you have it")

    def do_way_firmness(self) -> None:
        """The next step of how firmly she has the way into the move at the cursor."""
        here = self.desk.move_here()
        before = move_before(self.desk.moves, here) if here is not None else None
        if here is None or before is None or before.span.end_beat != here.span.start_beat:
            raise ComposerError("no move at the cursor follows straight on another")
        self._mark((before.placement.move, here.placement.move))

    def mark_firmer(self, name: str) -> None:
        self._mark((name,))

    def _mark(self, names: tuple[str, ...]) -> None:
        """Mark a move, or the way between two, in the file; what cannot be written is told."""
        performer, library, having = self.desk.performer, self.desk.library, self.desk.having
        try:
            known = [library.get(name).name for name in names]
            what: What = known[0] if len(known) == 1 else (known[0], known[1])
            firmness = having.firmer(performer, what)
            having.mark(self.work.path, library, performer, what, firmness)
        except ComposerError as error:
            self.say(str(error))
            return
        self.say(f"{performer}: {' into '.join(known)}: {_firmness_words(firmness)}")
        self.query_one("#follow", PickList).refresh()
        self.check_again()


def _firmness_words(firmness: Firmness | None) -> str:
    return f"{FIRMNESS_GLYPHS[firmness]} {firmness}" if firmness else "no longer in the repertoire"
