"""The commands: ``python -m service serve | health | config | openapi | ask | mcp | new-key``."""

import argparse
import json
import os
import signal
import sys
import traceback
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NoReturn

from service.settings import Settings, SettingsError, effective, read_settings

SETTINGS_ERROR = 2
"""Settings of the service cannot be used."""


NEW_KEY = "new-key"


ASK = "ask"


MCP = "mcp"


USAGE_ERROR = 64
"""Arguments cannot be used, and for `ask` and `mcp` files or settings: 2 is a job that is refused (EX_USAGE
of ``sysexits.h``)."""


MCP_UNAVAILABLE = 69
"""A package that it needs is not installed (EX_UNAVAILABLE of ``sysexits.h``)."""


FAULT = 70
"""The program failed, or could not write its answer (EX_SOFTWARE of ``sysexits.h``)."""


JSON = "application/json"


FORMS = {
    "html": "text/html",
    "pdf": "application/pdf",
    "csv": "text/csv",
    "svg": "image/svg+xml",
    "geojson": "application/geo+json",
    "dxf": "image/vnd.dxf",
}
"""Media types of the other forms, by the name of their options."""


SCRIPT = "lastlamp"


def serve(settings: Settings) -> int:
    """Serve until SIGINT or SIGTERM. The port is taken before the application loads, to fail at once."""
    from service.server.listening import ListenError, open_socket  # noqa: PLC0415  # other commands stay light

    try:
        listener = open_socket(settings.bind)
        metrics = settings.metrics_bind
        metrics_listener = None if metrics is None else open_socket(metrics, "LASTLAMP_METRICS_BIND")
        from service.app import app  # noqa: PLC0415  # loads long, after the port is taken
        from service.observability.logs import SINK  # noqa: PLC0415  # after the port is taken
        from service.server import serving  # noqa: PLC0415  # after the port is taken

        with SINK.beside():
            serving.serve(app, settings, listener, metrics_listener)
    except ListenError as error:
        print(error, file=sys.stderr)
        return 1
    return 0


def health(settings: Settings) -> int:
    """Ask the running service whether it is ready; 0 if so."""
    from service.server.probe import probe  # noqa: PLC0415  # other commands stay light

    ready, sentence = probe(settings.bind)
    if ready:
        return _written(f"{sentence}\n".encode(), 0)
    print(sentence, file=sys.stderr)
    return 1


def config(settings: Settings) -> int:
    """Print the settings in force, how the solver runs, and what bounds of layouts are proven by."""
    from service.extras import LAYOUT_BOUND  # noqa: PLC0415  # other commands stay light
    from service.physics.form import FORM  # noqa: PLC0415  # other commands stay light

    lines = [
        *(f"{name}={value}" for name, value in effective(settings)),
        f"# solver: {FORM}",
        f"# layout: {LAYOUT_BOUND}",
    ]
    return _written("".join(f"{line}\n" for line in lines).encode(), 0)


def openapi(settings: Settings) -> int:
    """Print the OpenAPI document."""
    del settings
    from service.app import app  # noqa: PLC0415  # other commands stay light
    from service.document import document_bytes  # noqa: PLC0415  # other commands stay light

    return _written(document_bytes(app), 0)


def new_key(name: str, origins: list[str], studies: list[str]) -> int:
    """Make a key for a program, or with origins and studies one for pages."""
    from service.access.keys import KeysError, fresh_key  # noqa: PLC0415  # other commands stay light

    known: Sequence[str] = ()
    if origins or studies:
        from service.access.keys import EVERYTHING  # noqa: PLC0415  # other commands stay light
        from service.command.asking import study_names  # noqa: PLC0415  # a key for a program needs none

        known = study_names()
        if unknown := [study for study in studies if study not in (*known, EVERYTHING)]:
            print(_no_study(unknown[0], known), file=sys.stderr)
            return USAGE_ERROR
    try:
        key, lines = fresh_key(name, origins, studies, known=known)
    except KeysError as error:
        print(error, file=sys.stderr)
        return USAGE_ERROR
    # The lines first: a key whose lines could not be written is good nowhere.
    code = _written(f"\n{lines}".encode(), 0)
    if code == 0:
        # Apart, so that standard output can be added to the file of the keys without the key itself.
        sentence = "The key, shown this once; the service only needs the lines beside it:"
        print(f"{sentence}\n{key}", file=sys.stderr)
    return code


