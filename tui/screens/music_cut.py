"""Cutting the music to stage length: phrases kept, dropped or repeated, the length told."""

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen

from composer.errors import ComposerError
from composer.score.routine import Routine
from tui.actions import Action
from tui.screens.act_keys import act_bindings
from tui.screens.asking import Ask
from tui.screens.music_cut_sound import CutSound
from tui.screens.threaded import FromThreads
from tui.views.cutting import CutPlan, cut_plan, moves_in, plan_lines, stretch_row
from tui.views.key_lines import KeyTable, key_lines
from tui.views.paper import Piece
from tui.widgets.lines import Lines
from tui.widgets.pick_list import PickList

if TYPE_CHECKING:
    from composer.playback.player import Player

CUT = "Cutting"
CUT_KEYS = KeyTable(
    (
        Action("keep", "space,x", "Keep the phrase, or drop it", CUT, "keep or drop"),
        Action("more", "plus,equals_sign", "Play it once more", CUT, "repeat"),
        Action("less", "minus", "Play it once less", CUT),
        Action("hear", "h", "Hear the cut from before this phrase, or stop", CUT, "hear"),
        Action("wanted", "w", "Type a wanted length and see a suggestion", CUT, "wanted length"),
        Action("take", "enter", "Take the cut", CUT, "take it"),
        Action("leave", "escape,q", "Leave all as it is", CUT, "leave it"),
        Action("fade", "f", "Type how long the end fades", CUT, "fade"),
        Action("lead-in", "s", "Type how long it is silent before the first beat", CUT, "silence"),
        Action("whole", "a", "Keep everything once", CUT, "keep all"),
    ),
    (CUT,),
    prefix="cut-",
    pairs={"more": "+ -"},
)


class CutMusic(FromThreads, ModalScreen[CutPlan | None]):
    """Ends with the plan, None for leaving. The source is never changed."""

    KEYS = CUT_KEYS
    BINDINGS: ClassVar[list[BindingType]] = act_bindings(CUT_KEYS, first=lambda _: True)

    def __init__(self, routine: Routine, sound: CutSound) -> None:
        super().__init__()
        self.plan = cut_plan(routine)
        self.sound = sound
        self._starts = [p.span.start_beat for part in routine.parts for p in part.placements]

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog"):
            title = Lines()
            title.show((Piece(" The music cut to stage length", "title"),))
            yield title
            yield PickList()
            yield Lines(id="cut-told")
            yield Lines(id="cut-keys")

    def on_mount(self) -> None:
        pick_list = self.query_one(PickList)
        pick_list.styles.height = min(len(self.plan.stretches), 12)
        self.query_one("#cut-told").styles.height = 3
        keys = self.query_one("#cut-keys", Lines)
        keys.styles.height = 2
        keys.show(*key_lines(CUT_KEYS, dict(getattr(self.app, "own_keys", {})), 72))
        pick_list.focus()
        self._show()

    def _show(self) -> None:
        plan, pick_list = self.plan, self.query_one(PickList)
        counts = [moves_in(plan, self._starts, k) for k in range(len(plan.stretches))]
        rows = [stretch_row(plan, index, moves) for index, moves in enumerate(counts)]
        pick_list.show(rows, pick_list.chosen)
        left_out = sum(n for n, times in zip(counts, plan.times, strict=True) if not times)
        self.query_one("#cut-told", Lines).show(*plan_lines(plan, left_out))

    def _change(self, plan: CutPlan) -> None:
        self.sound.stop()
        self.plan = plan
        self._show()

    def _tell(self, text: str) -> None:
        told = self.query_one("#cut-told", Lines)
        told.show(*told.lines[:2], (Piece(f" {text}", "note"),))

    @property
    def _index(self) -> int:
        return self.query_one(PickList).chosen

    def action_act(self, name: str) -> None:
        """Do what an action of the table says; what cannot be done is told in the last line."""
        if self.is_current:
            getattr(self, f"do_{name.replace('-', '_')}")()

    @on(PickList.Picked)
    def do_take(self) -> None:
        self.dismiss(self.plan)

    def do_keep(self) -> None:
        self._change(self.plan.kept_or_dropped(self._index))

    def do_more(self) -> None:
        self._change(self.plan.played(self._index, 1))

    def do_less(self) -> None:
        self._change(self.plan.played(self._index, -1))

    def do_whole(self) -> None:
        self._change(self.plan.whole())

    def do_leave(self) -> None:
        self.dismiss(None)

    def do_hear(self) -> None:
        """From before the chosen phrase on, so that its join is heard; again, and it stops."""
        if self.sound.player is not None:
            self.sound.stop()
            self._tell("")
            return
        plan, start_s = self.plan, self.plan.start_s(self._index)
        self._tell("joining the music")

        def render() -> None:
            try:
                player = self.sound.render(plan)
            except ComposerError as error:
                self.from_thread(self._tell, str(error))
                return
            self.from_thread(self._play, plan, player, start_s)

        self.run_worker(render, name="cut-sound", group="cut-sound", thread=True, exclusive=True)

    def _play(self, plan: CutPlan, player: "Player", start_s: float) -> None:
        if plan is not self.plan or not self.is_mounted:
            player.close()
            return
        self.sound.play(player, start_s)
        self._tell(player.notice or "playing; h stops")

    def on_unmount(self) -> None:
        self.sound.stop()

    def do_wanted(self) -> None:
        self._ask(
            "How long on stage? Such as 2:30, or 150 for seconds",
            lambda text: self.plan.suggested(seconds_typed(text)),
        )

    def do_fade(self) -> None:
        plan = self.plan
        self._ask(
            "Seconds of fade at the end",
            lambda text: plan.with_edges(lead_in_s=plan.lead_in_s, fade_out_s=seconds_typed(text)),
        )

    def do_lead_in(self) -> None:
        plan = self.plan
        self._ask(
            "Seconds of silence before the first beat",
            lambda text: plan.with_edges(lead_in_s=seconds_typed(text), fade_out_s=plan.fade_out_s),
        )

    def _ask(self, question: str, change: Callable[[str], CutPlan]) -> None:
        def answered(text: str | None) -> None:
            if text is None:
                return
            try:
                self._change(change(text))
            except ComposerError as error:
                self._tell(str(error))

        self.app.push_screen(Ask(question), answered)


def seconds_typed(text: str) -> float:
    """A length such as 2:30 or 150.

    Raises
    ------
    ComposerError
        If the text is none.
    """
    match = re.fullmatch(r"(?:(\d+):)?(\d+(?:[.,]\d+)?)", text.strip(), re.ASCII)
    if not match or (match[1] and float(match[2].replace(",", ".")) >= 60):
        raise ComposerError(f'a length is written like 2:30 or 150, not "{text}"')
    return 60 * int(match[1] or 0) + float(match[2].replace(",", "."))
