"""The case record: append-only events, the store they are kept in, and everything derived from them."""
