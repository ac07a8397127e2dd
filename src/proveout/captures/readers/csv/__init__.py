"""CSV and its relatives: text tables as instruments and loggers write them."""
