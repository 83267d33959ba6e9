"""Transformer loading: what the transformer carries."""

from typing import Final

from service.studies.record import JSON, Study, json_form, sheet_forms
from service.studies.transformer_loading.reply import TransformerLoadingReply
from service.studies.transformer_loading.request import TransformerLoadingRequest
from service.studies.transformer_loading.selection import LoadingJob
from service.studies.transformer_loading.sheet import transformer_loading_sheet
from service.studies.transformer_loading.study import transformer_loading, transformer_loading_work
from service.studies.transformer_loading.translate import job_of, reply_of


def answer(message: TransformerLoadingRequest, question: LoadingJob, sha256: str) -> TransformerLoadingReply:
    """Load the transformer, and tell it."""
    return reply_of(message, transformer_loading(question), sha256)


TRANSFORMER_LOADING: Final = Study(
    "transformer-loading",
    TransformerLoadingRequest,
    job_of,
    transformer_loading_work,
    answer,
    {JSON: json_form(), **sheet_forms("transformer-loading", transformer_loading_sheet)},
)
