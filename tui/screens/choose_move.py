"""Choosing a move for a place: what can follow, narrowed by typing and by what is to stay."""

import time
from collections.abc import Callable, Collection
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.timer import Timer
from textual.widgets import Input
from textual.worker import get_current_worker

from composer.arrange.keeping import Keeping
from composer.errors import ComposerError
from composer.export.choice import View
from composer.moves.library import Library
from composer.score.repertoire import Firmness
from tui.screens.asking import LEAVE
from tui.screens.threaded import FromThreads
from tui.views.follow import (
    FollowRow,
    detail_lines,
    entered_line,
    filtered,
    follow_line,
)
from tui.views.found import LazyLines
from tui.views.keeping import KEEPINGS, filter_line
from tui.views.paper import Piece
from tui.views.trying import Tried, tried_lines
from tui.widgets.lines import Lines, Picture
from tui.widgets.pick_list import PickList

FRAMES_PER_S = 12
SLOWED = 2.0
"""The motion on trial runs at half the music's speed, so that the eye can follow it."""
REST_S = 0.1
"""The motion waits until the bar has rested so long."""
WIDE_CELLS = 60
"""In a list this wide the reasons stand beside the moves."""

Rank = Callable[[Collection[Keeping]], tuple[FollowRow, ...]]


class NameInput(Input):
    """Takes letters to look for; keys that the dialog wants for itself are not typed."""

    def __init__(self, taken: Collection[str]) -> None:
        super().__init__(placeholder="type a part of a name", compact=True)
        self._taken = taken

    def check_consume_key(self, key: str, character: str | None) -> bool:
        return key not in self._taken and super().check_consume_key(key, character)


