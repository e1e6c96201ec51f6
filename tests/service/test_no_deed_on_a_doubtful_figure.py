"""What can hardly be is checked before anything is done about it."""

import pytest

from saltcalc.words.text import as_text, short

SME = "saturated_media_extract"
PETUNIA = [{"crop": "petunia", "stage": "seedling"}]
POT = [{"volume": "0.5 L", "drainage": "open"}]
SOUND = {
    "sodium": 40, "potassium": 130, "calcium": 120, "magnesium": 35, "chloride": 71,
    "nitrate_n": 110, "sulfate_s": 40, "phosphorus": 10,
}  # fmt: skip


@pytest.fixture
def ask(client):
    def asked(**medium):
        request = {"medium": medium, "crops": PETUNIA, "containers": POT}
        reply = client.post("/v1/assessments", json=request)
        assert reply.status_code == 200
        return reply.json

    return asked


def said(answer):
    return " ".join(as_text(short(answer)).split())


@pytest.mark.parametrize("ph", [0.6, 2.9, 10.1, 12.5])
def test_a_ph_that_no_medium_has_calls_for_the_meter_and_no_remedy(ask, ph):
    answer = ask(extraction="one_to_two", ec=0.6, substrate="peat_perlite", ph=ph)
    assert answer["summary"]["contradiction"]["id"] == "unusual_ph"
    assert not answer["summary"]["actions"]
    assert not [each for each in answer["causes"]["ranked"] if each["cause"].startswith("ph_")]
    words = said(answer)
    assert "check the meter" in words
    assert not [each for each in ("lime", "sulfur", "acid") if each in words]
    assert "All is well" not in words


@pytest.mark.parametrize(("ph", "cause"), [(3.4, "ph_too_low"), (9.4, "ph_too_high")])
def test_a_ph_that_some_media_have_is_treated(ask, ph, cause):
    answer = ask(extraction="one_to_two", ec=0.6, substrate="peat_perlite", ph=ph)
    assert answer["summary"]["actions"][0]["id"] == f"remedy_{cause}"
    assert "unusual_ph" not in {each["id"] for each in answer["warnings"]}


def test_salt_is_still_leached_beside_an_impossible_ph(ask):
    answer = ask(extraction="one_to_two", ec=2.4, ph=12.5)
    leading = answer["summary"]["leading_cause"]
    assert (leading["cause"], leading["verdict"]) == ("total_salts", "supported")
    assert "If the figures are right" not in leading["sentence"]
    assert answer["summary"]["actions"][0]["id"] == "flush"


def test_an_ion_that_contradicts_the_report_is_not_acted_on(ask):
    sound = {"extraction": SME, "ec": 1.5, "substrate": "peat_perlite"}
    answer = ask(**sound, ions=SOUND | {"chloride": 710})
    assert answer["summary"]["contradiction"]["id"] == "reporting_slip"
    assert not answer["summary"]["actions"]
    assert "Leach" not in said(answer)
    assert "Check the report" in said(answer)


def test_one_that_fits_the_report_is(ask):
    high = SOUND | {"chloride": 710, "sodium": 40 + 455}
    answer = ask(extraction=SME, ec=3.4, substrate="peat_perlite", ions=high)
    assert answer["summary"]["actions"]


class TestColdIsExcludedByAFigure:
    def phosphorus(self, client, **more):
        ions = {"phosphorus": 0.4, "nitrate_n": 60, "potassium": 110, "calcium": 100}
        medium = {"extraction": SME, "ec": 1.2, "ph": 6.0, "ions": ions}
        request = {"medium": medium, "crops": [{"crop": "tomato", "stage": "seedling"}]} | more
        reply = client.post("/v1/assessments", json=request | {"observations": ["purple_leaves"]})
        assert reply.json["summary"]["leading_cause"]["cause"] == "phosphorus_shortage"
        return said(reply.json)

    def test_nobody_warms_roots_that_are_warm(self, client):
        words = self.phosphorus(client, root_zone_temperature=22)
        assert "arm the roots" not in words
        assert "phosphorus in the feed for two weeks" in words

    @pytest.mark.parametrize("more", [{}, {"root_zone_temperature": 12}])
    def test_roots_that_may_be_cold_are_warmed(self, client, more):
        assert "arm the roots first" in self.phosphorus(client, **more)