def ask(study: str, job: str, form: str) -> int:
    """Compute one job without a server: 0 passes, 1 fails, 2 refused, 64 usage, 70 a fault of the program."""
    try:
        return _asked(study, job, form)
    except SettingsError as error:
        print(error, file=sys.stderr)
        return USAGE_ERROR
    except Exception:  # noqa: BLE001  # an error would end Python with 1, which says that the job fails
        traceback.print_exc()
        return FAULT


def mcp(studies: list[str]) -> int:
    """Serve studies as tools of a language model: the Model Context Protocol on standard input and output."""
    from service.command.asking import study_names  # noqa: PLC0415  # other commands stay light

    try:
        from service.command.tools import serve_tools  # noqa: PLC0415  # other commands stay light
    except ModuleNotFoundError as error:
        if error.name != "mcp":
            raise
        print(
            "The extra mcp is not installed: python -m pip install --require-hashes --requirement"
            " deploy/requirements-mcp.txt, with the python that runs this.",
            file=sys.stderr,
        )
        return MCP_UNAVAILABLE
    if unknown := [study for study in studies if study not in study_names()]:
        print(_no_study(unknown[0], study_names()), file=sys.stderr)
        return USAGE_ERROR
    try:
        settings = read_settings(os.environ)
    except SettingsError as error:
        print(error, file=sys.stderr)
        return USAGE_ERROR
    # Who waits for a line of standard input would hear of the signal only with the next one.
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    try:
        serve_tools(studies or list(study_names()), settings.maximum_body_bytes)
    except Exception:  # noqa: BLE001  # an error would end Python with 1, which says that the job fails
        traceback.print_exc()
        return FAULT
    return 0


def _no_study(name: str, names: Sequence[str]) -> str:
    return f"There is no study {name!r}. There are: {', '.join(names)}."


def _no_form(study: str, form: str, offered: Sequence[str]) -> str:
    option = {media_type: f"--{name}" for name, media_type in FORMS.items()}
    had = [words for media_type, words in option.items() if media_type in offered]
    return f"The study {study} has no form {option[form]}. It has: {', '.join(had)}; JSON without an option."


def _asked(study: str, job: str, form: str) -> int:
    from service.command.asking import answer_to, forms_of, study_names  # noqa: PLC0415  # other commands stay light

    if study not in study_names():
        print(_no_study(study, study_names()), file=sys.stderr)
        return USAGE_ERROR
    if form not in forms_of(study):
        print(_no_form(study, form, forms_of(study)), file=sys.stderr)
        return USAGE_ERROR
    settings = read_settings(os.environ)
    try:
        body = _standard_input() if job == "-" else Path(job).read_bytes()
    except (OSError, ValueError) as error:
        print(f"The job cannot be read: {error}", file=sys.stderr)
        return USAGE_ERROR
    answer = answer_to(study, body, form, settings.maximum_body_bytes)
    if answer.is_answer:
        return _written(answer.content, answer.exit_code)
    # A problem goes beside, so that a file for the answer never holds one.
    for fault in answer.faults:
        print(json.dumps(fault), file=sys.stderr)
    sys.stderr.buffer.write(answer.content)
    sys.stderr.buffer.flush()
    return answer.exit_code


def _written(content: bytes, code: int) -> int:
    """Write what was asked for to standard output; what the command ends with, where that succeeds."""
    try:
        # By its number, as standard input: and nothing is left that Python writes again when it ends.
        with open(1, "wb", closefd=False) as stream:
            stream.write(content)
    except OSError as error:
        print(f"What was asked for cannot be written: {(error.strerror or '').lower()}.", file=sys.stderr)
        return FAULT
    return code


