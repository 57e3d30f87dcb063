"""Pages as PDF. The maker of PDFs is heavy and needs Pango on the machine, so it is looked for only when somebody asks."""

from __future__ import annotations

from pathlib import Path

from rules.errors import LoomwayError

STATIC = Path(__file__).parent / "static"


class NoPdf(LoomwayError):  # noqa: N818 -- it names what is missing, like every exception here
    """This machine cannot make PDFs: Pango is missing. The page prints all the same."""


def to_pdf(page: str) -> bytes:
    """Turn a page into a PDF, with the sheet of styles that the page prints with.

    Raises:
        NoPdf: Pango is not installed here.
    """
    try:
        # Where Pango is missing, this import is what fails.
        from weasyprint import CSS, HTML  # noqa: PLC0415
    except OSError as error:
        raise NoPdf from error
    # Nothing is fetched: a name that a rider or a catalog wrote must not draw a file of this machine into a paper.
    styles = [CSS(string=(STATIC / name).read_text(encoding="utf-8")) for name in ("desk.css", "paper.css")]
    return bytes(HTML(string=page, url_fetcher=_refuse, media_type="print").write_pdf(stylesheets=styles))


def _refuse(url: str, *_: object, **__: object) -> object:
    raise ValueError(url.split(":", maxsplit=1)[0])
