"""The errors of the service, and the one table that maps errors to HTTP.

OvenwardError                    (planner.errors; knows no HTTP)
├── InputError                   422  what was sent cannot be right
├── OutOfRangeError              500  ours: an input check let something impossible through
├── NotConvergedError            500  ours: an iteration did not settle
└── ServiceError
    ├── NotSignedInError         401  nobody is signed in, and the key is none
    │   └── WrongSignInError     401  login and password, or a code, do not fit
    ├── NotAllowedError          403  whoever it is may not do this
    ├── TooLargeError            413  the body is longer than anything that is meant
    ├── TooManyTriesError        429  too many sign-ins failed; says how long to wait
    ├── StoppingError            503  it is about to stop
    ├── NotFoundError            404  nothing of that name is stored
    ├── ChangedMeanwhileError    412  it is not, or no longer, what the sender had read
    ├── KeyReusedError           422  an Idempotency-Key came with another request before
    ├── StillAnsweringError      409  the first request of an Idempotency-Key is not answered yet
    ├── ClashError               409  it clashes with what is stored
    │   ├── DayIncompleteError   409  a plan was asked for, and part of its day is missing
    │   ├── DayClashError        409  the parts of a day do not fit together
    │   ├── InUseError           409  plans were made from it
    │   ├── ReadingClashError    409  a reading of this id says something else
    │   └── PlanNotReadyError    409  the plan is still being made, or could not be made
    ├── PlanningFailedError      500  ours: planning broke off; logged
    ├── PdfMissingError          501  what makes PDF is not installed; says what to install
    ├── PdfFailedError           500  ours: making a PDF took too long or crashed; logged
    ├── StoredProblemError            a problem that a job stored; told with its own status
    └── NoDatabaseError          503  the database does not answer
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import structlog
from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, RedirectResponse
from sqlalchemy.exc import IntegrityError, OperationalError
from starlette.exceptions import HTTPException

from api.addresses import at
from api.files.faults import faults_of
from api.schemas.problems import MEDIA_TYPE, FaultRead, Problem
from planner.errors import Fault, InputError, OvenwardError

_log = structlog.get_logger()


class ServiceError(OvenwardError):
    """Base of what the service itself refuses.

    Attributes
    ----------
    faults
        What is wrong, field by field; empty when it is not a matter of fields.
    """

    def __init__(self, detail: str, faults: Iterable[Fault] = ()) -> None:
        super().__init__(detail)
        self.faults: tuple[Fault, ...] = tuple(faults)


class NotSignedInError(ServiceError):
    """Nobody is signed in, or the key is none."""


class WrongSignInError(NotSignedInError):
    """Login and password, or a code, do not fit."""


class NotAllowedError(ServiceError):
    """Whoever it is may not do this."""


class TooLargeError(ServiceError):
    """The body is longer than anything that is meant."""


class StoppingError(ServiceError):
    """The service is about to stop."""


class TooManyTriesError(ServiceError):
    """Too many sign-ins failed.

    Attributes
    ----------
    wait_s
        Seconds after which another try counts.
    """

    def __init__(self, wait_s: int) -> None:
        minutes = -(-wait_s // 60)
        super().__init__(f"Too many sign-ins failed. Try again in {minutes} min.")
        self.wait_s = wait_s


class NotFoundError(ServiceError):
    """Nothing of that name is stored."""

    def __init__(self, what: str, name: str) -> None:
        super().__init__(f"There is no {what} {name!r}.")


class ChangedMeanwhileError(ServiceError):
    """It is not, or no longer, what the sender had read.

    Attributes
    ----------
    tag
        Entity tag of what is stored now; None when nothing is.
    """

    def __init__(self, tag: str | None, *, was_to_be_new: bool = False) -> None:
        now = "Nothing is stored there now" if tag is None else f"Its tag is {tag} now"
        what = "It is there already" if was_to_be_new else "It is not what you had read"
        super().__init__(f"{what}; nothing was changed. {now}. Read it, and change that.")
        self.tag = tag


class KeyReusedError(ServiceError):
    """An Idempotency-Key came with another request before."""


class StillAnsweringError(ServiceError):
    """The first request of an Idempotency-Key is not answered yet."""


class ClashError(ServiceError):
    """It clashes with what is stored."""


class DayIncompleteError(ClashError):
    """A plan was asked for, and part of its day is missing."""


class DayClashError(ClashError):
    """The parts of a day do not fit together."""


class InUseError(ClashError):
    """Plans were made from it."""


class ReadingClashError(ClashError):
    """A reading of this id says something else."""


class PlanNotReadyError(ClashError):
    """The plan is still being made, or could not be made."""


class PlanningFailedError(ServiceError):
    """Planning broke off for a reason that is ours."""


class PdfMissingError(ServiceError):
    """What makes PDF is not installed; the message says what to install."""


class PdfFailedError(ServiceError):
    """Making a PDF took too long, or crashed."""


class NoDatabaseError(ServiceError):
    """The database does not answer."""


@dataclass(frozen=True, slots=True)
class ProblemKind:
    """How one kind of error is told over HTTP.

    Attributes
    ----------
    error
        The error, and every error derived from it that has no line of its own.
    name
        Stable last part of the problem's ``type``.
    """

    error: type[Exception]
    name: str
    title: str
    status: int

    @property
    def type(self) -> str:
        """Relative reference that names the kind."""
        return f"/problems/{self.name}"


KINDS = (
    ProblemKind(InputError, "invalid-input", "Input is not right", 422),
    ProblemKind(WrongSignInError, "wrong-sign-in", "The sign-in does not fit", 401),
    ProblemKind(NotSignedInError, "not-signed-in", "Nobody is signed in", 401),
    ProblemKind(NotAllowedError, "not-allowed", "Not allowed", 403),
    ProblemKind(TooLargeError, "too-large", "The body is too long", 413),
    ProblemKind(TooManyTriesError, "too-many-tries", "Too many sign-ins failed", 429),
    ProblemKind(StoppingError, "stopping", "The service is stopping", 503),
    ProblemKind(NotFoundError, "not-found", "Not found", 404),
    ProblemKind(ChangedMeanwhileError, "changed-meanwhile", "It was changed meanwhile", 412),
    ProblemKind(KeyReusedError, "key-reused", "The Idempotency-Key was used before", 422),
    ProblemKind(StillAnsweringError, "still-answering", "The first request is being answered", 409),
    ProblemKind(DayIncompleteError, "day-incomplete", "The day is not complete", 409),
    ProblemKind(DayClashError, "day-clash", "The day does not fit together", 409),
    ProblemKind(InUseError, "in-use", "Plans were made from it", 409),
    ProblemKind(ReadingClashError, "reading-clash", "The reading is already stored", 409),
    ProblemKind(PlanNotReadyError, "plan-not-ready", "The plan is not ready", 409),
    ProblemKind(ClashError, "clash", "It clashes with what is stored", 409),
    ProblemKind(IntegrityError, "clash", "It clashes with what is stored", 409),
    ProblemKind(NoDatabaseError, "no-database", "The database does not answer", 503),
    ProblemKind(OperationalError, "no-database", "The database does not answer", 503),
    ProblemKind(PdfMissingError, "no-pdf", "PDF is not installed", 501),
    ProblemKind(PdfFailedError, "pdf-failed", "The PDF could not be made", 500),
    ProblemKind(PlanningFailedError, "planning-failed", "Planning broke off", 500),
    ProblemKind(Exception, "internal", "The service failed", 500),
)
"""The table; the first line that fits an error holds."""

FRAMEWORK_KINDS: dict[str, tuple[str, int | None]] = {
    "not-found": ("Not found", 404),
    "method-not-allowed": ("Method Not Allowed", 405),
    "http": ("The request is not HTTP as it should be", None),
}
"""What the framework itself refuses: unknown paths, methods, unreadable requests."""


def described() -> str:
    """Return how the interface tells what it cannot do, with every kind of problem."""
    kinds = {kind.type: f"`{kind.type}` ({kind.status}): {kind.title.lower()}" for kind in KINDS}
    return (
        "What cannot be done is answered as Problem Details (RFC 9457). The `type` of a problem"
        " never changes:\n\n" + "\n".join(f"- {one}" for one in sorted(kinds.values()))
    )


OURS = "This is a fault of the service, not of what was sent. It is in the service's log."


def kind_of(error: Exception) -> ProblemKind:
    """Return the line of the table that holds for an error."""
    return next(kind for kind in KINDS if isinstance(error, kind.error))


def problem_of(error: Exception, instance: str) -> Problem:
    """Return an error as a problem.

    Parameters
    ----------
    instance
        Path of the request that failed.
    """
    kind = kind_of(error)
    return Problem(
        type=kind.type,
        title=kind.title,
        status=kind.status,
        detail=_detail(error, kind),
        instance=instance,
        faults=[FaultRead.of(fault) for fault in getattr(error, "faults", ())],
    )


def _detail(error: Exception, kind: ProblemKind) -> str:
    if isinstance(error, InputError):
        return counted(error.faults)
    if isinstance(error, ServiceError):
        return str(error)
    if isinstance(error, IntegrityError):
        return "Somebody else changed it at the same moment; nothing was stored. Send it again."
    if kind.status == 503:
        return "The database does not answer; nothing was stored. Try again in a moment."
    return OURS


def counted(faults: Sequence[Fault]) -> str:
    """Return how many faults there are, as a sentence.

    Examples
    --------
    >>> counted([Fault("port", "0", "is out of range", "enter 1 to 9")])
    '1 thing is wrong with what was sent.'
    """
    count = len(faults)
    return f"{count} thing{'s are' if count != 1 else ' is'} wrong with what was sent."


def respond(problem: Problem) -> JSONResponse:
    """Return a problem as a response."""
    return JSONResponse(problem.model_dump(), problem.status, media_type=MEDIA_TYPE)


class StoredProblemError(ServiceError):
    """A problem that was told before, such as by the job that made a plan."""

    def __init__(self, problem: dict[str, Any]) -> None:
        self.problem = Problem.model_validate(problem)
        super().__init__(self.problem.detail)


def responses(*statuses: int, is_open: bool = False) -> dict[int | str, dict[str, Any]]:
    """Return what a route declares for its problems, by status.

    Parameters
    ----------
    is_open
        Whether it asks for nobody.
    """
    described = {
        401: "Nobody is signed in, or the key is none.",
        403: "Whoever is signed in may not do this.",
        404: "Nothing of that name is stored.",
        409: "It clashes with what is stored.",
        412: "It is not what the sender had read; the header `ETag` has the tag of what is stored.",
        413: "The body is longer than anything that is meant.",
        422: "What was sent is malformed or cannot be right; each fault is listed.",
        500: "A fault of the service.",
        501: "What makes PDF is not installed; the answer says what to install.",
        503: "The database does not answer.",
    }
    schema = {"$ref": "#/components/schemas/Problem"}
    return {
        status: {"description": described[status], "content": {MEDIA_TYPE: {"schema": schema}}}
        for status in ((*statuses,) if is_open else (401, 403, *statuses))
    }


def install(app: FastAPI) -> None:
    """Let every error leave the app as a problem."""
    app.add_exception_handler(OvenwardError, _on_error)
    app.add_exception_handler(OperationalError, _on_error)
    app.add_exception_handler(IntegrityError, _on_error)
    app.add_exception_handler(StoredProblemError, _on_stored)
    app.add_exception_handler(RequestValidationError, _on_malformed)
    app.add_exception_handler(HTTPException, _on_http)
    app.add_exception_handler(Exception, _on_error)


async def _on_error(request: Request, error: Exception) -> Response:
    problem = problem_of(error, request.url.path)
    wants_page = request.method == "GET" and "text/html" in request.headers.get("accept", "")
    if problem.status == 401 and wants_page:
        return RedirectResponse(at("/sign-in"), 303)
    if problem.status >= 500:
        await _log.aerror("request failed", path=request.url.path, exc_info=error)
    response = respond(problem)
    if isinstance(error, ChangedMeanwhileError) and error.tag is not None:
        response.headers["ETag"] = error.tag
    if isinstance(error, StillAnsweringError):
        response.headers["Retry-After"] = "1"
    if isinstance(error, TooManyTriesError):
        response.headers["Retry-After"] = str(error.wait_s)
    if problem.status == 401:
        response.headers["WWW-Authenticate"] = "Bearer"
    return response


async def _on_stored(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, StoredProblemError)  # noqa: S101  registered for it alone
    return respond(error.problem.model_copy(update={"instance": request.url.path}))


async def _on_malformed(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, RequestValidationError)  # noqa: S101  registered for it alone
    errors = error.errors()
    if errors and errors[0]["type"] == "json_invalid":
        faults = [_unreadable(errors[0])]
    else:
        faults = faults_of(errors, error.body)
    return respond(problem_of(InputError(faults), request.url.path))


def _unreadable(error: dict[str, Any]) -> Fault:
    place = f"at character {error['loc'][-1]}"
    return Fault("body", place, f"is not JSON: {error['ctx']['error']}", "send JSON")


async def _on_http(request: Request, error: Exception) -> JSONResponse:
    """Answer what the framework itself refuses: unknown paths, methods, unreadable bodies."""
    assert isinstance(error, HTTPException)  # noqa: S101  registered for it alone
    name = {404: "not-found", 405: "method-not-allowed"}.get(error.status_code, "http")
    problem = Problem(
        type=f"/problems/{name}",
        title=str(error.detail),
        status=error.status_code,
        detail=f"{request.method} {request.url.path}: {error.detail}.",
        instance=request.url.path,
        faults=[],
    )
    response = respond(problem)
    response.headers.update(error.headers or {})
    return response
