"""One module for each command; the table in `proveout.cli.application` names them."""
