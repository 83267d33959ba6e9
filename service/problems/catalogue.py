"""Every refusal that the service knows, and every mistake that one may list.

A title, a status and a code never change; words may.
"""

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class ProblemKind:
    """One kind of refusal."""

    code: str
    status: int
    title: str
    meaning: str
    remedy: str
    detail: str = ""
    """What one refusal says where a calculation raised it: its facts stand as ``{error.name}``."""

    @property
    def type(self) -> str:
        """Path at which the service explains this kind."""
        return f"/problems/{self.code}"


WIRING_INVALID: Final = ProblemKind(
    "wiring-invalid",
    422,
    "The wiring does not make one circuit with its supply",
    "It contradicts itself or leaves something open: unknown points, islands, duplicate ids, a cable or a"
    " load that neither its own place nor the wiring states.",
    "Change every place that is listed.",
    detail="{places} of the wiring cannot be as described; `errors` lists {which}.",
)


TAPS_JOINED: Final = ProblemKind(
    "taps-joined",
    422,
    "Two taps of the supply are joined",
    "The wiring connects two terminals of different voltage, which would short a part of the winding.",
    "Let each connected part of the wiring start at one tap.",
    detail="{places} of the wiring cannot be as described; `errors` lists {which}.",
)


READINGS_INVALID: Final = ProblemKind(
    "readings-invalid",
    422,
    "A reading is of nothing in the wiring",
    "A reading or a lit fixture points at something that the wiring lacks or that cannot be read so.",
    "Change every place that is listed.",
    detail="{places} of the readings point{s} at nothing; `errors` lists {which}.",
)


JOB_TOO_LARGE: Final = ProblemKind(
    "job-too-large",
    422,
    "The job has too many points or loops",
    "The wiring expands to more points or independent loops than one request may have.",
    "Split the job by supply or by circuit; /v1/limits gives the limits.",
    detail="The wiring has {error.count} {error.what}; one request may have {error.limit}."
    " Send each run or each supply as a job of its own.",
)


WORK_OVER_LIMIT: Final = ProblemKind(
    "work-over-limit",
    422,
    "The request asks for too much work",
    "The work of answering, counted the same on every machine, is over the limit.",
    "Ask for fewer variants at a time; /v1/limits gives the limit.",
    detail="The answer needs work of {error.work}; one request may ask for {error.limit}, see /v1/limits."
    " Ask for fewer corners, mains, places, cables or fixtures at a time, or choose for all runs at once.",
)


PAPER_NOT_OFFERED: Final = ProblemKind(
    "paper-not-offered",
    422,
    "The study has no such paper",
    "`sheet.for` names a paper that this study is not printed as; `allowed` lists those that it has.",
    "Name one of those, or leave `sheet.for` out for the record.",
    detail='This study is not printed for "{error.paper}": it has {error.offered}.'
    " Name one of those in `sheet.for`, or leave it out for the record.",
)


INTERNAL_ERROR: Final = ProblemKind(
    "internal-error",
    500,
    "The service failed",
    "The service met a state that it does not expect. The request is not at fault.",
    "Tell the operator the request id; the same request may be sent again.",
    detail="The service failed on this request. Quote the request id when you report it.",
)


