"""Problem documents: their kinds, which exception makes which, and their OpenAPI declarations."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from rules.errors import LoomwayError, MalformedQuestion, UnknownBike, UnknownId, UnknownPart, UnknownPlace
from service.denied import KeyNeeded, NoDatabase, WrongRole
from service.faults import Fault
from service.plans.trouble import (
    KeyUsedOtherwise,
    PlanArchived,
    PlanChanged,
    RevisionNeeded,
    UnknownPlan,
    UnknownRevision,
    UnknownRider,
    UnknownShare,
    UnknownVisit,
)
from service.releasing.failures import Failure, NoRoom
from service.releasing.outcome import NotAnArchive, UnknownHold, UnknownKept
from service.serving import ReleaseBehind, ReleaseGone, UnknownLine, UnknownRelease
from service.shapes.problem import FaultTold, Problem
from service.store.errors import DamagedRelease, StoreError, StoreFull
from service.store.events import Overtaken

MEDIA_TYPE = "application/problem+json"
TYPE_PREFIX = "tag:loomway.example,2026:problem/"
"""A tag names a kind for ever and promises no page (RFC 9457, 4.1); docs/api.md lists them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of problem: its stable code, its status, and what the caller is told."""

    code: str
    status: int
    title: str
    detail: str
    cure: str


BAD_HTTP = Kind(
    code="bad-http",
    status=400,
    title="This is not HTTP as it is understood here",
    detail="The request has a method that nobody knows, headers that are too long, or is not HTTP at all.",
    cure="Send HTTP/1.1 with a known method and headers below 64 kB.",
)
MALFORMED_JSON = Kind(
    code="malformed-json",
    status=400,
    title="The body cannot be read",
    detail="The body is not JSON in UTF-8, or is nested too deeply, or holds a number with too many digits.",
    cure="Send one JSON object in UTF-8.",
)
NO_SUCH_ADDRESS = Kind(
    code="no-such-address",
    status=404,
    title="There is nothing at this address",
    detail="No resource has this path.",
    cure="Look the path up in /v1/openapi.json.",
)
WRONG_METHOD = Kind(
    code="wrong-method",
    status=405,
    title="This address takes another method",
    detail="The header Allow lists the methods that it takes.",
    cure="Use one of the methods in Allow.",
)
BODY_TOO_LARGE = Kind(
    code="body-too-large",
    status=413,
    title="The body is too long",
    detail="The body is longer than this service reads.",
    cure="Ask fewer questions in one request.",
)
NOT_JSON = Kind(
    code="not-json",
    status=415,
    title="The body is of another kind than JSON",
    detail="The header Content-Type must be application/json.",
    cure="Send JSON, and say so in Content-Type.",
)
MALFORMED_REQUEST = Kind(
    code="malformed-request",
    status=422,
    title="The request has fields that are wrong, missing or not known",
    detail="`faults` lists every field with what is wrong with it.",
    cure="Correct the fields in `faults`.",
)
MALFORMED_QUESTION = Kind(
    code="malformed-question",
    status=422,
    title="The question contradicts itself",
    detail="Each field is well formed, but they do not go together.",
    cure="Correct the field.",
)
UNKNOWN_BIKE = Kind(
    code="unknown-bike",
    status=404,
    title="The catalog has no such bike",
    detail="No bike has this id.",
    cure="Take an id from /v1/bikes, or one from `nearest`.",
)
UNKNOWN_PART = Kind(
    code="unknown-part",
    status=404,
    title="The catalog has no such part",
    detail="No part has this id.",
    cure="Take an id from /v1/parts, or one from `nearest`.",
)
UNKNOWN_LINE = Kind(
    code="unknown-line",
    status=404,
    title="The catalog has no such part line",
    detail="No part line has this id.",
    cure="Take the line of a part from /v1/parts, or one from `nearest`.",
)
UNKNOWN_PLACE = Kind(
    code="unknown-place",
    status=404,
    title="There is no such place",
    detail="No place has this id, or this bike does not have it.",
    cure="Take an id from the bike's locations, or one from `nearest`.",
)
UNKNOWN_RELEASE = Kind(
    code="unknown-release",
    status=404,
    title="This release is not served here",
    detail="The address is pinned to a release or an engine revision that is not served.",
    cure="Ask without a pin, or take the release that /v1/catalog names.",
)
RELEASE_GONE = Kind(
    code="release-gone",
    status=404,
    title="This release cannot be compared with any more",
    detail="It is not kept here, was of another engine revision, or was never served here.",
    cure="Read what you keep anew, from the lists or the exports; their first line names the release to ask about next.",
)
UNKNOWN_KEPT = Kind(
    code="unknown-kept-release",
    status=404,
    title="No such release is kept, or none to go back to",
    detail="No release has this id; to go back, it must be another one of the last twenty that were served.",
    cure="Take an id from /v1/releases or /v1/activations, or one from `nearest`.",
)
UNKNOWN_HOLD = Kind(
    code="unknown-hold",
    status=404,
    title="No such hold is set",
    detail="No hold that is set has this number.",
    cure="Take a number from /v1/holds.",
)
KEY_NEEDED = Kind(
    code="key-needed",
    status=401,
    title="A key is needed",
    detail="The header Authorization holds no key, or one that is not known or was taken back.",
    cure="Send `Authorization: Bearer KEY`, with a key from `loomway keys add`.",
)
WRONG_ROLE = Kind(
    code="wrong-role",
    status=403,
    title="This key is for something else",
    detail="The key has another role than this address needs.",
    cure="Take a key with the role that docs/api.md names.",
)
OVERTAKEN = Kind(
    code="overtaken",
    status=409,
    title="Somebody else was quicker",
    detail="Somebody changed what is served, or this hold, in the meantime. Nothing was done.",
    cure="Look at /v1/activations, and ask again if you still want it.",
)
NOT_AN_ARCHIVE = Kind(
    code="not-an-archive",
    status=415,
    title="The body is of another kind than an archive",
    detail="The header Content-Type must be application/zip, application/gzip or application/x-tar.",
    cure="Pack the catalog's directory as ZIP or tar, and say so in Content-Type.",
)
NO_DATABASE = Kind(
    code="no-database",
    status=503,
    title="This service keeps nothing",
    detail="What was asked for is kept in a database, and this service runs without one.",
    cure="Set LOOMWAY_DATABASE_URL, run `loomway store migrate`, and start the service again.",
)
STORE_LOST = Kind(
    code="database-lost",
    status=503,
    title="The database cannot be reached",
    detail="Nothing was written. Questions about bikes and parts are answered all the same.",
    cure="Try again in a moment.",
)
NO_ROOM = Kind(
    code="no-room",
    status=507,
    title="There is no room left",
    detail="The database or the disk is full. Nothing was written.",
    cure="Tell whoever runs the service; try again once there is room.",
)
NOT_OPENED = Kind(
    code="release-not-opened",
    status=503,
    title="The release cannot be opened",
    detail="It is damaged in the database, too much for this machine, or no longer sound for this revision.",
    cure="Upload it again, or take another one.",
)
UNKNOWN_PLAN = Kind(
    code="unknown-plan",
    status=404,
    title="There is no such plan",
    detail="No saved plan has this id.",
    cure="Take an id from /v1/plans or /v1/plan-searches.",
)
UNKNOWN_REVISION = Kind(
    code="unknown-revision",
    status=404,
    title="The plan has no such revision",
    detail="No change of this plan has this number.",
    cure="Take a number from the plan's revisions.",
)
UNKNOWN_VISIT = Kind(
    code="unknown-visit",
    status=404,
    title="No such visit was done",
    detail="No visit of this number was written down as done; they count from 1 over all plannings.",
    cure="Take a number from `done` of the plan, or write the visit down first.",
)
UNKNOWN_RIDER = Kind(
    code="unknown-rider",
    status=404,
    title="There is no such rider",
    detail="No rider has this id, or the rider was erased.",
    cure="Take an id from a plan.",
)
UNKNOWN_SHARE = Kind(
    code="unknown-share",
    status=404,
    title="This link leads nowhere",
    detail="It is not known, or it has ended, or it was withdrawn.",
    cure="Ask the workshop for a new one.",
)
PLAN_CHANGED = Kind(
    code="plan-changed",
    status=412,
    title="Somebody changed the plan in the meantime",
    detail="The plan is at another revision than `If-Match` names. Nothing was done.",
    cure="Look at the plan again, and make the change to what you see there.",
)
REVISION_NEEDED = Kind(
    code="revision-needed",
    status=428,
    title="Say which revision you have seen",
    detail="A change of a plan needs the header If-Match with the plan's ETag; `*` is not enough.",
    cure="Get the plan, and send its ETag in If-Match.",
)
KEY_USED = Kind(
    code="key-used-otherwise",
    status=422,
    title="This Idempotency-Key was sent with another request",
    detail="The same key stands for the same request; this one differs from the first. Nothing was done.",
    cure="Send another key, or the first request again.",
)
PLAN_ARCHIVED = Kind(
    code="plan-archived",
    status=409,
    title="The plan is put away",
    detail="A plan that is put away is not changed.",
    cure="Take it up again first.",
)
TOO_MANY = Kind(
    code="too-many-requests",
    status=429,
    title="Too many questions in a short time",
    detail="This client has asked more often than this service answers within a minute.",
    cure="Wait as long as Retry-After says; ask many questions in one request.",
)
TOO_BUSY = Kind(
    code="too-busy",
    status=503,
    title="Too much is being worked out at once",
    detail="As many questions are being worked out as this process takes on.",
    cure="Try again in a moment.",
)
TOO_LONG = Kind(
    code="took-too-long",
    status=503,
    title="Working this out takes too long",
    detail="No answer was ready in the time that this service gives to one request. It is worked on still.",
    cure="Try again in a moment: what has been worked out by then is kept.",
)
RELEASE_BEHIND = Kind(
    code="release-behind",
    status=503,
    title="This process is behind what you have seen",
    detail="Loomway-Min-Release names a later release than this process serves.",
    cure="Try again in a moment, or ask without that header.",
)
PLAN_REFUSED = Kind(
    code="plan-refused",
    status=500,
    title="The plan does not hold",
    detail="A plan was made, and checking it anew found a fault in it. The fault is ours, and no plan is given.",
    cure="Ask for something a little different, and tell the workshop what you asked.",
)
INTERNAL = Kind(
    code="internal-fault",
    status=500,
    title="The service failed",
    detail="The fault is ours, and no answer was given.",
    cure="Try again; if it fails again, tell the workshop what you asked.",
)

KINDS = (
    BAD_HTTP,
    MALFORMED_JSON,
    NO_SUCH_ADDRESS,
    WRONG_METHOD,
    BODY_TOO_LARGE,
    NOT_JSON,
    MALFORMED_REQUEST,
    MALFORMED_QUESTION,
    UNKNOWN_BIKE,
    UNKNOWN_PART,
    UNKNOWN_LINE,
    UNKNOWN_PLACE,
    UNKNOWN_RELEASE,
    RELEASE_GONE,
    UNKNOWN_KEPT,
    UNKNOWN_HOLD,
    KEY_NEEDED,
    WRONG_ROLE,
    OVERTAKEN,
    NOT_AN_ARCHIVE,
    NO_DATABASE,
    STORE_LOST,
    NO_ROOM,
    NOT_OPENED,
    UNKNOWN_PLAN,
    UNKNOWN_REVISION,
    UNKNOWN_VISIT,
    UNKNOWN_RIDER,
    UNKNOWN_SHARE,
    PLAN_CHANGED,
    REVISION_NEEDED,
    KEY_USED,
    PLAN_ARCHIVED,
    PLAN_REFUSED,
    INTERNAL,
)
_BY_EXCEPTION: dict[type[LoomwayError], Kind] = {
    UnknownBike: UNKNOWN_BIKE,
    UnknownPart: UNKNOWN_PART,
    UnknownLine: UNKNOWN_LINE,
    UnknownPlace: UNKNOWN_PLACE,
    UnknownRelease: UNKNOWN_RELEASE,
    ReleaseGone: RELEASE_GONE,
    MalformedQuestion: MALFORMED_QUESTION,
    UnknownKept: UNKNOWN_KEPT,
    UnknownHold: UNKNOWN_HOLD,
    KeyNeeded: KEY_NEEDED,
    WrongRole: WRONG_ROLE,
    NoDatabase: NO_DATABASE,
    NotAnArchive: NOT_AN_ARCHIVE,
    UnknownPlan: UNKNOWN_PLAN,
    UnknownRevision: UNKNOWN_REVISION,
    UnknownVisit: UNKNOWN_VISIT,
    UnknownRider: UNKNOWN_RIDER,
    UnknownShare: UNKNOWN_SHARE,
    PlanChanged: PLAN_CHANGED,
    RevisionNeeded: REVISION_NEEDED,
    KeyUsedOtherwise: KEY_USED,
    PlanArchived: PLAN_ARCHIVED,
}
_BY_FAILURE: dict[type[Exception], Kind] = {
    StoreFull: NO_ROOM,
    NoRoom: NO_ROOM,
    DamagedRelease: NOT_OPENED,
    Failure: NOT_OPENED,
    StoreError: STORE_LOST,
    ReleaseBehind: RELEASE_BEHIND,
    Overtaken: OVERTAKEN,
}
"""The first that a failure is one of counts."""

FAILURES: tuple[type[Exception], ...] = (StoreError, Failure, Overtaken, ReleaseBehind)
"""What goes wrong with what is kept, and is no mistake of the caller's."""


