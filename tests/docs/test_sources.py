"""Every outside source that the program or its tests name stands on the page of sources, with its status."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator

import pytest
import yaml

from docs.pages import PAGES, ROOT, SOURCE, prose, rows, section

PAGE = (ROOT / "docs" / "sources.md").read_text("utf-8")
SURNAMES = r"[A-Z][a-z]+(?:(?:, | and |, and )[A-Z][a-z]+)*"
PAPER = re.compile(rf"\b({SURNAMES}),? \(?((?:18|19|20)\d\d)\b")
NO_AUTHORS = {"January", "February", "March", "April", "May", "June", "July", "August", "September", "October"} | {
    *("November", "December", "Handbook", "Standard", "Atmosphere", "Design")
}
STANDARD = re.compile(
    r"\b(?:(?:ASTM|SAE) [A-Z]\d+|(?:IEC|ISO) \d{3,}(?:-\d+)?|JCGM \d+|NIST SP \d+|ANSI/ASME Y[\d.]+\d|49 CFR \d+)"
)
DOCUMENT = re.compile(
    r"[A-Z][\w ]*?[A-Z]{2,}[\d-]+\w* (?:preliminary )?(?:data sheet|temperature controller manual)"
    r"|a secondary help page|a workshop manual's specification table|thermistor module's data sheet"
)
STATUSES = ("seen", "secondary", "from memory", "computed")


def _texts() -> Iterator[str]:
    files = [f for folder in (SOURCE, ROOT / "tests", ROOT / "bench") for f in sorted(folder.rglob("*.py"))]
    files += [f for f in sorted(SOURCE.rglob("*.yaml")) if f.name != "readings.yaml"]
    texts = [f.read_text("utf-8") for f in files if f.parent.name != "docs"]
    texts += [prose(page) for page in PAGES if page.name != "sources.md"]
    yield from (re.sub(r"\s+(?:# )?", " ", text) for text in texts)


@pytest.fixture(scope="module")
def cited() -> str:
    return "\n".join(_texts())


def test_every_paper_that_is_cited_stands_with_its_authors_and_year(cited: str) -> None:
    listed = [row[0] for row in rows(section(PAGE, "Papers and books"))]
    missing = set()
    for authors, year in PAPER.findall(cited):
        names = set(re.findall(r"[A-Z][a-z]+", authors))
        if names & NO_AUTHORS:
            continue
        if not any(year in row and names <= set(re.findall(r"[A-Z][a-z]+", row)) for row in listed):
            missing.add(f"{authors} {year}")
    assert missing == set()


def test_every_standard_that_is_named_stands_with_what_is_taken_from_it(cited: str) -> None:
    listed = {row[0] for row in rows(section(PAGE, "Standards and regulations"))}
    assert set(STANDARD.findall(cited)) - listed == set()


def test_every_data_sheet_and_manual_that_is_named_stands_in_its_table(cited: str) -> None:
    listed = " ".join(row[0] for row in rows(section(PAGE, "Data sheets, manuals and tables")))
    named = {found.replace("''", "'") for found in DOCUMENT.findall(cited.replace("''", "'"))}
    assert named
    assert {name for name in named if name not in listed} == set()


def test_every_source_listed_is_used(cited: str) -> None:
    for row in rows(section(PAGE, "Papers and books")):
        names = re.findall(r"[A-Z][a-z]+", row[0])
        assert f"{names[0]}" in cited, row[0]
    for row in rows(section(PAGE, "Standards and regulations")):
        assert row[0] in cited, row[0]
    for row in rows(section(PAGE, "Data sheets, manuals and tables")):
        assert row[0].split(",")[0] in cited.replace("''", "'"), row[0]


@pytest.mark.parametrize(
    "heading", ["Standards and regulations", "Papers and books", "Data sheets, manuals and tables"]
)
def test_every_source_has_its_status(heading: str) -> None:
    for row in rows(section(PAGE, heading)):
        assert len(row) == 4, row
        assert any(status in row[3] for status in STATUSES), row


def test_every_file_named_on_the_page_is_there() -> None:
    for name in re.findall(r"`(\w+/[\w/]+\.(?:py|yaml))`", PAGE):
        assert (SOURCE / name).is_file(), name


def test_every_library_stands_with_what_it_is_for_and_its_licence() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    wanted = [*project["dependencies"], *(n for extra in project["optional-dependencies"].values() for n in extra)]
    names = {re.split(r"[><=~!\[ ]", entry)[0].lower() for entry in wanted}
    listed = rows(section(PAGE, "Programs and libraries"))
    assert {row[0] for row in listed} == names | {"ngspice", "uv"}
    assert all(all(row) for row in listed)


def _sources(data: object) -> Iterator[str]:
    if isinstance(data, dict):
        for key, value in data.items():
            if key == "source":
                yield str(value)
            else:
                yield from _sources(value)
    elif isinstance(data, list):
        for value in data:
            yield from _sources(value)


def test_no_source_beside_a_value_is_empty() -> None:
    for file in sorted(SOURCE.rglob("*.yaml")):
        for source in _sources(yaml.safe_load(file.read_text("utf-8"))):
            assert source.strip(), file.name
