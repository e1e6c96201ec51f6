"""The command ``saltcalc``: ask it here, serve it, show a demonstration, print the contract."""

from __future__ import annotations

import io
import json
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from saltcalc import __version__
from saltcalc.command_help import ToldGroup, terminal_words, told_option
from saltcalc.service.example import DEMO_REQUEST

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from typing import BinaryIO

    from flask.testing import FlaskClient

    from saltcalc.service.config import Settings

_LEAN = {
    "OPENBLAS_NUM_THREADS": "1",
    "MALLOC_MMAP_THRESHOLD_": "1048576",
    "MALLOC_TRIM_THRESHOLD_": "1048576",
}
"""For workers that compute one answer at a time: one thread for matrices; the bytes from which the
allocator of glibc gives memory back at once, and what it may keep. What is set already stays."""
_TEMPLATES = Path(__file__).parent / "words" / "templates"


@click.group(cls=ToldGroup, help="command.main")
@click.version_option(__version__)
def main() -> None:
    """Hold the commands."""


@main.command(help="command.serve")
@told_option("--host")
@told_option("--port", type=click.IntRange(1, 65_535))
def serve(host: str | None, port: int | None) -> None:
    """Run the service under gunicorn until it is stopped."""
    given = {"SALTCALC_HOST": host, "SALTCALC_PORT": port}
    os.environ.update({name: str(value) for name, value in given.items() if value is not None})
    for name, size in _LEAN.items():
        os.environ.setdefault(name, size)
    arguments = ["-m", "gunicorn", "-c", "python:saltcalc.service.gunicorn_conf"]
    os.execv(sys.executable, [sys.executable, *arguments, "saltcalc.service.app:create_app()"])


def _known_language(_context: click.Context, _option: click.Parameter, given: str | None) -> str:
    """Refuse a language that there are no sentences in."""
    from saltcalc.words.catalogue import languages, spoken  # noqa: PLC0415 - reads the catalogues

    if given and spoken(given) != given.partition("-")[0]:
        raise click.BadParameter(terminal_words().tell("command.languages", tags=languages()))
    return spoken(given) if given else ""


def _printed(command: Any) -> Any:
    """Give a command the options that say how an answer is printed."""
    for option in (
        told_option("--units", type=click.Choice(["metric", "us"]), default="metric"),
        told_option("--language", callback=_known_language),
        told_option("--json", "as_json", told="json", is_flag=True),
        told_option("--workings", "with_workings", told="workings", is_flag=True),
        told_option("--full", "in_full", told="full", is_flag=True),
    ):
        command = option(command)
    return command


@main.command(help="command.assess")
@click.argument("request", type=click.File("rb"), default="-")
@_printed
def assess(
    request: BinaryIO,
    in_full: bool,
    as_json: bool,
    with_workings: bool,
    units: str,
    language: str,
) -> None:
    """Answer a request without starting a service."""
    from saltcalc.parts.answer import WITH_WORKINGS  # noqa: PLC0415
    from saltcalc.service.problems import as_lines  # noqa: PLC0415
    from saltcalc.words.catalogue import spoken  # noqa: PLC0415
    from saltcalc.words.reader import ENGLISH, telling  # noqa: PLC0415
    from saltcalc.words.text import as_text, block, full, short, workings  # noqa: PLC0415
    from saltcalc.words.trial_text import as_text as trial_as_text  # noqa: PLC0415
    from saltcalc.words.trial_text import sections  # noqa: PLC0415

    with telling(language or ENGLISH):
        asked = _in_language(_body(request.read()), language)
    members = _members(asked)
    several = "media" in members
    chosen = f"&parts={','.join(WITH_WORKINGS)}" if with_workings and not several else ""
    if not (as_json or several):
        chosen += "&flush=advised"
    path = "comparisons" if several else "assessments"
    response = _client(os.environ).post(
        f"/v1/{path}?units={units}{chosen}", data=asked, content_type="application/json"
    )
    answer: Any = response.json
    with telling(spoken(str(members.get("language", ""))), units):
        if as_json:
            click.echo(json.dumps(answer, indent=2, ensure_ascii=False))
        elif response.status_code != 200:
            click.echo(as_lines(answer))
        elif several:
            click.echo(trial_as_text(sections(answer)))
        elif in_full:
            click.echo(full(answer))
        else:
            told = as_text(short(answer, members))
            worked = block("workings", workings(answer.get("workings", [])))
            click.echo("\n\n".join(filter(None, (told, worked))))
    if response.status_code != 200:
        sys.exit(1)


