"""By what an answer on paper is traced."""

import hashlib
import json
import shutil

import pytest

from saltcalc import __version__
from saltcalc.data import tables
from tests.service.test_api_spec import EXAMPLES


@pytest.mark.parametrize("path", sorted(EXAMPLES))
def test_every_computed_answer_ends_with_its_trace(post, path):
    answer = post(path, EXAMPLES[path])
    assert list(answer)[-1] == "trace"
    assert answer["trace"]["version"] == __version__
    assert answer["trace"]["tables"] == tables.checksum()[:16]


def test_the_digest_is_that_of_the_body_as_sent(client):
    body = json.dumps({"medium": {"ec": 1.8}}, indent=1).encode()
    reply = client.post("/v1/assessments?parts=summary", data=body, content_type="application/json")
    assert reply.json["trace"]["request"] == hashlib.sha256(body).hexdigest()[:16]


def test_the_checksum_follows_every_table_and_the_growers_own(tmp_path, monkeypatch):
    as_shipped = tables.checksum()
    assert tables.checksum(b"my_lettuce") != as_shipped
    copied = shutil.copytree(tables.DATA_DIR, tmp_path / "data")
    monkeypatch.setattr(tables, "DATA_DIR", copied)
    assert tables.checksum() == as_shipped
    for table in (copied / "crops.csv", copied / "sources" / "general.csv"):
        table.write_bytes(table.read_bytes() + b"\n")
        assert tables.checksum() != as_shipped
        as_shipped = tables.checksum()