def problem_of_failure(error: Exception, release: str) -> Problem:
    """Write what went wrong with what is kept as a problem."""
    return problem(next(kind for known, kind in _BY_FAILURE.items() if isinstance(error, known)), release)


_API_WORDS = {"stages": "visits", "by": "by_visit", "budget": "budget_minor"}
"""What the API calls the fields of a question of `rules`, where it is another word."""


def problem_of(
    error: LoomwayError, asked: dict[str, Any], release: str, question_at: str = "/body"
) -> Problem:
    """Write a caller's mistake as a problem.

    Args:
        asked: The request as a tree with branches `path`, `query` and `body`; an unknown id is found in it.
        question_at: Where in the request the question stands.
    """
    kind = _BY_EXCEPTION[type(error)]
    match error:
        case UnknownId():
            field = _where(asked, error.asked, error.what)
            return problem(kind, release, field=field, nearest=error.nearest)
        case MalformedQuestion():
            return problem(kind, release, field="/".join([question_at, *steps_to(error)]), cure=error.cure)
    return problem(kind, release)


def steps_to(error: MalformedQuestion) -> list[str]:
    """Give the way to a contradiction, in the words of the API; none where it is of the whole question."""
    return [_API_WORDS.get(step, step) for step in error.field.split(".") if step]


