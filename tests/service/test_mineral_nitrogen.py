"""Nitrogen told as one figure: what holds for either form, and what does not; figures invented."""

import pytest

BASES = {"potassium": 150, "calcium": 120, "magnesium": 40, "sodium": 40}
ACIDS = {"chloride": 60, "sulfate_s": 60, "bicarbonate": 40, "phosphorus": 6}


@pytest.fixture
def assess(post):
    def answer(mineral_n, ions=(), **medium):
        medium = {"extraction": "SME", "ph": 6.0, "mineral_n": mineral_n, **medium}
        if ions:
            medium["ions"] = dict(ions)
        return post(
            "/v1/assessments",
            {"medium": medium, "crops": [{"crop": "bean", "stage": "seedling"}]},
        )

    return answer


def _decides(answer):
    return [
        each["sentence"] for each in answer["warnings"] if each["id"] == "nitrogen_form_decides"
    ]


def _causes(answer):
    return {each["cause"]: each["verdict"] for each in answer["causes"]["ranked"]}


def test_much_nitrogen_asks_which_part_is_ammonium(assess):
    answer = assess(95, ec=1.2)
    (told,) = _decides(answer)
    assert "Ammonium toxicity: unlikely if it is all nitrate" in told
    assert "well supported if it is all ammonium" in told
    assert "Ask the laboratory for nitrate and ammonium apart." in told
    assert "ammonium_toxicity" not in _causes(answer)
    assert answer["summary"]["contradiction"]["id"] == "nitrogen_form_decides"


@pytest.mark.parametrize(("nitrate", "ammonium"), [(8, 0), (0, 8), (4, 4)])
def test_a_shortage_holds_for_either_form_and_asks_nothing(assess, nitrate, ammonium):
    parted = assess(8, ions={"nitrate_n": nitrate, "ammonium_n": ammonium}, ec=0.6)
    whole = assess(8, ec=0.6)
    assert _decides(whole) == []
    assert _causes(whole)["nitrogen_shortage"] == _causes(parted)["nitrogen_shortage"]


def test_how_it_is_taken_is_told(assess):
    (taken,) = [
        each for each in assess(8, ec=0.6)["assumptions"] if each["field"] == "/medium/mineral_n"
    ]
    assert "take it as nitrate" in taken["value"]


@pytest.mark.parametrize(("form", "other"), [("ammonium_n", 90), ("nitrate_n", 90)])
def test_with_one_form_the_other_is_the_rest(assess, form, other):
    answer = assess(95, ions={form: 5}, ec=1.2)
    assert _decides(answer) == []
    shares = answer["ions"]["medium"]["shares"]
    found = dict(zip(shares["of_ions"], shares["as_mass"]["values"], strict=True))
    (rest,) = {"ammonium_n", "nitrate_n"} - {form}
    assert found[rest] == pytest.approx(other)


def test_charges_that_either_form_may_balance_are_told_as_a_range(assess):
    few = {**BASES, "potassium": 60, "calcium": 60, **ACIDS}
    answer = assess(95, ions=few, ec=1.4)
    (told,) = _decides(answer)
    assert "charges are off by: -" in told
    ids = {each["id"] for each in answer["warnings"]}
    assert not ids & {"charges_do_not_balance", "report_contradicts", "reporting_slip"}


def test_the_least_ec_is_told_for_each_form_where_it_differs_by_more_than_a_twentieth(assess):
    cations = {"sodium": 100, "potassium": 200, "calcium": 150}
    assert _decides(assess(8, ions=cations)) == []
    (told,) = _decides(assess(40, ions=cations))
    assert "EC is at least: 1.61 dS/m if it is all nitrate, 1.81 dS/m if it is all ammonium" in told


def test_the_floor_of_the_ec_holds_for_either_form(assess):
    def least(answer):
        return answer["salinity"]["ec_25c"]["value"]

    whole = least(assess(210))
    for ions in ({"nitrate_n": 210}, {"ammonium_n": 210}):
        assert whole == pytest.approx(least(assess(210, ions=ions)), rel=0.05)


@pytest.mark.parametrize(
    ("path", "more"),
    [
        ("ions", {}),
        ("sodicity", {}),
        ("flush-plans", {"containers": [{"volume": "10 L"}]}),
        ("crops/ranking", {"stage": "seedling"}),
    ],
)
def test_the_other_endpoints_take_it_as_nitrate(post, path, more):
    medium = {"ec": 1.8, "mineral_n": 95, "ions": {"sodium": 30, "calcium": 50}}
    answer = post(f"/v1/{path}", {"medium": medium} | more)
    assert "take it as nitrate" in str(answer["assumptions"])


def test_less_in_total_than_of_one_form_is_refused(refuse):
    medium = {"ec": 1.0, "mineral_n": 5, "ions": {"ammonium_n": 15}}
    problem = refuse("/v1/assessments", {"medium": medium})
    assert problem["errors"][0]["pointer"] == "/medium/mineral_n"
