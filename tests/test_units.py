import contextlib
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from saltcalc import units
from saltcalc.quantities import read_quantity
from saltcalc.units import QuantityError, ion_kind
from saltcalc.words.catalogue import words


@contextlib.contextmanager
def refused(because):
    """Expect a refusal whose sentence holds this."""
    with pytest.raises(QuantityError) as caught:
        yield
    assert because in words().say(caught.value.message)


def reading(given_, kind):
    """Return how a text was read, in words; empty where it left nothing open."""
    read = read_quantity(given_, kind).reading
    return words().say(read) if read else ""


def value(given_, kind):
    return read_quantity(given_, kind).value


@pytest.mark.parametrize(
    "spelling",
    [
        "2300 µS/cm",
        "2300 μS/cm",
        "2300 uS/cm",
        "2300uS/cm",
        "2.3 mS/cm",
        "2.3 mS cm-1",
        "2.3 mS·cm^-1",
        "2.3 dS/m",
        "2.3 mmho/cm",
        "0.23 S/m",
        "2.3",
        2.3,
        {"value": 2300, "unit": "µS/cm"},
        {"value": 2.3, "unit": "mS/cm"},
    ],
)
def test_spellings_of_one_ec_agree(spelling):
    assert value(spelling, units.EC) == pytest.approx(2.3, rel=1e-12)


@pytest.mark.parametrize(
    ("ion", "spellings"),
    [
        (
            "sodium",
            [229.8976928, "229.8976928 ppm", "10 meq/L", "10 mmol/L", "10 me/L", "10 mmolc/L"],
        ),
        ("calcium", [200.39, "200.39 mg/L", "10 meq/L", "5 mmol/L", "10 mmol_c/L", "0.20039 g/L"]),
        ("nitrate_n", [140.07, "10 meq/L", "10 mmol/L", "140070 ppb"]),
        ("sulfate_s", [160.3, "10 mmol(c)/L", "5 mmol/L", "5000 µmol/L"]),
        ("phosphorus", [309.73761998, "10 mmol/L", "10 meq/L"]),
    ],
)
def test_spellings_of_one_concentration_agree(ion, spellings):
    for spelling in spellings:
        assert value(spelling, ion_kind(ion)) == pytest.approx(10.0, rel=1e-9), spelling


@pytest.mark.parametrize(
    ("ion", "written", "as_reported", "form"),
    [
        ("nitrate_n", "442.664 mg/L NO3", 100.0, "NO3"),
        ("nitrate_n", "442.664 ppm as NO₃", 100.0, "NO3"),
        ("ammonium_n", "128.786 mg/L NH4+", 100.0, "NH4"),
        ("sulfate_s", "299.613 mg/L SO4", 100.0, "SO4"),
        ("phosphorus", "229.133 mg/L P2O5", 100.0, "P2O5"),
        ("potassium", "120.460 mg/L K2O", 100.0, "K2O"),
        ("nitrate_n", "100 mg/L NO3-N", 100.0, ""),
        ("nitrate_n", "100 mg/L as N", 100.0, ""),
        ("sodium", "100 mg/L Na+", 100.0, ""),
    ],
)
def test_a_mass_of_another_form_is_brought_to_the_reported_one_and_said(
    ion, written, as_reported, form
):
    read = read_quantity(written, ion_kind(ion))
    assert read.value == pytest.approx(value(as_reported, ion_kind(ion)), rel=1e-4)
    said = reading(written, ion_kind(ion))
    assert (form in said) if form else not said


@pytest.mark.parametrize("written", ["20 mg/L SO4", "2 mmol/L SO4", "20 mg/L N2O"])
def test_a_form_that_does_not_hold_the_ion_is_refused(written):
    with refused("is not known"):
        read_quantity(written, ion_kind("nitrate_n"))


