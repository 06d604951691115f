"""The few SVG elements a drawing is made of.

Comes in: numbers and text. Goes out: terse SVG, coordinates to a tenth. Refuses: markup in a label other than a line
break, because a label holds names that come from a service's own records.
"""

from __future__ import annotations

import html
from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.plain_text import without_unseen_signs

LINE_HEIGHT = 1.25  # of the font size
ASCENT = 0.78  # from the top of a line box's letters to the baseline, of the font size
DASHES = {"solid": "", "dash": "7 4", "dot": "1.5 4"}
_ANCHORS = {"left": None, "center": "middle", "right": "end"}


@dataclass(frozen=True)
class Box:
    """The part of the drawing inside the margins, in the drawing's own units."""

    left: float
    top: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """The right edge."""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """The lower edge."""
        return self.top + self.height


def number(value: float) -> str:
    """A coordinate to a tenth, as short as it can be."""
    text = f"{value:.1f}"
    return "0" if text in ("0.0", "-0.0") else text.removesuffix(".0")


def attribute(name: str, value: object) -> str:
    """One attribute, escaped."""
    shown = number(value) if isinstance(value, float) else str(value)
    return f' {name}="{html.escape(shown)}"'


def paint(**values: object) -> str:
    """Attributes from keyword arguments, `stroke_width` as `stroke-width`; what is None or empty is left out."""
    stated = ((name.replace("_", "-"), value) for name, value in values.items() if value not in (None, ""))
    return "".join(attribute(name, value) for name, value in stated)


def path(steps: str, **values: object) -> str:
    """A path, or nothing where there are no steps."""
    return f'<path d="{steps}"{paint(**values)}/>' if steps else ""


def as_lines(text: str) -> list[str]:
    """A figure's text is Plotly's: `<br>` breaks a line, `&lt;` is a sign. Anything else with a `<` is refused."""
    lines = text.split("<br>")
    if any("<" in line for line in lines):
        raise ValueError(f"a label holds markup that cannot be drawn: {text!r}; escape it as &lt;")
    return [html.unescape(line) for line in lines]


@dataclass(frozen=True)
class Label:
    """Text of one or more lines, the first on a baseline of its own."""

    x: float
    baseline: float
    lines: tuple[str, ...]
    line_height: float


def label(text: str, x: float, y: float, size: float, vertical: str) -> Label:
    """Text of one or more lines whose block hangs from, is centred on or stands on the point.

    The size is needed to place the lines; it, the colour and the side are the group's to say, once for many labels.
    """
    lines = as_lines(text)
    block = (len(lines) - 1) * LINE_HEIGHT * size + size
    top = {"top": y, "middle": y - block / 2, "bottom": y - block}[vertical]
    return Label(x, top + (1 + ASCENT) / 2 * size, tuple(lines), LINE_HEIGHT * size)


def labels(texts: Sequence[Label], size: object, colour: object, side: str, weight: object = None) -> str:
    """A group of labels that look alike; `side` is the side of the point the text begins or ends at.

    What all of them share of their place is the group's to say: ticks share a height, labels at an edge share a side.
    """
    if not texts:
        return ""
    xs, ys = {number(label.x) for label in texts}, {number(label.baseline) for label in texts}
    share_x, share_y = len(xs) == 1 and len(texts) > 1, len(ys) == 1 and len(texts) > 1
    moved = f"translate({xs.pop() if share_x else 0} {ys.pop() if share_y else 0})" if share_x or share_y else None
    look = paint(font_size=size, fill=colour, text_anchor=_ANCHORS[side], font_weight=weight, transform=moved)
    return f"<g{look}>{''.join(_text(label, share_x, share_y) for label in texts)}</g>"


def _text(label: Label, share_x: bool, share_y: bool) -> str:
    x = "0" if share_x else number(label.x)
    place = ("" if share_x else f' x="{x}"') + ("" if share_y else f' y="{number(label.baseline)}"')
    first, *more = (html.escape(without_unseen_signs(line), quote=False) for line in label.lines)
    rest = "".join(f'<tspan x="{x}" dy="{number(label.line_height)}">{line}</tspan>' for line in more)
    return f"<text{place}>{first}{rest}</text>"