_KINDS: Final = (
    ProblemKind(
        "empty-body",
        400,
        "The request has no body",
        "A calculation was asked for without anything to calculate.",
        "Send the request as one JSON object.",
    ),
    ProblemKind(
        "not-utf-8",
        400,
        "The body is not UTF-8",
        "Some bytes of the body do not form a UTF-8 text, so nothing in it can be read with certainty.",
        "Encode the JSON text as UTF-8 (RFC 8259, section 8.1).",
    ),
    ProblemKind(
        "byte-order-mark",
        400,
        "The body starts with a byte order mark",
        "JSON that travels over a network starts without a byte order mark (RFC 8259, section 8.1).",
        'Save or encode the text as UTF-8 without the mark; editors call the other form "UTF-8 with BOM".',
    ),
    ProblemKind(
        "malformed-json",
        400,
        "The body is not JSON",
        "The text breaks the grammar of JSON (RFC 8259) at the place that the detail names.",
        "Write the body with a JSON library rather than by joining texts.",
    ),
    ProblemKind(
        "nesting-too-deep",
        400,
        "The body is nested too deep",
        "The body has more objects and lists inside one another than any request needs.",
        "Send the request in the form that the OpenAPI document describes.",
    ),
    ProblemKind(
        "duplicate-member",
        400,
        "An object has two members of one name",
        "JSON readers differ in which of the two they keep, so neither value can be trusted.",
        "Remove one of the two members at each place that is listed.",
    ),
    ProblemKind(
        "number-out-of-range",
        400,
        "A number is not finite or too large",
        "A number does not fit a 64-bit float, or it is NaN or Infinity, which are not JSON.",
        "Send finite numbers; leave out an optional member whose value is not known.",
    ),
    ProblemKind(
        "request-invalid",
        400,
        "The request does not fit the contract",
        "It can be read, but members of the body or parameters of the query are missing, unknown, of another"
        " type or out of bounds.",
        "Change every place that is listed; each error gives what is allowed there.",
    ),
    ProblemKind(
        "key-missing",
        401,
        "The request shows no key",
        "This service only answers who shows a key, and the request has none in the form that is read.",
        "Send the header `Authorization: Bearer <key>`; the operator gives out keys.",
    ),
    ProblemKind(
        "key-unknown",
        401,
        "The key is not good",
        "The key is not one of those that are good now, is not whole, or is one of several.",
        "Send the key as it was given, once; ask the operator for one if it was taken back.",
    ),
    ProblemKind(
        "origin-not-allowed",
        403,
        "Pages of this origin may not ask",
        "A page may only ask from an origin that the operator listed, and a key for pages works only there.",
        "Let the operator list the origin as the browser sends it; a program needs a key of its own.",
    ),
    ProblemKind(
        "study-not-allowed",
        403,
        "The key is not for this address",
        "A key for pages only works for the studies that the operator listed with it, and for catalogues.",
        "Ask at an address that the key is for, or let the operator list the study.",
    ),
    ProblemKind(
        "not-found",
        404,
        "There is nothing at this address",
        "The path is not one that the service answers.",
        "See the OpenAPI document for the paths.",
    ),
    ProblemKind(
        "method-not-allowed",
        405,
        "This address does not answer that method",
        "The path exists, but not for the method of the request.",
        "Use a method that the Allow header lists.",
    ),
    ProblemKind(
        "not-acceptable",
        406,
        "The answer has no form that the request accepts",
        "The Accept header leaves out every media type in which this address can answer.",
        "Accept one of the media types that the detail lists, or leave the header out.",
    ),
    ProblemKind(
        "body-too-large",
        413,
        "The body is too large",
        "The body has more bytes than the service reads.",
        "Send fewer or smaller jobs at a time; /v1/limits gives the limit.",
    ),
    ProblemKind(
        "unsupported-media-type",
        415,
        "The body is not announced as JSON",
        "The Content-Type header is missing or names another type than application/json in UTF-8.",
        "Send Content-Type: application/json.",
    ),
    ProblemKind(
        "unsupported-encoding",
        415,
        "The body is compressed",
        "The Content-Encoding header names an encoding; bodies are read as they are.",
        "Send the body without a Content-Encoding.",
    ),
    ProblemKind(
        "host-not-served",
        421,
        "The service does not answer under this host",
        "The Host header names a host that the operator did not list, or none.",
        "Use the address that the operator gave; the operator lists hosts in LASTLAMP_ALLOWED_HOSTS.",
    ),
    WIRING_INVALID,
    TAPS_JOINED,
    READINGS_INVALID,
    ProblemKind(
        "supply-not-computable",
        422,
        "Nothing can be computed with an electronic transformer",
        "The output of an electronic transformer alternates at tens of kHz. At such a frequency a cable's"
        " inductance and the skin effect make it drop several times the volts that its resistance alone"
        " would, so figures computed here, which hold for DC and for mains frequency, would be far too good.",
        "Use a magnetic transformer or a DC supply; or ask the maker of the electronic one how much cable it"
        " allows.",
    ),
    JOB_TOO_LARGE,
    WORK_OVER_LIMIT,
    PAPER_NOT_OFFERED,
    INTERNAL_ERROR,
    ProblemKind(
        # Not 503, which asks for the same again: it would take as long, and starve the next process. Not 504,
        # which many clients and balancers send again too, and which is a gateway's word. Not 422: work is
        # estimated before it starts, so that what still takes too long is a fault of ours or of the machine.
        "work-out-of-time",
        500,
        "The calculation took too long",
        "The calculation was stopped because it took longer than any is given, though its work was within the"
        " limit.",
        "Ask for fewer variants at a time. If smaller requests are stopped as well, tell the operator the"
        " request id.",
    ),
    ProblemKind(
        "not-ready",
        503,
        "The service is not ready",
        "The service is starting or stopping.",
        "Send the same request again in a few seconds; every calculation is safe to repeat.",
    ),
    ProblemKind(
        "busy",
        503,
        "Too many requests are waiting",
        "The service refuses at once what it could only answer late.",
        "Send the same request again after the seconds that Retry-After names, and wait longer each time.",
    ),
    ProblemKind(
        "malformed-http",
        400,
        "The request is not HTTP",
        "Its first line or its header fields break the grammar of HTTP, so nobody could read further.",
        "Send the request with an HTTP library.",
    ),
    ProblemKind(
        "request-timeout",
        408,
        "The request came too slowly",
        "Head and body did not arrive whole in the time that a request may take.",
        "Send the request again over a better connection, or in parts.",
    ),
    ProblemKind(
        "expectation-failed",
        417,
        "The request expects what is not offered",
        "The Expect header names something else than 100-continue.",
        "Leave the header out, or send Expect: 100-continue.",
    ),
    ProblemKind(
        "quota-spent",
        429,
        "The quota of work is spent",
        "Each key or address may ask for so much work a minute, and less is left than the request may take.",
        "Send the same request again after the seconds that Retry-After names; RateLimit says what is left.",
    ),
    ProblemKind(
        "heavy-in-progress",
        429,
        "Too many large requests of one caller are in progress",
        "Of the largest requests two of each key or address are answered at a time.",
        "Send it again when one of yours is answered, or after the seconds that Retry-After names.",
    ),
    ProblemKind(
        "too-many-requests",
        429,
        "Too many requests from one address",
        "The proxy before the service limits how many requests a second it takes from one address.",
        "Send the same request again after the seconds that Retry-After names; ask several at once by batch.",
    ),
    ProblemKind(
        "head-too-large",
        431,
        "The head of the request is too large",
        "The request line and the header fields together have more bytes than are read.",
        "Leave out cookies and other fields that the service does not need.",
    ),
    ProblemKind(
        "coding-not-supported",
        501,
        "The body is coded in a way that is not read",
        "The Transfer-Encoding header names another coding than chunked.",
        "Send the body as it is, with its length or in chunks.",
    ),
    ProblemKind(
        "version-not-supported",
        505,
        "This version of HTTP is not spoken here",
        "The request line names a version of HTTP other than 1.x.",
        "Send the request in HTTP/1.1.",
    ),
    ProblemKind(
        "no-instance",
        502,
        "No instance of the service answered",
        "The proxy reached none of the instances behind it, or each broke off before it had answered.",
        "Send the same request again in a few seconds; every calculation is safe to repeat.",
    ),
    ProblemKind(
        "no-answer-in-time",
        504,
        "The answer took too long",
        "The proxy waited for an answer as long as the largest honest request may take, and longer.",
        "Send the same request once more; if that fails as well, tell the operator the request id.",
    ),
)

