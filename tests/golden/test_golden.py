"""The answers to 200 requests are as they were recorded."""

from tests.golden.record import answers, recorded, requests


def test_every_answer_is_as_it_was_recorded():
    differ = [
        f"{place} {request['method']} {request['path']}"
        for place, (request, now, then) in enumerate(
            zip(requests(), answers(), recorded(), strict=True)
        )
        if now != then
    ]
    assert not differ
