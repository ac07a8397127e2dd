"""Settings of conditions: known names, settings among the values, numbers where numbers belong."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from proveout.circuits.finding import Finding, Path, closest, unknown
from proveout.circuits.schema import Circuit, Condition, Setting

__all__ = ["check_setting", "check_settings", "is_number", "same_setting", "shown_setting"]


def is_number(setting: Setting) -> bool:
    """Say whether a setting is a number (true and false are not)."""
    return isinstance(setting, int | float) and not isinstance(setting, bool)


def same_setting(one: Setting, other: Setting) -> bool:
    """Say whether two settings are the same; true is not 1."""
    return one == other and isinstance(one, bool) == isinstance(other, bool)


def shown_setting(setting: Setting) -> str:
    """Return a setting as it is written in a file."""
    if isinstance(setting, bool):
        return str(setting).lower()
    return f'"{setting}"' if isinstance(setting, str) else f"{setting:g}"


def check_settings(circuit: Circuit, path: Path, settings: Mapping[str, Setting]) -> Iterator[Finding]:
    """Check the settings that stand as a mapping at `path`."""
    for name, setting in settings.items():
        place = (*path, name)
        if name not in circuit.conditions:
            yield unknown(place, "condition", name, circuit.conditions, "conditions")
        else:
            yield from check_setting(circuit.conditions[name], name, place, setting)


def check_setting(condition: Condition, name: str, path: Path, setting: Setting) -> Iterator[Finding]:
    """Check one setting of the condition `name`."""
    about = ("conditions", name)
    if not condition.values:
        if not is_number(setting):
            unit = f" in {condition.unit}" if condition.unit else ""
            instead = f"Write a number, or give '{name}' a list of values"
            found = f"the setting {shown_setting(setting)}"
            yield Finding(path, found, f"a number{unit}, since '{name}' has no list of values", instead, about)
    elif not any(same_setting(setting, value) for value in condition.values):
        written = [shown_setting(value) for value in condition.values]
        near = closest(shown_setting(setting), written)
        instead = f"Write {near}" if near else f"Write one of these, or add it to the values of '{name}'"
        found = f"the setting {shown_setting(setting)}"
        yield Finding(path, found, f"a value of '{name}': {', '.join(written)}", instead, about)
