"""The command ``saltcalc``: ask it here, serve it, show a demonstration, print the contract."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from saltcalc import __version__

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import BinaryIO

    from flask.testing import FlaskClient

    from saltcalc.service.config import Settings

DEMO_REQUEST = Path(__file__).parents[1] / "fixtures" / "polytunnel_request.json"


@click.group()
@click.version_option(__version__)
def main() -> None:
    """Salinity of container media: is it salt, which salt, how far, and how to take it down."""


@main.command()
@click.option("--host", help="Address to listen on, in the place of SALTCALC_HOST.")
@click.option(
    "--port",
    type=click.IntRange(1, 65_535),
    help="Port to listen on, in the place of SALTCALC_PORT.",
)
def serve(host: str | None, port: int | None) -> None:
    """Run the service under gunicorn until it is stopped."""
    given = {"SALTCALC_HOST": host, "SALTCALC_PORT": port}
    os.environ.update({name: str(value) for name, value in given.items() if value is not None})
    _settings(os.environ)
    arguments = ["-m", "gunicorn", "-c", "python:saltcalc.service.gunicorn_conf"]
    os.execv(sys.executable, [sys.executable, *arguments, "saltcalc.service.app:create_app()"])


@main.command()
@click.argument("request", type=click.File("rb"), default="-")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as the service gives it.")
@click.option("--workings", is_flag=True, help="Show how the headline figures came about.")
def assess(request: BinaryIO, as_json: bool, workings: bool) -> None:
    """Answer a request without starting a service.

    REQUEST is a JSON file as for POST /v1/assessments; `-`, or none, is the standard input.
    """
    from saltcalc.parts.answer import WITH_WORKINGS  # noqa: PLC0415
    from saltcalc.terminal import refusal_words  # noqa: PLC0415
    from saltcalc.words.text import summary  # noqa: PLC0415 - so that `serve` does not load it

    asked = f"?parts={','.join(WITH_WORKINGS)}" if workings else ""
    response = _client(os.environ).post(
        f"/v1/assessments{asked}", data=request.read(), content_type="application/json"
    )
    answer: Any = response.json
    if as_json:
        click.echo(json.dumps(answer, indent=2, ensure_ascii=False))
    else:
        click.echo(summary(answer) if response.status_code == 200 else refusal_words(answer))
    if response.status_code != 200:
        sys.exit(1)


@main.command()
@click.argument(
    "request", type=click.Path(exists=True, dir_okay=False, path_type=Path), default=DEMO_REQUEST
)
def demo(request: Path) -> None:
    """Start the service, post a request to it, show both and the answer, and stop it.

    REQUEST is a JSON file; without it, the invented one of this project's fixtures.
    """
    from saltcalc.demo import RefusedError, run  # noqa: PLC0415 - so that `serve` loads it not

    _settings(os.environ)
    if request == DEMO_REQUEST:
        click.echo("An invented example: tubs in a polytunnel on a tidal estuary.\n")
    try:
        click.echo(run(request))
    except RefusedError as error:
        raise click.ClickException(str(error)) from error


@main.command()
def openapi() -> None:
    """Print the OpenAPI document of the interface."""
    contract = _client({}).get("/openapi.json").json
    click.echo(json.dumps(contract, indent=2, ensure_ascii=False))


def _client(environment: Mapping[str, str]) -> FlaskClient:
    """Return the service in this process, to be asked without a network."""
    from saltcalc.service.app import create_app  # noqa: PLC0415 - so that `serve` does not load it

    return create_app(_settings({**environment, "SALTCALC_LOG_LEVEL": "ERROR"})).test_client()


def _settings(environment: Mapping[str, str]) -> Settings:
    from saltcalc.service.config import read_settings  # noqa: PLC0415 - gunicorn loads its own

    try:
        return read_settings(environment)
    except ValueError as error:
        raise click.ClickException(str(error)) from error


if __name__ == "__main__":
    main()
