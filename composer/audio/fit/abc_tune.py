"""One folk tune written in ABC, read as bars of notes.

A small reader of our own for what one voice of a dance needs: lengths, accidentals, ties, tuplets,
broken rhythm, repeats with endings. Ornaments, chords' lower notes and words are left aside.
Only tunes whose every bar is as long as the metre says are read.
"""

import contextlib
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

LEAST_BARS = 8

TOKEN = re.compile(
    r"""(?P<aside>"[^"\n]*"?|![^!\n]*!|\{[^}]*\}|%.*|\\)
    |\[(?P<field>[A-Za-z]:[^\]]*)\]
    |(?P<bar>\[\||:*\|[|:\]]*|::+|:(?=\s*\n))(?:\s*\[?(?P<turn>[1-9])[-,0-9]*)?
    |\[(?P<ending>[1-9])[-,0-9]*
    |\[(?P<chord>[^]|:]+)\](?P<chord_length>[0-9]*/*[0-9]*)
    |\+(?P<old_chord>[^+|]+)\+
    |\((?P<tuplet>[2-9])(?::(?P<space>[0-9]*))?(?::(?P<count>[0-9]*))?
    |(?P<note>[=^_]*[A-Ga-gz][,']*)(?P<length>[0-9]*/*[0-9]*)
    |(?P<broken>>+|<+)
    |(?P<tie>-)""",
    re.VERBOSE,
)
NATURAL = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
SHARPS = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}
"""Sharps in the signature of a major key; flats are negative."""
MODES = {
    "": 0, "maj": 0, "ion": 0, "m": -3, "min": -3, "aeo": -3,
    "mix": -1, "dor": -2, "phr": -4, "lyd": 1, "loc": -5,
}  # fmt: skip
SPACES = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}
"""Tuplets: so many notes in the time of so many; others fill two, or three in compound time."""


class Irregular(Exception):
    """A tune that cannot be read as regular bars; says why."""


@dataclass(frozen=True)
class Note:
    """One sound of the melody: start from the part's first downbeat on, in quarters."""

    start: Fraction
    length: Fraction
    pitch: int


@dataclass(frozen=True)
class Part:
    """What stands between double bars: whole bars, and the pick-up before them."""

    pickup: Fraction
    bars: int
    notes: tuple[Note, ...]


@dataclass(frozen=True)
class Air:
    """A tune: its parts, and in what order they are played, repeats and endings included."""

    title: str
    metre: str
    tonic: int
    """The key's first note, 0 for C to 11 for B."""
    sharps: int
    """In the signature; flats are negative."""
    parts: tuple[Part, ...]
    order: tuple[int, ...]

    @property
    def bar_quarters(self) -> Fraction:
        return 4 * Fraction(self.metre)


@dataclass
class Piece:
    """The music between two bar lines, and what the lines around it ask for."""

    notes: list[tuple[Fraction, Fraction, int | None, bool]] = field(default_factory=list)
    """(start, length, pitch or rest, tied to the next one), in quarters."""
    length: Fraction = Fraction(0)
    opens: bool = False
    ending: int = 0
    closes: bool = False
    double: bool = False


# -- one tune's text to pieces ---------------------------------------------------------------


