"""Pieces of SVG, safe against what a catalog or a rider may have written in a name.

Only presentation attributes are used: a strict policy allows no inline style, and the maker of PDFs reads no page style here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from markupsafe import Markup, escape

Point = tuple[float, float]

INK = "currentColor"
PAPER = "#ffffff"
"""What bodies are filled with, so that they hide what is behind them; on a screen the page's style puts its own paper there."""


def element(name: str, *inside: str, **attributes: object) -> Markup:
    """Write one element. An attribute's `_` stands for `-`, and one that ends in `_` is a word of Python's.

    Example:
        >>> element("text", "Tern & Co", font_size=12, class_="word")
        Markup('<text font-size="12" class="word">Tern &amp; Co</text>')
    """
    told = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{escape(_written(value))}"'
        for key, value in attributes.items()
        if value is not None
    )
    held = Markup().join(escape(x) for x in inside)
    return Markup(f"<{name}{told}>{held}</{name}>") if held else Markup(f"<{name}{told}/>")  # noqa: S704 -- all of it is escaped


def _written(value: object) -> str:
    return f"{value:.1f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)


def joined(pieces: Iterable[Markup]) -> Markup:
    """Put pieces one after another."""
    return Markup().join(pieces)


def group(pieces: Iterable[Markup], **attributes: object) -> Markup:
    """Put pieces into one group."""
    return element("g", joined(pieces), **attributes)


def stroke(path: str, **attributes: object) -> Markup:
    """Draw a line without a body."""
    return element("path", d=path, **{"fill": "none", **attributes})


def body(path: str, **attributes: object) -> Markup:
    """Draw a closed outline that hides what is behind it."""
    return element("path", d=path, **{"fill": PAPER, "class_": "paper", **attributes})


def circle(at: Point, radius: float, **attributes: object) -> Markup:
    """Draw a circle without a body."""
    return element("circle", cx=at[0], cy=at[1], r=radius, **{"fill": "none", **attributes})


def line(points: Sequence[Point], **attributes: object) -> Markup:
    """Draw straight lines through points."""
    return stroke("M" + " L".join(f"{x:.1f} {y:.1f}" for x, y in points), **attributes)


def word(at: Point, text: str, **attributes: object) -> Markup:
    """Write a word."""
    return element("text", text, x=at[0], y=at[1], **{"fill": INK, "class_": "ink", **attributes})


def picture(width: float, height: float, title: str, inside: Iterable[Markup], *, name: str) -> Markup:
    """Frame a picture: what it shows is its name for whoever hears the page; the words beside it say the rest.

    Args:
        name: Marks its title in the page; no other element there may have it.
    """
    return element(
        "svg",
        element("title", title, id=name),
        group(inside, stroke=INK, stroke_width=1.5, stroke_linejoin="round", stroke_linecap="round"),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {width:g} {height:g}",
        width=f"{width:g}",
        height=f"{height:g}",
        role="img",
        aria_labelledby=name,
        class_="drawing",
        color="#23261f",
        font_family="inherit",
    )
