"""The report says everything, escapes everything, and is the same every time."""

from __future__ import annotations

import io
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from proveout.errors import InputError
from proveout.reports.report import Paper, render_html, render_pdf
from proveout.reports.report_data import CostRow, EvidenceRow, Fact, ReportData
from proveout.reports.report_view import INVENTED, MAKER_FIRST, view
from proveout.reports.svg import clean
from reports.sample_report import sample_report

VOID = {"meta", "br", "hr", "img", "link", "input"}
SAMPLE = sample_report()


class _Reader(HTMLParser):
    """Reads a page, holds its tags to be closed in order, and keeps its text."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[str] = []
        self.attributes: set[str] = set()
        self.words: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes |= {name for name, _ in attrs}
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes |= {name for name, _ in attrs}

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    @property
    def text(self) -> str:
        return _plain("".join(self.words))


def _plain(text: str) -> str:
    return " ".join(text.split())


def _pdf_text(pdf: bytes) -> str:
    return _plain(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages))


EXPECTED = (
    "Starts late, after some ten turns",
    "Reference wire (RD/GY) of the crank sensor broken at the bulkhead clip.",
    "New reference wire laid beside the loom",
    "P0335",
    "4.99 V",
    "0.02 V",
    "OL",
    "4.80 to 5.20 V",
    "4.93 to 5.06 V",
    "Target wheel and air gap",
    "starts at once",
    "84.00 EUR",
    "90 min and 250.00 EUR",
    "Keep clear of rotating parts while cranking.",
    "RD/GY",
    "The terminals of CS were looked at but not measured under load.",
    "Quay Lane Garage",
    "Ms Okonjo-Brandt",
    "88 412 km",
    INVENTED,
    MAKER_FIRST,
)


def test_the_page_says_everything_and_closes_what_it_opens() -> None:
    page = _Reader(render_html(SAMPLE))
    assert not page.open
    for words in EXPECTED:
        assert _plain(words) in page.text, words
    assert page.tags.count("svg") == 4


def test_the_page_needs_nothing_from_outside_and_runs_nothing() -> None:
    text = render_html(SAMPLE)
    page = _Reader(text)
    assert not {"script", "link", "iframe", "img", "object", "embed", "base"} & set(page.tags)
    assert not {"src", "href", "style"} & page.attributes
    assert not any(name.startswith("on") for name in page.attributes)
    assert "url(" not in text
    assert "@import" not in text


def test_the_print_says_the_same() -> None:
    text = _pdf_text(render_pdf(SAMPLE))
    for words in EXPECTED:
        assert words.replace(" ", "") in text.replace(" ", ""), words


@pytest.mark.parametrize(("paper", "size"), [("a4", (210.0, 297.0)), ("letter", (215.9, 279.4))])
def test_pages_have_the_size_of_their_paper(paper: Paper, size: tuple[float, float]) -> None:
    """ISO 216 A4 210 x 297 mm; US Letter 8.5 x 11 in (ANSI/ASME Y14.1)."""
    reader = PdfReader(io.BytesIO(render_pdf(SAMPLE, paper=paper)))
    sizes = {tuple(sorted((float(p.mediabox.width), float(p.mediabox.height)))) for p in reader.pages}
    assert len(sizes) == 1
    assert sizes.pop() == pytest.approx([mm / 25.4 * 72 for mm in size], abs=0.2)
    assert any(p.mediabox.width > p.mediabox.height for p in reader.pages)


def test_the_same_data_give_the_same_report() -> None:
    assert render_html(SAMPLE) == render_html(sample_report())
    assert render_pdf(SAMPLE) == render_pdf(sample_report())


def test_money_is_minutes_by_the_rate_and_parts() -> None:
    """By hand: 48 min at 96.00 an hour 76.80, parts 7.20, together 84.00; planned 42.5 min 68.00 and parts 6.00."""
    total = view(SAMPLE)["total"]
    assert total is not None
    assert (total["minutes"], total["labour"], total["parts"], total["money"]) == (
        "48 min",
        "76.80 EUR",
        "7.20 EUR",
        "84.00 EUR",
    )
    assert (total["planned_minutes"], total["planned_money"]) == ("42.5 min", "74.00 EUR")


def test_an_entry_that_does_not_count_stands_struck_out() -> None:
    text = render_html(SAMPLE)
    assert text.count('<tr class="struck">') == 1
    assert "does not count" in text


def test_a_case_just_opened_has_a_report_that_claims_nothing() -> None:
    data = ReportData(case="1", concern="Does not start")
    page = _Reader(render_html(data)).text
    assert "not known yet" in page
    assert "nothing repaired yet" in page
    assert "the cause is not proven yet" in page
    assert INVENTED not in page
    assert "notknownyet" in _pdf_text(render_pdf(data)).replace(" ", "")


NASTY = st.one_of(
    st.text(max_size=40),
    st.sampled_from(
        [
            "<script>alert(1)</script>",
            '"><img src=x onerror=alert(1)>',
            "</style></td></table>",
            "{{ 7 * 7 }}",
            "{% if %}",
            "#panic()",
            "$x^2$ *bold* _it_ `raw`",
            "]] #[ \\ @label <label>",
            "&amp; &lt;",
            "-->",
        ]
    ),
)


def _spoilt(words: str) -> ReportData:
    row = EvidenceRow(1, words, words, words, words, words, words, words, "bad", (words, words), words)
    return ReportData(
        case=words,
        concern=words,
        cause=words,
        correction=words,
        shop=words,
        customer=words,
        cause_note=words,
        codes=(words,),
        vehicle=(Fact(words, words),),
        evidence=(row,),
        costs=(CostRow(words, 1.0),),
        currency=words,
        unproven=(words,),
        plain=(words,),
        record=words,
    )


@settings(max_examples=30, deadline=None)
@given(NASTY)
def test_whatever_is_typed_stays_text_on_the_page(words: str) -> None:
    page = _Reader(render_html(_spoilt(words)))
    plain = _Reader(render_html(_spoilt("words")))
    assert not page.open
    assert set(page.tags) <= set(plain.tags)
    assert page.attributes <= plain.attributes
    assert _plain(clean(words).replace("\x00", "")) in page.text


@settings(max_examples=25, deadline=None)
@given(NASTY)
def test_whatever_is_typed_can_be_printed(words: str) -> None:
    assert render_pdf(_spoilt(words)).startswith(b"%PDF-")


def test_markup_of_the_typesetter_stays_text() -> None:
    text = _pdf_text(render_pdf(_spoilt("#panic() *bold* [x]")))
    assert "#panic()" in text
    assert "*bold*" in text


@pytest.mark.parametrize(
    "drawing",
    [
        '<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>',
        '<svg xmlns="http://www.w3.org/2000/svg"><rect onload="alert(1)"/></svg>',
        '<svg xmlns="http://www.w3.org/2000/svg"><rect fill="url(http://a.example)"/></svg>',
        '<svg xmlns="http://www.w3.org/2000/svg"><image href="a.png"/></svg>',
        '<!DOCTYPE svg [<!ENTITY a "b">]><svg xmlns="http://www.w3.org/2000/svg"/>',
        "<svg",
        "<html/>",
    ],
)
def test_a_schematic_that_is_more_than_a_drawing_is_refused(drawing: str) -> None:
    with pytest.raises(InputError, match="schematic"):
        render_html(replace(SAMPLE, schematic=drawing))
