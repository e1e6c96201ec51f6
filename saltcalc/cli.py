"""The command ``saltcalc``: serve the interface, show a demonstration, print the contract."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path

import click

from saltcalc import __version__

DEMO_REQUEST = Path(__file__).parents[1] / "fixtures" / "polytunnel_request.json"


@click.group()
@click.version_option(__version__)
def main() -> None:
    """Salinity of container media: is it salt, which salt, how far, and how to take it down."""


@main.command()
@click.option("--host", help="Address to listen on, in the place of SALTCALC_HOST.")
@click.option("--port", help="Port to listen on, in the place of SALTCALC_PORT.")
def serve(host: str | None, port: str | None) -> None:
    """Run the service under gunicorn until it is stopped."""
    from saltcalc.service.config import read_settings  # noqa: PLC0415 - gunicorn loads its own

    given = {"SALTCALC_HOST": host, "SALTCALC_PORT": port}
    os.environ.update({name: value for name, value in given.items() if value is not None})
    try:
        read_settings()
    except ValueError as error:
        raise click.ClickException(str(error)) from error
    arguments = ["-m", "gunicorn", "-c", "python:saltcalc.service.gunicorn_conf"]
    os.execv(sys.executable, [sys.executable, *arguments, "saltcalc.service.app:create_app()"])


@main.command()
@click.argument(
    "request", type=click.Path(exists=True, dir_okay=False, path_type=Path), default=DEMO_REQUEST
)
def demo(request: Path) -> None:
    """Start the service, post a request to it, show the answer, and stop it.

    REQUEST is a JSON file; without it, the invented one of this project's fixtures.
    """
    from saltcalc.demo import run  # noqa: PLC0415 - so that `serve` does not load it

    click.echo(run(request))


@main.command()
def openapi() -> None:
    """Print the OpenAPI document of the interface."""
    from saltcalc.service.app import create_app  # noqa: PLC0415 - so that `serve` does not load it
    from saltcalc.service.config import read_settings  # noqa: PLC0415

    client = create_app(read_settings({"SALTCALC_LOG_LEVEL": "ERROR"})).test_client()
    click.echo(json.dumps(client.get("/openapi.json").json, indent=2, ensure_ascii=False))


if __name__ == "__main__":
    main()
