"""The commands: ``python -m service serve | health | config | openapi | new-key``."""

import argparse
import os
import sys

from service.settings import Settings, SettingsError, effective, read_settings

USAGE_ERROR = 2


NEW_KEY = "new-key"


def serve(settings: Settings) -> int:
    """Serve until SIGINT or SIGTERM. The port is taken before the application loads, to fail at once."""
    from service.server.listening import ListenError, open_socket  # noqa: PLC0415  # other commands stay light

    try:
        listener = open_socket(settings.bind)
        metrics = settings.metrics_bind
        metrics_listener = None if metrics is None else open_socket(metrics, "LASTLAMP_METRICS_BIND")
    except ListenError as error:
        print(error, file=sys.stderr)
        return 1
    from service.app import app  # noqa: PLC0415  # as above
    from service.observability.logs import SINK  # noqa: PLC0415  # as above
    from service.server import serving  # noqa: PLC0415  # as above

    with SINK.beside():
        serving.serve(app, settings, listener, metrics_listener)
    return 0


def health(settings: Settings) -> int:
    """Ask the running service whether it is ready; 0 if so."""
    from service.server.probe import probe  # noqa: PLC0415  # other commands stay light

    ready, sentence = probe(settings.bind)
    print(sentence, file=sys.stdout if ready else sys.stderr)
    return 0 if ready else 1


def config(settings: Settings) -> int:
    """Print the settings in force, and how the solver runs."""
    from service.circuit.job import SOLVER_FORM  # noqa: PLC0415  # other commands stay light

    for name, value in effective(settings):
        print(f"{name}={value}")
    print(f"# solver: {SOLVER_FORM}")
    return 0


def openapi(settings: Settings) -> int:
    """Print the OpenAPI document."""
    del settings
    from service.app import app  # noqa: PLC0415  # other commands stay light
    from service.document import document_bytes  # noqa: PLC0415  # as above

    sys.stdout.buffer.write(document_bytes(app))
    return 0


def new_key(name: str, origins: list[str], studies: list[str]) -> int:
    """Make a key for a program, or with origins and studies one for pages."""
    from service.access.keys import KeysError, fresh_key  # noqa: PLC0415  # other commands stay light

    try:
        key, lines = fresh_key(name, origins, studies)
    except KeysError as error:
        print(error, file=sys.stderr)
        return USAGE_ERROR
    # Apart, so that standard output can be added to the file of the keys without the key itself.
    print(f"The key, shown this once; the service only needs the lines beside it:\n{key}", file=sys.stderr)
    print(f"\n{lines}", end="")
    return 0


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
        0 when all is well, 1 when the command failed, 2 when arguments or environment cannot be used.
    """
    parser = argparse.ArgumentParser(prog="python -m service", description="Lastlamp")
    commands = parser.add_subparsers(dest="command", required=True)
    for name, command in COMMANDS.items():
        summary = (command.__doc__ or "").splitlines()[0]
        commands.add_parser(name, help=summary, description=summary)
    _add_new_key(commands)
    asked = parser.parse_args(arguments)
    if asked.command == NEW_KEY:
        return new_key(asked.name, asked.origin, asked.study)
    try:
        return COMMANDS[asked.command](read_settings(os.environ))
    except SettingsError as error:
        print(error, file=sys.stderr)
        return USAGE_ERROR


def _add_new_key(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    summary = (new_key.__doc__ or "").splitlines()[0]
    parser = commands.add_parser(NEW_KEY, help=summary, description=summary)
    parser.add_argument("name", help="what the log calls it: 1 to 64 of a-z 0-9 . _ -")
    parser.add_argument("--origin", action="append", default=[], help="of pages that may use it; repeatable")
    parser.add_argument("--study", action="append", default=[], help="that pages may ask; repeatable")


if __name__ == "__main__":
    hold_standard_descriptors()
    sys.exit(main(sys.argv[1:]))