@pytest.mark.parametrize(
    ("written", "ion", "meant"),
    [
        ("2 mmol/L NO3", "nitrate_n", "2 mmol/L"),
        ("2 meq/L SO4--", "sulfate_s", "2 meq/L"),
        ("2 mmol/L K2O", "potassium", "4 mmol/L"),  # two potassium in each
        ("2 mmol/L P2O5", "phosphorus", "4 mmol/L"),
        ("100 mg SO4 2-/L", "sulfate_s", "100 mg/L SO4"),
    ],
)
def test_moles_of_a_form_hold_so_many_of_the_ion(written, ion, meant):
    assert value(written, ion_kind(ion)) == pytest.approx(value(meant, ion_kind(ion)))


@pytest.mark.parametrize("written", ["14 grad mmol/L", "60 mg/L rad", "1 deg dS/m"])
def test_a_factor_without_a_dimension_is_no_part_of_a_unit(written):
    kind = units.EC if "S" in written else ion_kind("sodium")
    with refused("is not known"):
        read_quantity(written, kind)


@pytest.mark.parametrize(("written", "meant"), [("2.3 mS", "mS/cm"), ("2300 µS", "µS/cm")])
def test_a_conductance_is_told_the_unit_of_a_meter(written, meant):
    with refused(meant):
        read_quantity(written, units.EC)


def test_the_example_of_every_kind_is_read():
    kinds = [kind for kind in vars(units).values() if isinstance(kind, units.Kind)]
    kinds += [ion_kind(ion) for ion in ("sodium", "nitrate_n", "boron")]
    for kind in kinds:
        assert read_quantity(kind.example, kind).value > 0, kind


def test_boron_has_no_charge_and_stays_in_mass():
    assert value("0.5 mg/L", ion_kind("boron")) == 0.5
    assert value("46.253 µmol/L", ion_kind("boron")) == pytest.approx(0.5, rel=1e-4)
    with refused("without a charge"):
        read_quantity("1 meq/L", ion_kind("boron"))


# NIST Special Publication 811, Appendix B: 1 US gallon = 3.785 412 L, 1 imperial gallon =
# 4.546 09 L, 1 US liquid quart = 0.946 352 9 L, 1 cubic foot = 28.316 85 L.
@pytest.mark.parametrize(
    ("text", "litres"),
    [
        ("1 US gal", 3.785412),
        ("1 U.S. gallon", 3.785412),
        ("1 gallon", 3.785412),
        ("1 imperial gallon", 4.54609),
        ("1 imp. gal", 4.54609),
        ("1 UK gal", 4.54609),
        ("1 quart", 0.9463529),
        ("2 pt", 0.9463529),
        ("1 cubic foot", 28.31685),
        ("1 cu ft", 28.31685),
        ("1 ft3", 28.31685),
        ("1 ft³", 28.31685),
        ("500 cm³", 0.5),
        ("500 mL", 0.5),
        ("0.001 m³", 1.0),
    ],
)
def test_volumes(text, litres):
    assert value(text, units.VOLUME) == pytest.approx(litres, rel=1e-6)


def test_a_bare_gallon_says_how_it_was_read():
    assert "US measure" in reading("3 gal", units.VOLUME)
    assert reading("3 US gal", units.VOLUME) == ""
    assert reading("3 imperial gal", units.VOLUME) == ""


def test_ppm_says_how_it_was_read():
    assert "mg/L" in reading("65 ppm", ion_kind("sodium"))
    assert reading("65 mg/L", ion_kind("sodium")) == ""


@pytest.mark.parametrize(
    ("text", "celsius"),
    [("77 °F", 25), ("77 F", 25), ("25 °C", 25), ("25 C", 25), ("298.15 K", 25), (25, 25)],
)
def test_temperatures(text, celsius):
    assert value(text, units.TEMPERATURE) == pytest.approx(celsius, abs=1e-9)


@pytest.mark.parametrize("text", ["12 inches", "12 in", "1 ft", "304.8 mm"])
def test_lengths(text):
    assert value(text, units.LENGTH) == pytest.approx(30.48)


