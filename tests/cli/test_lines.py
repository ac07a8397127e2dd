"""A value and its unit stay on one line, as the SI Brochure (9th edition, 5.4.3) has them belong together."""

from proveout.cli.lines import WIDTH, paragraph


def test_a_line_never_breaks_between_a_number_and_its_unit() -> None:
    for value in ("1 %", "1.20 kΩ", "35 min", "7.10 mA", "12.6 V"):
        for room in range(WIDTH):
            lines = list(paragraph(f"{'x' * room} {value} and so on"))
            assert sum(value in line for line in lines) == 1
            assert all(len(line) <= WIDTH for line in lines if "x" not in line or room < WIDTH - 2)


def test_a_line_breaks_before_a_word_that_only_begins_like_a_unit() -> None:
    text = f"{'x' * (WIDTH - 10)} 12 Volunteers"
    assert list(paragraph(text)) == [f"  {'x' * (WIDTH - 10)} 12", "  Volunteers"]