class ChooseMove(FromThreads, ModalScreen[FollowRow | None]):
    """Ends with the row to place, None for leaving.

    Parameters
    ----------
    rows
        What can follow, if it is ranked already; None lets the dialog do it while she types.
    rank
        Gives the rows for what is to stay; it takes a moment and runs in a thread.
    attempt
        Puts a row on trial, to be seen in motion.
    firmness, firmer
        How firmly a move is had; and the next step of it, which is kept.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        LEAVE,
        Binding("up", "choose(-1)", "Up", show=False, id="choose-up"),
        Binding("down", "choose(1)", "Down", show=False, id="choose-down"),
        Binding("pageup", "choose(-8)", "Up a screen", show=False, id="choose-screen-up"),
        Binding("pagedown", "choose(8)", "Down a screen", show=False, id="choose-screen-down"),
        *(
            Binding(
                str(number),
                f"keep({number})",
                "Keep this",
                show=False,
                priority=True,
                id=f"choose-keep-{number}",
            )
            for number in range(1, len(KEEPINGS) + 1)
        ),
        Binding("5", "only_mine", "Only mine", show=False, priority=True, id="choose-only-mine"),
        Binding("asterisk", "firmer", "How firmly", show=False, priority=True, id="choose-firmer"),
        Binding("tab", "view", "View", show=False, priority=True, id="choose-view"),
    ]

    def __init__(
        self,
        place: str,
        rows: tuple[FollowRow, ...] | None,
        library: Library,
        *,
        rank: Rank,
        attempt: Callable[[FollowRow], Tried],
        firmness: Callable[[str], Firmness | None],
        firmer: Callable[[str], None],
        only_had: bool = False,
    ) -> None:
        super().__init__()
        self._place = place
        self._ranked = rows or ()
        self._is_ranking = rows is None
        self._take_first = False
        """Whether enter was pressed before there was anything to take."""
        self.rows = self._ranked
        self._library = library
        self._also = {name: tuple(library.get(name).also) for name in library.names()}
        self._rank, self.attempt, self._firmness, self._firmer = rank, attempt, firmness, firmer
        self._keeps: frozenset[Keeping] = frozenset()
        self.only_had = only_had
        self._view = View.PERFORMER
        self._tried: Tried | None = None
        self._began_s = 0.0
        self._rest: Timer | None = None

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog chooser"):
            yield Lines(id="question")
            yield NameInput(self._taken_keys())
            yield Lines(id="filters")
            with Horizontal(id="choosing"):
                yield PickList(always_barred=True)
                yield Picture(id="trial")
            yield Lines(id="details")
            yield Lines(id="chooser-keys")

    def _taken_keys(self) -> frozenset[str]:
        own = getattr(self.app, "own_keys", {})
        bindings = [one for one in self.BINDINGS if isinstance(one, Binding) and one.priority]
        return frozenset(
            key for one in bindings for key in own.get(one.id or "", one.key).split(",")
        )

    def on_mount(self) -> None:
        title = f" What can follow at {self._place}"
        self.query_one("#question", Lines).show((Piece(title, "title"),))
        keys = (
            ("↑ ↓", "choose"), ("enter", "place"), ("1-5", "keep"), ("*", "how firm it is"),
            ("tab", "view"), ("esc", "back"),
        )  # fmt: skip
        pieces = [
            piece for key, word in keys for piece in (Piece(f" {key}", "key"), Piece(f" {word} "))
        ]
        self.query_one("#chooser-keys", Lines).show(tuple(pieces))
        self.query_one("#trial").can_focus = False
        self.query_one(Input).focus()
        self.set_interval(1 / FRAMES_PER_S, self._turn)
        self.call_after_refresh(self._show_rows)
        if self._is_ranking:
            self._rank_later()

    # ------------------------------------------------------------------ which rows

    @on(Input.Changed)
    def narrow(self) -> None:
        self._show_rows()

    def action_keep(self, number: int) -> None:
        """Ask for what is to stay, or no longer; the moves are ranked anew beside the screen."""
        self._keeps = self._keeps ^ {KEEPINGS[number - 1]}
        self._show_filters()
        self._rank_later()

    def _rank_later(self) -> None:
        keeps = self._keeps

        def rank() -> None:
            rows = self._rank(keeps)
            if not get_current_worker().is_cancelled:
                self.from_thread(self._take_ranked, keeps, rows)

        self.run_worker(rank, name="keep", group="keep", thread=True, exclusive=True)

    def _take_ranked(self, keeps: frozenset[Keeping], rows: tuple[FollowRow, ...]) -> None:
        if keeps == self._keeps:
            self._ranked, self._is_ranking = rows, False
            self._show_rows()
            if self._take_first:
                self.take()

    def action_only_mine(self) -> None:
        self.only_had = not self.only_had
        self._show_rows()

    def _show_filters(self) -> None:
        self.query_one("#filters", Lines).show(filter_line(self._keeps, self.only_had))

    def _show_rows(self) -> None:
        rows = self._ranked
        if self.only_had:
            rows = tuple(row for row in rows if self._firmness(row.name) is not None)
        self.rows = filtered(rows, self.query_one(Input).value, self._also)
        self._show_filters()
        self._show_list(0)

    def _show_list(self, chosen: int) -> None:
        pick_list = self.query_one(PickList)
        width, shown = pick_list.scrollable_content_region.width, self.rows

        def line(index: int) -> tuple[Piece, ...]:
            row = shown[index]
            firmness = self._firmness(row.name)
            if width >= WIDE_CELLS:
                return follow_line(99, row, firmness, 30)[1:]
            return entered_line(row, firmness, width - 4)

        if self._is_ranking:
            empty: str | None = "looking at what flows best here"
        elif self.only_had:
            empty = "none of the moves you have told of; * on a row tells"
        else:
            empty = "nothing here; type less, or keep less"
        pick_list.show(LazyLines(len(shown), line), chosen, empty=empty)
        self._show_details(chosen)

    # ------------------------------------------------------------------ the row under the bar

    @on(PickList.Chosen)
    def follow_bar(self, message: PickList.Chosen) -> None:
        self._show_details(message.index)

    def _show_details(self, index: int) -> None:
        details = self.query_one("#details", Lines)
        if not self.rows:
            details.show()
            self._put_on_trial(None)
            return
        row = self.rows[index]
        firmness = self._firmness(row.name)
        details.show(*detail_lines(row, self._library, firmness, details.size.width))
        if self._rest is not None:
            self._rest.stop()
        self._rest = self.set_timer(REST_S, lambda: self._put_on_trial(row))

    def _put_on_trial(self, row: FollowRow | None) -> None:
        self._tried = self.attempt(row) if row is not None else None
        self._began_s = time.monotonic()
        self._turn()

    def _turn(self) -> None:
        """Draw the motion where it is now."""
        picture, tried = self.query_one("#trial", Lines), self._tried
        if tried is None:
            picture.show()
            return
        lasts_s = SLOWED * tried.seconds
        share = (time.monotonic() - self._began_s) % lasts_s / lasts_s
        columns, rows = picture.size.width, picture.size.height
        try:
            picture.show(*tried_lines(tried, share, self._view, columns, rows))
        except ComposerError as error:
            self._tried = None
            picture.show((Piece(f" {error}", "quiet"),))

    def action_view(self) -> None:
        """Seen by the performer, or by the audience: each the other's mirror image."""
        other = View.AUDIENCE if self._view is View.PERFORMER else View.PERFORMER
        self._view = other

    def action_firmer(self) -> None:
        chosen = self.query_one(PickList).chosen
        if self.rows:
            self._firmer(self.rows[chosen].name)
            self._show_list(chosen)

    # ------------------------------------------------------------------ ending

    def action_choose(self, step: int) -> None:
        self.query_one(PickList).action_choose(step)

    @on(PickList.Picked)
    @on(Input.Submitted)
    def take(self) -> None:
        self._take_first = self._is_ranking
        if self.rows and self.is_current:
            self.dismiss(self.rows[self.query_one(PickList).chosen])

    def action_leave(self) -> None:
        self.dismiss(None)
