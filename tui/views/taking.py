"""What is to be taken out of a routine: which kind, of what, for whom, into which file."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from composer.audio.stretch import FASTEST, SLOWEST
from composer.errors import ComposerError
from composer.export.choice import WHOLE, Choice, View, sections
from composer.export.kinds import KINDS, Kind, Wishes
from composer.export.practice import Practice
from composer.export.sheet import PAPERS, Paper
from composer.export.stage_cut import cut_routine
from composer.score.routine import Routine
from tui.views.paper import Line, Piece

NAMES: tuple[str, ...] = tuple(KINDS)
SPEED_STEP_PERCENT = 5
CLICKED = ("midi", "practice-audio")
PICTURED = ("pdf", "floor", "html", "animation")
"""Kinds that show the performer, so that it matters from where."""


@dataclass(frozen=True)
class TakePlan:
    """What was chosen so far. ``performer`` and ``phrase`` are those of :class:`Choice`."""

    routine: Routine
    routine_path: Path
    kind_name: str = "pdf"
    choice: Choice = WHOLE
    paper: Paper = "a4"
    percent: int = 100
    """Of the speed, for practice."""
    clicks: bool = True
    calls: bool = True
    by_phrase: bool = False
    """Practice phrase by phrase, each counted in, with a rest after it."""
    suffix: str = ""
    """Empty: the kind's usual one."""
    own_target: Path | None = None
    """Where it goes, if that was typed."""

    @property
    def kind(self) -> Kind:
        return KINDS[self.kind_name]

    @property
    def target(self) -> Path:
        """The file to write."""
        from composer.commands.export import usual_name

        if self.own_target is not None:
            return self.own_target
        name = usual_name(self.routine_path, self.choice, self.kind_name)
        usual = self.kind.suffixes[0]
        return self.routine_path.with_name(name.removesuffix(usual) + (self.suffix or usual))

    @property
    def wishes(self) -> Wishes:
        practice = Practice(self.percent / 100, self.clicks, self.calls, by_phrase=self.by_phrase)
        return Wishes(paper=self.paper, practice=practice)

    # ------------------------------------------------------------------ choosing otherwise

    def of_kind(self, name: str) -> "TakePlan":
        if name == self.kind_name:
            return self
        return replace(self, kind_name=name, suffix="", own_target=None)

    def next_performer(self) -> "TakePlan":
        """Everybody, then one after the other."""
        names = ["", *(performer.name for performer in self.routine.performers)]
        name = names[(names.index(self.choice.performer) + 1) % len(names)]
        return self._choosing(replace(self.choice, performer=name))

    def next_phrase(self, step: int) -> "TakePlan":
        """The whole piece, then one phrase after the other; of the cut music if there is a cut."""
        count = len(cut_routine(self.routine).grid.phrases)
        wanted: list[int | None] = [None, *range(count)]
        index = wanted.index(self.choice.phrase) if self.choice.phrase in wanted else 0
        return self._choosing(replace(self.choice, phrase=wanted[(index + step) % len(wanted)]))

    def other_view(self) -> "TakePlan":
        view = View.AUDIENCE if self.choice.view is View.PERFORMER else View.PERFORMER
        return self._choosing(replace(self.choice, view=view))

    def _choosing(self, choice: Choice) -> "TakePlan":
        return replace(self, choice=choice, own_target=None)

    def other_paper(self) -> "TakePlan":
        papers: Sequence[Paper] = tuple(PAPERS)
        return replace(self, paper=papers[(papers.index(self.paper) + 1) % len(papers)])

    def next_format(self) -> "TakePlan":
        """Another of the endings that the kind can be written with."""
        endings = self.kind.suffixes
        index = endings.index(self.suffix) if self.suffix in endings else 0
        return replace(self, suffix=endings[(index + 1) % len(endings)], own_target=None)

    def faster(self, step: int) -> "TakePlan":
        low, high = round(100 * SLOWEST), round(100 * FASTEST)
        percent = self.percent + step * SPEED_STEP_PERCENT
        return replace(self, percent=min(max(percent, low), high))

    def other_clicks(self) -> "TakePlan":
        return replace(self, clicks=not self.clicks)

    def other_calls(self) -> "TakePlan":
        return replace(self, calls=not self.calls)

    def other_pieces(self) -> "TakePlan":
        """Phrase by phrase, or in one go."""
        return replace(self, by_phrase=not self.by_phrase)

    def into(self, text: str) -> "TakePlan":
        """A file named by the user, in the routine's folder unless she names one.

        Raises
        ------
        ComposerError
            If the text names no file.
        """
        if not text.strip():
            raise ComposerError("a file needs a name")
        path = Path(text.strip()).expanduser()
        path = path if path.is_absolute() else self.routine_path.parent / path
        return replace(self, own_target=path)


# ------------------------------------------------------------------ as lines


def kind_row(name: str) -> Line:
    kind = KINDS[name]
    return (
        Piece(f"{name:<15}", "strong"),
        Piece(kind.words),
        Piece(f" · {kind.suffixes[0]}", "quiet"),
    )


def plan_rows(plan: TakePlan, has_track: bool) -> tuple[Line, ...]:
    """What was chosen, a line each; what does not concern the kind is told so."""
    kind, name = plan.kind, plan.kind_name
    rows = [
        ("for", plan.choice.performer or "everybody", True),
        ("of", _phrase_words(plan), True),
        ("seen by", f"the {plan.choice.view}", name in PICTURED),
        ("paper", plan.paper, name == "pdf"),
        ("format", plan.suffix or kind.suffixes[0], len(kind.suffixes) > 1),
        ("speed", f"{plan.percent} % of the music's", name == "practice-audio"),
        ("with", _with_words(plan), name in CLICKED),
        ("file", str(plan.target), True),
    ]
    lines: list[Line] = [
        (Piece(f" {what:<8}", "quiet"), Piece(words, "strong"))
        for what, words, concerns in rows
        if concerns
    ]
    if kind.needs_sound and not has_track:
        lines.append((Piece(" ▲ the music is not there, and this needs its sound", "warning"),))
    return tuple(lines)


def _with_words(plan: TakePlan) -> str:
    """``"clicks and calls, phrase by phrase"``."""
    if plan.kind_name == "midi":
        return "clicks" if plan.clicks else "no clicks"
    extras = [word for word, on in (("clicks", plan.clicks), ("calls", plan.calls)) if on]
    pieces = ", phrase by phrase" if plan.by_phrase else ", in one go"
    return (" and ".join(extras) or "the music alone") + pieces


def _phrase_words(plan: TakePlan) -> str:
    staged = cut_routine(plan.routine)
    cut = ", cut as for the stage" if plan.routine.cut is not None else ""
    if plan.choice.phrase is None:
        return f"the whole piece{cut}"
    (section,) = sections(staged, plan.choice)
    return f"phrase {section.number}, {section.name}{cut}"


def size_words(count: int) -> str:
    """``"812 bytes"``, ``"14.2 kB"``, ``"3.1 MB"``."""
    if count < 1000:
        return f"{count} bytes"
    return f"{count / 1000:.1f} kB" if count < 1_000_000 else f"{count / 1_000_000:.1f} MB"
