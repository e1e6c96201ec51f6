import numpy as np
import pytest

from saltcalc.data.watering import intake_rates
from saltcalc.science import flush_advice
from saltcalc.science.flush import WashoutParameters
from saltcalc.science.instruction import instruct
from saltcalc.science.pass_days import Timing
from saltcalc.science.plan import Flush, UncertainWashout
from saltcalc.science.sampled_pots import Start, Uncertain
from saltcalc.science.schedule import (
    SLACK,
    choose_timing,
    pass_time,
    rate_from_time,
    timing_with_rest,
    timings,
)
from saltcalc.science.uncertainty import Interval
from tests.science.test_instruction import CASES, washout_of
from tests.washing import wash


def known_of(case):
    held = case.volume * case.water_share
    return Uncertain(
        washout_of(case.medium_class), Interval.of(held, 0.9 * held, 1.1 * held),
        Interval.of(case.ec, 0.87 * case.ec, 1.15 * case.ec), Interval.of(1.0, 0.87, 1.15),
        Start(),
    )  # fmt: skip


def chosen(case):
    held, each = case.volume * case.water_share, 0.114 * case.volume
    flush = Flush(case.ec, case.target, case.water, held, 0.0, each, 10 * case.volume, 0.25)
    return choose_timing(flush, known_of(case))


OLD_COMPOST = CASES["compost"]._replace(volume=80, ec=17.0, target=2.9, water=0.6)


def test_no_rests_in_peat_where_they_buy_little():
    got = chosen(CASES["peat"]._replace(ec=5.0))
    assert got.timing.rest[0] == 0
    assert got.timing.passes_a_day[0] > 20


def test_one_pass_a_day_in_old_compost_where_rests_halve_the_water():
    got = chosen(OLD_COMPOST)
    assert got.timing.passes_a_day[0] == 1
    assert got.litres[0, -1] < 0.55 * got.litres[0, 1]


def test_longer_rests_never_take_more_water():
    for case in (*CASES.values(), OLD_COMPOST):
        assert np.all(np.diff(chosen(case).litres[0]) <= 1e-9)


@pytest.mark.parametrize("name", CASES)
def test_the_shortest_rests_are_chosen_that_hardly_take_more_water(name):
    case = CASES[name]
    got, each = chosen(case), 0.114 * case.volume
    passes = got.litres[0] / each
    enough = passes.min() + max(1.0, SLACK * passes.min())
    assert passes[got.chosen[0]] <= enough
    assert np.all(passes[: got.chosen[0]] > enough)


def test_nights_are_counted():
    """Without nights compost takes what a plan of equal rests says; with them it takes less."""
    case = OLD_COMPOST
    row = washout_of("compost")
    middle = WashoutParameters(*(float(part.value) for part in row[:4]), 3)
    held, each = case.volume * case.water_share, 0.114 * case.volume
    left = wash(case.ec, case.water, middle, [each / held] * 90, 0.25, 0.5).ec_medium
    unbroken = (np.argmax(left <= case.target) + 1) * each
    flush = Flush(case.ec, case.target, case.water, held, 0.0, each, 10 * case.volume, 0.25)
    # Figures without a spread make the hard container the middle one.
    sure = Uncertain(
        UncertainWashout(*(Interval.of(*[float(part.value)] * 3) for part in row)),
        *(Interval.of(figure, figure, figure) for figure in (held, case.ec, 1.0)),
        Start(),
    )
    with_nights = choose_timing(flush, sure).litres[0, 1]
    assert with_nights < 0.8 * unbroken


def test_a_working_day_is_ten_hours_and_the_night_fills_it_up():
    timing = timings([0.25, 3.0, 11.0, 23.6, 24.0, 30.0])
    at_work = timing.passes_a_day * timing.duration
    at_work = at_work + (timing.passes_a_day - 1) * timing.rest
    assert np.all((at_work <= 10 + 1e-9) | (timing.passes_a_day == 1))
    days = (at_work + timing.night) / 24
    assert days == pytest.approx(np.ceil(at_work / 24))


