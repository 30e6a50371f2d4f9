"""A picture as SVG for the page: classes for the roles, no style attribute, no script."""

from collections.abc import Callable
from html import escape
from typing import Any

from haccp.drawing.picture import Circle, Dash, Item, Line, Path, Picture, Polygon, Polyline, Rect, Text
from haccp.drawing.roles import Role

HATCH_PITCH = 7
MANY_POINTS = 300


def number(value: float) -> str:
    """Two decimals at most: a hundredth of a pixel is finer than any screen shows."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def to_svg(picture: Picture, *, css_class: str = "", id_prefix: str) -> str:
    """One <svg> element. id_prefix: unique on the page, as it names the title, the description and the hatches.

    The look of the roles comes from static/css/pictures.css.
    """
    prefix, classes = escape(id_prefix), escape(f"pic {css_class}".strip())
    size = f"{number(picture.width)} {number(picture.height)}"
    return "".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" class="{classes}" viewBox="0 0 {size}" width="100%"',
            f' role="img" aria-labelledby="{prefix}-title" aria-describedby="{prefix}-desc">',
            f'<title id="{prefix}-title">{escape(picture.title)}</title>',
            f'<desc id="{prefix}-desc">{escape(picture.description)}</desc>',
            _hatches(picture, prefix),
            "<g>",
            *(_WRITERS[type(item)](item, prefix) for item in picture.items),
            "</g></svg>",
        ]
    )


def to_svg_pair(wide: Picture, compact: Picture, *, css_class: str = "", id_prefix: str) -> str:
    """The same subject laid out for a desk and for a phone; the style sheet shows the one that fits."""
    return to_svg(wide, css_class=f"pic-wide {css_class}".strip(), id_prefix=f"{id_prefix}-wide") + to_svg(
        compact, css_class=f"pic-compact {css_class}".strip(), id_prefix=f"{id_prefix}-compact"
    )


def _hatches(picture: Picture, prefix: str) -> str:
    roles = sorted({item.role for item in picture.items if isinstance(item, Polygon | Rect) and item.hatch})
    if not roles:
        return ""
    return f"<defs>{''.join(_hatch(role, prefix) for role in roles)}</defs>"


def _hatch(role: Role, prefix: str) -> str:
    p = HATCH_PITCH
    return (
        f'<pattern id="{prefix}-hatch-{role}" width="{p}" height="{p}" patternUnits="userSpaceOnUse"'
        f' patternTransform="rotate(45)"><rect class="pic-{role} pic-area" width="{p}" height="{p}"/>'
        f'<line class="pic-{role} pic-hatch" x1="0" y1="0" x2="0" y2="{p}"/></pattern>'
    )


def _dash(dash: Dash) -> str:
    return f' stroke-dasharray="{" ".join(number(d) for d in dash)}"' if dash else ""


def _surface(item: Polygon | Rect | Circle, prefix: str) -> str:
    if not isinstance(item, Circle) and item.hatch:
        return f'class="pic-{item.role}" fill="url(#{prefix}-hatch-{item.role})"'
    return f'class="pic-{item.role} {"pic-hollow" if item.hollow else "pic-area"}"'


def _line(item: Line, prefix: str) -> str:
    ends = " ".join(f'{name}="{number(getattr(item, name))}"' for name in ("x1", "y1", "x2", "y2"))
    return f'<line class="pic-{item.role} pic-line" {ends}{_dash(item.dash)}/>'


def _coordinates(item: Polyline | Polygon) -> str:
    if len(item.points) > MANY_POINTS:  # all at once; a tenth of a pixel does where they lie so close
        return ("%.1f,%.1f " * len(item.points) % tuple(item.points.ravel().tolist())).rstrip()
    return " ".join(f"{number(x)},{number(y)}" for x, y in item.points.tolist())


def _polyline(item: Polyline, prefix: str) -> str:
    return f'<polyline class="pic-{item.role} pic-line" points="{_coordinates(item)}"{_dash(item.dash)}/>'


def _polygon(item: Polygon, prefix: str) -> str:
    return f'<polygon {_surface(item, prefix)} points="{_coordinates(item)}"/>'


def _rect(item: Rect, prefix: str) -> str:
    corner = f' rx="{number(item.radius)}"' if item.radius else ""
    return (
        f'<rect {_surface(item, prefix)} x="{number(item.x)}" y="{number(item.y)}"'
        f' width="{number(item.width)}" height="{number(item.height)}"{corner}/>'
    )


def _circle(item: Circle, prefix: str) -> str:
    place = f'cx="{number(item.x)}" cy="{number(item.y)}" r="{number(item.radius)}"'
    return f"<circle {_surface(item, prefix)} {place}/>"


def _text(item: Text, prefix: str) -> str:
    classes = f"pic-{item.role} pic-text" + (" pic-halo" if item.halo else "")
    x, y = number(item.x), number(item.y)
    turn = f' transform="rotate({number(item.rotate)} {x} {y})"' if item.rotate else ""
    weight = ' font-weight="700"' if item.bold else ""
    return (
        f'<text class="{classes}" x="{x}" y="{y}" font-size="{number(item.size)}"'
        f' text-anchor="{item.anchor}"{weight}{turn}>{escape(item.text)}</text>'
    )


def _path(item: Path, prefix: str) -> str:
    steps = " ".join(str(step[0]) + " ".join(number(float(value)) for value in step[1:]) for step in item.steps)
    kind = "pic-area" if item.filled else "pic-line"
    return f'<path class="pic-{item.role} {kind}" d="{steps}"{_dash(item.dash)}/>'


_WRITERS: dict[type[Item], Callable[[Any, str], str]] = {
    Line: _line,
    Polyline: _polyline,
    Polygon: _polygon,
    Rect: _rect,
    Circle: _circle,
    Text: _text,
    Path: _path,
}
