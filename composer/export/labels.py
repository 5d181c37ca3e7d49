"""Words as pictures for moving pictures: the typesetter of the sheets draws them, so that every
script, right-to-left text and emoji come out as they do on paper.
"""

import io
import json
from collections.abc import Iterable
from typing import TypeAlias

from PIL import Image

Ink: TypeAlias = tuple[int, int, int]

TEMPLATE = b"""
#let labels = json(bytes(sys.inputs.labels))
#set page(width: auto, height: auto, margin: 0pt, fill: none)
#set text(font: ("Noto Sans", "Liberation Sans", "Arial", "Helvetica", "DejaVu Sans",
  "Libertinus Serif"), top-edge: "ascender", bottom-edge: "descender", hyphenate: false)
#let drawn(label) = context {
  let (words, size, widest, ink) = label
  let styled(size) = text(size: size * 1pt, fill: rgb(ink), weight: "bold", words)
  let width = measure(styled(size)).width
  let share = calc.min(1, calc.max(0.45, widest * 1pt / width))
  box(styled(size * share))
}
#labels.map(drawn).join(pagebreak())
"""


def label_pictures(
    labels: Iterable[tuple[str, int, int, Ink]],
) -> dict[tuple[str, int, int, Ink], Image.Image]:
    """A picture with a clear ground for each (words, height in pixels, widest in pixels, ink).

    Words that are too wide are set smaller, down to half their height.
    """
    import typst

    wanted = [label for label in dict.fromkeys(labels) if label[0].strip()]
    if not wanted:
        return {}
    rows = [
        (words, size, widest, "#{:02x}{:02x}{:02x}".format(*ink))
        for words, size, widest, ink in wanted
    ]
    pages = typst.compile(TEMPLATE, format="png", ppi=72.0, sys_inputs={"labels": json.dumps(rows)})
    listed = [pages] if isinstance(pages, bytes) else list(pages)
    pictures = [Image.open(io.BytesIO(page)).convert("RGBA") for page in listed]
    return dict(zip(wanted, pictures, strict=True))