@dataclass
class _Reader:
    """Goes through the text of one tune."""

    metre: str = "4/4"
    unit: Fraction | None = None
    tonic: int = 0
    sharps: int = 0
    titles: list[str] = field(default_factory=list)
    pieces: list[Piece] = field(default_factory=lambda: [Piece()])
    altered: dict[str, int] = field(default_factory=dict)
    tuplet_ratio: Fraction = Fraction(1)
    tuplet_left: int = 0
    broken: Fraction = Fraction(1)
    """What broken rhythm asks of the next note."""
    started: bool = False

    def read(self, text: str) -> None:
        music: list[str] = []
        for line in text.splitlines():
            if re.match(r"[A-Za-z]:(?!\|)", line):
                self._tokens("\n".join(music))
                music = []
                self._field(line)
            elif not line.startswith("%"):
                music.append(line + "\n")
        self._tokens("".join(music))

    def _field(self, line: str) -> None:
        kind, value = line[0], line[2:].split("%")[0].strip().strip('"')
        if kind == "T":
            self.titles.append(value)
        elif kind == "M":
            metre = {"C": "4/4", "C|": "2/2"}.get(value, value)
            if self.started and metre != self.metre:
                raise Irregular("metre changes")
            self.metre = metre
        elif kind == "L":
            self.unit = 4 * Fraction(value)
        elif kind == "K":
            self._key(value)

    def _key(self, value: str) -> None:
        found = re.match(r"([A-G])([#b]?)\s*([A-Za-z]*)", value)
        mode = found[3].lower()[:3] if found else "?"
        if found is None or mode not in MODES:
            raise Irregular("key not known")
        bend = {"#": 1, "b": -1, "": 0}[found[2]]
        if not self.started:
            self.tonic = (NATURAL[found[1]] + bend) % 12
        self.sharps = SHARPS[found[1]] + 7 * bend + MODES[mode]

    def _tokens(self, music: str) -> None:
        for token in TOKEN.finditer(music):
            if token["field"]:
                self._field(token["field"])
            elif token["bar"]:
                self._bar_line(token["bar"], int(token["turn"] or 0))
            elif token["ending"]:
                self._next_piece().ending = int(token["ending"])
            elif token["chord"] or token["old_chord"]:
                self._chord(token["chord"] or token["old_chord"], token["chord_length"] or "")
            elif token["tuplet"]:
                self._tuplet(token)
            elif token["note"]:
                self._note(token["note"], _length(token["length"]))
            elif token["broken"]:
                self._break(token["broken"])
            elif token["tie"] and self.pieces[-1].notes:
                self.pieces[-1].notes[-1] = (*self.pieces[-1].notes[-1][:3], True)

    def _next_piece(self) -> Piece:
        self.altered = {}
        if self.pieces[-1].length:
            self.pieces.append(Piece())
        return self.pieces[-1]

    def _bar_line(self, line: str, turn: int) -> None:
        if self.pieces[-1].length:
            before = self.pieces[-1]
        else:
            before = self.pieces[-2] if len(self.pieces) > 1 else Piece()
        opens = line.endswith(":") and line != ":"
        before.closes |= line.startswith(":")
        before.double |= "||" in line or "]" in line or line.startswith("[")
        after = self._next_piece()
        after.opens |= opens
        after.ending = turn or after.ending

    def _tuplet(self, token: re.Match[str]) -> None:
        many = int(token["tuplet"])
        compound = Fraction(self.metre).numerator % 3 == 0 and self.metre.endswith("8")
        space = int(token["space"] or SPACES.get(many, 3 if compound else 2))
        self.tuplet_ratio = Fraction(space, many)
        self.tuplet_left = int(token["count"] or many)

    def _chord(self, inside: str, length: str) -> None:
        """The highest note stands for the chord."""
        sounds = re.findall(r"([=^_]*[A-Ga-g][,']*)([0-9]*/*[0-9]*)", inside)
        if sounds:
            top, own = max(sounds, key=lambda sound: self._pitch(sound[0]))
            self._note(top, _length(own) * _length(length))

    def _note(self, name: str, lengths: Fraction) -> None:
        self.started = True
        length = lengths * (self.unit or self._usual_unit()) * self.broken
        self.broken = Fraction(1)
        if self.tuplet_left:
            length *= self.tuplet_ratio
            self.tuplet_left -= 1
        piece = self.pieces[-1]
        pitch = None if name == "z" else self._pitch(name)
        piece.notes.append((piece.length, length, pitch, False))
        piece.length += length

    def _usual_unit(self) -> Fraction:
        return Fraction(1, 2) if Fraction(self.metre) >= Fraction(3, 4) else Fraction(1, 4)

    def _pitch(self, name: str) -> int:
        sign = name.rstrip(",'").rstrip("ABCDEFGabcdefg")
        letter = name[len(sign)]
        octaves = name.count("'") - name.count(",") + letter.islower()
        place = name[len(sign) :]
        if sign:
            self.altered[place] = sign.count("^") - sign.count("_")
        order = "FCGDAEB"
        upper = letter.upper()
        signed = (order.index(upper) < self.sharps) - (order.index(upper) >= 7 + self.sharps)
        return 60 + 12 * octaves + NATURAL[upper] + self.altered.get(place, int(signed))

    def _break(self, marks: str) -> None:
        notes = self.pieces[-1].notes
        if not notes:
            raise Irregular("broken rhythm without a note")
        short = Fraction(1, 2 ** len(marks))
        before, after = (2 - short, short) if marks[0] == ">" else (short, 2 - short)
        start, length, pitch, tied = notes[-1]
        notes[-1] = (start, length * before, pitch, tied)
        self.pieces[-1].length = start + length * before
        self.broken = after