CATALOGUE: Final[dict[str, ProblemKind]] = {kind.code: kind for kind in _KINDS}
"""Every kind of refusal by its code."""


@dataclass(frozen=True, slots=True)
class ErrorKind:
    """One kind of mistake in a request."""

    code: str
    meaning: str
    words: str = ""
    """What is said of one that a calculation found, with its names in their order. Where it says nothing the
    detail of the refusal says all."""


_ERRORS: Final = (
    ErrorKind("unknown-member", "The object has a member that the contract does not list."),
    ErrorKind("missing-member", "A required member is not there."),
    ErrorKind("duplicate-member", "Two members of one object have the same name."),
    ErrorKind(
        "wrong-type", "The value has another JSON type than the contract asks for; nothing is converted."
    ),
    ErrorKind("null-not-allowed", "The value is null; an optional member is left out instead."),
    ErrorKind("out-of-range", "The number lies outside the bounds."),
    ErrorKind("not-a-multiple", "The number is not a multiple of the step that the contract asks for."),
    ErrorKind("number-out-of-range", "The number is not finite, or no 64-bit float can hold it."),
    ErrorKind("unknown-name", "The text is not one of the names in the contract."),
    ErrorKind("supply-not-computable", "The kind of supply is known, and nothing can be computed with it."),
    ErrorKind("wrong-unit", "The text is not one of the unit names of the contract."),
    ErrorKind("wrong-dimension", "The unit measures something else than this member."),
    ErrorKind("bare-number", "A number stands where a value with its unit is needed."),
    ErrorKind("pattern-mismatch", "The text has a character that this member does not take."),
    ErrorKind("too-short", "The text has fewer characters than the contract asks for."),
    ErrorKind("paper-not-offered", "The study is not printed as this paper; `allowed` lists its papers."),
    ErrorKind("too-long", "The text has more characters than the contract allows."),
    ErrorKind("too-few", "The list has fewer items than the contract asks for."),
    ErrorKind("too-many", "The list has more items than the contract allows."),
    ErrorKind("not-as-described", "The value does not fit the contract; the detail says how."),
    ErrorKind(
        "unknown-point",
        "A span or a fixture names a point that no span reaches.",
        'No span touches the point "{0}".{guess} Name a point that a span starts or ends at.',
    ),
    ErrorKind(
        "cable-missing",
        "Neither the run, branch, spur or span nor the wiring has a cable.",
        "`cable` is missing, and the wiring has none for all. Send one here, or for all as `wiring.cable`.",
    ),
    ErrorKind(
        "load-missing",
        "A fixture has neither a load nor a type that gives it one.",
        "`load` is missing. Send it, or name one of `wiring.fixture_types` as `type`.",
    ),
    ErrorKind(
        "unknown-type",
        "A fixture names a type that the wiring does not list.",
        'No fixture type has the id "{0}".{guess} Name one of `wiring.fixture_types`.',
    ),
    ErrorKind(
        "duplicate-type",
        "Two fixture types have one id.",
        'The id "{0}" stands on more than one fixture type. Give each type an id of its own.',
    ),
    ErrorKind(
        "reading-unknown-place",
        "A reading or a lit part points at nothing that can be read or lit.",
        "{0} points at nothing that can be read or lit. Point at a fixture line, a run, a branch or"
        " a spur; in a graph at a fixture line or a span.",
    ),
    ErrorKind(
        "reading-volts-of-span",
        "Volts are asked of a span, which has two ends.",
        "{0} is a span, which has a voltage at each of its ends. Point at a fixture there, or send"
        " the amperes in it.",
    ),
    ErrorKind(
        "reading-number-missing",
        "A line stands for several fixtures and none of them is named.",
        "{0} stands for {1} fixtures. Say which of them with `number`, from 1 to {1}.",
    ),
    ErrorKind(
        "reading-number-unknown",
        "A number is above how many fixtures the line stands for.",
        "{0} stands for {1} fixtures. Send a `number` from 1 to {1}.",
    ),
    ErrorKind(
        "reading-unknown-tap",
        "A reading names a tap that the supply has not got.",
        "The supply has no tap of {0}. Its taps: {1}.",
    ),
    ErrorKind(
        "reading-unknown-circuit",
        "A reading names a circuit that does not exist.",
        'No circuit is called "{0}". Circuits: {1}.',
    ),
    ErrorKind(
        "reading-ohms-of-supply",
        "Ohms are asked of the supply, which no ohmmeter may be put on.",
        "An ohmmeter is never put on a supply. Point at the fixture, run, branch or spur at whose"
        " end the conductors were joined, and read at the end that was taken off the supply.",
    ),
    ErrorKind(
        "csv-unreadable",
        "A sheet of comma-separated values breaks off or has a quote out of place.",
        "It breaks off, or has a quotation mark out of place. Send the sheet as it was saved.",
    ),
    ErrorKind(
        "csv-columns",
        "A sheet lacks columns that say what was read.",
        "The header lacks {0}. Send the CSV of /v1/commissioning-sheet with all of its columns.",
    ),
    ErrorKind(
        "csv-columns-doubled",
        "A sheet has a column twice.",
        "The header has {0} twice. Keep the column that you filled in.",
    ),
    ErrorKind(
        "csv-cells",
        "A row of a sheet has more cells than its header.",
        "The row has more cells than the {0} of the header. Put a cell with a comma in quotes.",
    ),
    ErrorKind(
        "csv-too-many",
        "A sheet has more readings than one request may.",
        "The sheet has more than {0} readings. Send it in parts, each with the header.",
    ),
    ErrorKind(
        "csv-value",
        "A cell of a sheet is no number, or not within its bounds.",
        '`{0}` is "{1}". Write a number: {2}.',
    ),
    ErrorKind(
        "csv-word",
        "A cell of a sheet is none of the words that its column takes.",
        '`{0}` is "{1}". Leave it as the sheet has it: {2}.',
    ),
    ErrorKind("unknown-circuit", "The name is not among the circuits of the supply."),
    ErrorKind(
        "duplicate-id",
        "Two things carry the same id.",
        'The id "{0}" stands on more than one span. Give each span an id of its own.',
    ),
    ErrorKind(
        "taps-joined",
        "Two taps meet in one mesh.",
        "The {0} tap meets the {1} tap of {2} in one mesh. Two taps must never be tied together:"
        " feed the mesh from one tap, or take the span between them out.",
    ),
    ErrorKind(
        "unknown-cable",
        "A pointer names no cable of the wiring that can be chosen.",
        "{0} points at no cable of the wiring that can be chosen. Point at a `cable` member of a"
        " run, a branch, a spur, a change, a return leg or a span.",
    ),
    ErrorKind(
        "not-at-supply",
        "A tap or a circuit stands on a span that does not leave the supply.",
        'Only a span that leaves the point "supply" has a {0}. Leave the {0} out here.',
    ),
    ErrorKind(
        "fixture-at-supply",
        "A fixture stands at the supply itself, where no tap is said.",
        "No fixture can stand at the supply itself: no tap is said there. Give it a span.",
    ),
    ErrorKind(
        "self-span",
        "A span starts and ends at one point.",
        'The span starts and ends at "{0}". Name two different points.',
    ),
    ErrorKind(
        "island",
        "The point is not connected to the supply.",
        'Nothing joins "{0}" and "{1}" to the supply. Add a span from "supply", or check the names.',
    ),
    ErrorKind(
        "secondary-is-mains", "The secondary voltage is that of the mains: only low voltage is calculated."
    ),
    ErrorKind("more-errors", "There are more errors than are listed."),
)

ERROR_KINDS: Final[dict[str, ErrorKind]] = {kind.code: kind for kind in _ERRORS}
"""Every kind of mistake by its code."""
