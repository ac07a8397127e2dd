"""Standard scan data: logs of parameters, read as numbers with their times."""
