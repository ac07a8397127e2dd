"""Money is written with its currency behind it and two decimals."""

from proveout.diagnosis.money import money_text


def test_money_is_written_one_way() -> None:
    assert money_text(10.4, "USD") == "10.40 USD"
    assert money_text(1081.5, "EUR") == "1,081.50 EUR"
    assert money_text(7.0) == "7.00"