def test_passes_a_day_are_as_many_as_fit_with_their_rests():
    """Ten hours at work: five of a quarter with rests of two hours between take 9.25, six 11.5."""
    five = timing_with_rest([0.25], 2.0)
    assert (five.passes_a_day[0], five.rest[0], five.night[0]) == (5, 2, 14.75)
    two = timing_with_rest([0.25], 5.0)
    assert (two.passes_a_day[0], two.rest[0], two.night[0]) == (2, 5, 18.5)
    one = timing_with_rest([0.25], np.inf)
    assert (one.passes_a_day[0], one.rest[0], one.night[0]) == (1, 0, 23.75)
    long = timing_with_rest([11.0], 2.0)
    assert (long.passes_a_day[0], long.rest[0], long.night[0]) == (1, 0, 13)


@pytest.mark.parametrize(
    ("texture", "hours"),
    [("sand", 0.35), ("sandy_loam", 0.75), ("loam", 2.42), ("clay_loam", 8.72)],
)
def test_a_pass_sinks_in_by_the_texture(texture, hours):
    """A quarter of a 15 cm pot, 37.5 mm, at textbook rates of wet soil (Green-Ampt table); the
    depth over the rate is arithmetic."""
    rate = intake_rates()[texture].rate.value
    assert pass_time(1.5, 400.0, rate) == pytest.approx(hours, abs=0.005)


def test_every_rate_is_uncertain_by_a_factor_of_two_at_least():
    for row in intake_rates().values():
        assert row.rate.low * 2 <= row.rate.value <= row.rate.high / 2


def test_finer_soil_takes_longer():
    rates = intake_rates()
    order = ["sand", "loamy_sand", "sandy_loam", "loam", "clay_loam", "clay"]
    assert np.all(np.diff([pass_time(1.5, 400.0, rates[each].rate.value) for each in order]) > 0)


def test_a_timed_centimetre_gives_the_rate():
    assert pass_time(4.0, 400.0, rate_from_time(30.0)) == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("name", "target", "volumes", "passes_a_day"),
    [("peat", CASES["peat"].target, 1.2, 3), ("mix", 2.2, 1.65, 1)],
)
def test_advice_turns_to_longer_rests_where_passes_at_once_do_not_attain(
    name, target, volumes, passes_a_day
):
    """A plan that does not get there is no plan, however few its rests."""
    case = CASES[name]
    held, each = case.volume * case.water_share, 0.114 * case.volume
    ceiling = volumes * case.volume
    flush = Flush(np.full(1, case.ec), target, case.water, held, 0.0, each, ceiling, 0.25)
    known = known_of(case)
    alone = choose_timing(flush, known).timing
    assert not instruct(flush, *known[:4], alone).attained[0]
    got = flush_advice.advise_flush(flush, known)
    assert got.instruction.attained[0]
    assert got.timing.passes_a_day[0] == passes_a_day
    # Nothing can be told where passes at once never do.
    assert 0 < got.rest_saves[0] < 1 or np.isnan(got.rest_saves[0])


def test_a_schedule_that_is_given_is_kept_and_its_neighbour_is_chosen():
    case = CASES["compost"]
    held, each = case.volume * case.water_share, 0.114 * case.volume
    flush = Flush(np.full(2, case.ec), case.target, case.water, held, 0.0, each, 120.0, 0.25)
    known = known_of(case)
    given = Timing(*(np.array([part, np.nan]) for part in (0.25, 1.0, 8.0, 14.0)))
    got = flush_advice.advise_flush(flush, known, timing=given)
    assert got.timing.rest[0] == 1.0
    alone = choose_timing(flush, known).timing
    assert got.timing.passes_a_day[1] == alone.passes_a_day[1] != 8
    assert got.instruction.litres[0] >= got.instruction.litres[1]


def test_what_is_not_known_gives_no_advice_and_spares_its_neighbour():
    case = CASES["peat"]
    flush = Flush(np.array([np.nan, case.ec]), case.target, 0.5, 6.2, 0.0, 1.1, 30.0, 0.25)
    ec = Interval(flush.ec_medium, 0.9 * flush.ec_medium, 1.1 * flush.ec_medium)
    held, sure = Interval.of(6.2, 5.6, 6.8), Interval.of(1.0, 0.9, 1.1)
    got = flush_advice.advise_flush(flush, Uncertain(washout_of("peat"), held, ec, sure, Start()))
    assert np.isnan(got.instruction.litres[0])
    assert got.instruction.passes.tolist()[0] == 0
    assert got.instruction.attained.tolist() == [False, True]
