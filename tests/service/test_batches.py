"""Many samples in one request: on lines and in tables, each answered as if it came alone."""

import csv
import gzip
import io
import json

import pytest

from saltcalc.service.short_form import headings
from tests.service.samples import samples

LINES = {"Content-Type": "application/x-ndjson"}
TABLE = {"Content-Type": "text/csv"}
BATCH = "/v1/assessments/batch"
BESIDE = {
    *("crop", "stage", "crop_verdict", "limit [dS/m]", "container", "other_containers"),
    *("held_back", "method_assumed", "ec_low [dS/m]", "ec_high [dS/m]"),
}
"""What a row may tell beside what follows from the parts of a single answer that are asked for."""


def send(client, body, headers=LINES, query=""):
    data = body if isinstance(body, bytes) else body.encode()
    return client.post(f"{BATCH}{query}", data=data, headers=headers)


def rows_of(response):
    assert response.status_code == 200, response.text
    return [json.loads(line) for line in response.text.splitlines()]


def table_of(response, mark=","):
    assert response.status_code == 200, response.text
    return list(csv.DictReader(io.StringIO(response.text), delimiter=mark))


def ask(client, request):
    return client.post(
        "/v1/assessments?parts=summary,salinity,crops,causes&sources=none", json=request
    )


def as_alone(answer):
    """Return what a single answer says that the row of a batch repeats."""
    return {name: each for name, each in answer.items() if name not in ("trace", "request_id")}


def short_of(answer):
    """Return the short form that follows from a single answer."""
    summary, found = answer["summary"], {}
    flush = [each for each in summary["actions"][:1] if each["id"] == "flush"]
    ec = (answer.get("salinity") or {}).get("ec_saturated_extract") or {}
    worst = summary.get("worst_crop")
    found["verdict"] = summary["leading_cause"]["verdict"]
    found["first_cause"] = summary["leading_cause"]["cause"]
    found["salt_type"] = (summary.get("salt") or {}).get("salt_type")
    found["ec_saturated_extract [dS/m]"] = ec.get("value")
    same = ec.get("value") if ec.keys().isdisjoint({"low", "high"}) else None
    found["ec_low [dS/m]"] = ec.get("low", same)
    found["ec_high [dS/m]"] = ec.get("high", same)
    found["next_check"] = (summary.get("next_check") or {}).get("id")
    found["water_per_container [L]"] = flush[0]["amount"]["value"] if flush else None
    found["check_reading [dS/m]"] = flush[0]["done_at"]["value"] if flush else None
    if worst:
        found["crop"], found["stage"] = worst["crop"], worst["stage"]
        found["crop_verdict"] = worst["verdict"]
    for name in ("sample_id", "sampled_on"):
        found[name] = answer.get(name)
    return {name: each for name, each in found.items() if each is not None}


def compare(client, count, seed):
    """Send the same samples both ways, and return how many were refused."""
    sent = samples(count, seed)
    body = "\n".join(json.dumps(each) for each in sent)
    query = "?parts=summary,salinity,crops,causes&sources=none"
    whole, short = (rows_of(send(client, body, query=each)) for each in (query, ""))
    assert len(whole) == len(short) == count + 1
    failed = 0
    for number, request in enumerate(sent, start=1):
        alone = ask(client, request)
        row, line = whole[number - 1], short[number - 1]
        assert row.pop("line") == line.pop("line") == number
        if alone.status_code != 200:
            failed += 1
            assert row["problem"] == as_alone(alone.json), request
            assert line["problem"] == row["problem"]
            continue
        assert row == as_alone(alone.json), request
        expected = short_of(alone.json)
        if "method_assumed" in line:  # its ends are those of any usual method
            low, high = (expected.pop(f"ec_{end} [dS/m]", None) for end in ("low", "high"))
            assert low is None or line["ec_low [dS/m]"] <= low
            assert high is None or line["ec_high [dS/m]"] >= high
        held = {name: line.get(name) for name in expected}
        assert held == expected, request
        surplus = line.keys() - expected.keys()
        assert surplus <= BESIDE, request
        if line.get("held_back") == "method_not_given":
            assert alone.json["summary"]["by_method"], request
        if "held_back" in line:
            assert "water_per_container [L]" not in line, request
    for each in (whole[-1], short[-1]):
        assert each["closing"]["rows"] == count
        assert each["closing"]["failed"] == failed
        assert sum(each["closing"]["by_verdict"].values()) == count - failed
    return failed


def test_a_batch_accepts_refuses_and_answers_as_single_requests_do(client):
    assert 25 < compare(client, 120, seed=1) < 80


