"""The floor screen: spots, facings and ways, phrase by phrase, moved by keys and by mouse."""

from fractions import Fraction
from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.timer import Timer

from composer.check.findings import Finding
from composer.errors import ComposerError
from composer.export.choice import View
from composer.score.routine import Routine
from tui.desk import Desk
from tui.screens.act_keys import act_bindings
from tui.screens.floor_spots import MovesSpots
from tui.views import going, words
from tui.views.floor import floor_page, next_stop
from tui.views.floor_keys import FLOOR_KEYS, FLOOR_READING
from tui.views.floor_words import (
    found_here,
    nearest_sentence,
    phrases_line,
    spot_sentence,
    standing_lines,
)
from tui.views.found import LazyLines
from tui.views.key_lines import key_lines
from tui.views.paper import Line, Piece
from tui.widgets.floor_plan import FloorPlan
from tui.widgets.lines import Lines
from tui.widgets.pick_list import PickList
from tui.work import Work

SIDE_CELLS = 36
"""The least that the lists beside the plan need."""
FRAMES_PER_S = 10


class FloorScreen(MovesSpots):
    """Works on the composing screen's own desk: its performer, its cursor, its undo."""

    BINDINGS: ClassVar[list[BindingType]] = act_bindings(
        FLOOR_KEYS, first=lambda action: action.name == "list"
    )
    CSS_PATH = "../styles/group.tcss"
    AUTO_FOCUS = "FloorPlan"
    KEYS = FLOOR_KEYS
    READING = FLOOR_READING
    WHAT = "the floor"

    def __init__(self, desk: Desk, work: Work, **more: Any) -> None:
        super().__init__(desk, work, **more)
        self.message = ""
        self._walking: Timer | None = None
        self._chosen: Finding | None = None
        """What was last asked for from the list of findings."""

    def compose(self) -> ComposeResult:
        yield Lines(id="title")
        yield Lines(id="phrases")
        with Horizontal(id="floor"):
            yield FloorPlan(id="plan")
            with Vertical(id="side"):
                yield Lines(id="standing")
                yield Lines(id="spot")
                yield PickList(id="findings", empty="nothing is found about the floor")
                yield Lines(id="finding")
        yield Lines(id="place")
        yield Lines(id="keys")
        yield Lines(id="too-small")

    def on_mount(self) -> None:
        self.check_again()

    # ------------------------------------------------------------------ what is shown

    @property
    def shown(self) -> Routine:
        """What the plan shows: while somebody is dragged, the floor as it would be."""
        return self.carrying or self.desk.routine

    def refresh_sheet(self) -> None:
        """Draw everything anew after an edit, a step, new findings or another size."""
        room = self.query_one("#floor").size
        if self.has_class("-too-small") or room.width < self.SMALLEST[0] or room.height < 12:
            return
        columns = room.width - max(SIDE_CELLS, room.width * 2 // 5)
        page = floor_page(
            self.shown,
            self.desk.cursor_beat,
            view=self.view,
            columns=max(room.width * 3 // 5, columns) if room.width >= 120 else columns,
            rows=room.height,
            selected=self.desk.performer,
        )
        self.query_one(FloorPlan).show(page)
        self.call_after_refresh(self._refresh_side)
        self.refresh_words()

    def _refresh_side(self) -> None:
        desk, beat = self.desk, self.desk.cursor_beat
        side = self.query_one("#side").size
        if not side.width:
            return
        told = words.sentence(spot_sentence(self.shown, desk.performer, beat), side.width)
        standing = standing_lines(
            self.shown, beat, self.floor_findings, desk.performer, side.width, self.view
        )
        most = max(3, side.height - len(told) - 6)
        first = min(max(0, self.performer_number - most // 2), max(0, len(standing) - most))
        standing = standing[first : first + most]
        self.query_one("#standing", Lines).show(*standing)
        self.query_one("#spot", Lines).show((), *told, ())
        self._refresh_findings(side.width, side.height - len(standing) - len(told) - 2)

    def _refresh_findings(self, width: int, height: int) -> None:
        """The list, and below it the one it stands on in full, where there is room."""
        routine, found = self.desk.routine, self.floor_findings
        pick_list, row = self.query_one("#findings", PickList), self._row_here()
        pick_list.show(LazyLines(len(found), lambda k: words.finding_row(routine, found[k])), row)
        whole = words.sentence(found[row].message, width) if row < len(found) else ()
        details = self.query_one("#finding", Lines)
        details.display = len(whole) + min(3, len(found)) <= height and bool(whole)
        details.show(*whole)

    def _row_here(self) -> int:
        """The row of the list for where the cursor is; where nothing is, the one it stands on."""
        here = self._finding_meant()
        if here is not None:
            return self.floor_findings.index(here)
        return self.query_one("#findings", PickList).chosen

    def _finding_meant(self) -> Finding | None:
        """What was chosen from the list, if it is still there; else the gravest of this phrase.

        Of as grave ones those about the performer come first.
        """
        here = found_here(self.desk.routine, self.floor_findings, self.desk.cursor_beat)
        chosen = [one for one in here if self._chosen is not None and one.key == self._chosen.key]
        who = self.desk.performer
        ordered = sorted(here, key=lambda one: (-one.level, not one.is_about(who)))
        return next(iter([*chosen, *ordered]), None)

    def refresh_words(self) -> None:
        """The lines above and below the plan."""
        desk, width = self.desk, self.size.width
        self.query_one("#title", Lines).show(self.title_line())
        self.query_one("#phrases", Lines).show(phrases_line(desk.routine, desk.cursor_beat, width))
        told = self.message_lines(2)
        more = [self._finding_here(), self._nearest()]
        fitting = [line for line in more if line][: 2 - len(told)]
        self.query_one("#place", Lines).show(self._where(), *told, *fitting)
        self.query_one("#keys", Lines).show(*key_lines(self.KEYS, self.keys_in_use, width))

    def _where(self) -> Line:
        grid, beat = self.desk.routine.grid, self.desk.cursor_beat
        told = [grid.place_text(beat)]
        index = grid.phrase_index_at(beat)
        if index is not None:
            told.append(grid.phrases[index].name)
        told.append(f"{self.view}'s view")
        if self.everybody:
            told.append("arrows move everybody")
        return (Piece(f" {' · '.join(told)}", "strong"),)

    def _finding_here(self) -> Line:
        """The gravest finding of this phrase about the performer."""
        desk = self.desk
        here = found_here(desk.routine, self.floor_findings, desk.cursor_beat)
        own = sorted((f for f in here if f.is_about(desk.performer)), key=lambda f: -f.level)
        return words.finding_line(own[0], len(own) - 1) if own else ()

    def _nearest(self) -> Line:
        told = nearest_sentence(self.shown, self.desk.performer, self.desk.cursor_beat)
        return (Piece(f" {told}", "note"),) if told else ()

    # ------------------------------------------------------------------ going about

    def go_to(self, beat: Fraction) -> None:
        self.desk.cursor_beat = going.held(self.desk.routine.grid, beat)
        self.message = ""
        self.refresh_sheet()

    def act(self, name: str) -> None:
        if name != "walk":
            self._stand_still()
        if (beat := self._go(name)) is not None:
            self.go_to(beat)
        elif name.startswith("performer-"):
            self._choose(int(name.removeprefix("performer-")) - 1)
        elif not self.act_on_spots(name):
            super().act(name)

    def _go(self, name: str) -> Fraction | None:
        """Where an action of going about leads; None if it is no such action."""
        routine, beat = self.desk.routine, self.desk.cursor_beat
        if name in ("next-stop", "previous-stop"):
            return next_stop(routine, beat, 1 if name == "next-stop" else -1)
        return going.where_leads(name, routine.grid, (), beat, screenful=1)

    def do_next_performer(self) -> None:
        self._choose((self.performer_number + 1) % len(self.desk.routine.performers))

    def do_previous_performer(self) -> None:
        self._choose((self.performer_number - 1) % len(self.desk.routine.performers))

    def _choose(self, index: int) -> None:
        performers = self.desk.routine.performers
        if index >= len(performers):
            raise ComposerError(f"there are only {len(performers)} performers")
        self.desk.performer = performers[index].name
        self.message = ""
        self.refresh_sheet()

    def do_audience(self) -> None:
        self.view = View.AUDIENCE if self.view is View.PERFORMER else View.PERFORMER
        self.message = f"the page is turned: {self.view}'s view"
        self.refresh_sheet()

    def do_walk(self) -> None:
        """Let the time run at the music's tempo, without its sound, or stop it."""
        if self._walking is not None:
            self._stand_still()
            return
        self.message = "walking; space stops"
        self._walking = self.set_interval(1 / FRAMES_PER_S, self._walk_on)

    def _walk_on(self) -> None:
        grid = self.desk.routine.grid
        passed_s = grid.tempo_map.seconds(self.desk.cursor_beat) + 1 / FRAMES_PER_S
        beat = Fraction(grid.tempo_map.beat_at(passed_s)).limit_denominator(192)
        if beat >= grid.end_beat:
            self._stand_still()
            return
        self.desk.cursor_beat = beat
        self.refresh_sheet()

    def _stand_still(self) -> None:
        if self._walking is not None:
            self._walking.stop()
            self._walking = None
            self.go_to(Fraction(self.desk.cursor_beat // 1))

    # ------------------------------------------------------------------ what is found

    def do_next_finding(self) -> None:
        self._step_finding(1)

    def do_previous_finding(self) -> None:
        self._step_finding(-1)

    def _step_finding(self, step: int) -> None:
        found, beat = self.floor_findings, self.desk.cursor_beat
        if not found:
            raise ComposerError("nothing is found about the floor")
        chosen = self.query_one("#findings", PickList).chosen
        if chosen < len(found) and found[chosen].beat == beat:
            index = chosen + step
        elif step > 0:
            index = next((k for k, one in enumerate(found) if one.beat > beat), len(found))
        else:
            index = sum(one.beat < beat for one in found) - 1
        if not 0 <= index < len(found):
            raise ComposerError(f"no finding about the floor {'after' if step > 0 else 'before'}")
        self._show_finding_at(index)

    @on(PickList.Chosen, "#findings")
    @on(PickList.Picked, "#findings")
    def _take_from_list(self, message: PickList.Chosen | PickList.Picked) -> None:
        self._show_finding_at(message.index)
        if isinstance(message, PickList.Picked):
            self.query_one(FloorPlan).focus()

    def _show_finding_at(self, index: int) -> None:
        """Go where a finding holds, to whom it is about first."""
        self._chosen = finding = self.floor_findings[index]
        pick_list = self.query_one("#findings", PickList)
        pick_list.show(pick_list.rows, index)
        if finding.performer and not finding.is_about(self.desk.performer):
            self.desk.performer = finding.performer
        self.go_to(finding.beat)

    def _finding_to_mend(self) -> Finding:
        meant = self._finding_meant()
        if meant is None and self.checks_run:
            raise ComposerError("the checks are still running; try again in a moment")
        if meant is None:
            raise ComposerError("nothing is found about the floor in this phrase; n goes on")
        return meant

    def do_list(self) -> None:
        pick_list, plan = self.query_one("#findings", PickList), self.query_one(FloorPlan)
        (plan if pick_list.has_focus else pick_list).focus()

    # ------------------------------------------------------------------ the mouse

    @on(FloorPlan.Taken)
    def take(self, message: FloorPlan.Taken) -> None:
        self.query_one(FloorPlan).focus()
        self.desk.performer = message.performer
        self.message = ""
        self.refresh_sheet()

    @on(FloorPlan.Carried)
    def carry(self, message: FloorPlan.Carried) -> None:
        """Show her where the mouse has her; one step of the history when she is let go."""
        try:
            self.carry_to(message.performer, message.start, message.goal, message.dropped)
        except ComposerError as error:
            self.say(str(error))
