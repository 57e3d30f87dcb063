"""What a person is told who mistook an id, a file or a setting, and with which exit code."""

from __future__ import annotations

from pydantic import ValidationError

from rules.errors import LoomwayError, MalformedQuestion, UnknownCalculation, UnknownId
from rules.load import CatalogRefused
from service.authoring.refusal import CannotWrite
from service.plans.trouble import UnknownPlan, UnknownRider
from service.problems import steps_to
from service.releasing.failures import Failure
from service.releasing.outcome import UnknownHold, UnknownKept
from service.settings import UnknownSettings
from service.store.errors import StoreError
from service.store.events import Overtaken
from service.terminal.output import hint

WRONG_COMMAND = 2
CATALOG_REFUSED = 3
STORE_FAILED = 4

_LISTED_BY = {
    "bike": "loomway explain bikes",
    "part": "loomway explain parts",
    "place": "loomway explain places",
    "calculation": "loomway calc",
}


class WrongCommand(Exception):  # noqa: N818 -- it names what is wrong, like every exception here
    """A command or one of its files cannot be understood. Its text says what to do."""


def exit_code(error: Exception) -> int | None:
    """Tell a person of their mistake, and give the exit code; None if it is no mistake of theirs."""
    match error:
        case CatalogRefused():
            hint(str(error), "this catalog cannot be asked anything; `loomway check DIR` explains each fault")
            return CATALOG_REFUSED
        case UnknownCalculation():
            hint(f"there is no such calculation; {_suggestion(error)}")
        case UnknownKept() | UnknownHold():
            known = ", ".join(error.nearest) or "`loomway history` lists them"
            hint(f"there is no such {error.what} to take; {known}")
        case UnknownPlan() | UnknownRider():
            hint(
                f"there is no such {error.what}; `loomway plans list` lists plans, `loomway plans show` names a rider"
            )
        case StoreError() | Failure() | Overtaken():
            hint(str(error))
            return STORE_FAILED
        case UnknownId():
            hint(f"the catalog has no such {error.what}; {_suggestion(error)}")
        case MalformedQuestion():
            where = ".".join(steps_to(error))
            hint(f"{where}: {error}; {error.cure}" if where else f"{error}; {error.cure}")
        case LoomwayError() | WrongCommand() | CannotWrite() | UnknownSettings():
            hint(str(error))
        case ValidationError():
            hint(*(f"LOOMWAY_{str(fault['loc'][0]).upper()}: {fault['msg']}" for fault in error.errors()))
        case _:
            return None
    return WRONG_COMMAND


def _suggestion(error: UnknownId) -> str:
    if error.nearest:
        return f"did you mean {' or '.join(error.nearest)}?"
    return f"`{_LISTED_BY[error.what]}` lists them" if error.what in _LISTED_BY else "check the spelling"
