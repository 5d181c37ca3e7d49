"""A picture as PNG bytes: drawn three times too large with Pillow and made small again."""

from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING

from composer.export.picture import Dot, Ink, Picture, Stroke, Words, mixed

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageDraw import ImageDraw
    from PIL.ImageFont import FreeTypeFont, ImageFont

OVER = 3
"""How many times too large the page is drawn in each direction."""
_ANCHORS = {"start": "ls", "middle": "ms", "end": "rs"}


def picture_png(picture: Picture) -> bytes:
    """The picture as a PNG file of its own size in pixels."""
    from PIL import Image, ImageChops, ImageDraw

    size = (picture.width * OVER, picture.height * OVER)
    page = Image.new("RGB", size, picture.ground)
    page = ImageChops.screen(page, _glow(picture))
    pen = ImageDraw.Draw(page)
    for shape in picture.shapes:
        match shape:
            case Stroke(glow=False):
                _stroke(pen, shape, picture.ground)
            case Dot():
                _dot(pen, shape, picture.ground)
            case _:
                pass
    page = page.resize((picture.width, picture.height), Image.Resampling.LANCZOS)
    _words(ImageDraw.Draw(page), picture)
    out = BytesIO()
    page.save(out, "PNG", optimize=True)
    return out.getvalue()


def _glow(picture: Picture) -> "Image":
    """The spreading light, at the page's own size before it is enlarged: blur needs no more."""
    from PIL import Image, ImageDraw, ImageFilter

    light = Image.new("RGB", (picture.width, picture.height), (0, 0, 0))
    pen = ImageDraw.Draw(light)
    widest = 0.0
    for shape in picture.shapes:
        if isinstance(shape, Stroke) and shape.glow:
            points = [(float(x), float(y)) for x, y in shape.points]
            ink = mixed(shape.ink, shape.opacity, (0, 0, 0))
            pen.line(points, fill=ink, width=max(1, round(shape.width / 2)), joint="curve")
            widest = max(widest, shape.width)
    blurred = light.filter(ImageFilter.GaussianBlur(widest / 2.5))
    return blurred.resize((picture.width * OVER, picture.height * OVER), Image.Resampling.BILINEAR)


def _stroke(pen: "ImageDraw", stroke: Stroke, ground: Ink) -> None:
    points = [(float(x) * OVER, float(y) * OVER) for x, y in stroke.points]
    ink = mixed(stroke.ink, stroke.opacity, ground)
    width = max(1, round(stroke.width * OVER))
    if stroke.fill is not None:
        pen.polygon(points, fill=stroke.fill)
    if stroke.closed:
        points.append(points[0])
    pen.line(points, fill=ink, width=width, joint="curve")
    for x, y in (points[0], points[-1]):
        pen.ellipse((x - width / 2, y - width / 2, x + width / 2, y + width / 2), fill=ink)


def _dot(pen: "ImageDraw", dot: Dot, ground: Ink) -> None:
    x, y, radius = dot.x * OVER, dot.y * OVER, dot.radius * OVER
    box = (x - radius, y - radius, x + radius, y + radius)
    ink = mixed(dot.ink, dot.opacity, ground)
    if dot.ring_width:
        pen.ellipse(box, outline=ink, width=max(1, round(dot.ring_width * OVER)))
    else:
        pen.ellipse(box, fill=ink)


def _words(pen: "ImageDraw", picture: Picture) -> None:
    for shape in picture.shapes:
        if isinstance(shape, Words):
            pen.text(
                (shape.x, shape.y),
                shape.text,
                fill=shape.ink,
                font=_font(shape.size),
                anchor=_ANCHORS[shape.anchor],
            )


@cache
def _font(size: float) -> "FreeTypeFont | ImageFont":
    from PIL import ImageFont

    return ImageFont.load_default(size)
