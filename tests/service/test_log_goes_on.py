"""The log of a flush goes on with the plan that was given, tells one scale, and takes its check."""

import html
import re

import pytest

from saltcalc.service.pages.form import typed_of

BASE = {
    "medium": {"extraction": "one_to_two", "ec": "1.8 mS/cm"},
    "crops": [{"crop": "lettuce", "stage": "seedling"}],
    "containers": [{"volume": "11 L", "drainage": "open"}],
}


def told(page):
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", page)))


@pytest.fixture
def log(client):
    def ask(request, *readings, container=0):
        typed = typed_of(request | {"readings": list(readings)})
        response = client.post("/flush-log", data=typed | {"container": str(container)})
        assert response.status_code == 200
        return response.text

    return ask


def now(page):
    return told(page.partition('<section class="todo"')[2].partition("</section>")[0])


class TestAPlanOfManyPourings:
    def test_it_is_not_stopped_after_the_first_of_them(self, log, demo_request):
        page = now(log(demo_request, {"applied": "3.3 L", "ec_drainage": "6.5 mS/cm"}))
        assert "Stop" not in page
        (passes,) = re.search(r"Pour \d+ L more, in (\d+) more passes", page).groups()
        assert int(passes) == 12

    @pytest.mark.parametrize("means", [{"by": "dripper"}, {"by": "boom"}])
    def test_where_nobody_pours_no_dripper_is_offered(self, log, demo_request, means):
        request = demo_request | {"means": means}
        page = now(log(request, {"applied": "3.3 L", "ec_drainage": "6.5 mS/cm"}))
        assert "more passes" in page
        assert "Let a dripper" not in page

    def test_a_plan_of_few_pourings_needs_no_dripper(self, log):
        request = BASE | {"target_ec": "1.2 mS/cm"}
        page = now(log(request, {"applied": "1.1 L", "ec_drainage": "7 mS/cm"}))
        assert "more pass" in page
        assert "dripper" not in page

    def test_beyond_three_volumes_it_stops_and_the_options_stand_there(self, log):
        readings = [{"applied": "4 L", "ec_drainage": "6 mS/cm"} for _ in range(8)]
        page = now(log(BASE, *readings))
        assert "Stop" in page
        assert "options" in page
        assert "Replace the medium" in page

    def test_before_the_first_of_them_the_options_stand_there_too(self, log):
        page = log(BASE)
        assert "See the options" in told(page)
        assert "Let a dripper" in now(page)


def test_a_way_leads_back_to_the_answer(client, log, demo_request):
    page = log(demo_request, {"applied": "3.3 L", "ec_drainage": "6.5 mS/cm"})
    back = page.partition('action="/">')[2].partition("</form>")[0]
    names = re.findall(r'name="([^"]*)" value="([^"]*)"', back)
    assert not any(name.startswith("/readings") for name, _ in names)
    sent = {}
    for name, value in names:
        sent.setdefault(html.unescape(name), []).append(html.unescape(value))
    again = client.post("/", data=sent)
    assert again.status_code == 200
    assert "What to do" in told(again.text)


@pytest.mark.parametrize("extraction", ["one_to_two", "saturated_media_extract", "pour_through"])
def test_both_figures_are_by_the_growers_own_method(post, log, extraction):
    """What it would settle to, beside what it is done at: now above, or done already."""
    ec = {"one_to_two": 1.8, "saturated_media_extract": 4, "pour_through": 6}[extraction]
    request = BASE | {"medium": {"extraction": extraction, "ec": ec}}
    first = {"applied": 1.1, "ec_drainage": 5.0}
    page = now(log(request, {"applied": "1.1 L", "ec_drainage": "5 mS/cm"}))
    told_now = float(re.search(r"settle to about ([\d.]+) dS/m by your method", page)[1])
    done = float(re.search(r"every reading is ([\d.]+) dS/m or less by your method", page)[1])
    found = post("/v1/flush-plans/progress", request | {"readings": [first]})["progress"]
    pores, target = (found[name]["value"] for name in ("ec_medium", "target_pore_water"))
    assert done < told_now <= 1.1 * ec
    own = post("/v1/flush-plans", request)["flush_plan"][0]["target_ec"]["value"]
    assert told_now == pytest.approx(pores * own / target, rel=0.06)


def test_litres_are_told_as_a_can_measures_them(log):
    page = now(log(BASE, {"applied": "1.1 L", "ec_drainage": "5 mS/cm"}))
    assert re.search(r"Pour (\d\.\d|\d+) L more", page)


@pytest.mark.parametrize("minutes", [735, 900, 1080, 1500, 4000])
@pytest.mark.parametrize("pourings", [1, 4, 8])
def test_a_check_is_taken_where_the_pourings_before_it_have_no_times(post, minutes, pourings):
    """By a schedule with rests 900 minutes lie in the wait after the last pouring."""
    poured = [{"applied": 14 / pourings, "ec_drainage": 4 - 0.3 * each} for each in range(pourings)]
    request = BASE | {"rest": 240, "target_ec": 0.47}
    read = {"ec_own": 0.43, "minutes_after": minutes}
    answer = post("/v1/flush-plans/progress", request | {"readings": [*poured, read]})
    assert "readings_too_soon" not in [each["id"] for each in answer["warnings"]]
    assert answer["progress"]["verdict"] == "done"


def test_a_check_that_was_told_to_be_hours_after_the_pouring_is_still_too_soon(post):
    poured = {"applied": 4, "ec_drainage": 4, "minutes_after": 0}
    read = {"ec_own": 0.3, "minutes_after": 180}
    answer = post("/v1/flush-plans/progress", BASE | {"readings": [poured, read]})
    assert "readings_too_soon" in [each["id"] for each in answer["warnings"]]
