"""A probability is never written as certain unless it is."""

import pytest

from proveout.diagnosis.chances import chance_text


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.0, "0 %"),
        (1e-9, "under 1 %"),
        (0.0099, "under 1 %"),
        (0.01, "1 %"),
        (0.624, "62 %"),
        (0.97, "97 %"),
        (0.9934, "99.3 %"),
        (0.99899, "99.8 %"),
        (0.9999999, "over 99.9 %"),
        (1.0, "100 %"),
    ],
)
def test_a_probability_is_written_for_people(share: float, text: str) -> None:
    assert chance_text(share) == text
