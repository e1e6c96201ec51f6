"""A folder of languages with the pseudo-language in it, and the service that speaks it."""

import shutil

import pytest

from saltcalc.service.app import create_app
from saltcalc.service.config import read_settings
from saltcalc.words import catalogue
from tests.languages.pseudo import LOCALES, write_pseudo

_CACHED = (catalogue.languages, catalogue._words, catalogue._read)


def _forget():
    for each in _CACHED:
        each.cache_clear()


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder with the English sentences alone, which the catalogues are read from."""
    shutil.copytree(LOCALES / "en", tmp_path / "locale" / "en")
    monkeypatch.setattr(catalogue, "_LOCALES", tmp_path / "locale")
    _forget()
    yield tmp_path / "locale"
    _forget()


@pytest.fixture
def pseudo(folder):
    """Ask the service that speaks the pseudo-language too."""
    write_pseudo(folder)
    return create_app(read_settings({"SALTCALC_LOG_LEVEL": "CRITICAL"})).test_client()
