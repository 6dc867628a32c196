"""How the parts fit, and when the damper was built."""

from __future__ import annotations

from buildlint.measures.marks import Array


def piston_clearance(bore: Array, piston_diameter: Array) -> Array:
    """Bore less the piston's diameter (m)."""
    return bore - piston_diameter


def shaft_room(bore: Array, shaft_diameter: Array) -> Array:
    """Bore less the shaft's diameter (m)."""
    return bore - shaft_diameter


def piston_to_spare(largest_piston: Array, piston_diameter: Array) -> Array:
    """Largest piston that the body takes, less the piston's diameter (m)."""
    return largest_piston - piston_diameter


def days_before_event(bench_on: Array, event_on: Array) -> Array:
    """Days from the bench to the event (s)."""
    return (event_on - bench_on) * 86400.0
