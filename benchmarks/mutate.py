"""The share of small faults put into the service that its tests notice, room by room.

Code is changed by cosmic-ray, one fault at a time, at places drawn with a seed; a table has a
figure changed by a quarter, a catalogue one sentence put in the place of another. All of it happens
in a copy. The recorded answers (`tests/golden`) do not count: they are made anew after each change
that is meant. Run ``make mutate`` or ``python -m benchmarks.mutate FAULTS [ROOM ...]``; what
survived is shown. Faults that nobody could notice are in ``equivalent_mutants.csv``.
"""

from __future__ import annotations

import csv
import difflib
import os
import random
import re
import shlex
import shutil
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from babel.messages.pofile import read_po, write_po
from cosmic_ray.ast import ast_nodes, get_ast_from_path
from cosmic_ray.mutating import mutate_and_test
from cosmic_ray.plugins import get_operator, operator_names
from cosmic_ray.testing import run_tests
from cosmic_ray.work_item import MutationSpec, TestOutcome

ROOT = Path(__file__).parents[1]
EQUIVALENT = Path(__file__).with_name("equivalent_mutants.csv")
COPIED = ("saltcalc", "tests", "fixtures", "benchmarks", "docs", "api_spec")
SECONDS = 900
"""Of CPU for the tests of one fault; one that makes them run for ever counts as noticed."""
_AT_MOST = 20 * SECONDS
"""Seconds in all, also where much else runs."""
SEED = 8
NEVER = ("RemoveDecorator", "BitOr")
"""Operators whose faults are of the program's make-up, not of what it does: a cache that is no
more, another annotation."""


@dataclass(frozen=True)
class Room:
    """Where faults are put, the least share that has to be noticed, and by which tests."""

    folder: str
    files: str
    least: float
    tests: tuple[str, ...]


ROOMS = {
    "science": Room("science", "*.py", 0.90, ("tests/science", "tests/published", "tests/parts")),
    "parts": Room(
        "parts",
        "**/*.py",
        0.80,
        ("tests/parts", "tests/published", "tests/service", "tests/test_workings.py"),
    ),
    "data": Room("data", "*.csv", 0.75, ("tests/data", "tests/published", "tests/parts")),
    "words": Room(
        "words/locale/en", "**/*.po", 0.75, ("tests/words", "tests/findings", "tests/service")
    ),
}


def run(faults: int = 20, *rooms: str) -> int:
    """Put in so many faults a room, and return 1 where too many were not noticed.

    The environment may give another seed (``SEED``) than the usual one.
    """
    too_few = False
    with tempfile.TemporaryDirectory() as folder:
        for name in COPIED:
            shutil.copytree(ROOT / name, Path(folder, name))
        for name in ("pyproject.toml", "README.md", "DEVELOPERS.md", "Makefile", "CHANGELOG.md"):
            shutil.copy(ROOT / name, folder)
        os.chdir(folder)
        os.environ |= {"PYTHONPATH": folder, "PYTHONDONTWRITEBYTECODE": "1"}
        for name in rooms or ROOMS:
            too_few |= not _enough(name, ROOMS[name], faults)
    return int(too_few)


def _enough(name: str, room: Room, faults: int) -> bool:
    survived = done = 0
    for where, noticed, change in _faults(
        room, random.Random(int(os.environ.get("SEED", SEED))), faults
    ):
        done += 1
        survived += not noticed
        print(f"{name} {done}: {'noticed' if noticed else 'SURVIVED'} {where}", flush=True)
        if not noticed:
            print(change, flush=True)
    share = 1 - survived / max(done, 1)
    print(f"{name}: {share:.0%} of {done} noticed, at least {room.least:.0%} wanted", flush=True)
    return share >= room.least


def _faults(room: Room, rng: random.Random, faults: int) -> Iterator[tuple[str, bool, str]]:
    """Put in one fault after another, and yield where, whether it was noticed, and the change."""
    files = sorted(Path("saltcalc", room.folder).glob(room.files))
    with EQUIVALENT.open(encoding="utf-8") as lines:
        equivalent = {(row["file"], row["changed"]) for row in csv.DictReader(lines)}
    given = 0
    while given < faults:
        path = rng.choices(files, [file.stat().st_size for file in files])[0]
        put = _in_code if path.suffix == ".py" else _in_text
        found = put(path, _command(room, path), rng)
        if found is None or (str(path), _changed(found[1])) in equivalent:
            continue
        given += 1
        yield str(path), *found