@pytest.mark.parametrize(
    "given_",
    [
        "9**9**9 mg/L",
        "1 m**9**9",
        "1e999",
        "NaN",
        "inf",
        "dS/m",
        "",
        "2.3 nonsense/cm",
        "2.3 mg/L",
        "2.3 __import__('os')",
        "-1 dS/m",
        math.nan,
        math.inf,
        10**400,
        True,
        None,
        [2.3],
        {},
        {"value": True, "unit": "dS/m"},
        {"value": 2.3, "unit": ""},
        {"value": 2.3, "unit": 5},
        {"value": 2.3, "unit": "dS/m", "note": "x"},
    ],
)
def test_what_is_no_ec_is_refused(given_):
    with pytest.raises(QuantityError):
        read_quantity(given_, units.EC)


def test_a_slip_of_a_thousand_is_named():
    with refused("1500 µS/cm is 1.5 dS/m"):
        read_quantity(1500, units.EC)


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused(text):
    for kind in (units.EC, units.VOLUME, units.TEMPERATURE, ion_kind("calcium")):
        with contextlib.suppress(QuantityError):
            assert math.isfinite(read_quantity(text, kind).value)


@given(st.floats(min_value=1e-3, max_value=1e3))
def test_what_was_read_reads_the_same_in_the_internal_unit(mass):
    for ion in ("sodium", "calcium", "nitrate_n", "sulfate_s", "boron"):
        inside = value(mass, ion_kind(ion))
        unit = "mg/L" if ion == "boron" else "mmol_c/L"
        back = value({"value": inside, "unit": unit}, ion_kind(ion))
        assert back == pytest.approx(inside, rel=1e-12)


@pytest.mark.parametrize(
    ("spelling", "expected"),
    [("2.3 ms/cm", 2.3), ("2.3 MS/cm", 2.3), ("2300 us/cm", 2.3), ("2300 µs / cm", 2.3)],
)
def test_a_small_s_of_a_meter_is_read_and_said(spelling, expected):
    measured = read_quantity(spelling, units.EC)
    assert measured.value == pytest.approx(expected)
    assert "is read as" in reading(spelling, units.EC)


@pytest.mark.parametrize(
    ("spelling", "kind", "expected"),
    [
        ("2.3 mS·cm⁻¹", units.EC, 2.3),
        ("65 mg·L⁻¹", ion_kind("boron"), 65.0),
        ('8"', units.LENGTH, 20.32),
        ("3 gal (US)", units.VOLUME, 3 * 3.785411784),
        ("3 gallons (UK)", units.VOLUME, 3 * 4.54609),
    ],
)
def test_spellings_of_the_trade(spelling, kind, expected):
    measured = read_quantity(spelling, kind)
    assert measured.value == pytest.approx(expected, rel=1e-9)
    assert measured.reading is None


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("2,3 mS/cm", units.EC, 2.3),
        ("1,8", units.EC, 1.8),
        ("1.413 mS/cm", units.EC, 1.413),
        ("1,413 mS/cm", units.EC, 1.413),
        ("1 800 µS/cm", units.EC, 1.8),
        ("1'800 µS/cm", units.EC, 1.8),
        ("12.880 mS/cm", units.EC, 12.88),
        ("0,500", units.EC, 0.5),
        ("1.234,5 mg/L", ion_kind("boron"), 1234.5),
        ("3.785 L", units.VOLUME, 3.785),
        ("1,234.5 mL", units.VOLUME, 1.2345),
        ("1½ gal", units.VOLUME, 1.5 * 3.785411784),
        ("EC 1.8", units.EC, 1.8),
        ("ca. 1.8", units.EC, 1.8),
        ("~1,8 mS/cm", units.EC, 1.8),
        ("1.8 mS/cm @ 25 °C", units.EC, 1.8),
        ("1.8 mS/cm at 25C", units.EC, 1.8),
        ("18 CF", units.EC, 1.8),
        ("900 ppm500", units.EC, 1.8),
        ("1260 ppm (700)", units.EC, 1.8),
        ("1152 ppm 640 scale", units.EC, 1.8),
        ("1.8 mmhos/cm", units.EC, 1.8),
        ("1800 umhos/cm", units.EC, 1.8),
        ("5 epm", ion_kind("calcium"), 5.0),
        ("5 mval/L", ion_kind("calcium"), 5.0),
        ("100 mg CaCO3/L", units.HARDNESS, 1.998),
        ("10 gpg", units.HARDNESS, 3.4205),
        ("20 °fH", units.HARDNESS, 3.997),
        ("65 mg/100 mL", ion_kind("boron"), 650.0),
    ],
)
def test_figures_as_people_write_them(text, kind, expected):
    assert value(text, kind) == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(
    ("text", "kind", "both"),
    [
        ("1.800 µS/cm", units.EC, ("1.8", "1800")),
        ("1,800 µS/cm", units.EC, ("1.8", "1800")),
        ("1.000 mL", units.VOLUME, ("1", "1000")),
        ("1,000 mL", units.VOLUME, ("1", "1000")),
        ("1.250 mg/L", ion_kind("chloride"), ("1.25", "1250")),
    ],
)
def test_an_open_figure_is_refused_with_both_readings(text, kind, both):
    with refused(f"can mean {both[0]} or {both[1]}"):
        read_quantity(text, kind)


