"""Who may do what: a key in the header Authorization, with one role. Questions about bikes and parts need none."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, cast

from fastapi import Depends, Request
from fastapi.security import HTTPAuthorizationCredentials, HTTPBearer

from service.denied import KeyNeeded, NoDatabase, WrongRole
from service.store.kept import KeptKey, Role

if TYPE_CHECKING:
    # Where there is no database, nothing of it is imported.
    from service.releasing.office import Office


_BEARER = HTTPBearer(
    auto_error=False, scheme_name="key", description="A key from `loomway keys add`, for one role."
)
_Given = Annotated[HTTPAuthorizationCredentials | None, Depends(_BEARER)]


def office_of(request: Request) -> Office:
    """Give the application's side of the database.

    Raises:
        NoDatabase: It has none.
    """
    office = cast("Office | None", request.app.state.office)
    if office is None:
        raise NoDatabase
    return office


class _Holder:
    """Lets in the holders of a key with one role."""

    def __init__(self, role: Role) -> None:
        self.role = role

    def __call__(self, request: Request, given: _Given) -> KeptKey:
        """Give whose key it is.

        Raises:
            NoDatabase, KeyNeeded, WrongRole: It lets nobody in.
        """
        office = office_of(request)
        holder = office.holder(given.credentials) if given else None
        if holder is None:
            raise KeyNeeded
        if holder.role != self.role:
            raise WrongRole
        return holder


CATALOG = Depends(_Holder("catalog"))
"""First among the dependencies of a route that takes a body, so that nobody without a key learns what is wrong with it."""

CatalogKey = Annotated[KeptKey, CATALOG]

SALES = Depends(_Holder("sales"))
"""Likewise, for whoever works with riders and their plans."""

SalesKey = Annotated[KeptKey, SALES]