def test_choices_of_the_same_cost_do_not_depend_on_the_last_digit(client):
    """A cell that nothing is to be waited for: every rest costs the same."""
    cell = {"containers": [{"volume": "0.1 L"}], "crops": [{"crop": "lettuce"}]}
    ecs = [1.45 * (1 + place * 1e-7) for place in range(-6, 7)]
    lines = [
        json.dumps({"medium": {"ec": ec, "extraction": "saturated_media_extract"}} | cell)
        for ec in ecs
    ]
    rows = rows_of(send(client, "\n".join(lines)))[:-1]
    assert len({row["water_per_container [L]"] for row in rows}) == 1


@pytest.mark.long
def test_two_thousand_samples_are_answered_alike_both_ways(client):
    assert 400 < compare(client, 2000, seed=2) < 1200


def test_faulty_lines_are_told_by_their_numbers_and_the_rest_go_on(client):
    good = '{"sample_id": "a", "medium": {"ec": 2, "extraction": "one_to_two"}}'
    lines = [good, "{", "", '{"medium": {"ec": "two"}}', "null", '{"a": 1, "a": 2}', "\xff", good]
    body = "\ufeff" + "\n".join(lines)
    rows = rows_of(send(client, body.encode("utf-8").replace(b"\xc3\xbf", b"\xff")))
    assert [each.get("line") for each in rows] == [1, 2, 4, 5, 6, 7, 8, None]
    assert [each["problem"]["status"] for each in rows if "problem" in each] == [
        400, 422, 422, 400, 400,
    ]  # fmt: skip
    assert rows[2]["problem"]["errors"][0]["pointer"] == "/medium/ec"
    assert rows[0]["sample_id"] == rows[6]["sample_id"] == "a"
    assert rows[-1]["closing"] == {
        "rows": 7,
        "failed": 5,
        "by_verdict": {rows[0]["verdict"]: 2},
        "complete": True,
    }


def test_a_line_that_is_too_long_is_refused_and_the_next_is_read(client):
    good = '{"medium": {"ec": 2}}'
    rows = rows_of(send(client, f"{good}\n{' ' * 100_000}{good}\n{good}\n"))
    assert [each.get("problem", {}).get("status") for each in rows] == [None, 413, None, None]


def test_lines_come_compressed_and_go_compressed(client):
    body = b'{"medium": {"ec": 2}}\n' * 3
    headers = LINES | {"Content-Encoding": "gzip", "Accept-Encoding": "gzip"}
    response = send(client, gzip.compress(body[:22]) + gzip.compress(body[22:]), headers)
    assert response.headers["Content-Encoding"] == "gzip"
    rows = [json.loads(each) for each in gzip.decompress(response.data).splitlines()]
    assert rows[-1]["closing"]["rows"] == 3
    broken = rows_of(send(client, gzip.compress(body)[:-12], LINES | {"Content-Encoding": "gzip"}))
    assert broken[-1]["closing"]["complete"] is False
    assert broken[-1]["closing"]["problem"]["status"] == 400


@pytest.mark.parametrize(
    ("headers", "query", "status"),
    [
        ({"Content-Type": "application/json"}, "", 415),
        (LINES | {"Content-Encoding": "br"}, "", 415),
        (LINES, "?partz=summary", 422),
        (LINES | {"Accept": "text/csv"}, "?parts=summary", 422),
        (TABLE, "?parts=summary", 422),
    ],
)
def test_what_is_no_batch_is_refused_as_a_whole(client, headers, query, status):
    response = send(client, '{"medium": {"ec": 2}}', headers, query)
    assert response.status_code == status
    assert response.content_type == "application/problem+json"


def test_a_table_is_read_as_spreadsheets_write_it(client):
    """Semicolons, a byte-order mark, decimal commas, blank and `<0.5` cells, other line ends."""
    table = (
        "\ufeffsample_id;ec [mS/cm];method;volume [L];crop;Na [mg/L]\r\n"
        "=1+1;1,45;1:2;40;beetroot;< 0,5\r\n"
        ";;;;;\r\n"
        "b;;1:2;;;\r\n"
        'c;zz;1:2;40;"lettuce; bean";\r\n'
        "d;2,1;1:2;40;;\r\n"
    )
    response = send(client, table, TABLE)
    assert response.text.startswith("\ufeffrow;sample_id;")
    rows = table_of(response, ";")
    assert [each["\ufeffrow"] for each in rows] == ["2", "4", "5", "6"]
    assert rows[0]["sample_id"] == "'=1+1"
    as_line = {
        "sample_id": "=1+1",
        "medium": {"ec": "1.45 mS/cm", "extraction": "1:2", "ions": {"sodium": "<0.5 mg/L"}},
        "containers": [{"volume": "40 L"}],
        "crops": ["beetroot"],
    }
    alone = rows_of(send(client, json.dumps(as_line)))[0]
    for heading in headings()[1:]:
        wanted = alone.get(heading, "")
        wanted = str(wanted).replace(".", ",") if isinstance(wanted, float) else wanted
        assert rows[0][heading] == wanted, heading
    assert "/medium/ec" in rows[1]["problem"]
    assert rows[2]["problem"].startswith("row 5: ec [mS/cm] = ")
    assert rows[2]["verdict"] == ""
    assert rows[3]["problem"] == ""