@pytest.mark.parametrize(
    ("text", "kind", "low", "high"),
    [
        ("<0.5", ion_kind("boron"), 0.0, 0.5),
        ("< 0,05 mg/L", ion_kind("boron"), 0.0, 0.05),
        ("> 20", units.EC, 20.0, math.inf),
        ("1.6-2.0", units.EC, 1.6, 2.0),
        ("1.6 – 2.0 mS/cm", units.EC, 1.6, 2.0),
        ("1600 to 2000 µS/cm", units.EC, 1.6, 2.0),
        ("1.6 mS/cm to 2 mS/cm", units.EC, 1.6, 2.0),
        ("1.8 ± 0.2", units.EC, 1.6, 2.0),
        ("less than 1 ppm", ion_kind("boron"), 0.0, 1.0),
    ],
)
def test_a_figure_with_two_ends(text, kind, low, high):
    found = read_quantity(text, kind)
    assert (found.low, found.high) == pytest.approx((low, high))
    assert found.is_range
    assert reading(text, kind)


@pytest.mark.parametrize(
    ("text", "kind", "because"),
    [
        ("2025-03-12", units.PLANT_AGE, "is a date"),
        ("12.03.2025", units.PLANT_AGE, "3 weeks"),
        ("30 mg/kg", ion_kind("sodium"), "by weight"),
        ("30 mg/100 g", ion_kind("sodium"), "by weight"),
        ("100 kg/ha", ion_kind("nitrate_n"), "rate for land"),
        ("100 lb/acre", ion_kind("nitrate_n"), "rate for land"),
        ("1.8 mS/cm @ 20 °C", units.EC, "'temperature'"),
        ("2.0-1.6", units.EC, "from the larger"),
        ("1.8.2", units.EC, "begin with a number"),
    ],
)
def test_what_cannot_be_taken_is_refused_with_the_reason(text, kind, because):
    with refused(because):
        read_quantity(text, kind)


@pytest.mark.parametrize(("given_", "suggested"), [(1000, True), ("1000 dS/m", True)])
def test_a_slip_of_a_thousand_is_suggested(given_, suggested):
    with pytest.raises(QuantityError) as caught:
        read_quantity(given_, units.EC)
    said = words().say(caught.value.message)
    assert ("1000 µS/cm is 1 dS/m" in said) is suggested


@pytest.mark.parametrize("spelling", ["1280 ppm", "1280 mg/L"])
def test_ppm_of_a_meter_is_refused_with_the_reason(spelling):
    with refused("set it to show EC"):
        read_quantity(spelling, units.EC)


@pytest.mark.parametrize(
    ("kind", "most"),
    [
        (units.REST, "2880 min"),
        (units.HARDNESS, "50043 mg/L CaCO3"),
        (units.TEMPERATURE, "60 °C"),
        (units.EC, "100 dS/m"),
    ],
)
def test_the_greatest_value_is_told_in_the_unit_of_a_bare_number(kind, most):
    assert kind.highest == most


def test_limits_are_told_in_the_unit_of_a_bare_number():
    with refused("60 °C"):
        read_quantity(99, units.TEMPERATURE)
    with refused("mg/L"):
        read_quantity(1e9, ion_kind("sodium"))
