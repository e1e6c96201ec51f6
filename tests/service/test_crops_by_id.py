"""The id of a crop, as lists and answers give it, is never open to another reading."""

import pytest


@pytest.mark.parametrize("language", [None, "en", "de", "fr", "es"])
def test_every_id_stands_for_its_own_crop(client, language):
    ids = [each["id"] for each in client.get("/v1/crops").json]
    spoken = {"language": language} if language else {}
    for first in range(0, len(ids), 20):
        some = ids[first : first + 20]
        request = {"medium": {"ec": 1}, "crops": some} | spoken
        answer = client.post("/v1/assessments?parts=crops", json=request)
        assert answer.status_code == 200, answer.json
        assert [each["crop"] for each in answer.json["crops"]] == some