def _command(room: Room, path: Path) -> str:
    """Return the test run: what is nearest to the file, then the room, up to the first failure."""
    nearest = sorted(map(str, Path("tests").glob(f"*/test_{path.stem}*.py")))
    left_out = "--ignore=tests/service/test_gunicorn.py --ignore=tests/service/test_slow_clients.py"
    run = (
        f"{sys.executable} -m pytest -x -q -n 0 -p no:cacheprovider -m 'not long and not browser'"
        f" {left_out}"
    )
    nothing_to_run = "test $? -eq 5"
    runs = [
        f"({run} {' '.join(tests)} || {nothing_to_run})" for tests in (nearest, room.tests) if tests
    ]
    return f"sh -c {shlex.quote(f'ulimit -t {SECONDS}; ' + ' && '.join(runs))}"


def _in_code(path: Path, command: str, rng: random.Random) -> tuple[bool, str] | None:
    tree = get_ast_from_path(path)
    places = []
    for name in operator_names():
        if any(each in name for each in NEVER) or get_operator(name).arguments():
            continue
        found = (
            span
            for node in ast_nodes(tree)
            for span in get_operator(name)().mutation_positions(node)
        )
        places += [(name, occurrence, *span) for occurrence, span in enumerate(found)]
    if not places:
        return None
    place = rng.choice(sorted({each[2:] for each in places}))
    name, occurrence, start, end = rng.choice([each for each in places if each[2:] == place])
    fault = MutationSpec(path, name, occurrence, start, end)
    result = mutate_and_test([fault], command, _AT_MOST)
    return result.test_outcome is not TestOutcome.SURVIVED, result.diff or ""


def _in_text(path: Path, command: str, rng: random.Random) -> tuple[bool, str] | None:
    before = path.read_bytes()
    (_change_figure if path.suffix == ".csv" else _change_sentence)(path, rng)
    after = path.read_text(encoding="utf-8")
    if after == before.decode():
        return None
    try:
        outcome, _ = run_tests(command, _AT_MOST)
    finally:
        path.write_bytes(before)
    change = difflib.unified_diff(
        before.decode().splitlines(), after.splitlines(), n=0, lineterm=""
    )
    return outcome is not TestOutcome.SURVIVED, "\n".join(change)


def _change_figure(path: Path, rng: random.Random) -> None:
    """Change one figure of a table by a quarter."""
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    place = rng.randrange(1, len(lines))
    figures = list(re.finditer(r"(?<=,)\d+(\.\d+)?(?=,)", lines[place]))
    if figures:
        figure = rng.choice(figures)
        more = f"{1.25 * float(figure[0]) or 1:.6g}"
        lines[place] = lines[place][: figure.start()] + more + lines[place][figure.end() :]
        path.write_text("".join(lines), encoding="utf-8")


def _change_sentence(path: Path, rng: random.Random) -> None:
    """Put a sentence in the place of another that has the same figures to tell."""
    with path.open("rb") as file:
        catalogue = read_po(file)
    said = [each for each in catalogue if each.id and isinstance(each.string, str)]
    changed = rng.choice(said)
    alike = [
        each.string
        for each in said
        if _figures(each.string) == _figures(changed.string) and each.string != changed.string
    ]
    if alike:
        changed.string = rng.choice(alike)
        with path.open("wb") as file:
            write_po(file, catalogue, width=None)


def _figures(text: str) -> set[str]:
    return set(re.findall(r"{[^{}]*}", text))


def _changed(diff: str) -> str:
    """Return the line that a change made."""
    return "".join(
        line[1:].strip()
        for line in diff.splitlines()
        if line.startswith("+") and not line.startswith("+++")
    )


if __name__ == "__main__":
    sys.exit(run(*map(int, sys.argv[1:2]), *sys.argv[2:]))