def test_a_faulty_cell_names_its_column_on_lines_too(client):
    table = "sample_id,ec [mS/cm],pH\na,1.2,acid\n"
    row = rows_of(send(client, table, TABLE | {"Accept": LINES["Content-Type"]}))[0]
    assert row["row"] == 2
    assert row["sample_id"] == "a"
    (fault,) = row["problem"]["errors"]
    assert (fault["pointer"], fault["column"], fault["value"]) == ("/medium/ph", "pH", "acid")


def test_a_fault_shows_what_stood_in_the_cell(client):
    table = "sample_id,ec [mS/cm],na [mg/L],volume [L]\na,banana,3,-5\n"
    row = rows_of(send(client, table, TABLE | {"Accept": LINES["Content-Type"]}))[0]
    given = {each["column"]: each["value"] for each in row["problem"]["errors"]}
    assert given == {"ec [mS/cm]": "banana", "volume [L]": "-5"}
    told = send(client, table, TABLE).text
    assert "ec [mS/cm] = banana: " in told
    assert "banana mS/cm" not in told


def test_a_faulty_cell_is_told_as_it_was_sent_without_the_unit_of_its_heading(client):
    table = "ec [mS/cm],crop\nbanana,lettuce\n"
    row = rows_of(send(client, table, TABLE | {"Accept": LINES["Content-Type"]}))[0]
    (fault,) = row["problem"]["errors"]
    assert (fault["column"], fault["value"]) == ("ec [mS/cm]", "banana")


@pytest.mark.parametrize(
    ("table", "why"),
    [
        ("ec,colour\n1,2\n", "'colour'"),
        ("ec,EC [mS/cm]\n1,2\n", "'EC [mS/cm]'"),
        ("", "no headings"),
        ("\n1,2\n", "no headings"),
    ],
)
def test_a_table_whose_headings_are_not_known_is_refused(client, table, why):
    response = send(client, table, TABLE)
    assert response.status_code in (400, 422)
    assert why in response.json["detail"]


@pytest.mark.parametrize("end", ["\r", "\n", "\r\n", "\r\r\n"])
def test_lines_of_a_table_end_as_any_system_ends_them(client, end):
    table = end.join(["sample_id,ec", 'A,"2.1\rdS/m"', "B,high", ""])
    first, second = table_of(send(client, table, TABLE))
    assert (first["row"], first["ec_saturated_extract [dS/m]"]) == ("2", "2.1")
    assert second["problem"].startswith("row 3: ec = high:")


@pytest.mark.parametrize(
    ("table", "row"),
    [
        ('"' + 200 * (999 * "x" + "\n"), 1),
        ('sep=;\n"' + 200 * (999 * "x" + "\n"), 2),
        ('sample_id,ec\nA,2\n"' + 200 * (999 * "x" + "\n"), 3),
    ],
)
def test_a_quote_that_never_ends_is_told_by_its_row(client, table, row):
    answer = send(client, table, TABLE)
    assert answer.status_code == (200 if row > 2 else 400)
    assert f"from row {row} on" in answer.text


def test_a_quote_does_not_part_cells(client):
    answer = send(client, 'sep="\nsample_id"ec\nA"2', TABLE)
    assert answer.status_code == 422
    assert "is not known" in answer.json["detail"]


def test_a_decimal_comma_between_commas_is_not_guessed(client):
    (row,) = table_of(send(client, "ec [mS/cm],ph\n1,45,6\n", TABLE))
    assert row["problem"].startswith("row 2: ")


def test_no_cell_of_an_answer_starts_a_formula(client):
    marks = ["=", "+", "-", "@", "\t=", "＝"]
    table = "sample_id,ec\n" + "".join(f'"{mark}cmd|x",1\n' for mark in marks)
    table += "".join(f'"{mark}1",zz\n' for mark in marks)
    for row in csv.reader(io.StringIO(send(client, table, TABLE).text)):
        assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r", "＝")) for cell in row)


def test_the_template_can_be_filled_in_and_sent(client):
    template = client.get("/v1/templates/samples.csv")
    assert template.mimetype == "text/csv"
    (row,) = table_of(send(client, template.data, TABLE))
    assert row["problem"] == ""
    assert row["first_cause"] == "total_salts"
    assert float(row["water_per_container [L]"]) > 0


def test_figures_come_in_us_units(client):
    table = "ec [mS/cm],method,volume [gal],crop\n2,1:2,10,bean\n"
    (metric,), (us,) = (table_of(send(client, table, TABLE, each)) for each in ("", "?units=us"))
    litres = float(metric["water_per_container [L]"])
    assert float(us["water_per_container [gal]"]) == pytest.approx(litres / 3.7854, rel=1e-3)