def _length(text: str) -> Fraction:
    """``3`` is three units, ``/`` and ``/2`` half a unit, ``3/2`` one and a half."""
    over, slashes, under = re.fullmatch(r"([0-9]*)(/*)([0-9]*)", text).groups()  # type: ignore[union-attr]
    if slashes and not under:
        under = str(2 ** len(slashes))
    try:
        return Fraction(int(over or 1), int(under or 1))
    except ZeroDivisionError:
        raise Irregular("a length of zero") from None


# -- pieces to parts -------------------------------------------------------------------------


def _sections(pieces: list[Piece], bar: Fraction) -> Iterator[tuple[list[list[Piece]], bool]]:
    """Stretches between double bars: each way to play one, and whether it is played twice."""
    body: list[Piece] = []
    endings: list[list[Piece]] = []
    opened = False
    for piece, after in zip(pieces, [*pieces[1:], Piece()], strict=True):
        if piece.opens and sum(one.length for one in body) >= bar:
            yield _ways(body, endings), False
            body, endings = [], []
        opened = piece.opens or (opened and bool(body))
        if piece.ending > len(endings):
            endings.append([])
        (endings[-1] if endings else body).append(piece)
        long_enough = sum(one.length for one in body) >= bar
        ends = piece.closes or (piece.double and long_enough and (bool(endings) or not opened))
        if ends and after.ending <= len(endings):
            yield _ways(body, endings), piece.closes and not endings
            body, endings, opened = [], [], False
    if body:
        yield _ways(body, endings), False


def _ways(body: list[Piece], endings: list[list[Piece]]) -> list[list[Piece]]:
    return [[*body, *ending] for ending in endings] or [body]


def _part(pieces: list[Piece], bar: Fraction) -> Part:
    """Whole bars of pieces; a short first one is the pick-up, a short last one may stay short."""
    lengths = [piece.length for piece in pieces]
    pickup = lengths[0] if lengths[0] < bar and sum(lengths[:2]) != bar else Fraction(0)
    at, filled = -pickup, -pickup
    sounds: list[tuple[Fraction, Fraction, int | None, bool]] = []
    for piece in pieces:
        filled += piece.length
        if filled > bar:
            raise Irregular("bars not as long as the metre says")
        filled %= bar
        sounds += [(at + start, length, p, tied) for start, length, p, tied in piece.notes]
        at += piece.length
    return Part(pickup, -int(-at // bar), tuple(_joined(sounds)))


def _joined(sounds: list[tuple[Fraction, Fraction, int | None, bool]]) -> list[Note]:
    """The notes among the sounds and rests, those tied to one pitch as one."""
    notes: list[Note] = []
    tie = False
    for start, length, pitch, tied in sounds:
        if pitch is not None and tie and notes[-1].pitch == pitch:
            notes[-1] = Note(notes[-1].start, notes[-1].length + length, pitch)
        elif pitch is not None:
            notes.append(Note(start, length, pitch))
        tie = tied and pitch is not None
    return notes


def pitches_of(text: str) -> list[int]:
    """The pitches of a tune in the order written, as far as it can be read, bars or no bars."""
    reader = _Reader()
    with contextlib.suppress(Irregular):
        reader.read(text)
    return [pitch for piece in reader.pieces for _, _, pitch, _ in piece.notes if pitch is not None]


def air_of(text: str) -> Air:
    """The tune that a piece of ABC writes.

    Raises
    ------
    Irregular
        If its bars are not the metre's, or too few, or something in it cannot be read.
    """
    reader = _Reader()
    reader.read(text)
    if not re.fullmatch("[0-9]+/[0-9]+", reader.metre):
        raise Irregular("metre not known")
    bar = 4 * Fraction(reader.metre)
    parts: list[Part] = []
    order: list[int] = []
    for ways, twice in _sections([piece for piece in reader.pieces if piece.length], bar):
        first = len(parts)
        parts += [_part(way, bar) for way in ways]
        order += [*range(first, len(parts)), *([first] if twice else [])]
    if sum(parts[k].bars for k in order) < LEAST_BARS:
        raise Irregular("fewer than eight bars")
    _check_seams([parts[k] for k in order], bar)
    title = (reader.titles or [""])[0]
    return Air(title, reader.metre, reader.tonic, reader.sharps, tuple(parts), tuple(order))


def _check_seams(played: list[Part], bar: Fraction) -> None:
    """A pick-up fits into what the part before it leaves of its last bar, or nearly."""
    for before, after in zip(played, [*played[1:], played[0]], strict=True):
        if not before.notes or not before.bars:
            raise Irregular("a part without a bar")
        end = before.notes[-1].start + before.notes[-1].length
        if after.pickup > bar / 2 + max(Fraction(0), before.bars * bar - end):
            raise Irregular("a pick-up longer than half a bar")