_PRINTED = ("in_full", "as_json", "with_workings", "units", "language")
"""What the options say that tell how an answer is printed."""

_ASKED = (
    ("--ec", "ec"),
    ("--method", "extraction"),
    ("--volume", "volume"),
    ("--height", "height"),
    ("--drainage", "drainage"),
    ("--substrate", "substrate"),
    ("--ph", "ph"),
    ("--water-ec", "water_ec"),
    ("--sign", "observations"),
)


def _questions(command: Any) -> Any:
    """Give a command the options of a bare question."""
    for option, name in reversed(_ASKED):
        command = told_option(option, name, multiple=name == "observations")(command)
    return command


@main.command(help="command.ask")
@_questions
@told_option("--crop", multiple=True)
@told_option("--stage")
@told_option("--set", "more", multiple=True, metavar="NAME=VALUE")
@_printed
@click.pass_context
def ask(
    context: click.Context,
    /,
    crop: tuple[str, ...],
    stage: str | None,
    more: tuple[str, ...],
    **given: Any,
) -> None:
    """Answer a bare question: saltcalc ask --ec 1.8 --method 1:2 --crop lettuce."""
    from saltcalc.service.forms import request_of  # noqa: PLC0415

    printed = {name: given.pop(name) for name in _PRINTED}
    if not (crop or more or any(given.values())):
        click.echo(context.get_help())
        context.exit(2)
    given["observations"] = ";".join(given["observations"]) or None
    pairs = [pair for pair in given.items() if pair[1] is not None]
    for each in crop:
        pairs += [("crop", each), *([("stage", stage)] if stage else [])]
    pairs += [(name, value) for name, _, value in (each.partition("=") for each in more)]
    body = json.dumps(_or_refused(request_of, pairs)).encode()
    context.invoke(assess, request=io.BytesIO(body), **printed)


def _prints(command: str, told: str, template: str) -> None:
    """Add a command that prints a template, to fill in."""

    @main.command(command, help=told)
    def printed() -> None:
        click.echo((_TEMPLATES / template).read_text(encoding="utf-8"), nl=False)


_prints("example", "command.example", "request.yaml")
_prints("crops-template", "command.crops_template", "crops.csv")
_prints("ranges-template", "command.ranges_template", "ranges.csv")
_prints("samples-template", "command.samples_template", "samples.csv")


@main.command(help="command.demo")
@click.argument(
    "request", type=click.Path(exists=True, dir_okay=False, path_type=Path), default=DEMO_REQUEST
)
@told_option("--language", callback=_known_language)
def demo(request: Path, language: str) -> None:
    """Start the service, post a request to it, show both and the answer, and stop it."""
    from saltcalc.demo import RefusedError, run  # noqa: PLC0415 - so that `serve` loads it not
    from saltcalc.words.catalogue import words  # noqa: PLC0415
    from saltcalc.words.reader import ENGLISH, telling  # noqa: PLC0415

    _settings(os.environ)
    told = words(language) if language else terminal_words()
    if request == DEMO_REQUEST:
        click.echo(f"{told.tell('command.invented')}\n")
    try:
        with telling(language or ENGLISH):
            click.echo(run(_in_language(request.read_bytes(), language)))
    except RefusedError as error:
        raise click.ClickException(str(error)) from error


