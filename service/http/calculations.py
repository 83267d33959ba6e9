"""Every calculation. The loop reads a request and estimates it; what is heavy is answered by a worker."""

from time import monotonic
from typing import Final

from litestar import HttpMethod, Response, get, post, route
from litestar.handlers import HTTPRouteHandler

from service.access.price import WORK_OF_A_SECOND
from service.circuit.estimate import refuse_over_limit
from service.circuit.most import MAXIMUM_REQUEST_WORK
from service.circuit.work import HEAVY_WORK
from service.http.answering import Written, prepare, work_of, written
from service.http.batch import BATCH, answer_batch, items_of, work_of_item
from service.http.replies import (
    AnyRequest,
    Tagged,
    begin,
    caller_of,
    id_of,
    kept_reply,
    posted_body,
    reserve,
)
from service.http.retirement import fields_of
from service.http.tasks import BY_ADDRESS, WORKERS, HeavyWork, Task, taken
from service.intake import negotiate
from service.observability.exchange import ARRIVED, exchange_of, note_work
from service.problems import Refused
from service.studies import STUDIES
from service.studies.drop_chart import DROP_CHART_BY_ADDRESS
from service.studies.record import JSON, VARY, AnyStudy, digest

LIGHT_BYTES: Final = 32_768
"""Of a longer body already the reading takes as long as several small answers; 20 lamps are 3 kB."""


def study_handlers() -> list[HTTPRouteHandler]:
    """One handler for each study of the table."""
    return [_handler_of(study) for study in STUDIES.values()]


def _handler_of(study: AnyStudy) -> HTTPRouteHandler:
    name = study.name

    async def answer(request: AnyRequest) -> Response[bytes]:
        # Looked up now, as a worker and a batch do.
        return await _calculated(request, STUDIES[name])

    answer.__name__ = answer.__qualname__ = study.operation
    answer.__doc__ = study.description.question
    return post(f"/v1/{name}", status_code=200)(answer)


@get("/v1/drop-chart")
async def get_drop_chart(request: AnyRequest) -> Response[bytes]:
    """What is left at the end of each cable, for loads times lengths? An address that a page can show."""
    _say_until_when(request, DROP_CHART_BY_ADDRESS)
    try:
        media_type = form_of(request, DROP_CHART_BY_ADDRESS)
    except Refused as refusal:
        raise Refused(refusal.code, refusal.detail, headers=VARY) from None
    raw: bytes = request.scope["query_string"]
    begin(request, len(raw))
    answer = await _answered(
        request, DROP_CHART_BY_ADDRESS, Task(BY_ADDRESS, raw, media_type, id_of(request))
    )
    reply = kept_reply(request, Tagged(answer.content, f'"{digest(answer.content)[:32]}"'), answer.media_type)
    # On 304 as well: a browser keeps its copy with the policy of the newest reply.
    reply.headers.update(answer.headers)
    return reply


@route("/v1/drop-chart", http_method=HttpMethod.OPTIONS, status_code=204, sync_to_thread=False)
def drop_chart_options() -> Response[None]:
    """Which methods does the address take? The framework's own answer names only the first of them."""
    methods = {HttpMethod.OPTIONS, HttpMethod.POST, *get_drop_chart.http_methods}
    return Response(None, headers={"Allow": ", ".join(sorted(methods))})


@post("/v1/batch", status_code=200)
async def batch(request: AnyRequest) -> Response[bytes]:
    """Several questions at once: an answer or a problem for each, in order, as if asked alone."""
    task = Task(BATCH, await posted_body(request), JSON, id_of(request))
    if _is_long(request, task):
        return _response(await _by_worker(request, task, MAXIMUM_REQUEST_WORK))
    items, work = [], 0
    for item in items_of(task.body):
        items.append(item)
        work += work_of_item(item)
        if _is_heavy(request, work):
            # What the rest would cost is not known, but what all may cost together is.
            return _response(await _by_worker(request, task, MAXIMUM_REQUEST_WORK))
    reserve(request, work)
    return _response(answer_batch(items, task.request_id))


def form_of(request: AnyRequest, study: AnyStudy) -> str:
    """The form of an answer that the request accepts best.

    Browsers fetch pictures with `image/*` or, some of them, `image/webp,*/*`: who names pictures and accepts
    anything wants the drawing, unless it names pages too: then it is a tab, not a picture in a page.
    """
    accept = request.headers.get("accept")
    pictures = accept is not None and "image/" in accept and JSON not in accept
    return negotiate(accept, study.for_pictures if pictures and study.for_pictures else study.offered)


def _say_until_when(request: AnyRequest, study: AnyStudy) -> None:
    """Let every reply from here on, refusals too, say until when a study is answered, where it is to go."""
    retirement = study.description.retirement
    if retirement is not None:
        exchange_of(request.scope).more_headers.extend(fields_of(study.name, retirement))


async def _calculated(request: AnyRequest, study: AnyStudy) -> Response[bytes]:
    """Answer a study in the form that is accepted best."""
    _say_until_when(request, study)
    body = await posted_body(request, study.offered)
    task = Task(study.name, body, form_of(request, study), id_of(request))
    return _response(await _answered(request, study, task))


async def _answered(request: AnyRequest, study: AnyStudy, task: Task) -> Written:
    """Answer here what is light, and let a worker answer the rest.

    Raises
    ------
    WorkOverLimitError
        It would cost more than one request may, before anything of it is done.
    """
    if _is_long(request, task):
        return await _by_worker(request, task, MAXIMUM_REQUEST_WORK)
    prepared = prepare(study, task.body)
    refuse_over_limit(prepared.estimate)
    work = work_of(prepared, task.media_type)
    if _is_heavy(request, work):
        return await _by_worker(request, task, work)
    reserve(request, work)
    return written(prepared, task.media_type)


def _is_long(request: AnyRequest, task: Task) -> bool:
    """Whether a worker should even read it."""
    workers: HeavyWork = request.app.state[WORKERS]
    return len(task.body) > LIGHT_BYTES and workers.are_at_work


def _is_heavy(request: AnyRequest, work: int) -> bool:
    """Whether a worker should answer what may take so much work."""
    workers: HeavyWork = request.app.state[WORKERS]
    return work > HEAVY_WORK and workers.are_at_work


async def _by_worker(request: AnyRequest, task: Task, work: int) -> Written:
    """Let a worker answer what may cost so much work at most."""
    reserve(request, work)

    async def left() -> None:
        while (await request.receive())["type"] != "http.disconnect":
            pass

    workers: HeavyWork = request.app.state[WORKERS]
    arrived: float = request.scope["state"].get(ARRIVED, monotonic())
    try:
        outcome = await workers.outcome_of(task, arrived, left, caller_of(request))
    except Refused as refusal:
        # A worker that was ended never reported what it had done.
        if refusal.code == "work-out-of-time":
            note_work(task.study, round(workers.work_seconds * WORK_OF_A_SECOND))
        elif refusal.code == "internal-error":
            note_work(task.study, work)
        raise
    return taken(outcome, exchange_of(request.scope))


def _response(answer: Written) -> Response[bytes]:
    return Response(answer.content, media_type=answer.media_type, headers=dict(answer.headers))
