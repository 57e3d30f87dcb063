"""Templates to pages. Everything that is put in is escaped, unless it is a drawing of our own; a missing value is an error."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from fastapi import Response
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from service.desk import words
from service.desk.pdf import to_pdf

POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self';"
    " form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
"""Only our own files, no inline script or style, and no page of others around ours."""

HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
}


def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(Path(__file__).parent / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals["for_rider"] = False
    made.filters.update(
        full=words.full_name,
        day=words.day,
        sentence=words.sentence,
        number=words.number,
        capital=words.capital,
    )
    return made


_TEMPLATES = _environment()


def render(template: str, **values: object) -> str:
    """Fill in a template."""
    return _TEMPLATES.get_template(template).render(**values)


def page(template: str, values: Mapping[str, object], status: int = 200) -> Response:
    """Answer with a page."""
    return Response(render(template, **values), status, media_type="text/html", headers=HEADERS)


def paper(template: str, values: Mapping[str, object], *, as_pdf: bool, name: str) -> Response:
    """Answer with a paper: as a page that prints, or as a PDF.

    Args:
        name: Of the file, without its ending.
    """
    if not as_pdf:
        return page(template, values)
    told = {**HEADERS, "Content-Disposition": f'inline; filename="{name}.pdf"'}
    return Response(to_pdf(render(template, **values)), media_type="application/pdf", headers=told)
