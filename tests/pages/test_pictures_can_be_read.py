"""What a picture of an answer writes can be read, and says what the answer says."""

import html
import re

import pytest

BASE = {
    "/medium/extraction": "one_to_two",
    "/medium/ec": "1.8 mS/cm",
    "/crops/0/crop": "lettuce",
    "/crops/0/stage": "seedling",
    "/containers/0/volume": "11 L",
    "/containers/0/drainage": "open",
}


def texts(svg):
    return [html.unescape(each) for each in re.findall(r"<text[^>]*>([^<]*)</text>", svg)]


def height_of(svg, word):
    found = re.search(rf"<text([^>]*)>{word}</text>", svg)[1]
    return float(re.search(r'(?:translate\([-\d.]+ | y=")([-\d.]+)', found)[1])


@pytest.fixture
def picture(client):
    def draw(name, **typed):
        page = client.post("/", data=BASE | {f"/{each}": typed[each] for each in typed}).text
        return next(
            each for each in re.findall(r"<svg.*?</svg>", page, re.S) if f'"{name}-title' in each
        )

    return draw


def test_the_reading_stands_alone_and_its_interval_below(picture):
    for name in ("yields", "class_scale"):
        svg = picture(name)
        assert not [each for each in texts(svg) if "(" in each]
    svg = picture("yields")
    assert "5 dS/m" in texts(svg)
    assert re.search(r"<desc.*5 dS/m \(4.1 to 6.1\)", svg)


@pytest.mark.parametrize(
    ("name", "lines"),
    [("yields", ["Lettuce"]), ("weeks-0", ["limit", "after the flush", "not flushed"])],
)
def test_lines_are_named_above_the_axes(picture, name, lines):
    svg = picture(name)
    top = min(height_of(svg, each) for each in texts(svg) if re.fullmatch(r"\d+", each))
    for each in lines:  # the highest figure of the axis is centred on its mark
        assert height_of(svg, each) < top - 5


def shaded_to(svg):
    """Return where the shading begins and ends, in the units of the picture."""
    paths = re.findall(r'<path d="M ([\d.]+) [\d.]+ +L ([\d.]+) [^"]*"[^>]*fill="#d5e2dd"', svg)
    return float(paths[0][0]), float(paths[-1][1])


def mark_of(svg, figure):
    return float(re.search(rf'<text x="([\d.]+)"[^>]*>{figure}<', svg)[1])


def test_what_suits_is_shaded_up_to_the_limit_of_the_crop(picture):
    svg = picture("class_scale")
    assert "what most plants want" not in svg
    assert "Lettuce (seedling) stands up to 0.47 dS/m: that part is shaded." in svg
    begins, ends = shaded_to(svg)
    assert begins == mark_of(svg, "0")
    assert mark_of(svg, "0.3") < ends < mark_of(svg, "0.8")
    plain = picture("class_scale", **{"crops/0/crop": "", "crops/0/stage": ""})
    assert "The shaded class is what most plants want." in plain
    assert shaded_to(plain) == (mark_of(plain, "0.8"), mark_of(plain, "1.3"))


def test_what_was_told_as_below_a_figure_is_shown_so(client):
    page = client.post(
        "/",
        data=BASE
        | {
            "/medium/extraction": "saturated_media_extract",
            "/medium/ions/boron": "<0.1 ppm",
            "/medium/ions/potassium": "<20",
            "/medium/ions/calcium": "100-120",
        },
    ).text
    cells = re.findall(r'<th scope="row">([^<]*)</th><td class="nowrap">([^<]*)</td>', page)
    found = {html.unescape(name): html.unescape(value) for name, value in cells}
    assert found["boron"] == "<0.1 mg/L"
    assert found["potassium"] == "<20 mg/L"
    assert found["calcium"] == "110 mg/L"
    chart = next(each for each in re.findall(r"<svg.*?</svg>", page, re.S) if "nutrients-" in each)
    assert "boron <0.1" in texts(chart)
    assert "boron &lt;0.1 mg/L" in chart
