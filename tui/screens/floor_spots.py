"""The floor screen's edits: spots by steps and by typing, formations, the floor's own size."""

from collections.abc import Callable, Mapping
from fractions import Fraction

from composer.arrange.formations import FORMATIONS, formed
from composer.check.findings import Finding
from composer.export.choice import View
from composer.score.floor import Place, spot_place, spots_of
from composer.score.routine import Routine, Spot
from composer.score.stage_words import facing_words, place_words
from composer.timing.beats import beats_words
from tui.screens.asking import Pick
from tui.screens.beside import BesideSheet
from tui.screens.compose_mending import PREVIEW_CELLS
from tui.views import floor_edits as edits
from tui.views.floor_words import beside, floor_findings_of, small_plan
from tui.views.found import Found
from tui.views.paper import Line, Piece

WAYS = {"right": (1, 0), "left": (-1, 0), "down": (0, 1), "up": (0, -1)}
WALK_BEATS = Fraction(8)
"""How long everybody walks into a formation unless told otherwise."""


class MovesSpots(BesideSheet):
    """Each edit is one step of the history, told with the place it led to."""

    view: View = View.AUDIENCE
    everybody: bool = False
    """Whether the arrows move all."""
    _sorted_out: tuple[Mapping[str, Found], tuple[Finding, ...]] = ({}, ())
    """The last findings by performer, and those of the floor among them."""
    carrying: Routine | None = None
    """The floor as it would be, while somebody is dragged."""

    @property
    def floor_findings(self) -> tuple[Finding, ...]:
        """What is found about the floor, about anybody, in time order."""
        found_by, findings = self._sorted_out
        if found_by is not self.desk.found_by:
            known: dict[Finding, None] = {}
            for found in self.desk.found_by.values():
                known.update(dict.fromkeys(floor_findings_of(found.findings)))
            findings = tuple(sorted(known, key=lambda one: (one.beat, -one.level)))
            self._sorted_out = self.desk.found_by, findings
        return findings

    @property
    def moved_names(self) -> tuple[str, ...]:
        """Whom an edit is for."""
        if not self.everybody:
            return (self.desk.performer,)
        return tuple({spot.performer: None for spot in self.desk.routine.spots})

    @property
    def performer_number(self) -> int:
        """Place of the chosen performer among all, from 0."""
        names = [performer.name for performer in self.desk.routine.performers]
        return names.index(self.desk.performer)

    # ------------------------------------------------------------------ by keys

    def act_on_spots(self, name: str) -> bool:
        """Do an action on the spot of the performer, or on everybody's; False if it is none."""
        beat = self.desk.cursor_beat
        fine = name.startswith("fine-")
        way = WAYS.get(name.removeprefix("fine-"))
        if way is not None:
            step_m = edits.FINE_M if fine else edits.STEP_M
            self._spots_edit(
                lambda r, who: edits.nudged(r, who, beat, way, self.view, step_m), self._place_told
            )
            return True
        changes: dict[str, tuple[Callable[..., Routine], int, Callable[[Spot], str]]] = {
            "face-left": (edits.turned, 1, self._facing_told),
            "face-right": (edits.turned, -1, self._facing_told),
            "longer": (edits.walking_longer, 1, self._walk_told),
            "shorter": (edits.walking_longer, -1, self._walk_told),
            "later": (edits.arriving_later, 1, self._arrival_told),
            "earlier": (edits.arriving_later, -1, self._arrival_told),
        }
        if name not in changes:
            return False
        change, step, told = changes[name]
        self._spots_edit(lambda r, who: change(r, who, beat, step), told)
        return True

    def _spots_edit(
        self,
        change: Callable[[Routine, tuple[str, ...]], Routine],
        told: Callable[[Spot], str],
    ) -> None:
        """An edit of spots; its words are those of the performer's spot as it came out."""
        who = self.moved_names
        before = edits.the_spot(self.desk.routine, self.desk.performer, self.desk.cursor_beat)
        after = change(self.desk.routine, who)
        own = spots_of(after.spots, self.desk.performer)
        kept = set(spots_of(self.desk.routine.spots, self.desk.performer))
        spot = next((one for one in own if one not in kept), before)
        name = "everybody's spots" if self.everybody else f"{self.desk.performer}'s spot"
        self.change_routine(f"{name}: {told(spot)}", lambda _: after)

    def _place_told(self, spot: Spot) -> str:
        return place_words(spot_place(spot), self.desk.routine.stage)

    def _facing_told(self, spot: Spot) -> str:
        return f"facing {facing_words(spot.facing_turns, self.desk.routine.stage)}"

    def _walk_told(self, spot: Spot) -> str:
        return f"walked to in {beats_words(spot.travel_beats)}"

    def _arrival_told(self, spot: Spot) -> str:
        return f"reached on {self.desk.routine.grid.meter_map.position(spot.beat)}"

    def do_new_spot(self) -> None:
        who, beat = self.desk.performer, self.desk.cursor_beat
        place = self.desk.routine.grid.meter_map.position(beat)
        words = f"a spot of {who}'s own on {place}; arrows move it"
        self.change_routine(words, lambda r: edits.with_new_spot(r, who, beat))

    def do_remove(self) -> None:
        who, beat = self.desk.performer, self.desk.cursor_beat
        spot = edits.the_spot(self.desk.routine, who, beat)
        place = self.desk.routine.grid.meter_map.position(spot.beat)
        told = f"{who}'s spot of {place} taken out"
        self.change_routine(told, lambda r: edits.without_spot(r, who, beat))

    def do_type_place(self) -> None:
        who, beat = self.desk.performer, self.desk.cursor_beat
        spot = edits.the_spot(self.desk.routine, who, beat)

        def take(text: str) -> None:
            place = edits.typed_place(text)
            told = place_words(place, self.desk.routine.stage)
            self.change_routine(f"{who}'s spot: {told}", lambda r: edits.moved(r, spot, place))

        question = f"{who}: metres to stage right (left: minus), metres upstage"
        self.ask(question, f"{spot.x_m:g} {spot.y_m:g}", take)

    def do_everybody(self) -> None:
        self.everybody = not self.everybody
        self.say("arrows move everybody" if self.everybody else f"{self.desk.performer} alone")

    # ------------------------------------------------------------------ by mouse

    def carry_to(self, performer: str, start: Place, goal: Place, dropped: bool) -> None:
        beat, routine = self.desk.cursor_beat, self.desk.routine
        self.carrying = edits.carried(routine, performer, beat, start, goal)
        spot = edits.the_spot(self.carrying, performer, beat)
        told = f"{performer}'s spot: {self._place_told(spot)}"
        if dropped:
            after, self.carrying = self.carrying, None
            self.change_routine(told, lambda _: after)
        else:
            self.message = told
            self.refresh_sheet()

    # ------------------------------------------------------------------ everybody

    def do_formation(self) -> None:
        """Choose a formation by its plan, then how long to walk and how far apart to stand."""
        routine, beat = self.desk.routine, self.desk.cursor_beat
        names = list(FORMATIONS)
        half = PREVIEW_CELLS // 2
        now = small_plan(routine, beat, "as it is", half - 1)
        below: list[tuple[Line, ...]] = []
        for name in names:
            there = formed(routine, name, beat, travel_beats=WALK_BEATS)
            below.append(beside(now, small_plan(there, beat, name, half - 1), half))

        def chosen(index: int | None) -> None:
            if index is not None:
                self._ask_how(names[index], beat)

        place = routine.grid.meter_map.position(beat)
        rows = [(Piece(name, "strong"),) for name in names]
        self.app.push_screen(Pick(f"Everybody from {place} on", rows, below=below), chosen)

    def _ask_how(self, name: str, beat: Fraction) -> None:
        def take(text: str) -> None:
            beats, apart_m = edits.typed_walk(text)
            place = self.desk.routine.grid.meter_map.position(beat)
            told = f"{name} from {place}, walked to in {beats_words(beats)}"
            self.change_routine(
                told,
                lambda r: formed(r, name, beat, travel_beats=beats, apart_m=apart_m),
            )

        self.ask("Beats to walk there; metres between neighbours if not as near as may be",
                 str(WALK_BEATS), take)  # fmt: skip

    def do_stage(self) -> None:
        stage = self.desk.routine.stage

        def take(text: str) -> None:
            told = f"the floor is {text.strip()} m"
            self.change_routine(told, lambda r: edits.with_stage_size(r, text))

        self.ask(
            "Metres the floor is wide and deep", f"{stage.width_m:g} x {stage.depth_m:g}", take
        )

    def do_obstacle(self) -> None:
        question = "Name, metres to stage right (left: minus), upstage, radius; a name alone: away"

        def take(text: str) -> None:
            told = f"on the floor: {text.strip()}"
            self.change_routine(told, lambda r: edits.with_obstacle(r, text))

        self.ask(question, "", take)
