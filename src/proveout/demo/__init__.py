"""The demo case as data: an invented vehicle, what its customer says, and what every test on it would show.

Nothing here is code. `scenario.yaml` tells the story (its head says what each field means), the file it names under
`circuit` is the vehicle's own sheet, `readings.yaml` holds what is seen and read before and after the repair, and
`netlists/` the ngspice circuits that gave those readings. `tests/reference/make_demo.py`, run by hand, makes all of
them from `scenario.yaml` alone.
"""
