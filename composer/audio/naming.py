"""Names of phrases: letters by likeness, and words where the energy shows a part plainly."""

import itertools
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Doubles = NDArray[np.float64]

PLAIN = 0.3
"""Steps of energy, on a scale of 0..1 over the track, that anyone hears. Derivation: a third of
the way between the quietest and the loudest phrase."""
FULL = 0.85
"""Energy of a peak at least: near the track's loudest phrase."""


def phrase_names(alike: Doubles, starts: list[int], energy: Sequence[float]) -> list[str]:
    """A, B, ... by likeness, or intro, build, break, peak, ending where that is plain.

    A phrase like an earlier one takes its letter. A name that comes again gets a mark: A, A',
    A3. ``alike`` is (bars, bars), ``starts`` the bars on which phrases begin, ``energy`` 0..1.
    """
    roles = phrase_roles(energy)
    letters = iter(_letters(alike, starts, [role is None for role in roles]))
    names: list[str] = []
    seen: dict[str, int] = {}
    for role in roles:
        name = next(letters) if role is None else role
        times = seen.get(name, 0)
        seen[name] = times + 1
        names.append(_marked(name, times))
    return names


def _marked(name: str, times: int) -> str:
    if not times:
        return name
    if times == 1:
        return f"{name}'"
    return f"{name}{times + 1}" if len(name) == 1 else f"{name} {times + 1}"


def phrase_roles(energy: Sequence[float]) -> list[str | None]:
    """The part each phrase plainly plays, or None, from its energy and its neighbours'.

    An intro is far below what follows, an ending far below what came before; a break falls far
    and rises far again, a build lies between a lower phrase and a peak, and a peak is a full
    phrase that music far lower leads to. Words of common practice, no source.
    """
    count = len(energy)
    roles: list[str | None] = [None] * count
    if count < 3:
        return roles
    for i in range(1, count):
        low = min(energy[max(0, i - 2) : i])
        if energy[i] >= FULL and energy[i] - low >= PLAIN and energy[i] > energy[i - 1]:
            roles[i] = "peak"
    for i in range(1, count - 1):
        before, here, after = energy[i - 1 : i + 2]
        if min(before, after) - here >= PLAIN:
            roles[i] = "break"
        elif roles[i + 1] == "peak" and roles[i] is None and here - before >= PLAIN / 2:
            roles[i] = "build"
    if energy[1] - energy[0] >= PLAIN:
        roles[0] = "intro"
    if energy[-2] - energy[-1] >= PLAIN:
        roles[-1] = "ending"
    return roles


def _letters(alike: Doubles, starts: list[int], wanted: list[bool]) -> list[str]:
    """Letters of the phrases that want one: that of the most similar earlier one, or the next."""
    edges = [*starts, len(alike)]
    spans = [span for span, use in zip(itertools.pairwise(edges), wanted, strict=True) if use]
    limit = float(np.percentile(alike, 75))
    numbers: list[int] = []
    for i, span in enumerate(spans):
        alike_to = [_pair_likeness(alike, span, other) for other in spans[:i]]
        match = int(np.argmax(alike_to)) if alike_to else -1
        if match >= 0 and alike_to[match] > limit:
            numbers.append(numbers[match])
        else:
            numbers.append(max(numbers, default=-1) + 1)
    return [_letter(number) for number in numbers]


def _pair_likeness(alike: Doubles, one: tuple[int, int], two: tuple[int, int]) -> float:
    """Mean likeness of two phrases laid side by side, over the shorter one."""
    count = min(one[1] - one[0], two[1] - two[0])
    step = np.arange(count)
    return float(alike[one[0] + step, two[0] + step].mean())


def _letter(number: int) -> str:
    return chr(ord("A") + number) if number < 26 else f"Z{number - 25}"
