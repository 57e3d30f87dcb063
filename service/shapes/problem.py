"""The one body of every error: a problem document (RFC 9457)."""

from __future__ import annotations

from service.shapes.base import Told


class FaultTold(Told):
    """One thing that is wrong with a request.

    `field` is a JSON pointer that begins with body, query or path.
    """

    field: str
    code: str
    says: str
    nearest: str | None


class Problem(Told):
    """What went wrong, never in the caller's own words.

    `code` is stable and made for programs. `field` points into the request (`/body/visits/0/on`,
    `/query/limit`, `/path/bike`); null where no field is at fault. `nearest` holds ids that look like the one
    that is not known. `cure` says what to do.
    """

    type: str
    title: str
    status: int
    code: str
    detail: str
    field: str | None
    nearest: tuple[str, ...]
    cure: str
    faults: tuple[FaultTold, ...]
    release: str
