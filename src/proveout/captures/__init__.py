"""Recorded signals: what a scope or logger wrote, as data, and what it shows of sensor, wheel and engine."""

from proveout.captures.capture import Capture, Channel, Clock, Guess, Origin

__all__ = ["Capture", "Channel", "Clock", "Guess", "Origin"]
