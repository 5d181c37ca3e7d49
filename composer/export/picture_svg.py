"""A picture as SVG 1.1 text, written by hand: one file, no scripts, no outside references."""

from html import escape

from composer.export.picture import Dot, Ink, Picture, Shape, Stroke, Words


def picture_svg(picture: Picture) -> str:
    """The picture as a complete SVG document."""
    width, height = picture.width, picture.height
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
        f'viewBox="0 0 {width} {height}" role="img" aria-labelledby="title description" '
        'font-family="sans-serif">'
    )
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        head,
        f'<title id="title">{escape(picture.title)}</title>',
        f'<desc id="description">{escape(picture.description)}</desc>',
        f'<rect width="{width}" height="{height}" fill="{_ink(picture.ground)}"/>',
        *(_shape(shape) for shape in picture.shapes),
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


def _shape(shape: Shape) -> str:
    match shape:
        case Stroke():
            return _stroke(shape)
        case Dot():
            return _dot(shape)
        case Words():
            return (
                f'<text x="{_number(shape.x)}" y="{_number(shape.y)}" '
                f'font-size="{_number(shape.size)}" fill="{_ink(shape.ink)}" '
                f'text-anchor="{shape.anchor}">{escape(shape.text)}</text>'
            )


def _stroke(stroke: Stroke) -> str:
    if not stroke.glow:
        return _path(stroke, stroke.width, stroke.opacity)
    layers = ((1.0, 0.28), (0.55, 0.4))
    return "".join(
        _path(stroke, stroke.width * share, stroke.opacity * light) for share, light in layers
    )


def _path(stroke: Stroke, width: float, opacity: float) -> str:
    steps = " L".join(f"{_number(x)} {_number(y)}" for x, y in stroke.points)
    fill = "none" if stroke.fill is None else _ink(stroke.fill)
    see_through = "" if opacity >= 1 else f' stroke-opacity="{_number(opacity)}"'
    end = " Z" if stroke.closed else ""
    return (
        f'<path d="M{steps}{end}" fill="{fill}" stroke="{_ink(stroke.ink)}" '
        f'stroke-width="{_number(width)}" stroke-linecap="round" stroke-linejoin="round"'
        f"{see_through}/>"
    )


def _dot(dot: Dot) -> str:
    place = f'<circle cx="{_number(dot.x)}" cy="{_number(dot.y)}" r="{_number(dot.radius)}"'
    see_through = "" if dot.opacity >= 1 else f' opacity="{_number(dot.opacity)}"'
    if dot.ring_width:
        ring = f'stroke="{_ink(dot.ink)}" stroke-width="{_number(dot.ring_width)}"'
        return f'{place} fill="none" {ring}{see_through}/>'
    return f'{place} fill="{_ink(dot.ink)}"{see_through}/>'


def _ink(ink: Ink) -> str:
    return "#{:02x}{:02x}{:02x}".format(*ink)


def _number(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")
