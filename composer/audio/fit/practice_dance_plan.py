"""How invented dance music is laid out: its sections, and the parts that play in each."""

from dataclasses import dataclass

import numpy as np

HEARD = frozenset(("kick", "clap", "bass", "chords", "arp", "lead", "pad"))
"""A change of one of these is heard as a change of the arrangement."""
OPENINGS = (
    ("hats",),
    ("hats", "open", "shaker"),
    ("open", "perc"),
    ("kick",),
    ("kick", "hats"),
    ("kick", "clap", "hats", "open"),
    ("arp",),
    ("arp", "hats"),
    ("arp", "pad"),
    ("pad",),
    ("pad", "lead"),
    ("chords",),
    ("chords", "hats"),
    ("chords", "pad"),
    ("bass",),
    ("bass", "hats", "open"),
    ("lead",),
    ("lead", "chords"),
    ("kick", "bass"),
    ("perc", "shaker"),
)
SHARES = {
    "groove": {"kick": 1, "bass": 0.85, "chords": 0.5, "arp": 0.4, "lead": 0.15, "pad": 0.3},
    "break": {"kick": 0, "bass": 0.25, "chords": 0.6, "arp": 0.5, "lead": 0.5, "pad": 0.8},
    "build": {"kick": 0.3, "bass": 0.3, "chords": 0.7, "arp": 0.6, "lead": 0.5, "pad": 0.7},
    "drop": {"kick": 1, "bass": 1, "chords": 0.85, "arp": 0.7, "lead": 0.8, "pad": 0.6},
    "verse": {"kick": 0.9, "bass": 0.9, "chords": 0.7, "arp": 0.4, "lead": 0.6, "pad": 0.4},
}
DRUM_SHARES = {"groove": 0.8, "break": 0.15, "build": 0.3, "drop": 0.92, "verse": 0.75}
CLUB = ("open", "groove", "groove", "break", "build", "drop", "drop", "groove")
POP = ("open", "verse", "drop", "verse", "drop", "break", "drop", "open")

Section = tuple[str, frozenset[str], int]
"""What it is, the parts that play, its bars."""


@dataclass(frozen=True)
class DancePlan:
    """Draws the sections of one track."""

    rng: np.random.Generator
    plans: tuple[str, ...]
    """Of which one is drawn: "club", "song" or "loop"."""
    cast: frozenset[str]
    """The parts that the track has."""
    bar_s: float
    total_s: float

    def sections(self) -> list[Section]:
        rng = self.rng
        plan = str(rng.choice(self.plans))
        bar_s = self.bar_s
        sizes = [b for b in (4, 8, 8, 16, 16) if 6 < b * bar_s < 33] or [4]
        sections: list[Section] = []
        playing: frozenset[str] = frozenset()
        bars_left, order = self.total_s / bar_s, 0
        while bars_left > 2 or len(sections) < 3:
            kind = self._kind(plan, order)
            order += 1
            if kind != "open" and rng.random() < 0.12:
                continue
            parts = self._parts(kind, playing)
            telling = HEARD if rng.random() < 0.75 else self.cast
            for _ in range(12):
                if parts and (parts ^ playing) & telling:
                    break
                parts = self._parts(kind, playing)
            else:
                other = frozenset({sorted(self.cast)[0]})
                parts = playing ^ other or other
            bars = int(rng.choice(sizes))
            if rng.random() < 0.06:
                bars = int(rng.choice([5, 6, 7, 9, 10, 12]))
            if kind == "build":
                bars = min(bars, 8)
            sections.append((kind, parts, bars))
            playing = parts
            bars_left -= bars
        return sections

    def _kind(self, plan: str, order: int) -> str:
        if plan == "club":
            return CLUB[order % len(CLUB)]
        if plan == "song":
            return POP[order % len(POP)]
        return "open" if order == 0 else "loop"

    def _parts(self, kind: str, playing: frozenset[str]) -> frozenset[str]:
        rng = self.rng
        if kind == "open":
            fitting = [set(o) & self.cast for o in OPENINGS if set(o) <= self.cast]
            return frozenset(fitting[int(rng.integers(len(fitting)))])
        if kind == "loop":
            return self._grown(playing)
        shares, drums = SHARES[kind], DRUM_SHARES[kind]
        return frozenset(p for p in sorted(self.cast) if rng.random() < shares.get(p, drums))

    def _grown(self, playing: frozenset[str]) -> frozenset[str]:
        """Some parts more, or at times some fewer, as when patterns are switched on and off."""
        rng, waiting = self.rng, sorted(self.cast - playing)
        mood = rng.random()
        if waiting and (mood < 0.6 or len(playing) <= 2):
            count = min(len(waiting), int(rng.integers(1, 4)))
            return playing | frozenset(rng.choice(waiting, count, replace=False).tolist())
        if mood < 0.85 and len(playing) > 1:
            count = int(rng.integers(1, max(2, len(playing) // 2 + 1)))
            return playing - frozenset(rng.choice(sorted(playing), count, replace=False).tolist())
        count = int(rng.integers(1, len(self.cast) + 1))
        return frozenset(rng.choice(sorted(self.cast), count, replace=False).tolist())