def problem(
    kind: Kind,
    release: str,
    *,
    field: str | None = None,
    nearest: tuple[str, ...] = (),
    cure: str | None = None,
    found: tuple[Fault, ...] = (),
) -> Problem:
    """Write a problem of a kind."""
    return Problem(
        type=TYPE_PREFIX + kind.code,
        title=kind.title,
        status=kind.status,
        code=kind.code,
        detail=kind.detail,
        field=field,
        nearest=nearest,
        cure=cure or kind.cure,
        faults=tuple(FaultTold(**asdict(fault)) for fault in found),
        release=release,
    )


def _where(asked: dict[str, Any], wanted: str, what: str) -> str | None:
    """Find the field that holds an id, a field of that kind of thing before others."""
    found = [pointer for pointer, value in _leaves(asked, "") if str(value) == wanted]
    return min(found, key=lambda pointer: what not in pointer, default=None)


def _leaves(tree: object, pointer: str) -> Iterator[tuple[str, object]]:
    if isinstance(tree, dict):
        for key, value in tree.items():
            yield from _leaves(value, f"{pointer}/{key}")
    elif isinstance(tree, (list, tuple)):
        for index, value in enumerate(tree):
            yield from _leaves(value, f"{pointer}/{index}")
    else:
        yield pointer, tree


def declared(*kinds: Kind) -> dict[int | str, dict[str, Any]]:
    """Declare the problems of a route for its OpenAPI entry."""
    codes: dict[int | str, list[str]] = {}
    for kind in kinds:
        codes.setdefault(kind.status, []).append(f"`{kind.code}`")
    return {status: {"model": Problem, "description": ", ".join(names)} for status, names in codes.items()}


BODY_PROBLEMS = (MALFORMED_JSON, BODY_TOO_LARGE, NOT_JSON, MALFORMED_REQUEST)
"""What any route that takes a body may answer."""

KEY_PROBLEMS = (KEY_NEEDED, WRONG_ROLE, NO_DATABASE)
"""What any route that needs a key may answer."""

STORE_PROBLEMS = (STORE_LOST, NO_ROOM, NOT_OPENED)
"""What any route that looks into the database may answer."""