@main.command(help="command.key")
@click.argument("key_id")
def key(key_id: str) -> None:
    """Make a key for a client, and its line for the file of keys."""
    from saltcalc.service.keys import make_key  # noqa: PLC0415

    try:
        made, line = make_key(key_id)
    except ValueError as error:
        raise click.ClickException(str(error)) from error
    click.echo(line)
    click.echo(made, err=True)


@main.command(help="command.batch")
@click.argument("source", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.argument("target", type=click.Path(dir_okay=False, writable=True, path_type=Path))
@told_option("--units", type=click.Choice(["metric", "us"]), default="metric")
def batch(source: Path, target: Path, units: str) -> None:
    """Answer every sample of a file into another."""
    from werkzeug.exceptions import HTTPException  # noqa: PLC0415

    from saltcalc.batch_files import SUFFIXES, answer_file  # noqa: PLC0415

    told = terminal_words()
    for each in (source, target):
        if each.suffix not in SUFFIXES:
            refusal = told.tell("command.no_suffix", file=str(each), suffixes=list(SUFFIXES))
            raise click.UsageError(refusal)
    try:
        with click.progressbar(length=1000, label=source.name, file=sys.stderr) as bar:
            closing = answer_file(
                source,
                target,
                units=units,
                progress=lambda share: bar.update(round(1000 * share) - bar.pos),
            )
    except HTTPException as error:
        raise click.UsageError(str(error.description)) from error
    except KeyboardInterrupt:
        click.echo(told.tell("command.interrupted"), err=True)
        sys.exit(130)
    if closing.resumed_at:
        click.echo(told.tell("command.went_on", rows=closing.resumed_at), err=True)
    verdicts = ", ".join(f"{count} {each}" for each, count in sorted(closing.by_verdict.items()))
    counts = {"rows": closing.rows, "failed": closing.failed, "verdicts": verdicts or "–"}
    click.echo(told.tell("command.closing", **counts), err=True)
    sys.exit(1 if closing.failed else 0)


@main.command(help="command.openapi")
def openapi() -> None:
    """Print the OpenAPI document of the interface."""
    contract = _client({}).get("/openapi.json").json
    click.echo(json.dumps(contract, indent=2, ensure_ascii=False))


def _body(sent: bytes) -> bytes:
    """Return a request as JSON, whatever form it was written in."""
    from saltcalc.service.forms import request_in  # noqa: PLC0415

    text = sent.removeprefix(b"\xef\xbb\xbf")
    if text.lstrip().startswith((b"{", b"[")) or not text.strip():
        return text
    try:
        written = text.decode("utf-8")
    except UnicodeDecodeError:
        written = text.decode("cp1252", errors="replace")
    return json.dumps(_or_refused(request_in, written, _from_report)).encode()


def _from_report(text: str) -> dict[str, Any] | None:
    """Return the request in a laboratory's report, or None; say what it leaves open."""
    from saltcalc.service.lab_report import LEAST, read_report  # noqa: PLC0415
    from saltcalc.terminal import report_words  # noqa: PLC0415

    with _client(os.environ).application.app_context():
        report = read_report(text)
    if len(report.taken) < LEAST:
        return None
    click.echo(report_words(report), err=True)
    return report.request


def _members(body: bytes) -> dict[str, Any]:
    """Return the members of a request; none where it is not an object."""
    try:
        request = json.loads(body)
    except ValueError:
        return {}
    return request if isinstance(request, dict) else {}


def _in_language(body: bytes, language: str) -> bytes:
    """Return a request for an answer in a language, where one was chosen."""
    members = _members(body)
    return json.dumps(members | {"language": language}).encode() if language and members else body


def _or_refused(
    read: Callable[[Any], Any],
    given: Any,
    otherwise: Callable[[Any], Any] | None = None,
) -> Any:
    from saltcalc.service.forms import FormError  # noqa: PLC0415

    try:
        return read(given)
    except FormError as error:
        if otherwise and not error.is_slip and (found := otherwise(given)):
            return found
        raise click.ClickException(terminal_words().say(error.message)) from error


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
