"""The commands: ``python -m service serve | health | config | openapi``."""

import argparse
import os
import sys

from service.settings import Settings, SettingsError, effective, read_settings

USAGE_ERROR = 2


def serve(settings: Settings) -> int:
    """Serve until SIGINT or SIGTERM. The port is taken before the application loads, to fail at once."""
    from service.server.listening import ListenError, open_socket  # noqa: PLC0415  # other commands stay light

    try:
        listener = open_socket(settings.bind)
    except ListenError as error:
        print(error, file=sys.stderr)
        return 1
    from service.app import app  # noqa: PLC0415  # as above
    from service.server import serving  # noqa: PLC0415  # as above

    serving.serve(app, settings, listener)
    return 0


def health(settings: Settings) -> int:
    """Ask the running service whether it is ready; 0 if so."""
    from service.server.probe import probe  # noqa: PLC0415  # other commands stay light

    ready, sentence = probe(settings.bind)
    print(sentence, file=sys.stdout if ready else sys.stderr)
    return 0 if ready else 1


def config(settings: Settings) -> int:
    """Print the settings in force."""
    for name, value in effective(settings):
        print(f"{name}={value}")
    return 0


def openapi(settings: Settings) -> int:
    """Print the OpenAPI document."""
    del settings
    from service.app import app  # noqa: PLC0415  # other commands stay light
    from service.document import document_bytes  # noqa: PLC0415  # as above

    sys.stdout.buffer.write(document_bytes(app))
    return 0


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
    chosen = COMMANDS[parser.parse_args(arguments).command]
    try:
        return chosen(read_settings(os.environ))
    except SettingsError as error:
        print(error, file=sys.stderr)
        return USAGE_ERROR


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
