"""Keys with which a client is let in: made here, kept only as hashes, changed without a restart.

A line of the file holds the id of a key and the SHA-256 of the key, with a space between. A key is
256 bits of chance, so a plain hash of it can be neither guessed nor looked up.
"""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
from collections.abc import Mapping
from pathlib import Path

_LINE = re.compile(r"(?P<id>[A-Za-z0-9._-]{1,64}) (?P<hash>[0-9a-f]{64})")


def make_key(key_id: str) -> tuple[str, str]:
    """Return a new key, and its line for the file.

    Raises
    ------
    ValueError
        If the id is not of letters, digits, dots, dashes and underscores.
    """
    key = secrets.token_urlsafe(32)
    line = f"{key_id} {_hash(key)}"
    if not _LINE.fullmatch(line):
        raise ValueError(f"'{key_id}' is not an id: take letters, digits, dots and dashes.")
    return key, line


def read_keys(path: Path) -> Mapping[str, str]:
    """Return the hash of each key by its id.

    Raises
    ------
    OSError
        If the file cannot be read.
    ValueError
        Naming the line that is not an id and a hash.
    """
    keys: dict[str, str] = {}
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
        if not line.strip() or line.startswith("#"):
            continue
        found = _LINE.fullmatch(line.strip())
        if not found or found["id"] in keys:
            raise ValueError(f"{path}, line {number}: not the id of a key and its hash, once.")
        keys[found["id"]] = found["hash"]
    return keys


class Keys:
    """The keys of a file, read again when the file has changed."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._stamp: tuple[int, int] = (0, 0)
        self._keys: Mapping[str, str] = {}

    def whose(self, key: str) -> str | None:
        """Return the id of a key, or None; it takes as long whether or not there is one.

        A file that cannot be read any more leaves the keys as they were.
        """
        try:
            state = self._path.stat()
            stamp = (state.st_mtime_ns, state.st_size)
            if stamp != self._stamp:
                self._keys, self._stamp = read_keys(self._path), stamp
        except (OSError, ValueError):
            pass
        given, found = _hash(key), None
        for key_id, kept in self._keys.items():
            if hmac.compare_digest(given, kept):
                found = key_id
        return found


def _hash(key: str) -> str:
    return hashlib.sha256(key.encode()).hexdigest()
