"""Transformer loading: what the transformer carries."""

from typing import Final

from service.endpoints.encoding import JSON
from service.endpoints.forms import json_form, sheet_forms
from service.endpoints.study import Study
from service.messages.transformer_loading import TransformerLoadingReply, TransformerLoadingRequest
from service.sheets.transformer_loading import transformer_loading_sheet
from service.studies.estimates import transformer_loading_work
from service.studies.stock import Question
from service.studies.transformer_loading import transformer_loading
from service.translate.transformer_loading import question_of, reply_of


def answer(message: TransformerLoadingRequest, question: Question, sha256: str) -> TransformerLoadingReply:
    """Load the transformer, and tell it."""
    return reply_of(message, transformer_loading(question), sha256)


TRANSFORMER_LOADING: Final = Study(
    "transformer-loading",
    TransformerLoadingRequest,
    question_of,
    transformer_loading_work,
    answer,
    {JSON: json_form(), **sheet_forms("transformer-loading", transformer_loading_sheet)},
)