def _standard_input() -> bytes:
    # By its number: where it is closed Python has no stream for it, and the descriptor was filled.
    with open(0, "rb", closefd=False) as stream:
        return stream.read()


def hold_standard_descriptors() -> None:
    """Fill those that are closed, or a connection gets the number of standard output, and the log."""
    for descriptor in range(3):
        try:
            os.fstat(descriptor)
        except OSError:
            # The lowest number that is free, which is this one.
            os.set_inheritable(os.open(os.devnull, os.O_RDWR), True)  # noqa: FBT003  # as the library has it


COMMANDS = {"serve": serve, "health": health, "config": config, "openapi": openapi}


def main(arguments: list[str]) -> int:
    """Run one command.

    Parameters
    ----------
    arguments : list of str
        What stands after ``python -m service``.

    Returns
    -------
    code : int
        0 when all is well, 1 when the command failed, 2 when the settings cannot be used, 64 when the
        arguments cannot, 70 when what was asked for cannot be written. Those of ``ask`` stand there, and
        ``mcp`` has the same for arguments and settings.
    """
    parser = _Parser(prog=_called_as(), description="Lastlamp")
    commands = parser.add_subparsers(dest="command", required=True)
    for name, command in COMMANDS.items():
        _added(commands, name, command)
    _add_ask(commands)
    _add_mcp(commands)
    _add_new_key(commands)
    asked, unknown = parser.parse_known_args(arguments)
    if unknown:
        asked.parser.error(f"unrecognized arguments: {' '.join(unknown)}")
    if asked.command == NEW_KEY:
        return new_key(asked.name, asked.origin, asked.study)
    if asked.command == ASK:
        return ask(asked.study, asked.job, asked.form)
    if asked.command == MCP:
        return mcp(asked.studies)
    try:
        return COMMANDS[asked.command](read_settings(os.environ))
    except SettingsError as error:
        print(error, file=sys.stderr)
        return SETTINGS_ERROR


class _Parser(argparse.ArgumentParser):
    """A parser that does not end with 2, which says that a job is refused."""

    def error(self, message: str) -> NoReturn:
        """Print the usage and what is wrong with the arguments."""
        self.print_usage(sys.stderr)
        self.exit(USAGE_ERROR, f"{self.prog}: error: {message}\n")


_Commands = Any  # the library names the type of its sub-commands only for itself


def _called_as() -> str:
    """The console script, or the module."""
    return SCRIPT if Path(sys.argv[0]).name == SCRIPT else "python -m service"


def _added(commands: _Commands, name: str, command: Callable[..., int]) -> _Parser:
    summary = (command.__doc__ or "").splitlines()[0]
    parser: _Parser = commands.add_parser(name, help=summary, description=summary)
    parser.set_defaults(parser=parser)
    return parser


def _add_new_key(commands: _Commands) -> None:
    parser = _added(commands, NEW_KEY, new_key)
    parser.add_argument("name", help="what the log calls it: 1 to 64 of a-z 0-9 . _ -")
    parser.add_argument("--origin", action="append", default=[], help="of pages that may use it; repeatable")
    parser.add_argument("--study", action="append", default=[], help="that pages may ask; repeatable")


def _add_ask(commands: _Commands) -> None:
    parser = _added(commands, ASK, ask)
    parser.add_argument("study", help="as in its address, such as voltage-drop")
    parser.add_argument("job", help="a file of what would be posted there; - reads standard input")
    forms = parser.add_mutually_exclusive_group()
    for name, media_type in FORMS.items():
        forms.add_argument(
            f"--{name}",
            dest="form",
            action="store_const",
            const=media_type,
            default=JSON,
            help=f"the answer as {media_type}, where the study has that form",
        )


def _add_mcp(commands: _Commands) -> None:
    parser = _added(commands, MCP, mcp)
    parser.add_argument("studies", nargs="*", metavar="study", help="which of them; all without")


def run() -> NoReturn:
    """Run the console script."""
    hold_standard_descriptors()
    sys.exit(main(sys.argv[1:]))


if __name__ == "__main__":
    run()
